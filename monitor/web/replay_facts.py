"""What the Replay page is sent: moments, lines of the story and spells as plain values."""

from __future__ import annotations

import math
from typing import Any

from monitor.model import Event, TripRow
from monitor.report.findings import Findings, SpellFindings
from monitor.report.material import Material
from monitor.report.page_parts import moved_text
from monitor.report.wording import bare, figure, sentence, unit
from monitor.report.workbench import loops, weights
from monitor.review.history import last_trips, seen_tight
from monitor.review.jar_blows import can_show_blows
from monitor.review.line import Line, duration
from monitor.review.pulls import PULL, Pull
from monitor.review.spell import FREE, IN_SLIPS, OPEN
from monitor.review.spell_story import free_line
from monitor.store.rows import Rows
from monitor.units import NO_VALUE, display_value

LINES_SENT = 400
TIGHT_SENT = 20
OUTCOMES = {FREE: "came free", IN_SLIPS: "set in slips, not seen free", OPEN: "still stuck"}
WAYS = {"out": "trip out", "in": "trip in", "drilled": "drilled"}


def event_facts(event: Event) -> dict[str, Any]:
    """One event as the page gets it; not-a-number becomes null on the wire."""
    facts = {name: getattr(event, name) for name in Event.__dataclass_fields__}
    return {**facts, "id": event.id}


def row_values(rows: Rows) -> dict[str, float]:
    """Values of the first row by column."""
    return {name: float(column[0]) for name, column in rows.columns.items()}


def stand_facts(row: TripRow | None, time_us: int) -> dict[str, Any] | None:
    """The stand of a moment with what came to be known of it; None between stands."""
    if row is None or (row.in_slips_us is not None and row.in_slips_us < time_us):
        return None
    return {
        "stand": row.stand,
        "way": WAYS.get(row.direction, row.direction),
        "from_us": row.out_of_slips_us,
        "to_us": row.in_slips_us,
        "moving_weight_N": row.moving_weight_N,
        "expected_weight_N": row.expected_weight_N,
        "max_overpull_N": row.max_overpull_N,
        "max_slack_off_N": row.max_slack_off_N,
    }


def line_facts(line: Line, display: str) -> dict[str, Any]:
    """One line of the sequence in words."""
    return {
        "time_us": line.time_us,
        "kind": line.kind,
        "text": sentence(line, display),
        "key": bool(line.is_key),
    }


def trip_facts(material: Material, display: str) -> dict[str, Any]:
    """Weights against expected over the last trips, this one among them."""
    load, depth = unit("force", display), unit("length", display)
    trips = last_trips([*material.earlier_trip_rows, *material.trip_rows])
    return {
        "heads": [
            "From", "Stands", f"Bit, {depth}", f"Usually off expected, {load}",
            f"Furthest off, {load}", f"Greatest overpull, {load}", f"Greatest slack-off, {load}",
        ],
        "rows": [
            {
                "time_us": trip.start_us,
                "cells": [
                    f"{trip.first_stand} to {trip.last_stand}, "
                    f"{WAYS.get(trip.direction, trip.direction)}",
                    f"{bare(trip.from_m, 'length', display)} to "
                    f"{bare(trip.to_m, 'length', display)}",
                    *(
                        _over(value, display)
                        for value in (trip.median_off_N, trip.greatest_off_N)
                    ),
                    bare(trip.greatest_overpull_N, "force", display),
                    bare(trip.greatest_slack_off_N, "force", display),
                ],
            }
            for trip in trips
        ],
    }  # fmt: skip


def _over(value_N: float, display: str) -> str:
    text = bare(abs(value_N), "force", display)
    if text == NO_VALUE or not text.strip("0."):
        return text
    return ("+" if value_N > 0.0 else "−") + text


