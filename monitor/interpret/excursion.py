"""Working pipe row by row: pulls and set-downs beyond a limit, and travel between them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Carried
from monitor.interpret.windows import first_true
from monitor.model import Floats, Ints

NAN = float("nan")
Flags = NDArray[np.bool_]


def first(mask: Flags, start: int, stop: int) -> int:
    """First row of a mask that is true, ``stop`` if none."""
    return first_true(lambda part: mask[part], start, stop)


class Excursion(Carried):
    """Load beyond a limit and back: how often, and the extreme of the present or last one."""

    STATE = ("inside", "extreme_N", "count")

    def __init__(self, sign: float, deadband_N: float) -> None:
        self.sign = sign  # +1: above the limit, -1: below
        self.deadband_N = deadband_N
        self.inside = False
        self.extreme_N = NAN  # times the sign
        self.count = 0

    def follow(self, load_N: Floats, limit_N: float, away: Flags) -> tuple[Floats, Ints, Flags]:
        """Extreme so far, number so far, and whether within one, a value a row.

        ``away``: rows in which somebody else carries the string, so that one ends.
        """
        value = self.sign * load_N
        with np.errstate(invalid="ignore"):
            enters = (value > self.sign * limit_N) & ~away
            leaves = (value < self.sign * limit_N - self.deadband_N) | away
        length = len(value)
        extreme, inside = np.empty(length), np.zeros(length, dtype=bool)
        count = np.empty(length, dtype=np.int64)
        row = 0
        while row < length:
            if self.inside:
                stop = first(leaves, row, length)
                run = np.fmax.accumulate(np.concatenate(([self.extreme_N], value[row:stop])))
                extreme[row:stop], inside[row:stop] = run[1:], True
                self.extreme_N = float(run[-1])
                self.inside = stop == length
            else:
                stop = first(enters, row, length)
                extreme[row:stop] = self.extreme_N
                if stop < length:
                    self.inside, self.extreme_N = True, NAN
            count[row:stop] = self.count
            self.count += int(self.inside and stop < length)
            row = stop
        return self.sign * extreme, count, inside


class FreeTravel(Carried):
    """How far the block has gone, up to down, since the string was last held or in slips."""

    STATE = ("low_m", "high_m")

    def __init__(self) -> None:
        self.low_m = NAN
        self.high_m = NAN

    @property
    def travel_m(self) -> float:
        """Distance so far; 0 where none is known."""
        far = self.high_m - self.low_m
        return far if far > 0.0 else 0.0

    def forget(self) -> None:
        """The string was held, or carried by somebody else."""
        self.low_m = self.high_m = NAN

    def end_row(self, block_m: Floats, breaks: Flags, enough_m: float) -> int:
        """First row by which the block has gone far enough; the number of rows if none."""
        row, length = 0, len(block_m)
        while row < length:
            stop = first(breaks, row, length)
            high = np.fmax.accumulate(np.concatenate(([self.high_m], block_m[row:stop])))
            low = np.fmin.accumulate(np.concatenate(([self.low_m], block_m[row:stop])))
            with np.errstate(invalid="ignore"):
                far = (high - low)[1:] >= enough_m
            if far.any():
                return row + int(np.argmax(far))
            self.high_m, self.low_m = float(high[-1]), float(low[-1])
            if stop == length:
                return length
            self.forget()
            row = first(~breaks, stop, length)
        return length
