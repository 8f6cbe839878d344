"""Notes on a record: those the recorder has taken, and those that wait for it."""

from __future__ import annotations

from contextlib import closing

from monitor.model import Command, SpanNote
from monitor.notes import note_of, notes_in
from monitor.store.inbox import INBOX_FILE, Inbox
from monitor.store.reader import Reader


def notes_of(
    reader: Reader, from_us: int | None = None, to_us: int | None = None
) -> list[SpanNote]:
    """All notes that touch ``from_us <= time < to_us``, those waiting (``seq`` 0) among them.

    A record that nobody records into any more keeps what is written on it in its inbox.
    """
    return notes_in([*reader.notes(from_us, to_us), *_waiting(reader)], from_us, to_us)


def _waiting(reader: Reader) -> list[SpanNote]:
    path = reader.path.with_name(INBOX_FILE)
    span = reader.span_us()
    if not path.is_file() or span is None:
        return []
    found: list[SpanNote] = []
    with closing(Inbox(path)) as inbox:
        taken = int(reader.status().get("inbox_taken") or 0)
        while acts := inbox.after(taken):
            taken = acts[-1].id
            commands = [Command(0, span[1], a.act, a.number, a.text, a.who) for a in acts]
            notes = [note_of(c, a.wall_us) for c, a in zip(commands, acts, strict=True)]
            found += [note for note in notes if note is not None]
    return found
