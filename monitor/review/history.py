"""What was normal before: weights against expected trip by trip, and places seen tight."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from monitor.model import Event, TripRow
from monitor.review.stands import same_place

NAN = float("nan")
# Stands of a run that stops short of this are no trip: a few stands pulled to ream, say.
LEAST_STANDS = 3
# Trips looked back on.
LAST_TRIPS = 6


@dataclass(frozen=True, slots=True)
class TripWeights:
    """One run of stands in one direction: moving weights against what was expected."""

    direction: str
    first_stand: int
    last_stand: int
    start_us: int
    from_m: float
    to_m: float
    judged: int  # stands with an expected weight
    median_off_N: float  # moving weight less expected; NaN: none judged
    greatest_off_N: float  # the one furthest off, signed
    greatest_off_depth_m: float
    greatest_overpull_N: float
    greatest_slack_off_N: float

    @property
    def stands(self) -> int:
        """How many."""
        return self.last_stand - self.first_stand + 1


def last_trips(rows: Sequence[TripRow], *, most: int = LAST_TRIPS) -> list[TripWeights]:
    """Weights of the newest trips in order of time; short runs between them are left out."""
    runs: list[list[TripRow]] = []
    for row in sorted(rows, key=lambda each: each.stand):
        if row.void:
            continue
        if not runs or runs[-1][-1].direction != row.direction:
            runs.append([])
        runs[-1].append(row)
    return [_weights(run) for run in runs if len(run) >= LEAST_STANDS][-most:]


def _weights(run: Sequence[TripRow]) -> TripWeights:
    first, last = run[0], run[-1]
    sign = 1.0 if first.direction == "out" else -1.0
    off = np.array([row.moving_weight_N - row.expected_weight_N for row in run])
    known = np.flatnonzero(np.isfinite(off))
    worst = int(known[np.argmax(np.abs(off[known]))]) if len(known) else -1
    return TripWeights(
        first.direction,
        first.stand,
        last.stand,
        first.out_of_slips_us,
        first.bit_depth_m + sign * first.length_m,
        last.bit_depth_m,
        len(known),
        float(np.median(off[known])) if len(known) else NAN,
        float(off[worst]) if len(known) else NAN,
        run[worst].bit_depth_m if len(known) else NAN,
        _greatest(row.max_overpull_N for row in run),
        _greatest(row.max_slack_off_N for row in run),
    )


def _greatest(values: Iterable[float]) -> float:
    known = [value for value in values if math.isfinite(value)]
    return max(known, default=NAN)


@dataclass(frozen=True, slots=True)
class TightSpot:
    """An overpull or a slack-off seen earlier near a depth, and which way the string went."""

    event: Event
    away_m: float  # deeper than the depth asked for is positive


def seen_tight(events: Sequence[Event], depth_m: float, before_us: int) -> list[TightSpot]:
    """Overpulls and slack-offs before a moment, with the bit near this depth, oldest first."""
    found = same_place(events, depth_m, before_us)
    ordered = sorted(found, key=lambda event: event.start_us)
    return [TightSpot(event, event.bit_depth_m - depth_m) for event in ordered]
