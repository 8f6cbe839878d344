"""What happened, as a written sequence built from the data; each line linked to its moment."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from monitor.interpret.agreed import agreed_kind, agreed_refusal
from monitor.interpret.tally import NO_TALLY, tally_words
from monitor.model import Activity, Command, Event, SpanNote, TripRow
from monitor.review.limits import TimeOver
from monitor.review.line import Figure, Line, count, duration, force, length
from monitor.review.span import Span
from monitor.review.spell import Spell
from monitor.review.spell_story import spell_lines
from monitor.review.stands import stand_runs

DOING = {
    Activity.UNKNOWN: "activity not known",
    Activity.IN_SLIPS: "in slips",
    Activity.HOISTING: "hoisting",
    Activity.LOWERING: "lowering",
    Activity.STATIONARY: "pipe still",
    Activity.ON_BOTTOM: "on bottom",
}
ACT_WORDS = {
    "lines_strung": "Lines strung set to {number:g}",
    "travelling_weight": "Travelling weight set to {{figure}}",
    "tare": "Tare taken",
    "bit_depth": "Bit depth set to {{figure}}",
    "mud_density": "Mud density set to {{figure}}",
    "run": "Run: {text}",
    "slip_and_cut": "Line slipped and cut",
    "gear": "Travelling gear: {text}",
    "tally": "Pipe tally given: {text}",
}
# What the first word of an act's text makes of it; None: not told.
WORDS_OF_TEXT: dict[tuple[str, str], str | None] = {
    ("slip_and_cut", "begin"): "Slip and cut begun",
    ("slip_and_cut", "cancel"): "Slip and cut called off",
    ("slip_and_cut", "confirm"): None,
    ("stuck_mode", "begin"): "Working stuck pipe begun",
    ("stuck_mode", "end"): "Working stuck pipe ended",
    ("tally", NO_TALLY): "Pipe tally taken away",
}
ACT_QUANTITY = {"travelling_weight": "force", "bit_depth": "length", "mud_density": "density"}
# Told with their stuck spell.
TOLD_ELSEWHERE = ("stuck",)


def sequence(
    span: Span,
    rows: Sequence[TripRow],
    events: Sequence[Event],
    spells: Sequence[Spell],
    commands: Sequence[Command] = (),
    over: Sequence[TimeOver] = (),
    notes: Sequence[SpanNote] = (),
    earlier: Sequence[Event] = (),
) -> list[Line]:
    """All lines in order of time; ``earlier`` are events from before the span."""
    if not len(span):
        return []
    lines = [_begin(span)]
    cuts = [spell.event.start_us for spell in spells] + [spell.end_us for spell in spells]
    lines += stand_runs(rows, cuts, span)
    told: set[str] = set()
    for spell in spells:
        lines += spell_lines(spell, span, rows, events, earlier)
        told |= _told(spell, events, lines)
    lines += [_event(event) for event in events if event.id not in told]
    lines += [line for command in commands for line in _act(command)]
    lines += [_note(note) for note in notes]
    lines += [_passed(limit) for limit in over if limit.first_us is not None]
    lines.append(_finish(span))
    return sorted(lines, key=lambda line: line.time_us)


def _told(spell: Spell, events: Sequence[Event], lines: Sequence[Line]) -> set[str]:
    """Events that a spell's own lines tell already."""
    signs = {line.time_us for line in lines if line.kind == "drag"}
    return {
        event.id
        for event in events
        if event.kind in TOLD_ELSEWHERE
        or (event.kind in ("overpull", "slack_off") and event.start_us in signs)
        or (
            event.kind in ("overpull", "slack_off", "jar_blow")
            and spell.event.start_us <= event.start_us <= spell.end_us
        )
    }


def _begin(span: Span) -> Line:
    doing = DOING.get(Activity(int(span["activity"][0])), "")
    known = np.flatnonzero(np.isfinite(span["bit_depth_m"]))
    text = f"Record begins, {doing}"
    figures: dict[str, Figure] = {}
    if len(known):
        text += ", bit {depth}"
        figures["depth"] = length(float(span["bit_depth_m"][known[0]]))
    else:
        text += ", bit depth not known"
    lacking = [
        word
        for name, word in (("flow_in", "circulation"), ("rotary_speed", "rotation"))
        if not span.has(name)
    ]
    if lacking:
        text += f"; {' and '.join(lacking)} not in this record"
    return Line(int(span.time_us[0]), "record", text + ".", figures)


