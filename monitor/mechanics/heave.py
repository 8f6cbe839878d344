"""Heave of a floating rig: its waves in a record, loads over whole waves, heights over sea bed.

Waves are counted from one upward crossing of the mean to the next. Figures of a short record
are the record's own, not a forecast of the sea.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from monitor.mechanics.reeving import Numeric

Array = NDArray[np.float64]

LONGEST_GAP_s = 2.0  # rows further apart than this do not show a wave


@dataclass(frozen=True, slots=True)
class HeaveWaves:
    """Whole waves of a record; not-a-number where it shows none."""

    n_waves: int
    mean_m: float  # of the record
    amplitude_m: float  # half the mean height
    significant_height_m: float  # mean of the highest third
    greatest_height_m: float
    period_s: float  # mean


@dataclass(frozen=True, slots=True)
class LoadOverWaves:
    """Load over whole heave waves; not-a-number where the record shows none."""

    n_waves: int
    mean_N: float  # over time
    swing_N: float  # greatest less least, mean over the waves
    greatest_swing_N: float
    duration_s: float  # of the waves counted


def position_above_sea_bed_m(
    block_position_m: Numeric,
    heave_m: Numeric,
    floor_above_sea_bed_m: Numeric,
    stroke_m: Numeric = 0.0,
) -> Numeric:
    """Height over the sea bed of what hangs in the elevators.

    Parameters
    ----------
    block_position_m : float or ndarray
        Elevator shoulder above the rig floor with the compensator drawn in. [m]
    heave_m : float or ndarray
        Vessel above its mean, rising positive. [m]
    floor_above_sea_bed_m : float or ndarray
        Rig floor over the sea bed at mean heave, tide included. [m]
    stroke_m : float or ndarray
        Extension of an in-line compensator; 0 locked, or where the block position is
        measured below it. [m]

    Returns
    -------
    float or ndarray
        Height. [m]

    Notes
    -----
    Floor + heave + block - stroke. It stays still where the compensator works.

    Examples
    --------
    >>> position_above_sea_bed_m(20.0, 1.5, 425.0, 4.5)
    442.0

    References
    ----------
    .. [1] Derived.
    """
    return floor_above_sea_bed_m + heave_m + block_position_m - stroke_m


def _runs(time_s: Array, values: tuple[Array, ...], longest_gap_s: float) -> Iterator[slice]:
    """Stretches of the record without a missing value and without a gap."""
    if any(value.shape != time_s.shape for value in values) or time_s.ndim != 1:
        shapes = [value.shape for value in (time_s, *values)]
        raise ValueError(f"arrays have shapes {shapes}; must be the same, of one axis")
    if not longest_gap_s > 0.0:
        raise ValueError(f"longest_gap_s is {longest_gap_s}; must be above 0")
    if np.any(np.diff(time_s) <= 0.0):
        raise ValueError("time_s does not increase; must increase")
    is_whole = ~np.isnan(time_s)
    for value in values:
        is_whole &= ~np.isnan(value)
    is_joined = is_whole[1:] & is_whole[:-1] & (np.diff(time_s) <= longest_gap_s)
    edge = np.flatnonzero(np.diff(np.concatenate(([False], is_joined, [False])).astype(int)))
    for first, last in zip(edge[::2], edge[1::2], strict=True):
        yield slice(int(first), int(last) + 1)


def _waves(
    time_s: Array, heave_m: Array, runs: Sequence[slice], least_height_m: float
) -> tuple[float, list[tuple[slice, Array]]]:
    """Mean of the runs, and those with a whole wave: times at which it is crossed upwards.

    Missing values may break a record into hundreds of runs: all are looked at together.
    """
    if not runs:
        return math.nan, []
    start = np.array([run.start for run in runs])
    length = np.array([run.stop for run in runs]) - start
    place = np.cumsum(length) - length
    first = np.repeat(place, length)  # where the run of each row begins
    rows = np.arange(len(first)) - first + np.repeat(start, length)
    mean = float(heave_m[rows].mean())
    turned, crossing = _up_crossings_s(time_s[rows], heave_m[rows] - mean, first, least_height_m)
    ends = np.searchsorted(turned, np.append(place, len(rows))).tolist()
    found = zip(runs, ends[:-1], ends[1:], strict=True)
    return mean, [(run, crossing[begin:end]) for run, begin, end in found if end - begin > 1]


def _up_crossings_s(
    time_s: Array, above_mean: Array, first: Array, least_height_m: float
) -> tuple[NDArray[np.signedinteger], Array]:
    """Where and when the mean is crossed upwards by waves of at least that height.

    ``first`` is where the run of each row begins: no wave goes on from run to run.
    """
    side = np.where(above_mean > least_height_m / 2, 1, 0)
    side = np.where(above_mean < -least_height_m / 2, -1, side)
    rows = np.arange(len(side))
    known = np.maximum.accumulate(np.where(side != 0, rows, -1))
    side = np.where(known >= first, side[known], 0)
    is_one_run = first[1:] == first[:-1]
    turned = np.flatnonzero((side[1:] == 1) & (side[:-1] == -1) & is_one_run) + 1
    below = np.maximum.accumulate(np.where(above_mean <= 0.0, rows, -1))
    before = below[turned - 1]
    low, high = above_mean[before], above_mean[before + 1]
    share = -low / (high - low)
    return turned, time_s[before] + share * (time_s[before + 1] - time_s[before])


def _swings(time_s: Array, value: Array, crossing_s: Array) -> Array:
    """Greatest less least value of each wave."""
    start = np.searchsorted(time_s, crossing_s, "right")
    cut = value[: start[-1]]
    return np.asarray(np.maximum.reduceat(cut, start[:-1]) - np.minimum.reduceat(cut, start[:-1]))


def heave_waves(
    time_s: ArrayLike,
    heave_m: ArrayLike,
    *,
    least_height_m: float = 0.0,
    longest_gap_s: float = LONGEST_GAP_s,
) -> HeaveWaves:
    """Height and period of heave from a record of it.

    Parameters
    ----------
    time_s : array_like
        Times, increasing. [s]
    heave_m : array_like
        Heave, rising positive; not-a-number breaks the record. [m]
    least_height_m : float
        Least height that counts as a wave, at least 0: above the noise of the sensor. [m]
    longest_gap_s : float
        Rows further apart break the record, above 0. [s]

    Returns
    -------
    HeaveWaves
        Heights [m] and period [s] of the whole waves.

    Raises
    ------
    ValueError
        For arrays of different shape, times that do not increase, a negative height, a gap
        not above 0.

    Notes
    -----
    A wave begins where the mean of the record is crossed upwards, at the time straight
    between the two rows. Waves cut off by an end or a break are left out.

    Examples
    --------
    >>> time = np.arange(0.0, 100.0, 0.5)
    >>> waves = heave_waves(time, 0.3 + 1.2 * np.sin(2 * np.pi * time / 10.0))
    >>> waves.n_waves, waves.amplitude_m, waves.period_s
    (8, 1.2, 10.0)

    References
    ----------
    .. [1] Zero up-crossing analysis and significant height, common in wave records; from
       memory.
    """
    time, heave = np.asarray(time_s, dtype=np.float64), np.asarray(heave_m, dtype=np.float64)
    if least_height_m < 0.0:
        raise ValueError(f"least_height_m is {least_height_m}; must be at least 0")
    runs = list(_runs(time, (heave,), longest_gap_s))
    if not runs:
        return HeaveWaves(0, math.nan, math.nan, math.nan, math.nan, math.nan)
    mean, waves = _waves(time, heave, runs, least_height_m)
    heights, periods = [], []
    for run, crossing in waves:
        heights.append(_swings(time[run], heave[run], crossing))
        periods.append(np.diff(crossing))
    if not heights:
        return HeaveWaves(0, mean, math.nan, math.nan, math.nan, math.nan)
    height = np.sort(np.concatenate(heights))[::-1]
    third = height[: max(math.ceil(len(height) / 3), 1)]
    return HeaveWaves(
        len(height),
        mean,
        float(height.mean()) / 2,
        float(third.mean()),
        float(height[0]),
        float(np.concatenate(periods).mean()),
    )


def load_over_waves(
    time_s: ArrayLike,
    load_N: ArrayLike,
    heave_m: ArrayLike,
    *,
    least_height_m: float = 0.0,
    longest_gap_s: float = LONGEST_GAP_s,
) -> LoadOverWaves:
    """Mean and swing of a load over whole heave waves.

    Parameters
    ----------
    time_s : array_like
        Times, increasing. [s]
    load_N : array_like
        Load; not-a-number breaks the record. [N]
    heave_m : array_like
        Heave, rising positive; not-a-number breaks the record. [m]
    least_height_m, longest_gap_s : float
        As `heave_waves`. [m, s]

    Returns
    -------
    LoadOverWaves
        Mean and swings. [N]

    Raises
    ------
    ValueError
        As `heave_waves`.

    Notes
    -----
    A mean over part of a wave is off by as much as the swing over pi; over whole waves the
    heave is out of it. The load is taken straight between rows.

    Examples
    --------
    >>> time = np.arange(0.0, 37.0, 0.5)
    >>> wave = np.sin(2 * np.pi * time / 10.0)
    >>> found = load_over_waves(time, 1e6 + 50e3 * wave, wave)
    >>> found.n_waves, round(found.mean_N, -2), found.swing_N
    (3, 1000000.0, 100000.0)

    References
    ----------
    .. [1] Derived.
    """
    time, load = np.asarray(time_s, dtype=np.float64), np.asarray(load_N, dtype=np.float64)
    heave = np.asarray(heave_m, dtype=np.float64)
    if least_height_m < 0.0:
        raise ValueError(f"least_height_m is {least_height_m}; must be at least 0")
    runs = list(_runs(time, (load, heave), longest_gap_s))
    swings, impulse, duration = [], 0.0, 0.0
    _, waves = _waves(time, heave, runs, least_height_m)
    for run, crossing in waves:
        swings.append(_swings(time[run], load[run], crossing))
        is_inside = (time[run] > crossing[0]) & (time[run] < crossing[-1])
        at = np.concatenate((crossing[:1], time[run][is_inside], crossing[-1:]))
        value = np.interp(at, time[run], load[run])
        impulse += float(((value[1:] + value[:-1]) / 2 * np.diff(at)).sum())
        duration += float(crossing[-1] - crossing[0])
    if not swings:
        return LoadOverWaves(0, math.nan, math.nan, math.nan, 0.0)
    swing = np.concatenate(swings)
    return LoadOverWaves(
        len(swing), impulse / duration, float(swing.mean()), float(swing.max()), duration
    )
