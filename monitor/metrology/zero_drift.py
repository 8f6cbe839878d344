"""Control charts of a known load: whether the zero has moved, at once or by and by.

Each check is a difference from what is known to hang there, such as the empty travelling
equipment in slips. A chart says that something moved, not why: temperature, mud on the
block or another elevator move it too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

# Mean of the range of two normal values in standard deviations.
RANGE_OF_TWO = 1.128
# A change is believed, and step told from drift, when its information criterion is better
# by this much: odds of about 150 to 1, and of 20 to 1. Our choice.
BELIEVED, TOLD_APART = 10.0, 6.0
LEAST_CHECKS = 6


@dataclass(frozen=True, slots=True)
class ControlChart:
    """EWMA and Shewhart chart of checks; the limits of the EWMA widen to their last value."""

    ewma: Values
    lower_ewma: Values
    upper_ewma: Values
    lower: float
    upper: float
    is_out: NDArray[np.bool_]  # by either chart


@dataclass(frozen=True, slots=True)
class ZeroChange:
    """What kind of change the checks show."""

    kind: str  # "none", "step", "drift" or "unclear": changed, but either would explain it
    step: float  # size of the best step; not-a-number without a change
    step_time_us: int | None  # first check after it
    drift_per_s: float  # slope of the best straight line
    now: float  # where the better of the two stands at the last check


def ewma(values: Values, weight: float, start: float) -> Values:
    """Exponentially weighted moving average.

    Parameters
    ----------
    values : ndarray
        Checks in order; a missing one leaves the average where it was. [any]
    weight : float
        Weight of the newest, above 0 and at most 1; 1 is the Shewhart chart. [-]
    start : float
        Average before the first: the target. [as values]

    Returns
    -------
    ndarray
        Average after each check. [as values]

    Raises
    ------
    ValueError
        For a weight outside (0, 1].

    Notes
    -----
    z_i = weight y_i + (1 - weight) z_(i-1).

    Examples
    --------
    >>> ewma(np.array([52.0, 47.0, 53.0]), 0.3, 50.0).round(2)
    array([50.6 , 49.52, 50.56])

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 "EWMA Control Charts";
       looked up as quoted in a public repository.
    """
    _check_weight(weight)
    averages = np.empty(len(values))
    average = start
    for place, value in enumerate(np.asarray(values, dtype=float).tolist()):
        if not math.isnan(value):
            average = weight * value + (1.0 - weight) * average
        averages[place] = average
    return averages


def _check_weight(weight: float) -> None:
    if not 0.0 < weight <= 1.0:
        raise ValueError(f"weight is {weight}; must be above 0 and at most 1")


def ewma_limits(
    target: float,
    standard_deviation: float,
    weight: float,
    width: float = 3.0,
    n_checks: int | None = None,
) -> tuple[float, float]:
    """Control limits of the average.

    Parameters
    ----------
    target : float
        Centre. [any]
    standard_deviation : float
        Of a single check while nothing moved. [as target]
    weight : float
        As `ewma`. [-]
    width : float
        Half width in standard deviations of the average. [-]
    n_checks : int, optional
        Checks so far, for limits that begin narrow; without it the limits after many. [-]

    Returns
    -------
    tuple of float
        Lower and upper limit. [as target]

    Raises
    ------
    ValueError
        As `ewma`; for a standard deviation below zero, fewer than one check.

    Notes
    -----
    target -+ width s sqrt(weight / (2 - weight) (1 - (1 - weight)^(2 n))).

    Examples
    --------
    >>> [round(limit, 1) for limit in ewma_limits(50.0, 2.0539, 0.3)]
    [47.4, 52.6]

    References
    ----------
    .. [1] As `ewma`; limits that widen: Montgomery, "Introduction to Statistical Quality
       Control", from memory.
    """
    _check_weight(weight)
    if not standard_deviation >= 0.0:
        raise ValueError(f"standard_deviation is {standard_deviation}; must be at least 0")
    share = weight / (2.0 - weight)
    if n_checks is not None:
        if n_checks < 1:
            raise ValueError(f"n_checks is {n_checks}; must be at least 1")
        share *= 1.0 - (1.0 - weight) ** (2 * n_checks)
    half = width * standard_deviation * math.sqrt(share)
    return target - half, target + half


def standard_deviation_by_ranges(values: Values) -> float:
    """Standard deviation of single checks from the moving range of two.

    Parameters
    ----------
    values : ndarray
        Checks in order; missing ones are left out. [any]

    Returns
    -------
    float
        Mean range / 1.128, which a slow drift hardly widens; not-a-number below two
        checks. [as values]

    Examples
    --------
    >>> round(standard_deviation_by_ranges(np.array([1.0, 2.0, 1.0, 2.0])), 4)
    0.8865

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 "Individuals Control
       Charts"; from memory.
    """
    known = np.asarray(values, dtype=float)
    known = known[np.isfinite(known)]
    if len(known) < 2:
        return math.nan
    return float(np.abs(np.diff(known)).mean()) / RANGE_OF_TWO


def control_chart(
    values: Values,
    target: float,
    standard_deviation: float,
    weight: float = 0.3,
    width: float = 3.0,
) -> ControlChart:
    """EWMA and Shewhart chart of checks in order.

    Parameters
    ----------
    values : ndarray
        Checks. [any]
    target, standard_deviation : float
        Centre and scatter of single checks while nothing moved. [as values]
    weight : float
        As `ewma`: small for slow drifts, near 1 for steps. [-]
    width : float
        Half width of both charts in their standard deviations. [-]

    Returns
    -------
    ControlChart
        Averages, limits, which checks are out. [as values]

    Raises
    ------
    ValueError
        As `ewma_limits`.

    Notes
    -----
    Causal: each row depends on checks up to it. The EWMA finds what is small and stays, the
    Shewhart limits what is large at once.

    Examples
    --------
    >>> control_chart(np.array([0.1, -0.1, 0.0, 4.0]), 0.0, 1.0).is_out
    array([False, False, False,  True])

    References
    ----------
    .. [1] As `ewma` and `standard_deviation_by_ranges`.
    """
    values = np.asarray(values, dtype=float)
    averages = ewma(values, weight, target)
    counts = np.cumsum(np.isfinite(values))
    bounds = [
        ewma_limits(target, standard_deviation, weight, width, max(int(n), 1)) for n in counts
    ]
    low, high = (np.array([bound[side] for bound in bounds]) for side in (0, 1))
    half = width * standard_deviation
    known = np.isfinite(values)
    is_out = known & ((averages < low) | (averages > high) | (np.abs(values - target) > half))
    return ControlChart(averages, low, high, target - half, target + half, is_out)


def zero_change(time_us: NDArray[np.int64], values: Values) -> ZeroChange:
    """Tell a step from a drift, or from no change.

    Parameters
    ----------
    time_us : ndarray of int64
        When each check was made. [us]
    values : ndarray
        Checks; missing ones are left out. [any]

    Returns
    -------
    ZeroChange
        Kind, best step and best slope, where it stands now. [as values, per second]

    Raises
    ------
    ValueError
        For times that do not pair with the values.

    Notes
    -----
    Three explanations by least squares: one level; two levels with the change between any
    two checks; a straight line in time. The Bayesian information criterion n ln(RSS / n) +
    k ln n, k = 1, 3 and 2, weighs fit against freedom. Fewer than six checks: none.

    Examples
    --------
    >>> hours = np.arange(12) * 3_600_000_000
    >>> noise = np.array([0.1, -0.1, 0.0] * 4)
    >>> found = zero_change(hours, noise + np.where(np.arange(12) < 7, 0.0, 5.0))
    >>> found.kind, round(found.step, 1), found.step_time_us // 3_600_000_000
    ('step', 5.0, 7)
    >>> zero_change(hours, noise + np.arange(12)).kind
    'drift'

    References
    ----------
    .. [1] Schwarz, "Estimating the dimension of a model", Annals of Statistics 6, 1978;
       from memory. The thresholds are ours.
    """
    times, checks = np.asarray(time_us), np.asarray(values, dtype=float)
    if len(times) != len(checks):
        raise ValueError(f"time_us has {len(times)} rows and values {len(checks)}; must be pairs")
    known = np.isfinite(checks)
    times, checks = times[known], checks[known]
    n = len(checks)
    level = float(checks.mean()) if n else math.nan
    if n < LEAST_CHECKS:
        return ZeroChange("none", math.nan, None, math.nan, level)
    seconds = (times - times[0]) / 1e6
    middle = seconds - seconds.mean()
    spread = float(np.sum(middle**2))
    slope = float(np.sum(middle * checks)) / spread if spread > 0.0 else 0.0
    place, before, after, rss_step = _best_step(checks)
    rss = (
        float(np.sum((checks - level) ** 2)),
        rss_step,
        float(np.sum((checks - level - slope * middle) ** 2)),
    )
    none, step, drift = (
        _criterion(each, n, k, float(np.abs(checks).max()))
        for each, k in zip(rss, (1, 3, 2), strict=True)
    )
    if none - min(step, drift) < BELIEVED:
        return ZeroChange("none", math.nan, None, math.nan, level)
    kind = "step" if step < drift else "drift"
    now = after if kind == "step" else level + slope * float(middle[-1])
    if abs(step - drift) < TOLD_APART:
        kind = "unclear"
    return ZeroChange(kind, after - before, int(times[place]), slope, now)


def _best_step(checks: Values) -> tuple[int, float, float, float]:
    """Place of the first check after the best step, levels about it, squares left over."""
    best = (1, 0.0, 0.0, math.inf)
    for place in range(1, len(checks)):
        before, after = checks[:place], checks[place:]
        low, high = float(before.mean()), float(after.mean())
        rss = float(np.sum((before - low) ** 2) + np.sum((after - high) ** 2))
        if rss < best[3]:
            best = (place, low, high, rss)
    return best


def _criterion(rss: float, n: int, n_parameters: int, size: float) -> float:
    floor = n * (1e-12 * max(size, 1e-300)) ** 2  # checks without any scatter
    return n * math.log(max(rss, floor) / n) + n_parameters * math.log(n)


def time_to_limit_s(change: ZeroChange, lower: float, upper: float) -> float:
    """Time until a drift reaches a limit, if it goes on as it did.

    Parameters
    ----------
    change : ZeroChange
        Of `zero_change`.
    lower, upper : float
        Limits. [as the checks]

    Returns
    -------
    float
        0 outside the limits already, infinite where it is no drift. [s]

    Examples
    --------
    >>> time_to_limit_s(ZeroChange("drift", 1.0, 0, 0.5, 10.0), -20.0, 20.0)
    20.0

    References
    ----------
    .. [1] None: a straight line.
    """
    if not lower <= change.now <= upper:
        return 0.0
    if change.kind != "drift" or change.drift_per_s == 0.0:
        return math.inf
    ahead = upper if change.drift_per_s > 0.0 else lower
    return (ahead - change.now) / change.drift_per_s