def tight_facts(material: Material, findings: Findings, display: str) -> list[dict[str, Any]]:
    """Tight spots seen before near where the string stuck."""
    events = [*material.earlier_events, *material.events]
    return [
        {
            "time_us": spot.event.start_us,
            "text": f"{spot.event.kind.replace('_', '-').capitalize()} of "
            f"{figure(spot.event.peak_excess_N, 'force', display)}, bit "
            f"{figure(spot.event.bit_depth_m, 'length', display)}",
        }
        for found in findings.spells
        for spot in seen_tight(events, found.spell.event.bit_depth_m, found.spell.event.start_us)[
            :TIGHT_SENT
        ]
    ]


def story_facts(findings: Findings, display: str) -> dict[str, Any]:
    """Lines in order of time, at most `LINES_SENT`; those that tell the story are kept."""
    lines = list(findings.lines)
    left_out = max(0, len(lines) - LINES_SENT)
    if left_out:
        keys = sum(line.is_key for line in lines)
        others = [at for at, line in enumerate(lines) if not line.is_key]
        kept = set(others[: max(0, LINES_SENT - keys)])
        lines = [line for at, line in enumerate(lines) if line.is_key or at in kept]
    return {
        "lines": [line_facts(line, display) for line in lines[:LINES_SENT]],
        "left_out": left_out,
        "spells": [spell_summary(each, display) for each in findings.spells],
    }


def spell_summary(found: SpellFindings, display: str) -> dict[str, Any]:
    """Which spell, and what came of it."""
    spell = found.spell
    return {
        "id": spell.event.id,
        "from_us": spell.event.start_us,
        "to_us": spell.end_us,
        "depth": figure(spell.event.bit_depth_m, "length", display),
        "outcome": OUTCOMES.get(spell.outcome, "not seen whether it came free"),
        "pulls": sum(pull.kind == PULL for pull in spell.pulls),
    }


def spell_facts(
    material: Material, found: SpellFindings, display: str, chosen: set[int] | None
) -> dict[str, Any]:
    """Everything the workbench shows of one spell."""
    spell = found.spell
    free = spell.free
    force = unit("force", display)
    return {
        **spell_summary(found, display),
        "answer": _answer(found, display),
        "words": sentence(free_line(spell), display),
        "supported": free.is_supported,
        "grounds": _grounds(found, display),
        "allowed": _allowed(found, display),
        "weights": _weights(found, display),
        "units": {"force": force, "block": unit("block_position", display)},
        "up": _shown(spell.held.up_N, "force", display),
        "down": _shown(spell.held.low_N, "force", display),
        "down_guessed": not math.isfinite(spell.held.down_N),
        "pulls": [_pull(pull, found, display, chosen) for pull in spell.pulls],
        "heads": _heads(display),
        "limits": [
            {
                "name": limit.name.replace("_", " "),
                "limit": bare(limit.limit_N, "force", display),
                "shown": _shown(limit.limit_N, "force", display),
                "acts": limit.acts,
                "printed": limit.printed,
            }
            for limit in found.limits
        ],
        "blows": [
            {
                "time_us": blow.time_us,
                "text": f"Jar blow {blow.direction}: fired at "
                f"{figure(blow.cocked_N, 'force', display)}, "
                f"{figure(blow.after_N, 'force', display)} after it",
            }
            for blow in spell.blows
        ],
        "blows_can_show": bool(
            can_show_blows(material.span.between(spell.event.start_us, spell.end_us))
        ),
        "loops": loops(material, found, display),
    }


def _answer(found: SpellFindings, display: str) -> dict[str, str]:
    free = found.spell.free
    interval = (
        f"{figure(free.low_m, 'whole_length', display)} to "
        f"{figure(free.high_m, 'whole_length', display)} at 95 %"
        if free.has_interval
        else ""
    )
    return {
        "length": figure(free.free_length_m, "whole_length", display)
        if free.is_supported
        else "no one figure",
        "interval": interval,
        "above_bit": figure(free.bit_depth_m - free.free_length_m, "whole_length", display)
        if free.is_supported
        else "",
        "why": free.why,
    }


