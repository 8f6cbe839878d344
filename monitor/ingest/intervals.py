"""The sampling interval of a stream and the gap that follows from it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from monitor.model import Ints

SECOND_us = 1_000_000
KEPT = 16
LEAST_GAP_us = 5 * SECOND_us
UNKNOWN_GAP_us = 60 * SECOND_us
FEWEST = 4  # intervals needed before the sampling counts as known
# Two intervals running as long tell a slower pace at once, up to a row a minute: a median
# would call eight rows in turn a gap each.
LAST = 2
SLOWEST_AT_ONCE_us = 60 * SECOND_us


def _gap_us(recent: list[int]) -> int:
    if len(recent) < FEWEST:
        return UNKNOWN_GAP_us
    middle = sorted(recent)[(len(recent) - 1) // 2]
    return max(LEAST_GAP_us, 3 * middle, 3 * min(*recent[-LAST:], SLOWEST_AT_ONCE_us))


class Intervals:
    """The last 16 intervals between rows.

    A gap is longer than 5 s, than 3 medians and than 3 times the lesser of the last two.

    The lower of the two middle values is the median, so it stays a whole number. Until four
    intervals are known a gap is 60 s.
    """

    def __init__(self, recent: Iterable[int] = ()) -> None:
        self.recent = list(recent)[-KEPT:]

    def gap_us(self) -> int:
        """How long after the newest row the gap marker is due."""
        return _gap_us(self.recent)

    def add(self, interval_us: int) -> None:
        """Take in the interval before a row that was accepted."""
        self.recent.append(interval_us)
        del self.recent[:-KEPT]

    def extend(self, intervals_us: Ints) -> None:
        """Take in many."""
        self.recent = [*self.recent, *intervals_us[-KEPT:].tolist()][-KEPT:]

    def gaps_before(self, coming_us: Ints, wanted: Ints) -> Ints:
        """Gap rule as it stands before each of the ``wanted`` places of the coming intervals."""
        known = len(self.recent)
        line = np.concatenate([np.array(self.recent, np.int64), coming_us])
        result = np.empty(len(wanted), np.int64)
        full = wanted + known >= KEPT
        for place in np.flatnonzero(~full):
            stop = known + int(wanted[place])
            result[place] = _gap_us(line[:stop].tolist())
        if full.any():
            windows = np.lib.stride_tricks.sliding_window_view(line, KEPT)
            chosen = windows[wanted[full] + known - KEPT]
            middle = np.partition(chosen, (KEPT - 1) // 2, axis=1)[:, (KEPT - 1) // 2]
            lesser = np.minimum(chosen[:, -LAST:].min(axis=1), SLOWEST_AT_ONCE_us)
            result[full] = np.maximum(LEAST_GAP_us, 3 * np.maximum(middle, lesser))
        return result
