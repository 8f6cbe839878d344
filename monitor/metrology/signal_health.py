"""Health of a sensor's signal: fault levels, noise, steps, ends of scale, frozen spells.

Pure measures over a span of samples, with what to look at by the anchor. They judge the
signal, not the load: a healthy signal can still be wrong by its calibration.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]


class CurrentState(IntEnum):
    """What a 4-20 mA current says by NE 43; between the levels it says nothing certain."""

    MISSING = 0
    FAILED_LOW = 1
    DOUBTFUL_LOW = 2
    MEASURING = 3
    DOUBTFUL_HIGH = 4
    FAILED_HIGH = 5


# Failure at or beyond the outer pair, measuring (saturation included) within the inner. [A]
FAILED_LOW_A, MEASURING_LOW_A, MEASURING_HIGH_A, FAILED_HIGH_A = 0.0036, 0.0038, 0.0205, 0.021

# Our choices, for spells of a signal that should tremble.
LEAST_FROZEN_S = 30.0
COARSE_STEP = 4.0  # steps greater than so many standard deviations of the noise hide it
LEAST_SAMPLES = 20
AT_END_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class SignalHealth:
    """Measures of a span of signal, and findings as (what, what to check)."""

    n_samples: int
    share_failed: float
    noise: float
    resolution: float  # not-a-number where no step shows
    share_at_low_end: float
    share_at_high_end: float
    longest_frozen_s: float
    findings: tuple[tuple[str, str], ...]


def current_states(current_A: Values) -> NDArray[np.int8]:
    """State of each current by the levels of NE 43.

    Parameters
    ----------
    current_A : ndarray
        Loop current. [A]

    Returns
    -------
    ndarray of int8
        `CurrentState` of each.

    Notes
    -----
    Failed at or below 3.6 mA and at or above 21 mA, measuring from 3.8 to 20.5 mA.

    Examples
    --------
    >>> [int(state) for state in current_states(np.array([0.0035, 0.0037, 0.012, np.nan]))]
    [1, 2, 3, 0]

    References
    ----------
    .. [1] NAMUR NE 43, "Standardization of the signal level for the failure information of
       digital transmitters"; levels looked up on several pages that agree.
    """
    current = np.asarray(current_A, dtype=float)
    states = np.full(current.shape, CurrentState.MISSING, np.int8)
    states[current <= FAILED_LOW_A] = CurrentState.FAILED_LOW
    states[(current > FAILED_LOW_A) & (current < MEASURING_LOW_A)] = CurrentState.DOUBTFUL_LOW
    states[(current >= MEASURING_LOW_A) & (current <= MEASURING_HIGH_A)] = CurrentState.MEASURING
    states[(current > MEASURING_HIGH_A) & (current < FAILED_HIGH_A)] = CurrentState.DOUBTFUL_HIGH
    states[current >= FAILED_HIGH_A] = CurrentState.FAILED_HIGH
    return states


def noise_standard_deviation(values: Values) -> float:
    """Standard deviation of the noise from sample to sample.

    Parameters
    ----------
    values : ndarray
        Samples in order, evenly spaced; missing ones are left out. [any]

    Returns
    -------
    float
        Standard deviation; not-a-number below 20 samples. [as values]

    Notes
    -----
    1.4826 median |d| / sqrt 6 of second differences: a trend leaves them, load steps are
    outvoted. Noise that is correlated from sample to sample, such as pump strokes sampled
    fast, comes out too small, noise finer than the signal's steps as 0.

    Examples
    --------
    >>> noise = np.random.default_rng(1).normal(size=10_000)
    >>> round(noise_standard_deviation(noise + 0.01 * np.arange(10_000)), 1)
    1.0

    References
    ----------
    .. [1] Median absolute deviation; common practice.
    """
    known = _known(values)
    if len(known) < LEAST_SAMPLES:
        return math.nan
    second = np.diff(known, n=2)
    return float(1.4826 * np.median(np.abs(second)) / math.sqrt(6.0))


def _known(values: Values) -> Values:
    array = np.asarray(values, dtype=float)
    return np.asarray(array[np.isfinite(array)])


def signal_step(values: Values) -> float:
    """Smallest step of a quantised signal.

    Parameters
    ----------
    values : ndarray
        Samples. [any]

    Returns
    -------
    float
        Step of which all differences are multiples; not-a-number where there is none, or
        fewer than 20 samples or three different values. [as values]

    Notes
    -----
    The least gap between different values, accepted when 95 % of the gaps are multiples of
    it within a tenth, and values repeat: without repeats nothing can be told.

    Examples
    --------
    >>> round(signal_step(np.round(np.linspace(4.0, 5.0, 200) / 0.05) * 0.05), 6)
    0.05

    References
    ----------
    .. [1] None: derived.
    """
    known = _known(values)
    if len(known) < LEAST_SAMPLES:
        return math.nan
    different = np.unique(known)
    gaps = np.diff(different)
    gaps = gaps[gaps > 1e-9 * float(np.abs(different).max())]  # rounding of the same value
    if len(gaps) < 2 or len(gaps) + 1 > len(known) // 2:
        return math.nan
    step = float(gaps.min())
    multiples = gaps / step
    fits = np.abs(multiples - np.round(multiples)) < 0.1
    return step if float(np.mean(fits)) >= 0.95 else math.nan


def share_at(values: Values, end: float, tolerance: float) -> float:
    """Share of samples that lie at an end of the scale.

    Parameters
    ----------
    values : ndarray
        Samples; missing ones are left out. [any]
    end : float
        Where the signal cannot go further. [as values]
    tolerance : float
        What counts as being there. [as values]

    Returns
    -------
    float
        Share, 0 to 1; not-a-number without samples. [-]

    Examples
    --------
    >>> share_at(np.array([20.5, 20.5, 19.0, 12.0]), 20.5, 0.01)
    0.5

    References
    ----------
    .. [1] None: it counts.
    """
    known = _known(values)
    return float(np.mean(np.abs(known - end) <= tolerance)) if len(known) else math.nan


def frozen_spells(
    time_us: NDArray[np.int64], values: Values, least_s: float = LEAST_FROZEN_S
) -> list[tuple[int, int]]:
    """Spells in which the value does not change at all.

    Parameters
    ----------
    time_us : ndarray of int64
        Stamps, rising. [us]
    values : ndarray
        Samples; a missing one ends a spell. [any]
    least_s : float
        Shortest spell that is told. [s]

    Returns
    -------
    list of tuple of int
        First and last stamp of each. [us]

    Notes
    -----
    Meant for a signal whose noise is greater than its steps; a quiet load on a coarse
    signal stands still too, and rightly so.

    Examples
    --------
    >>> frozen_spells(np.arange(5) * 10_000_000, np.array([1.0, 2.0, 2.0, 2.0, 1.0]), 20.0)
    [(10000000, 30000000)]

    References
    ----------
    .. [1] None: derived.
    """
    array = np.asarray(values, dtype=float)
    if not len(array):
        return []
    begins = np.flatnonzero(np.r_[True, array[1:] != array[:-1]])  # true at and after a NaN
    ends = np.r_[begins[1:], len(array)] - 1
    lasts = (time_us[ends] - time_us[begins]) / 1e6
    keep = (lasts >= least_s) & (ends > begins)
    return [
        (int(time_us[begin]), int(time_us[end]))
        for begin, end in zip(begins[keep], ends[keep], strict=True)
    ]


def signal_health(
    time_us: NDArray[np.int64],
    values: Values,
    low_end: float,
    high_end: float,
    *,
    is_current: bool = False,
) -> SignalHealth:
    """Measures of a span of signal, and a short list of what to check.

    Parameters
    ----------
    time_us : ndarray of int64
        Stamps, rising. [us]
    values : ndarray
        Raw signal. [A where ``is_current``, else any]
    low_end, high_end : float
        Signal at no tension and at full scale. [as values]
    is_current : bool
        Whether it is a 4-20 mA current, to which NE 43 applies.

    Returns
    -------
    SignalHealth
        Measures and findings; an empty list is a healthy signal.

    Raises
    ------
    ValueError
        For ends that are not in order.

    Examples
    --------
    >>> time_us = np.arange(1000) * 100_000
    >>> signal = 0.012 + 1e-5 * np.random.default_rng(1).normal(size=1000)
    >>> signal_health(time_us, signal, 0.004, 0.020, is_current=True).findings
    ()

    References
    ----------
    .. [1] As `current_states`; the rest is our choice.
    """
    if not low_end < high_end:
        raise ValueError(f"low_end is {low_end}; must be below high_end {high_end}")
    states = current_states(values) if is_current else np.zeros(0, np.int8)
    failed = (states == CurrentState.FAILED_LOW) | (states == CurrentState.FAILED_HIGH)
    spells = frozen_spells(time_us, values)
    moving = _outside(time_us, values, spells)
    noise, step = noise_standard_deviation(moving), signal_step(moving)
    tolerance = 0.001 * (high_end - low_end)
    health = SignalHealth(
        n_samples=len(_known(values)),
        share_failed=float(np.mean(failed)) if len(failed) else 0.0,
        noise=noise,
        resolution=step,
        share_at_low_end=_share_beyond(values, low_end + tolerance, -1.0),
        share_at_high_end=_share_beyond(values, high_end - tolerance, 1.0),
        longest_frozen_s=max(((end - begin) / 1e6 for begin, end in spells), default=0.0),
        findings=(),
    )
    return _with_findings(health, states)


def _outside(time_us: NDArray[np.int64], values: Values, spells: list[tuple[int, int]]) -> Values:
    """Samples outside the frozen spells, which would pass for a quiet signal; else all."""
    keep = np.ones(len(values), bool)
    for begin, end in spells:
        keep &= (time_us < begin) | (time_us > end)
    return values[keep] if np.isfinite(values[keep]).sum() >= LEAST_SAMPLES else values


def _share_beyond(values: Values, bound: float, sign: float) -> float:
    known = _known(values)
    return float(np.mean(sign * (known - bound) >= 0.0)) if len(known) else math.nan


def _with_findings(health: SignalHealth, states: NDArray[np.int8]) -> SignalHealth:
    low = bool(np.any(states == CurrentState.FAILED_LOW))
    high = bool(np.any(states == CurrentState.FAILED_HIGH))
    is_coarse = health.resolution > COARSE_STEP * health.noise
    found = [
        (low, "failed low", "loop supply, connector and cable for a break; fuse or barrier"),
        (high, "failed high", "cable for a short circuit; the transmitter's own failure signal"),
        (
            health.share_at_high_end > AT_END_SHARE and not high,
            "at the top of its scale",
            "whether the load passed the span; the span set in the transmitter",
        ),
        (
            health.share_at_low_end > AT_END_SHARE and not low,
            "at the bottom of its scale",
            "zero of the sensor; fluid and gap at the anchor's load cell",
        ),
        (
            health.longest_frozen_s > 0.0 and not is_coarse and not (low or high),
            "frozen",
            "whether the source still sends; anchor free to move, not frozen or jammed",
        ),
        (
            is_coarse,
            "coarse steps",
            "span and resolution of the converter: the steps are greater than the noise",
        ),
    ]
    findings = tuple((what, check) for holds, what, check in found if holds)
    return replace(health, findings=findings)
