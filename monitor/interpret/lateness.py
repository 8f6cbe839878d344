"""How late the block position comes against the load, learnt where a string is lifted from slips.

The hook takes a string only as the block goes up: by half the load it has risen, or else its
position comes late, from another device or by a counter of coarse steps. A block that is late
turns back, and the friction in the sheaves with it, before anybody sees it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.transfer import LEAST_LIFT_M
from monitor.interpret.windows import Tail, first_true, middle
from monitor.model import Floats
from monitor.rig.rig import Rig

# A stop must last this long before the load is judged as that of a string at rest.
AT_REST_S = 1.0
# Nobody sets slips on pipe that moves faster than this (common practice, with room), and no
# slower does a block go back to set them.
SET_SPEED_M_S, CREEP_M_S = 0.3, 0.05
# A block that slows down by as much is about to stop (common practice).
SLOWING_M_S2 = 0.05
# Friction in the sheaves has turned over by then: the play of a reversal and the way to turn.
TURNED_M = 0.05
# Gone back by less than a step, the block stands so long before slips are set and show it
# (common practice, quick crews).
STANDS_S = 3.0
# The block stood so long before the string was taken, and is waited for no longer.
LOOK_BACK_S = 10.0
HALF = 0.5
# Late is what most of the last lifts say, once so many were seen.
LIFTS_KEPT, LEAST_LIFTS = 9, 3
# Less is the lag of load and block of one device.
LEAST_LATE_S = 0.4


class Lateness(Stage):
    """Gives ``block_late_s``, 0 where the block is not known to be late."""

    STATE = ("recent", "waits", "seen_s", "late_s", "last_s")

    def __init__(self, rig: Rig) -> None:
        del rig
        self.recent = Tail(("time_s", "load", "block"), LOOK_BACK_S, 1)
        self.waits: list[float] = []  # half the load since then, and the height to be passed
        self.seen_s: list[float] = []
        self.late_s = 0.0
        self.last_s = 0.0  # of the last row

    def gap(self) -> None:
        """A lift is not seen across a gap."""
        self.recent.clear()
        self.waits = []

    def step(self, rows: Rows) -> None:
        """Follow the lifts among the rows."""
        column = rows.column
        block = column["block_m"]
        joined, kept = self.recent.join(
            {"time_s": rows.time_s, "load": column["smooth_load_N"], "block": block}
        )
        late = np.empty(len(rows))
        begin = 0
        for turn in (turn.row for turn in rows.turns if turn.kind == "hanging"):
            self._wait(rows, late, begin, turn)
            self._lifted(joined, kept + turn, float(column["empty_N"][turn]))
            begin = turn
        self._wait(rows, late, begin, len(rows))
        column["block_late_s"], self.last_s = late, float(rows.time_s[-1])

    def _wait(self, rows: Rows, late: np.ndarray, begin: int, end: int) -> None:
        """Find the row at which a block that is waited for has risen; fill in what is known."""
        row = begin
        if self.waits:
            half_s, height_m = self.waits
            time_s, block = rows.time_s, rows.column["block_m"]
            row = first_true(
                lambda part: (block[part] >= height_m) | (time_s[part] > half_s + LOOK_BACK_S),
                begin,
                end,
            )
            late[begin:row] = self.late_s
            if row < end:
                self.waits = []
                if block[row] >= height_m:
                    seen_s = time_s[row - 1] if row else self.last_s
                    self._learn(float(seen_s) - half_s)
        late[row:end] = self.late_s

    def _lifted(self, joined: dict[str, np.ndarray], at: int, empty_N: float) -> None:
        """Look where the block was when half of the load was on the hook."""
        first = int(np.searchsorted(joined["time_s"], joined["time_s"][at] - LOOK_BACK_S))
        times, load, block = (joined[name][first : at + 1] for name in ("time_s", "load", "block"))
        below = np.flatnonzero(load < empty_N + HALF * (load[-1] - empty_N))
        known = np.isfinite(block)
        if not len(below) or not known.all():
            return
        half = min(int(below[-1]) + 1, len(times) - 1)
        height_m = float(block[: half + 1].min()) + LEAST_LIFT_M
        risen = np.flatnonzero(block[half:] >= height_m)
        if len(risen):
            # In the row before it was not yet up.
            self._learn(float(times[half + max(int(risen[0]) - 1, 0)] - times[half]))
        else:
            self.waits = [float(times[half]), height_m]

    def _learn(self, late_s: float) -> None:
        self.seen_s = [*self.seen_s, late_s][-LIFTS_KEPT:]
        if len(self.seen_s) >= LEAST_LIFTS:
            late_s = middle(self.seen_s)
            self.late_s = late_s if late_s >= LEAST_LATE_S else 0.0


def may_be_back(rows: Rows, sign: float, believed_N: Floats) -> NDArray[np.bool_]:
    """Rows in which the block may go back unseen, and what the load gains be friction.

    A block position that comes late, or in steps coarser than the travel in which friction in
    the sheaves turns over, shows a reversal after the load does. ``believed_N`` is what an
    excess must pass; ``sign`` is +1 for one over what is expected hoisting.
    """
    column = rows.column
    is_late = column["block_late_s"] > 0.0
    unseen: NDArray[np.bool_] = is_late | (column["least_step_m"] > TURNED_M)
    if not unseen.any():
        return unseen
    slows = sign * column["quick_speed_m_s"] < SET_SPEED_M_S
    slows |= sign * column["acceleration_m_s2"] < -SLOWING_M_S2
    stops = np.where(is_late, slows, column["still_s"] > AT_REST_S)
    expected = column["judged_up_N" if sign > 0 else "judged_down_N"]
    with np.errstate(invalid="ignore"):
        turned = sign * (column["turned_load_N"] - expected) <= believed_N
    return unseen & stops & turned


def turning_seen_s(rows: Rows) -> Floats:
    """How long after it a reversal of the block is seen."""
    column = rows.column
    step_m = np.where(np.isfinite(column["least_step_m"]), column["least_step_m"], 0.0)
    result: Floats = column["block_late_s"] + (TURNED_M + step_m) / CREEP_M_S
    return np.where(step_m > TURNED_M, result + STANDS_S, result)
