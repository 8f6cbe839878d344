"""Notes that people leave on a moment or a span: how an act carries one, and how it is read.

A note is words beside the record. No stage reads it, so it never alters a figure.
"""

from __future__ import annotations

from collections.abc import Iterable

from monitor.model import Command, SpanNote
from monitor.units import UnitError, iso_utc, parse_iso

# Longer than anybody writes on a rig floor, short enough for a page.
MOST_CHARACTERS = 1000


def note_text(words: str, from_us: int, to_us: int | None = None) -> str:
    """Text of the act ``note``: its moment, or its span as an ISO 8601 interval, then the words.

    >>> note_text("first drag", 1_772_332_805_100_000)
    '2026-03-01T02:40:05.100Z first drag'
    >>> note_text("worked pipe", 1_772_332_805_000_000, 1_772_332_865_000_000)
    '2026-03-01T02:40:05.000Z/2026-03-01T02:41:05.000Z worked pipe'
    """
    when = iso_utc(from_us) if to_us is None else f"{iso_utc(from_us)}/{iso_utc(to_us)}"
    return f"{when} {words}"


def read_note(text: str, time_us: int) -> tuple[int, int | None, str]:
    """Moment or span and the words of a note; words alone are of the moment of the act.

    >>> read_note("2026-03-01T02:40:05.1Z first drag", 0)
    (1772332805100000, None, 'first drag')
    >>> read_note("first drag", 7)
    (7, None, 'first drag')
    """
    when, _, words = text.strip().partition(" ")
    begin, between, end = when.partition("/")
    try:
        from_us = parse_iso(begin)
        to_us = parse_iso(end) if between else None
    except UnitError:
        return time_us, None, text.strip()
    return from_us, to_us, words.strip()


def note_refusal(command: Command) -> str:
    """Why a note cannot be kept; empty where it can."""
    from_us, to_us, words = read_note(command.text, command.time_us)
    if not command.who.strip():
        return "note refused: a name is expected"
    if not words:
        return "note refused: it says nothing"
    if len(words) > MOST_CHARACTERS:
        return f"note refused: {len(words)} characters; at most {MOST_CHARACTERS}"
    if to_us is not None and to_us < from_us:
        return "note refused: its span ends before it begins"
    return ""


def note_of(command: Command, wall_us: int | None = None) -> SpanNote | None:
    """Give the note an act of kind ``note`` holds; None where it is refused."""
    if command.act != "note" or note_refusal(command):
        return None
    from_us, to_us, words = read_note(command.text, command.time_us)
    return SpanNote(command.seq, from_us, to_us, words, command.who, wall_us)


def notes_in(
    notes: Iterable[SpanNote], from_us: int | None = None, to_us: int | None = None
) -> list[SpanNote]:
    """Notes that touch ``from_us <= time < to_us``, in order; those that wait come after."""
    inside = [
        note
        for note in notes
        if (from_us is None or (note.from_us if note.to_us is None else note.to_us) >= from_us)
        and (to_us is None or note.from_us < to_us)
    ]
    return sorted(inside, key=lambda note: (note.from_us, note.seq == 0, note.seq))
