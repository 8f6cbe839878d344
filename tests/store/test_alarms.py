"""Alarms and their journal in the record."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from pathlib import Path

from monitor.model import Alarm, AlarmChange
from monitor.store.entry import Entry, Note
from monitor.store.reader import Reader
from monitor.store.writer import Writer
from tests.store.invented import START_us, results, rows

ALARM = Alarm(7, "overpull", "medium", "unacknowledged", START_us, first_up=True, event_id="6-x")
CHANGE = AlarmChange(7, "overpull", START_us, "normal", "unacknowledged", "over", "")


def append(
    writer: Writer, seq: int, *alarms: Alarm, changes: tuple[AlarmChange, ...] = ()
) -> None:
    samples = rows(2, seq=seq)
    output = replace(results(samples), alarms=list(alarms), alarm_changes=list(changes))
    writer.append(Entry(START_us, [(samples, output)]))


def test_the_newest_version_is_kept_and_a_rerun_adds_nothing(tmp_path: Path) -> None:
    seen = replace(ALARM, state="acknowledged", acknowledged_us=START_us + 1, acknowledged_by="x")
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        assert reader.alarms() == []
        before = reader.pulse().alarms_revision
        append(writer, 1, ALARM, changes=(CHANGE,))
        append(writer, 3, seen, changes=(replace(CHANGE, seq=9, after="acknowledged"), CHANGE))
        assert reader.alarms() == [seen]
        assert [change.seq for change in reader.alarm_journal()] == [9, 7]
        assert reader.alarm_journal()[1] == CHANGE
        assert reader.pulse().alarms_revision == before + 2


def test_one_that_is_still_there_is_never_left_out(tmp_path: Path) -> None:
    over = [
        replace(ALARM, seq=10 + k, state="normal", raised_us=START_us + 10 + k) for k in range(5)
    ]
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        append(writer, 1, ALARM, *over)
        assert [alarm.seq for alarm in reader.alarms(3)] == [14, 13, 7]


def test_a_rebuild_puts_its_own_alarms_in_place(tmp_path: Path) -> None:
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        append(writer, 1, ALARM, changes=(CHANGE,))
        other = replace(ALARM, seq=8)
        writer.replace_findings([], [], Note(START_us, "x", "rebuilt"), [other], [])
        assert reader.alarms() == [other]
        assert reader.alarm_journal() == []
