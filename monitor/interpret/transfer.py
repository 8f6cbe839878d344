"""Where the block stood when the string's load was fully on, or began to come off.

While slips give or take the string, load and block travel keep step: the line stretches,
the slips and the string give. A straight line through that travel, carried on to the full
load, tells the block position better than any one row, noisy, late or slow as rows are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.load import SMOOTH_S
from monitor.interpret.motion import LEAST_STROKE_M
from monitor.interpret.stage import Rows
from monitor.interpret.windows import sliding_high, window_start
from monitor.model import Floats

NAN = float("nan")

# Kept of the last rows: smooth and quick load, quick load without friction, whether the block is
# out of sight, whether it was further on than a block can be.
LAST_ROWS = ("time_s", "load", "block", "raw", "plain", "lost", "leapt")
# A usual transmitter lags the load by this much (common practice).
TRANSMITTER_LAG_S = 0.2
# Part of the load from which the line is drawn: above friction turning over in the first
# centimetres, below the rounding at full load and another level than the last.
LEAST_PART, MOST_PART = 0.15, 0.75
# The load is fully on at this share of the level at which it came off.
FULLY_ON_SHARE = 0.93
# Rows further apart than this say nothing of when, between them, the load changed.
SLOW_ROWS_S = 1.5
# Travel shared by the rows of a line: three quanta of a 1 cm counter.
LEAST_TRAVEL_M = 0.03
# Fully on, too, where the load has risen by less than this share of it along so much travel
# upwards: slips that still held the string would go on giving it (their give is 0.05 to
# 0.4 m), and the level before may have been another string's.
FLAT_SHARE = 0.08
FLAT_TRAVEL_M = 0.10
FLAT_WINDOW_S = 2.0
# Slips take the second half of the load within this travel, the sensor's lag at a quick
# slack-off included; further down, the string stands on something in the hole.
LET_GO_M = 0.6
LET_GO_BACK_S = 20.0
# Slips are set on pipe at rest, and it is slacked off slower than this (common practice).
LET_GO_SPEED_M_S = 0.5
# A load missing for so long may have been set in slips meanwhile, if that is not long ago.
UNSEEN_LOAD_S = 3.0
UNSEEN_SINCE_S = 10.0
SLACK_S = 0.05  # a smooth load may be of one row more
# Unless the block rests on it: so long, within a few quanta of the counter.
REST_S = 3.0
REST_M = 0.05
# Slips give up the string only to a block that goes up: a load that rises without is the
# friction in the sheaves turning over under what hangs in the elevators, unless it is more
# than friction can make of it.
LIFT_WINDOW_S = 5.0
LEAST_LIFT_M = 0.02
LOWERING_M_S = -0.01
STALE_BLOCK_S = 2.0
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


def level_taken_N(
    load_N: Floats, block: Floats, level_N: float, empty_N: float, least_N: float
) -> float:
    """Load at which the string taken here was fully on; ``level_N`` where nothing tells it.

    Slips let go only of a string that hangs: where the load rose no more short of it, or the
    block turned round, it was all of it, however much more the string weighed going down (a
    load that friction is not taken off: by 11 to 17 %). Not below ``least_N``; ``empty_N`` is
    what the empty block reads.

    Examples
    --------
    >>> load, block = np.array([2.0, 5.0, 8.0, 8.0, 9.5]), np.array([1.0, 1.1, 1.2, 1.3, 1.2])
    >>> level_taken_N(load, block, 10.0, 1.0, 4.0)
    8.0
    """
    top = int(np.argmax(block)) if len(block) else 0
    reached = float(np.max(load_N[: top + 1], initial=-math.inf))
    went_back = len(block) > 0 and block[top] - block[-1] >= LEAST_TRAVEL_M
    full_N = empty_N + FULLY_ON_SHARE * (level_N - empty_N)
    is_all = reached > least_N and (went_back or reached < full_N)
    return min(level_N, reached) if is_all else level_N


def came_off_m(
    times: Floats, part: Floats, block: Floats, lag_s: float, usual_m: float = 0.0
) -> tuple[float, float]:
    """Block position when the load began to come off, and the give seen.

    The rows run from the last one full to the first one near empty; ``usual_m`` is the travel
    from full to empty as known from before, 0 where it is not.

    Examples
    --------
    >>> part, block = np.array([1.0, 0.5, 0.0]), np.array([9.0, 8.9, 8.8])
    >>> full_m, give_m = came_off_m(np.arange(3.0), part, block, 0.0)
    >>> round(full_m, 3), round(give_m, 3)
    (9.0, 0.2)
    """
    if times[-1] - times[-2] > SLOW_ROWS_S:
        # The string was still moved after the last loaded row, to where the block stood when
        # it was first seen empty.
        empty = np.flatnonzero(part <= LEAST_PART)
        return float(block[empty[0]] if len(empty) else block[-1]), math.nan
    part = without_lag(times, part, lag_s)
    full, give = passing_line_m(part, block)
    rest = float(block[0])
    if math.isfinite(full):
        return min(full, rest), give
    if usual_m > 0.0:
        # A string lowered a little before slips are set gives up load to the hole first.
        passed = np.flatnonzero(part > MOST_PART)
        last = int(passed[-1]) if len(passed) else 0
        return min(float(block[last]) + usual_m * max(1.0 - float(part[last]), 0.0), rest), NAN
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


def known_rows(
    joined: Mapping[str, Floats], times_from: float, at: int
) -> tuple[Floats, Floats, Floats]:
    """Times, quick loads and block positions up to row ``at``, rows without a load left out."""
    first = int(np.searchsorted(joined["time_s"], times_from))
    columns = [joined[name][first : at + 1] for name in ("time_s", "raw", "block")]
    known = np.isfinite(columns[1]) & np.isfinite(columns[2])
    times, raw, block = (column[known] for column in columns)
    return times, raw, block


def is_flat(joined: Mapping[str, Floats], now: slice, empty_N: float) -> NDArray[np.bool_]:
    """Whether the block has gone up and the load has not, at each of some rows."""
    times, load, block = joined["time_s"], joined["load"], joined["block"]
    start = window_start(times[: now.stop], now.start, FLAT_WINDOW_S)
    flat = load[now] - load[start] < FLAT_SHARE * (load[now] - empty_N)
    result: NDArray[np.bool_] = flat & (block[now] - block[start] >= FLAT_TRAVEL_M)
    return result


def is_let_go(
    joined: Mapping[str, Floats], now: slice, into_N: float, middle_N: float, speed: Floats
) -> NDArray[np.bool_]:
    """Whether a load gone at some rows can be in slips: it went along little, slow travel."""
    times, load, block = joined["time_s"], joined["load"], joined["block"]
    first = int(np.searchsorted(times, times[now.start] - LET_GO_BACK_S))
    looked = rows = np.arange(first, now.stop)
    last = np.maximum.accumulate(np.where(load[first : now.stop] > middle_N, rows, -1))
    last, rows = last[now.start - first :], rows[now.start - first :]
    recent = (last >= 0) & (times[rows] - times[last] <= LET_GO_BACK_S)
    sunk = np.where(recent, block[last] - block[rows], np.inf)
    start = window_start(times[: now.stop], now.start, REST_S)
    at_rest = np.abs(block[rows] - block[start]) <= REST_M
    slow = times[rows] - times[np.maximum(rows - 1, 0)] > SLOW_ROWS_S
    # On its way between slow rows, the block tells by the next row whether it stopped here.
    moves = np.abs(block[rows] - block[np.maximum(rows - 1, 0)]) > LEAST_STROKE_M
    waits = moves & (load[np.maximum(rows - 1, 0)] >= into_N)
    # Gone since a spell without a load: slips may have been set in it.
    spell = _after_spell(times, load, now.stop) | _after_freeze(joined, now.stop)
    again = np.where(spell[first:], looked, -1)
    again = np.maximum.accumulate(again)[now.start - first :]
    # The smooth load still shows for a while what was before.
    stays = times[np.maximum(last, 0)] - times[np.maximum(again, 0)] > SMOOTH_S + SLACK_S
    unseen = (again >= 0) & ~stays & (times[rows] - times[again] <= UNSEEN_SINCE_S)
    taken = unseen | (sunk <= LET_GO_M) & (speed > -LET_GO_SPEED_M_S)
    result: NDArray[np.bool_] = np.where(slow, ~waits, taken | at_rest)
    return result


def _after_spell(times: Floats, load: Floats, stop: int) -> NDArray[np.bool_]:
    """Rows before ``stop`` that are the first with a load after a spell without."""
    known = np.isfinite(load[:stop])
    if known.all():
        apart: NDArray[np.bool_] = np.diff(times[:stop], prepend=times[:1]) > UNSEEN_LOAD_S
        return apart
    rows = np.arange(stop)
    before = np.maximum.accumulate(np.concatenate(([0], np.where(known, rows, 0)[:-1])))
    result: NDArray[np.bool_] = known & (times[:stop] - times[before] > UNSEEN_LOAD_S)
    return result


def _after_freeze(joined: Mapping[str, Floats], stop: int) -> NDArray[np.bool_]:
    """Rows before ``stop`` at which load and block are seen again after both stood frozen.

    The block is further on than it can be, and the load had been the same to the last digit
    for longer than slips take: both repeat what they were, and nobody saw what was done.
    """
    leapt = joined["leapt"][:stop] > 0.0
    if not leapt.any():
        return leapt
    times, raw = joined["time_s"][:stop], joined["raw"][:stop]
    rows = np.arange(stop)
    before = np.concatenate(([np.nan], raw[:-1]))
    changed = np.maximum.accumulate(np.where(raw != before, rows, 0))
    since = times - times[np.concatenate(([0], changed[:-1]))]
    return leapt & (since > UNSEEN_LOAD_S)


def may_lift(rows: Rows, joined: Mapping[str, Floats], kept: int) -> NDArray[np.bool_]:
    """Whether the block may have lifted the string out of the slips."""
    times = joined["time_s"]
    start = window_start(times, kept, LIFT_WINDOW_S)
    block = rows.column["block_m"]
    lifted = block + sliding_high(-joined["block"], start, kept) >= LEAST_LIFT_M
    going_up = lifted & (rows.column["quick_speed_m_s"] > LOWERING_M_S)
    # Between slow rows it may have been lifted and gone down again.
    older = np.maximum(np.arange(kept, len(times)) - 1, 0)
    slow = times[kept:] - times[older] > SLOW_ROWS_S
    result: NDArray[np.bool_] = going_up | slow | ~(rows.column["block_age_s"] <= STALE_BLOCK_S)
    return result


def rises_on(joined: Mapping[str, Floats], at: int, into_N: float) -> bool:
    """Whether the block goes on up between slow rows without a load: slips are set at rest."""
    times, block = joined["time_s"], joined["block"]
    if at < 1 or times[at] - times[at - 1] <= SLOW_ROWS_S or joined["load"][at - 1] >= into_N:
        return False
    before = block[at - 1] - block[max(at - 2, 0)]
    return bool(block[at] - block[at - 1] > LEAST_STROKE_M and before > LET_GO_M)
