"""Where the block stood when the string's load was fully on, or began to come off.

While slips give or take the string, load and block travel keep step: the line stretches,
the slips and the string give. A straight line through that travel, carried on to the full
load, tells the block position better than any one row, noisy, late or slow as rows are.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.model import Floats

# A usual transmitter lags the load by this much (common practice).
TRANSMITTER_LAG_S = 0.2
# Part of the load from which the line is drawn: above friction turning over in the first
# centimetres, below the rounding at full load and another level than the last.
LEAST_PART, MOST_PART = 0.15, 0.75
# Rows further apart than this say nothing of when, between them, the load changed.
SLOW_ROWS_S = 1.5
# Travel shared by the rows of a line: three quanta of a 1 cm counter.
LEAST_TRAVEL_M = 0.03
# Give of a line at most: slips, line and mast under the heaviest strings (derived: 4 MN on
# lines of 10 MN/m).
GREATEST_GIVE_M = 0.5


def passing_line_m(part: Floats, block: Floats) -> tuple[float, float]:
    """Block position at full load, and travel from empty to full; not-a-number: no line.

    Parameters
    ----------
    part : ndarray
        Part of the string's load on the hook, 0 to 1 [-].
    block : ndarray
        Where the block stood [m].

    Examples
    --------
    >>> full_m, give_m = passing_line_m(np.array([0.2, 0.4, 0.6]), np.array([2.1, 2.2, 2.3]))
    >>> round(full_m, 3), round(give_m, 3)
    (2.5, 0.5)
    """
    nothing = math.nan, math.nan
    used = (part >= LEAST_PART) & (part <= MOST_PART)
    part, block = part[used], block[used]
    if len(part) < 2 or np.ptp(block) < LEAST_TRAVEL_M:
        return nothing
    apart = part - part.mean()
    spread = float(apart @ apart)
    give = float(apart @ (block - block.mean())) / spread if spread > 0.0 else 0.0
    # Load comes on with the block going up, off with it going down.
    if not 0.0 < give <= GREATEST_GIVE_M:
        return nothing
    return float(block.mean()) + give * (1.0 - float(part.mean())), give


def fully_on_m(
    times: Floats, part: Floats, block: Floats, lag_s: float, give_m: float
) -> tuple[float, float]:
    """Block position when the load was fully on, and the give seen (not-a-number: none).

    The rows run from the last one empty to the first one full. ``give_m`` is the travel
    from empty to full as known from before, 0 where it is not.

    Examples
    --------
    Nothing seen between empty and full: somewhere between the two.

    >>> fully_on_m(np.array([0.0, 1.0]), np.array([0.0, 1.0]), np.array([1.0, 1.1]), 0.0, 0.0)[0]
    1.05
    """
    if times[-1] - times[-2] > SLOW_ROWS_S:
        # The block stood latched and empty before it took the load, and will stand empty
        # after giving it up: from the one to the other the pipe moved as far.
        return float(block[0]), math.nan
    part = without_lag(times, part, lag_s)
    passed = np.flatnonzero(part > MOST_PART)
    stop = int(passed[0]) if len(passed) else len(part) - 1
    full, give = passing_line_m(part[:stop], block[:stop])
    if math.isfinite(full):
        return full, give
    before = max(stop - 1, 0)
    seen = float(part[before])
    earliest = float(block[before]) + give_m * (1.0 - max(seen, 0.0))
    latest = float(block[stop]) + give_m * max(1.0 - float(part[stop]), 0.0)
    if seen >= LEAST_PART:
        return min(earliest, latest), math.nan
    return 0.5 * (min(earliest, latest) + latest), math.nan


def came_off_m(times: Floats, part: Floats, block: Floats, lag_s: float) -> tuple[float, float]:
    """Block position when the load began to come off, and the give seen.

    The rows run from the last one full to the first one near empty.

    Examples
    --------
    >>> part, block = np.array([1.0, 0.5, 0.0]), np.array([9.0, 8.9, 8.8])
    >>> full_m, give_m = came_off_m(np.arange(3.0), part, block, 0.0)
    >>> round(full_m, 3), round(give_m, 3)
    (9.0, 0.2)
    """
    if times[-1] - times[-2] > SLOW_ROWS_S:
        # The string was still moved after the last loaded row, to where the block stands.
        return float(block[-1]), math.nan
    part = without_lag(times, part, lag_s)
    full, give = passing_line_m(part, block)
    rest = float(block[0])
    if math.isfinite(full):
        return min(full, rest), give
    seen = np.flatnonzero((part >= LEAST_PART) & (part <= MOST_PART))
    if len(seen):
        give = (rest - float(block[seen[0]])) / (1.0 - float(part[seen[0]]))
    return rest, give if 0.0 < give <= GREATEST_GIVE_M else math.nan


def without_lag(times: Floats, part: Floats, lag_s: float) -> Floats:
    """What a sensor of first-order lag must have been shown.

    Examples
    --------
    >>> t = np.arange(0.0, 1.0, 0.1)
    >>> without_lag(t, 1.0 - np.exp(-t / 0.2), 0.2).round(1)[1:-1].tolist()
    [1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]
    """
    return part + lag_s * np.gradient(part, times)