def _finish(span: Span) -> Line:
    doing = DOING.get(Activity(int(span["activity"][-1])), "")
    known = np.flatnonzero(np.isfinite(span["bit_depth_m"]))
    figures: dict[str, Figure] = {}
    text = f"Record ends, {doing}"
    if len(known):
        text += ", bit {depth}"
        figures["depth"] = length(float(span["bit_depth_m"][known[-1]]))
    return Line(int(span.time_us[-1]), "record", text + ".", figures)


def _event(event: Event) -> Line:
    name = event.kind.replace("_", " ").replace("slack off", "slack-off").capitalize()
    figures: dict[str, Figure] = {}
    text = name
    if math.isfinite(event.peak_excess_N) and event.kind in ("overpull", "slack_off", "light"):
        text += " of {over}"
        figures["over"] = force(event.peak_excess_N)
    if math.isfinite(event.bit_depth_m):
        text += ", bit {depth}"
        figures["depth"] = length(event.bit_depth_m)
    if math.isfinite(event.peak_hook_load_N):
        text += ": {load}"
        figures["load"] = force(event.peak_hook_load_N)
        if math.isfinite(event.expected_hook_load_N):
            text += " against {expected} expected"
            figures["expected"] = force(event.expected_hook_load_N)
    if event.end_us is not None:
        text += f"; lasted {duration((event.end_us - event.start_us) / 1e6)}"
    else:
        text += "; not over at the end of the record"
    if event.acknowledged_by:
        text += f"; seen by {_literal(event.acknowledged_by)}"
    return Line(
        event.start_us, "gap" if event.kind == "data_gap" else "event", text + ".", figures
    )


def _literal(text: str) -> str:
    """What people wrote goes into a text with places for figures as it is."""
    return text.replace("{", "{{").replace("}", "}}")


def _act(command: Command) -> list[Line]:
    if command.act == "agreed_limit":
        return _agreed(command)
    first = command.text.strip().partition(" ")[0]
    words = WORDS_OF_TEXT.get((command.act, first), ACT_WORDS.get(command.act))
    if words is None:  # an acknowledgement is told with its event, a note by itself
        return []
    said = command.text
    if command.act == "tally":
        try:
            said = tally_words(said)
        except ValueError:  # it was refused
            return []
    text = words.format(number=command.number, text=_literal(said))
    figures: dict[str, Figure] = {}
    if command.act in ACT_QUANTITY:
        figures["figure"] = (command.number, ACT_QUANTITY[command.act])
    who = f", by {_literal(command.who)}" if command.who else ""
    return [Line(command.time_us, "act", f"{text}{who}.", figures)]


def _note(note: SpanNote) -> Line:
    """Give the words of a note as they were written, between quotation marks."""
    until = ""
    if note.to_us is not None and note.to_us > note.from_us:
        until = f", of the {duration((note.to_us - note.from_us) / 1e6)} from here"
    return Line(
        note.from_us,
        "note",
        f"Note by {_literal(note.who)}{until}: \u201c{_literal(note.text)}\u201d",
    )


def _agreed(command: Command) -> list[Line]:
    if agreed_refusal(command):
        return []
    kind, reason = agreed_kind(command.text)
    text = f"Agreed limit for {kind.replace('_', '-')} "
    figures: dict[str, Figure] = {}
    if math.isfinite(command.number):
        text += "set to {limit}"
        figures["limit"] = force(command.number)
    else:
        text += "taken away"
    text += f", by {_literal(command.who)}" + (f": {_literal(reason)}" if reason else "")
    return [Line(command.time_us, "act", f"{text}.", figures)]


def _passed(limit: TimeOver) -> Line:
    way = limit.kind.replace("_", "-")
    then = " then" if limit.is_changed else ""
    text = (
        f"{limit.name.capitalize()} limit for {way} ({{limit}}{then}) passed, here first; "
        f"{count(limit.times, 'time')} in all, {duration(limit.seconds)} together."
    )
    first = limit.first_us if limit.first_us is not None else 0
    return Line(first, "limit", text, {"limit": force(limit.limit_N)})
