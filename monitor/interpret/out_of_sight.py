"""Spells in which nobody saw what was pulled or run, and how much pipe that may have been.

Without a load for minutes, or with one that was frozen, a crew on a trip goes on: the string
is another one when the load is known again, and so is what it should weigh.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from monitor.interpret.faults import COARSE_M
from monitor.interpret.stage import Carried, Rows
from monitor.interpret.trend import SLOPE_GUESS_N_M, Trend
from monitor.interpret.windows import forward_fill, held_from, running_sum
from monitor.model import Command

NAN = float("nan")

# Shorter spells hide less than a stand.
LEAST_SPELL_S = 60.0
# A quick crew trips so fast, connections included: 28 m in 90 s (common practice).
TRIP_M_S = 0.3
# A load the same to its last digit was frozen where the block was seen to go a stand up and a
# stand down (``COARSE_M``): a quiet source may show one value along an empty stroke. Or where
# the block was so much further on from one row to the next, no more than this apart: further
# than any block goes in it.
LEAPT_M, LEAPT_S = 3.0, 1.0

# Marks such rows among those that teach, whose own numbers go up and down from 0.
AGAIN = -(2**62)


class OutOfSight(Carried):
    """Rows at which the load is known again, and the pipe that may have moved meanwhile."""

    STATE = ("value_N", "since_s", "since_m", "travel_m", "last_s", "lost_m")

    def __init__(self) -> None:
        self.value_N = NAN
        self.since_s = NAN  # when the load last changed
        self.since_m = 0.0  # travel of the block by then
        self.travel_m = 0.0
        self.last_s = NAN  # of the row before
        self.lost_m = 0.0  # in all, since a person last gave the depth

    def command(self, command: Command) -> None:
        """A depth that a person gives says what hangs."""
        if command.act == "bit_depth":
            self.lost_m = 0.0

    def step(self, rows: Rows) -> dict[int, float]:
        """Rows known again with the pipe that may have moved [m]; the column ``lost_m``."""
        load = rows.column["hook_load_plain_N"]
        step_m = np.abs(rows.column["block_step_m"])
        travel = running_sum(self.travel_m, step_m)
        known = np.isfinite(load)
        filled = forward_fill(self.value_N, load, known)
        before = np.concatenate(([self.value_N], filled[:-1]))
        changed = known & (filled != before)
        changed_s = forward_fill(self.since_s, rows.time_s, changed)
        changed_m = forward_fill(self.since_m, travel, changed)
        since_s = np.concatenate(([self.since_s], changed_s[:-1]))
        since_m = np.concatenate(([self.since_m], changed_m[:-1]))
        apart_s = np.diff(np.concatenate(([self.last_s], rows.time_s)))
        missing = np.concatenate(([not np.isfinite(self.value_N)], ~known[:-1]))
        leapt = rows.column["unseen"] | ((step_m > LEAPT_M) & (apart_s <= LEAPT_S))
        hidden = missing | (apart_s >= LEAST_SPELL_S) | leapt
        hidden |= travel - step_m - since_m >= COARSE_M
        again = changed & hidden & (rows.time_s - since_s >= LEAST_SPELL_S)
        here = np.flatnonzero(again)
        lost_m = TRIP_M_S * (rows.time_s[here] - since_s[here])
        total = np.cumsum(np.concatenate(([self.lost_m], lost_m)))
        rows.column["lost_m"] = total = held_from([0, *here.tolist()], total, len(rows))
        self.value_N, self.last_s = float(filled[-1]), float(rows.time_s[-1])
        self.since_s, self.since_m = float(changed_s[-1]), float(changed_m[-1])
        self.travel_m, self.lost_m = float(travel[-1]), float(total[-1])
        return dict(zip(here.tolist(), lost_m.tolist(), strict=True))


def doubt(trends: Iterable[Trend], lost_m: float) -> None:
    """The string may be another one by so much pipe."""
    for trend in trends:
        trend.doubt(SLOPE_GUESS_N_M * lost_m)
