"""The lines of one stuck spell: how it stuck, each pull and set-down, what came of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from monitor.model import Event, TripRow
from monitor.review.history import seen_tight
from monitor.review.line import Figure, Line, about, count, duration, force, length, travel
from monitor.review.pulls import PULL, Pull
from monitor.review.span import Span
from monitor.review.spell import FREE, IN_SLIPS, OPEN, Spell
from monitor.review.stands import SAME_PLACE_M, drag_lines, signs_before
from monitor.review.working import working
from monitor.units import iso_utc

# A pause between pulls worth a line.
LONG_REST_S = 120.0
# What the string did as it stuck: in the ten seconds before.
BEFORE_STUCK_US = 10_000_000
# Earlier tight spots named one by one.
SPOTS_TOLD = 4


def spell_lines(
    spell: Spell,
    span: Span,
    rows: Sequence[TripRow],
    events: Sequence[Event],
    earlier: Sequence[Event] = (),
) -> list[Line]:
    """Everything from the first sign to the end of the spell, in order of time.

    ``earlier`` are events from before the span, which say where it was tight on other trips.
    """
    event = spell.event
    signs = signs_before(rows, events, event.start_us)
    lines = drag_lines(rows, signs, event.start_us)
    lines.append(_stuck(spell, span))
    lines += _seen_before(spell, [*events, *earlier], signs)
    for at, pull in enumerate(spell.pulls):
        lines += _rest(spell.pulls[at - 1], pull) if at else []
        lines.append(pull_line(pull, span))
    lines += [
        _blow(blow.time_us, blow.direction, blow.cocked_N, blow.after_N) for blow in spell.blows
    ]
    lines.append(_end(spell))
    lines.append(free_line(spell))
    return lines


def _seen_before(spell: Spell, events: Sequence[Event], signs: Sequence[Event]) -> list[Line]:
    """Where this depth was tight before the first sign: on this trip or on earlier ones."""
    start_us = spell.event.start_us
    first_us = signs[0].start_us if signs else start_us
    spots = seen_tight(events, spell.event.bit_depth_m, first_us)
    if not spots:
        return []
    figures: dict[str, Figure] = {"near": length(SAME_PLACE_M)}
    told = []
    for at, spot in enumerate(spots[-SPOTS_TOLD:]):
        event = spot.event
        figures |= {f"over{at}": force(event.peak_excess_N), f"d{at}": length(event.bit_depth_m)}
        kind = event.kind.replace("_", "-")
        told.append(f"{kind} of {{over{at}}} at {{d{at}}}, {_when(event.start_us, start_us)}")
    more = f", the newest {len(told)} of them" if len(spots) > len(told) else ""
    text = (
        f"Tight here before: {count(len(spots), 'time')} within {{near}} of this depth{more}: "
        f"{'; '.join(told)}."
    )
    return [Line(start_us, "drag", text, figures, is_key=True)]


def _when(time_us: int, now_us: int) -> str:
    """Time of day, with its date where that is another."""
    text, now = iso_utc(time_us), iso_utc(now_us)
    return text[11:19] if text[:10] == now[:10] else f"{text[:10]} {text[11:19]}"


def _stuck(spell: Spell, span: Span) -> Line:
    event = spell.event
    seconds = (event.raised_us - event.start_us) / 1e6
    text = (
        "The string takes weight with the bit at {depth}: from here the load rises with block "
        "travel as a held string stretches. Free hoisting weight here {up}{low}. "
        f"Known to the monitor as stuck {duration(seconds)} later."
        f"{working(span, event.start_us - BEFORE_STUCK_US, event.start_us)}"
    )
    low = ", free lowering weight {down}" if math.isfinite(spell.held.down_N) else ""
    figures = {
        "depth": length(event.bit_depth_m),
        "up": force(spell.held.up_N),
        "down": force(spell.held.down_N),
    }
    return Line(event.start_us, "stuck", text.replace("{low}", low), figures, is_key=True)


def pull_line(pull: Pull, span: Span) -> Line:
    """One pull or set-down in words."""
    figures: dict[str, Figure] = {
        "load": force(pull.load_N),
        "excess": force(pull.excess_N),
        "travel": travel(abs(pull.travel_m)),
        "moved": travel(max(pull.movement_m, pull.shift_m if pull.shift_m > 0.0 else 0.0)),
    }
    if pull.kind == PULL:
        text = f"Pull {pull.number}: to {{load}}, {{excess}} over free weight, "
        text += "block up {travel}"
    else:
        text = f"Set-down {pull.number}: to {{load}}, {{excess}} under free weight, "
        text += "block down {travel}"
    text += f", {duration(pull.held_s)}. {_what_came(pull)}"
    text += working(span, pull.start_us, pull.end_us)
    return Line(pull.start_us, pull.kind, text, figures, is_key=pull.came_loose)


def _what_came(pull: Pull) -> str:
    if pull.came_loose:
        return "The load fell back to free weight without slacking off: the string let go."
    if pull.moved:
        first = " as it took weight" if pull.number == 1 else ""
        return f"The string moved about {{moved}}{first}."
    return "The string did not move."


def _rest(before: Pull, pull: Pull) -> list[Line]:
    seconds = (pull.start_us - before.end_us) / 1e6
    if seconds < LONG_REST_S:
        return []
    text = f"No pull for {duration(seconds)}."
    return [Line(before.end_us, "rest", text)]


def _blow(time_us: int, direction: str, cocked_N: float, after_N: float) -> Line:
    text = f"Jar blow {direction}: fired at {{cocked}}, load {{after}} after it."
    return Line(time_us, "blow", text, {"cocked": force(cocked_N), "after": force(after_N)})


def _end(spell: Spell) -> Line:
    pulls = sum(pull.kind == PULL for pull in spell.pulls)
    downs = len(spell.pulls) - pulls
    worked = f"after {count(pulls, 'pull')} and {count(downs, 'set-down')}"
    since = duration((spell.end_us - spell.event.start_us) / 1e6)
    if spell.outcome == FREE:
        text = f"Free: the string moves with the block again, {since} after it took weight, "
        text += f"{worked}."
    elif spell.outcome == IN_SLIPS:
        text = f"Set in slips, not seen free, {since} after it took weight, {worked}."
    elif spell.outcome == OPEN:
        text = f"Still stuck at the end of the record, {since} after it took weight, {worked}."
    else:
        text = f"The record does not show whether the string came free, {worked}."
    return Line(spell.end_us, "free", text, is_key=True)


def free_line(spell: Spell) -> Line:
    """Free length in words, or why there is none."""
    free = spell.free
    figures = {
        "free": about(free.free_length_m),
        "low": about(free.low_m),
        "high": about(free.high_m),
        "above": about(free.bit_depth_m - free.free_length_m),
    }
    legs = f"{count(len(free.pulls), 'pull')}, {count(len(free.legs), 'slope')}"
    if free.is_supported:
        text = (
            "Free length from the stretch: {free} along the string from the rig floor, between "
            f"{{low}} and {{high}} at 95 % ({legs}); {{above}} above the bit."
        )
    elif free.has_interval:
        text = (
            f"The data support no one figure for the free length: {free.why}. Somewhere between "
            "{low} and {high} along the string from the rig floor."
        )
    else:
        text = f"The data cannot tell the free length: {free.why}."
    return Line(spell.end_us, "free", text, figures, is_key=True)
