"""Notes in the record: taken by the recorder, found by their span, kept while they wait."""

from __future__ import annotations

import sqlite3
from contextlib import closing

from monitor.model import Command
from monitor.notes import note_text
from monitor.store.entry import Entry, Taken
from monitor.store.inbox import Inbox
from monitor.store.notes import notes_of
from monitor.store.reader import Reader
from monitor.store.writer import Writer
from tests.store.invented import START_us, results, rows

S = 1_000_000


def note(seq: int, text: str, who: str = "company man") -> Taken:
    return Taken(Command(seq, START_us, "note", float("nan"), text, who), seq, START_us + 9)


def test_notes_are_found_by_the_span_they_are_of(tmp_path):
    span = note_text("worked pipe", START_us, START_us + 60 * S)
    moment = note_text("first drag", START_us + 10 * S)
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(rows(3), results(rows(3)))]))
        writer.append(Entry(START_us, commands=[note(4, span), note(5, moment)]))
        assert [each.text for each in reader.notes()] == ["worked pipe", "first drag"]
        first = reader.notes()[0]
        assert (first.from_us, first.to_us, first.who, first.seq, first.wall_us) == (
            START_us, START_us + 60 * S, "company man", 4, START_us + 9,
        )  # fmt: skip
        assert [each.seq for each in reader.notes(START_us + 11 * S)] == [4]
        assert [each.seq for each in reader.notes(to_us=START_us + 5 * S)] == [4]
        assert reader.notes(START_us + 61 * S) == []


def test_a_note_that_waits_on_a_stopped_record_is_shown_as_waiting(tmp_path):
    with closing(Writer(tmp_path)) as writer:
        writer.append(Entry(START_us, [(rows(3), results(rows(3)))]))
        writer.append(Entry(START_us, commands=[note(4, "taken")]))
    with closing(Inbox(tmp_path)) as inbox, closing(Reader(tmp_path)) as reader:
        for _ in range(4):  # what the recorder has taken is not shown twice
            inbox.put("note", text="older", who="A", wall_us=1)
        inbox.put("note", text=note_text("waits", START_us), who="B", wall_us=8)
        inbox.put("tare", who="B", wall_us=9)
        found = notes_of(reader)
        assert [(each.text, each.seq) for each in found] == [("taken", 4), ("waits", 0)]
        assert notes_of(reader, to_us=START_us) == []


def test_a_record_of_an_older_version_has_no_notes(tmp_path):
    with closing(Writer(tmp_path)) as writer:
        writer.append(Entry(START_us, [(rows(3), results(rows(3)))]))
    with closing(sqlite3.connect(tmp_path / "record.sqlite")) as connection, connection:
        connection.execute("DROP TABLE notes")
        connection.execute("DELETE FROM migrations WHERE name = 'notes'")
    with closing(Reader(tmp_path)) as reader:
        assert reader.notes() == []
        with closing(Writer(tmp_path)) as writer:
            writer.append(Entry(START_us, commands=[note(4, "now")]))
        assert [each.text for each in reader.notes()] == ["now"]
