"""Jar blows: the load lets go in a moment while the block stands, or hardly moves.

A jar that fires gives back its stroke at once; the load falls (up) or rises (down) faster
than any drawworks lets it. What looks like one where the block turns is sheave friction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.review.span import Span

# A blow is over in well under a second: slower records cannot show it.
SLOWEST_INTERVAL_S = 0.25
BLOW_US = 500_000
# Load given back, and as share of what was pulled or set down (our choices).
LEAST_STEP_N = 60e3
LEAST_SHARE = 0.30
# Block travel within the blow and the half second before it: no more than two quanta.
GREATEST_TRAVEL_M = 0.025
# A string that came free gives the load back too: a jar leaves it held, so the load comes
# back to half of what it was within so long.
AGAIN_US = 600_000_000
AGAIN_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Blow:
    """One jar blow."""

    time_us: int
    direction: str  # "up" or "down"
    cocked_N: float  # load it fired at
    after_N: float


def can_show_blows(span: Span) -> bool:
    """Whether the record is fast enough for a blow to be seen in it."""
    return span.interval_s() <= SLOWEST_INTERVAL_S


def find_blows(span: Span, up_N: float, down_N: float) -> list[Blow]:
    """Blows in order of time; the span is one spell of a held string."""
    if not can_show_blows(span):
        return []
    load, block, time_us = span["hook_load_N"], span["block_position"], span.time_us
    after = np.minimum(np.searchsorted(time_us, time_us + BLOW_US), len(load) - 1)
    steps = load[after] - load
    blows: list[Blow] = []
    for row in np.flatnonzero(np.abs(np.nan_to_num(steps)) >= LEAST_STEP_N).tolist():
        if blows and int(time_us[row]) - blows[-1].time_us < 4 * BLOW_US:
            continue
        until = int(after[row])
        before = int(np.searchsorted(time_us, time_us[row] - BLOW_US))
        if not np.ptp(block[before : until + 1]) <= GREATEST_TRAVEL_M:
            continue
        free = up_N if steps[row] < 0.0 else down_N
        pulled = float(load[row]) - free
        if pulled * steps[row] >= 0.0 or abs(steps[row]) < LEAST_SHARE * abs(pulled):
            continue
        if _comes_back(span, until, free, pulled):
            way = "up" if pulled > 0.0 else "down"
            blows.append(Blow(int(time_us[row]), way, float(load[row]), float(load[until])))
    return blows


def _comes_back(span: Span, row: int, free_N: float, pulled_N: float) -> bool:
    later = span.between(int(span.time_us[row]) + 4 * BLOW_US, int(span.time_us[row]) + AGAIN_US)
    again = (later["hook_load_N"] - free_N) / pulled_N
    return bool(np.nanmax(again, initial=0.0) > AGAIN_SHARE)
