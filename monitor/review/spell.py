"""One spell of stuck pipe looked back on: its pulls, blows, free length and how it ended."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.hold import SETTLED
from monitor.interpret.jarring import Blow
from monitor.interpret.stuck import (
    GREATEST_BLOCK_M,
    USUAL_BLOCK_M,
    friction_swing_N,
    held_compliance_m_N,
)
from monitor.model import Activity, Event
from monitor.review.free_length import FreeLength, free_length
from monitor.review.jar_blows import find_blows
from monitor.review.pulls import Held, Pull, find_pulls
from monitor.review.span import Span
from monitor.rig.rig import Rig

NAN = float("nan")
# The last pull's slacking off, or what came loose in it, is looked at so far past the end.
AFTER_US = 30_000_000
# Freed: so much travel one way out of slips within so long, at no more than the event limit.
FREE_TRAVEL_M = 3.0
FREE_WITHIN_US = 1_800_000_000
FREE, IN_SLIPS, OPEN, UNKNOWN = "free", "in slips", "open", "unknown"


@dataclass(frozen=True, slots=True)
class Spell:
    """A spell of stuck pipe. ``outcome``: free, in slips, open (end of record) or unknown."""

    event: Event
    held: Held
    pulls: tuple[Pull, ...]
    blows: tuple[Blow, ...]
    free: FreeLength
    outcome: str
    freed_us: int | None  # moving freely was first seen
    end_us: int  # of the spell, or of the record


def review_spell(
    span: Span,
    event: Event,
    rig: Rig,
    *,
    travelling_weight_N: float,
    mud_density_kg_m3: float = NAN,
    chosen: Collection[int] | None = None,
) -> Spell:
    """Look back on one event of kind ``stuck``; ``chosen`` are the pulls for the free length."""
    end_us = int(span.time_us[-1]) if event.end_us is None else event.end_us
    part = _hanging(span.between(event.start_us, end_us + AFTER_US))
    depth = event.bit_depth_m
    block = float(part["block_position"][0]) if len(part) else NAN
    above = block if 0.0 <= block <= GREATEST_BLOCK_M else USUAL_BLOCK_M
    up = event.expected_hook_load_N
    down = _median(part, "expected_down_N")
    swing = friction_swing_N(rig, up, down, depth, travelling_weight_N, mud_density_kg_m3)
    limits = rig.events
    held = Held(
        up,
        down,
        swing,
        held_compliance_m_N(rig, depth, above),
        limits.overpull_N,
        limits.slack_off_N,
        _median(part, "expected_N", part["friction_state"] < -SETTLED),
    )
    pulls = find_pulls(part, held)
    outcome, freed_us = _outcome(span, event, up, limits.overpull_N)
    return Spell(
        event,
        held,
        tuple(pulls),
        tuple(find_blows(part, held)),
        free_length(pulls, rig, depth, above, chosen),
        outcome,
        freed_us,
        end_us,
    )


def _hanging(part: Span) -> Span:
    """Up to where slips are set: what comes after is no pull."""
    set_at = np.flatnonzero(part["activity"] == Activity.IN_SLIPS)
    return part if not len(set_at) else part.between(0, int(part.time_us[set_at[0]]) - 1)


def _median(part: Span, name: str, rows: NDArray[np.bool_] | None = None) -> float:
    chosen = np.isfinite(part[name])
    values = part[name][chosen if rows is None else chosen & rows]
    return float(np.median(values)) if len(values) else NAN


def _outcome(span: Span, event: Event, up_N: float, limit_N: float) -> tuple[str, int | None]:
    if event.end_us is None:
        return OPEN, None
    later = span.between(event.end_us, event.end_us + FREE_WITHIN_US).seconds()
    slips = np.flatnonzero(later["activity"] == Activity.IN_SLIPS)
    reached = int(slips[0]) if len(slips) else len(later)
    block, load = later["block_position"][:reached], later["hook_load_N"][:reached]
    loose = np.isfinite(block) & (np.abs(load - up_N) < limit_N + abs(up_N) * 0.1)
    travelled = np.abs(block - block[0]) if reached else block
    free = np.flatnonzero(loose & (travelled >= FREE_TRAVEL_M))
    if len(free):
        return FREE, int(later.time_us[free[0]])
    # The spell ends as free where the stage saw 3 m of travel at even load before this.
    before = span.between(event.end_us - AFTER_US, event.end_us).seconds()
    moved = before["block_position"]
    if len(moved) and np.ptp(moved[np.isfinite(moved)]) >= FREE_TRAVEL_M:
        return FREE, event.end_us
    if len(slips):
        return IN_SLIPS, None
    return UNKNOWN, None
