"""Where stands are taken and set: what stands in where the load was not seen to pass.

Crews take and set every stand of a trip at nearly the same heights. Where the load was
frozen, missing or in a gap while it passed, the block has moved metres by the time it is
known again; then the last stand's place is the better guess, and the depth is not sure.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Array, Carried
from monitor.interpret.transfer import GREATEST_GIVE_M
from monitor.model import Floats

NAN = float("nan")

# A stand broken out hangs in the elevators less than this above where the string was set:
# it is lifted out of the box and swung aside.
AT_SET_M = 1.5
# So long without a change, in so many rows, is a load that is not known: noise of the line
# changes it in every other row.
LEAST_UNSEEN_S = 3.0
LEAST_UNSEEN_ROWS = 6
# The block has gone on further than any give of slips and line meanwhile.
UNSEEN_TRAVEL_M = GREATEST_GIVE_M
# How far back rows are looked at: further than a load takes to pass.
LOOK_BACK_S = 20.0
# A stand that moved less says nothing of where stands are taken and set.
LEAST_STAND_M = 3.0


class Places(Carried):
    """Block positions at which the last stand was taken and set."""

    STATE = (
        "usual_taken_m",
        "usual_set_m",
        "taken_m",
        "before_gap_m",
        "known_s",
        "set_m",
    )

    def __init__(self) -> None:
        self.usual_taken_m = NAN
        self.usual_set_m = NAN
        self.taken_m = NAN
        self.before_gap_m = NAN
        self.set_m = NAN  # where slips have the string now, by the block
        self.known_s = NAN  # since when the load is known again after a gap

    def gap(self, block: Floats) -> None:
        """Remember where the block stood before a gap."""
        self.before_gap_m = float(block[-1]) if len(block) else NAN
        self.known_s = NAN

    def follow(self, time_s: Floats, load: Floats) -> None:
        """Note when the load is known again."""
        known = np.isfinite(load)
        if not math.isfinite(self.known_s) and known.any():
            self.known_s = float(time_s[int(np.argmax(known))])

    def taken_at(
        self, joined: dict[str, Any], at: int, limit_N: float, block_m: float
    ) -> tuple[float, bool]:
        """Where the string was taken, and whether that was seen."""
        before_m = self._before_unseen_m(joined, at, joined["raw"][: at + 1] >= limit_N)
        seen = not math.isfinite(before_m)
        if not seen:
            # The first stand of a record was taken where it hung before.
            block_m = self.usual_taken_m if math.isfinite(self.usual_taken_m) else before_m
        self.taken_m = block_m if seen else NAN
        return block_m, seen

    def set_at(
        self, joined: dict[str, Any], at: int, limit_N: float, block_m: float
    ) -> tuple[float, bool]:
        """Where the string was set, and whether that was seen."""
        before_m = self._before_unseen_m(joined, at, joined["raw"][: at + 1] < limit_N)
        seen = not math.isfinite(before_m)
        if not seen and math.isfinite(self.usual_set_m):
            block_m = self.usual_set_m
        elif seen and abs(block_m - self.taken_m) >= LEAST_STAND_M:
            self.usual_taken_m, self.usual_set_m = self.taken_m, block_m
        self.set_m = block_m
        return block_m, seen

    def is_at_set(self, block: Floats) -> NDArray[np.bool_]:
        """Whether the block is where slips took the string."""
        result: NDArray[np.bool_] = np.abs(block - self.set_m) < AT_SET_M
        return result

    def _before_unseen_m(self, joined: dict[str, Any], at: int, beyond: Array) -> float:
        """Block position when the load was last known before it went ``beyond``.

        Not-a-number where its passing was seen, or the block has hardly moved meanwhile.
        """
        times = joined["time_s"]
        window = slice(int(np.searchsorted(times, times[at] - LOOK_BACK_S)), at + 1)
        # The load without corrections, which go on with the block.
        times, plain, block = (joined[name][window] for name in ("time_s", "plain", "block"))
        row = _passed(beyond[window])
        known = np.isfinite(plain[:row])
        if times[row] - self.known_s <= LEAST_UNSEEN_S:
            before_m, travel = self.before_gap_m, abs(float(block[row]) - self.before_gap_m)
        elif known.any():
            last = plain[np.flatnonzero(known)[-1]]
            differs = np.flatnonzero(known & (plain[:row] != last))
            since = int(differs[-1]) + 1 if len(differs) else 0
            if row - since < LEAST_UNSEEN_ROWS or times[row] - times[since] < LEAST_UNSEEN_S:
                return NAN
            before_m, travel = float(block[since]), float(np.ptp(block[since : row + 1]))
        else:
            return NAN
        return before_m if travel > UNSEEN_TRAVEL_M else NAN


def _passed(beyond: Array) -> int:
    """First row of the run that ends at the last row in which the load was beyond."""
    last = np.flatnonzero(beyond)
    if not len(last):
        return len(beyond) - 1
    short = np.flatnonzero(~beyond[: last[-1]])
    return int(short[-1]) + 1 if len(short) else 0