def _grounds(found: SpellFindings, display: str) -> str:
    """How far the slopes agree, in words."""
    agreed = found.spell.free.agreement
    if not math.isfinite(agreed.compliance_m_N):
        return "Too few slopes to say how well the pulls agree."
    scatter = agreed.deviation_m_N / abs(agreed.compliance_m_N)
    text = f"The slopes agree within {scatter * 100:.1f} % (one standard deviation)"
    if math.isnan(agreed.friction):
        return text + "; one sense only, so friction is not seen."
    return text + f"; pulling and slacking off differ by {200 * agreed.friction:.1f} %."


def _weights(found: SpellFindings, display: str) -> str:
    """Free, neutral and set-down weights in words."""
    own = weights(found)
    guessed = " (estimated)" if own.is_lowering_guessed else ""
    text = (
        f"Free hoisting weight {figure(own.hoisting_N, 'force', display)}, free lowering "
        f"{figure(own.lowering_N, 'force', display)}{guessed}, neutral "
        f"{figure(own.neutral_N, 'force', display)}"
    )
    if math.isfinite(own.set_down_to_N):
        text += f"; set down to {figure(own.set_down_to_N, 'force', display)} at least load"
    return text + "."


def _allowed(found: SpellFindings, display: str) -> str:
    """The greatest pull that every limit allowed."""
    if not found.limits:
        return ""
    weakest = found.limits[0]
    printed = f" ({weakest.printed})" if weakest.printed else ""
    return (
        f"At most {figure(weakest.limit_N, 'force', display)} hook load might be pulled here, "
        f"by {weakest.name.replace('_', ' ')}{printed}."
    )


def _heads(display: str) -> list[str]:
    load, travel = unit("force", display), unit("block_position", display)
    slope, length = unit("compliance", display), unit("length", display)
    return [
        "", "Time", f"To, {load}", f"± {load}", f"Over or under free weight, {load}",
        f"Block travel, {travel}", "Lasted", "String moved", f"Slope up, {slope}",
        f"Slope down, {slope}", f"By itself, {length}", f"Room left, {load}",
        "Of the limit", "Line design factor",
    ]  # fmt: skip


def _pull(
    pull: Pull, found: SpellFindings, display: str, chosen: set[int] | None
) -> dict[str, Any]:
    spell = found.spell
    margin = next((m for m in found.margins if m.number == pull.number), None)
    if pull.kind != PULL:
        margin = None
    own = [
        bare(leg.free_length_m, "length", display)
        for leg in spell.free.legs
        if pull.kind == PULL and leg.pull == pull.number
    ]
    sign = "+" if pull.kind == PULL else "−"
    usable = math.isfinite(pull.compliance_m_N) or math.isfinite(pull.slack_compliance_m_N)
    return {
        "kind": pull.kind,
        "number": pull.number,
        "start_us": pull.start_us,
        "peak_us": pull.peak_us,
        "end_us": pull.end_us,
        "usable": pull.kind == PULL and usable,
        "used": pull.kind == PULL and usable and (chosen is None or pull.number in chosen),
        "cells": [
            bare(pull.load_N, "force", display),
            bare(pull.half_width_N, "force", display),
            sign + bare(pull.excess_N, "force", display),
            _signed(pull.travel_m, display),
            duration(pull.held_s),
            moved_text(pull, display),
            bare(pull.compliance_m_N, "compliance", display),
            bare(pull.slack_compliance_m_N, "compliance", display),
            ", ".join(own) or NO_VALUE,
            bare(margin.room_left_N, "force", display) if margin else "",
            f"{margin.share * 100:.0f} %" if margin and math.isfinite(margin.share) else "",
            f"{margin.line_design_factor:.2f}"
            if margin and math.isfinite(margin.line_design_factor)
            else "",
        ],
    }


def _signed(travel_m: float, display: str) -> str:
    return ("+" if travel_m >= 0.0 else "−") + bare(abs(travel_m), "block_position", display)


def _shown(value_si: float, quantity: str, display: str) -> float | None:
    return display_value(value_si, quantity, display) if math.isfinite(value_si) else None
