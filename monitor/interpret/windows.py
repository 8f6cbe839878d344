"""Array operations that give the same bits wherever the stream is cut.

Windows are differences of running sums with the carry in front; minima, maxima and
forward fills are exact. See DEVELOPERS.md, "Laws".
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.interpret.stage import Array, Carried
from monitor.model import Floats, Ints

# Rows of a block in ``play``: about as many steps are gone through within blocks as over them.
PLAY_BLOCK = 64
# Fewer rows than this are searched for one by one.
FEW_ROWS = 256
# Rows further apart tell nothing of one another's speed.
LONGEST_STEP_S = 10.0


class Tail(Carried):
    """The last ``span_s`` seconds of some columns, put in front of the next piece."""

    STATE = ("kept",)

    def __init__(self, names: Sequence[str], span_s: float, least_rows: int = 1) -> None:
        self.names = tuple(names)
        self.span_s = span_s
        self.least_rows = least_rows
        self.kept: dict[str, Any] = {}
        self.clear()

    def clear(self) -> None:
        """Forget everything kept."""
        self.kept = {name: np.empty(0) for name in self.names}

    def join(self, columns: dict[str, Array]) -> tuple[dict[str, Floats], int]:
        """Return the columns with the kept rows in front, and how many those are."""
        length = len(self.kept[self.names[0]])
        joined = {name: np.concatenate((self.kept[name], columns[name])) for name in self.names}
        times = joined[self.names[0]]
        if len(times):
            start = int(np.searchsorted(times, times[-1] - self.span_s))
            start = max(0, min(start, len(times) - self.least_rows))
            self.kept = {name: column[start:].copy() for name, column in joined.items()}
        return joined, length


def window_start(times: Floats, first: int, span_s: float | Floats) -> Ints:
    """Index of the oldest row within ``span_s`` of each row from ``first`` on.

    At least one older row is taken where there is one, so that slow data keep a window.
    """
    # Half a millisecond of slack: 10 Hz stamps that fall short of the span by rounding
    # must not lose a row.
    start = oldest_since(times, times[first:] - (span_s + 5e-4), first)
    older = np.arange(first - 1, len(times) - 1)
    older[:1] = max(first - 1, 0)
    return np.minimum(start, older, out=start)


def oldest_since(times: Floats, since: Floats, first: int) -> Ints:
    """``np.searchsorted(times, since)`` for a moment before each row from ``first`` on.

    Rows mostly come evenly: then one count of rows back is right for all, which is quicker
    tried than searched for. Where it is not, that row is searched for.
    """
    if len(since) < FEW_ROWS:
        return np.searchsorted(times, since)
    back = len(times) - 1 - int(np.searchsorted(times, since[-1]))
    start = np.arange(first - back, len(times) - back)
    reach = min(max(back + 1 - first, 0), len(since))  # rows that have not so many before them
    guess = first - back + reach
    stop = len(times) - back
    right = (times[guess:stop] >= since[reach:]) & (times[guess - 1 : stop - 1] < since[reach:])
    if not reach and right.all():
        return start
    wrong = np.concatenate((np.arange(reach), reach + np.flatnonzero(~right)))
    start[wrong] = np.searchsorted(times, since[wrong])
    return start


def everywhere(mask: Array) -> Any:
    """All rows as a slice where the mask is true throughout: no column is gathered then."""
    return slice(None) if mask.all() else mask


def near_start(times: Floats, first: int, span_s: float | Floats) -> Ints:
    """As ``window_start``, but never across a step longer than ``LONGEST_STEP_S``.

    So that windows of windows reach no further back than is kept.
    """
    start = window_start(times, first, span_s)
    rows = np.arange(first, len(times))
    is_alone = times[first:] - times[np.maximum(rows - 1, 0)] > LONGEST_STEP_S
    result: Ints = np.where(is_alone, rows, start)
    return result


def running_sum(carry: float, values: Floats) -> Floats:
    """Cumulative sum continued from ``carry``; not-a-number counts as zero."""
    filled = np.where(np.isfinite(values), values, 0.0)
    filled[:1] += carry
    return np.cumsum(filled, out=filled)


def forward_fill(carry: float, values: Floats, keep: Array) -> Floats:
    """Last value where ``keep`` was true, ``carry`` before the first."""
    joined = np.concatenate(([carry], values))
    if keep.all():
        return joined[1:]
    kept = np.flatnonzero(np.concatenate(([True], keep)))
    return held_from(kept, joined[kept], len(joined))[1:]


def middle(values: Sequence[float]) -> float:
    """Median of a short list, the upper one of two (numpy's takes longer than the sort).

    Examples
    --------
    >>> middle([4.0, 1.0, 3.0, 2.0])
    3.0
    """
    return sorted(values)[len(values) // 2]


def held_from(rows: Any, values: Any, length: int) -> Array:
    """Values that hold from some rows on, the first of them 0, each up to the next.

    Examples
    --------
    >>> held_from([0, 2], [5.0, 6.0], 3).tolist()
    [5.0, 5.0, 6.0]
    """
    return np.repeat(values, np.diff(np.concatenate((rows, [length]))))


def root_sum(width: Floats, other: Floats) -> Floats:
    """``np.hypot`` of a width, not negative, and another that mostly is zero: that is spared.

    Examples
    --------
    >>> root_sum(np.array([3.0, 3.0]), np.array([0.0, 4.0])).tolist()
    [3.0, 5.0]
    """
    result = width.copy()
    here = np.flatnonzero(other != 0.0)
    result[here] = np.hypot(width[here], other[here])
    return result


def median_of_3(times: Floats, values: Floats, first: int, span_s: float) -> Floats:
    """Median of each row and its two predecessors: a one-row glitch is gone.

    Only where the three lie within ``span_s`` seconds and are all numbers; slower data
    keep their own value, since a median would hide what lasted a whole row.
    """
    present = values[first:].copy()
    if len(values) < 3:
        return present
    older, middle, newest = values[:-2], values[1:-1], values[2:]
    median = np.maximum(np.minimum(older, middle), np.minimum(np.maximum(older, middle), newest))
    usable = np.isfinite(median) & (times[2:] - times[:-2] <= span_s + 5e-4)
    chosen = np.where(usable, median, newest)
    start = max(first, 2)
    present[start - first :] = chosen[start - 2 :]
    return present


def median_taken_at(times: Floats, values: Floats, median: Floats, first: int) -> Floats:
    """When each ``median_of_3`` was read: it is one of three rows, the newest that is equal.

    Examples
    --------
    >>> times, values = np.arange(4.0), np.array([1.0, 2.0, 9.0, 3.0])
    >>> median_taken_at(times, values, median_of_3(times, values, 0, 3.0), 0).tolist()
    [0.0, 1.0, 1.0, 3.0]
    """
    back = np.zeros(len(median), dtype=np.int64)
    for rows in (1, 2):
        start = max(rows - first, 0)
        older = values[first + start - rows : len(values) - rows]
        newer = (back[start:] == 0) & (median[start:] != values[first + start :])
        back[start:] = np.where(newer & (median[start:] == older), rows, back[start:])
    taken: Floats = times[np.arange(first, len(values)) - back]
    return taken


def median_lag_s(times: Floats, first: int, span_s: float) -> Floats:
    """How late ``median_of_3`` is of values that go one way: a row, where it is taken at all.

    Examples
    --------
    >>> median_lag_s(np.array([0.0, 1.0, 1.5, 5.0]), 1, 2.0).tolist()
    [0.0, 0.5, 0.0]
    """
    rows = np.arange(first, len(times))
    before, older = np.maximum(rows - 1, 0), np.maximum(rows - 2, 0)
    is_median = (rows >= 2) & (times[rows] - times[older] <= span_s + 5e-4)
    result: Floats = np.where(is_median, times[rows] - times[before], 0.0)
    return result


def play(carry: float, values: Floats, half_width: float) -> Floats:
    """Play (backlash) operator ``y = min(max(y, x - r), x + r)``, exact for any cut.

    A run of such steps composes to one clip. So long pieces are cut into blocks: each is composed,
    the value is carried from block to block, then all blocks are gone through side by side.

    Examples
    --------
    >>> play(0.0, np.array([0.0, 0.03, 0.01, -0.02]), 0.02).round(3).tolist()
    [0.0, 0.01, 0.01, 0.0]
    """
    if len(values) < FEW_ROWS:
        return np.array(_played(carry, values - half_width, values + half_width))
    n_blocks = -(-len(values) // PLAY_BLOCK)
    padded = np.concatenate((values, np.full(n_blocks * PLAY_BLOCK - len(values), values[-1])))
    rows = np.ascontiguousarray(padded.reshape(n_blocks, PLAY_BLOCK).T)
    low, high = rows - half_width, rows + half_width
    least, most = low[0], high[0]
    for row_low, row_high in zip(low[1:], high[1:], strict=True):
        least = np.minimum(np.maximum(least, row_low), row_high)
        most = np.minimum(np.maximum(most, row_low), row_high)
    value = np.array([carry, *_played(carry, least, most)[:-1]])
    for row_low, row_high in zip(low, high, strict=True):
        value = np.minimum(np.maximum(value, row_low), row_high)
        row_low[:] = value
    result: Floats = low.T.reshape(-1)[: len(values)]
    return result


def _played(carry: float, low: Floats, high: Floats) -> list[float]:
    """Step by step."""
    result = []
    for least, most in zip(low.tolist(), high.tolist(), strict=True):
        carry = min(max(carry, least), most)
        result.append(carry)
    return result


def first_true(condition: Any, start: int, stop: int) -> int:
    """First index from ``start`` where ``condition(slice)`` is true, ``stop`` if none.

    Looks in growing blocks, so that a crossing soon found costs little.
    """
    size = 256
    while start < stop:
        end = min(start + size, stop)
        hits = condition(slice(start, end))
        position = int(np.argmax(hits))
        if hits[position]:
            return start + position
        start, size = end, size * 4
    return stop


def sliding_high(values: Floats, start: Ints, first: int) -> Floats:
    """Greatest value from ``start`` up to each row from ``first`` on, exact.

    Examples
    --------
    >>> sliding_high(np.array([3.0, 1.0, 2.0]), np.array([0, 1]), 1).tolist()
    [3.0, 2.0]
    """
    length = np.arange(first, len(values)) - start + 1
    if not len(length):
        return np.empty(0)
    # From here on all windows are as long as the last: rows mostly come evenly.
    alike = int(np.flatnonzero(np.append(True, length != length[-1]))[-1])
    uneven = _highs(values[: first + alike], start[:alike], length[:alike])
    even = _even_highs(values[int(start[alike]) :], int(length[-1]))
    return np.concatenate((uneven, even))


def _highs(values: Floats, start: Ints, length: Ints) -> Floats:
    """Windows that end at the last rows, one each; maxima of 1, 2, 4 ... rows answer for all."""
    stop = start + length
    level = np.frexp(length.astype(float))[1] - 1
    result = np.empty(len(start))
    table = values
    for power in range(int(level.max(initial=-1)) + 1):
        here = level == power
        left, right = start[here], stop[here] - (1 << power)
        result[here] = np.maximum(table[left], table[right])
        table = np.maximum(table[: -(1 << power)], table[1 << power :])
    return result


def _even_highs(values: Floats, length: int) -> Floats:
    """Greatest value of every window of so many rows."""
    table, width = values, 1
    while 2 * width <= length:
        table = np.maximum(table[:-width], table[width:])
        width *= 2
    highs: Floats = np.maximum(table[: len(values) - length + 1], table[length - width :])
    return highs
