"""The block's position, checked: tape against encoder, and heights that must come again.

Position is counted at the drum. A survey with a tape from the rig floor tells scale, zero
and the jumps of scale where the line changes its layer on the drum. Between surveys, what
must come again tells drift: the height at which slips are set, and pipe whose length is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.metrology.sheave_friction import student_t_975
from monitor.metrology.zero_drift import ZeroChange, standard_deviation_by_ranges, zero_change

Values = NDArray[np.float64]

LEAST_POINTS = 4
# A change of scale from one stretch to the next is believed beyond so many standard errors,
# and a layer is looked for where so many points lie on each side. Our choices.
BELIEVED, LEAST_SIDE = 4.0, 3
# Heights of slips this far from their middle are another way of working, not the counter.
OTHER_WORK_m = 1.0
LEAST_HEIGHTS = 6


@dataclass(frozen=True, slots=True)
class BlockSurvey:
    """What a tape says of the counter. Half widths are of 95 % intervals."""

    scale: float  # taped over shown travel
    scale_half_width: float
    zero_m: float  # taped height where the counter shows 0
    residual_m: float  # standard deviation about the line
    greatest_error_m: float  # shown less taped, greatest
    greatest_at_m: float  # shown height of that
    reversal_m: float  # shown going up less going down at one height; not-a-number: not told
    layer_at_m: float  # shown height where the scale changes; not-a-number: no change seen
    scale_change: float  # scale above it over that below; 1 without


def block_survey(
    shown_m: Values, taped_m: Values, going_up: NDArray[np.bool_] | None = None
) -> BlockSurvey:
    """Judge a survey of the block.

    Parameters
    ----------
    shown_m : ndarray
        Heights the counter shows. [m]
    taped_m : ndarray
        The same heights by tape from the rig floor. [m]
    going_up : ndarray of bool, optional
        Which way the block had come at each point. [-]

    Returns
    -------
    BlockSurvey
        Scale, zero, errors, difference of the two ways, change of scale. [-] [m]

    Raises
    ------
    ValueError
        For points that do not pair or are not known, fewer than four, or all at one height.

    Notes
    -----
    Least squares of taped against shown; then two lines that meet at any point with three on
    each side, kept where the second slope differs by four standard errors and the fit is
    better: a layer of the drum changes its pitch diameter, so the scale, and by no more
    than twice the line's diameter over the drum's.

    Examples
    --------
    >>> shown = np.array([0.0, 10.0, 20.0, 30.0])
    >>> found = block_survey(shown, 1.01 * shown + 0.2)
    >>> round(found.scale, 4), round(found.zero_m, 4), round(found.greatest_error_m, 3)
    (1.01, 0.2, -0.5)

    References
    ----------
    .. [1] Least squares; a survey by tape is common practice.
    """
    shown, taped = (np.asarray(v, dtype=float).ravel() for v in (shown_m, taped_m))
    _check(shown, taped)
    scale, zero, residual, error = _line(shown, taped)
    off = shown - taped
    worst = int(np.argmax(np.abs(off)))
    at, change = _layer(shown, taped, residual)
    return BlockSurvey(
        scale=scale,
        scale_half_width=student_t_975(len(shown) - 2) * error,
        zero_m=zero,
        residual_m=residual,
        greatest_error_m=float(off[worst]),
        greatest_at_m=float(shown[worst]),
        reversal_m=_reversal(off, going_up),
        layer_at_m=at,
        scale_change=change,
    )


def _check(shown: Values, taped: Values) -> None:
    if len(shown) != len(taped):
        raise ValueError(f"shown_m has {len(shown)} points and taped_m {len(taped)}; pairs needed")
    if not (np.isfinite(shown).all() and np.isfinite(taped).all()):
        raise ValueError("shown_m and taped_m must all be known")
    if len(shown) < LEAST_POINTS:
        raise ValueError(f"shown_m has {len(shown)} points; at least {LEAST_POINTS} are needed")
    if np.ptp(shown) <= 0.0:
        raise ValueError("shown_m is all at one height; heights over the stroke are needed")


def _line(shown: Values, taped: Values) -> tuple[float, float, float, float]:
    """Slope, value at zero, residual standard deviation, standard error of the slope."""
    away = shown - shown.mean()
    spread = float(np.sum(away * away))
    slope = float(np.sum(away * taped)) / spread
    zero = float(taped.mean()) - slope * float(shown.mean())
    left = taped - zero - slope * shown
    residual = math.sqrt(float(np.sum(left * left)) / (len(shown) - 2))
    return slope, zero, residual, residual / math.sqrt(spread)


def _reversal(off: Values, going_up: NDArray[np.bool_] | None) -> float:
    if going_up is None or going_up.all() or not going_up.any():
        return math.nan
    return float(off[going_up].mean() - off[~going_up].mean())


def _layer(shown: Values, taped: Values, residual: float) -> tuple[float, float]:
    """Height where the scale changes and by how much, where that is believed."""
    order = np.argsort(shown, kind="stable")
    x, y = shown[order], taped[order]
    best = (math.nan, 1.0)
    least = residual * residual * (len(x) - 2)
    for place in range(LEAST_SIDE, len(x) - LEAST_SIDE + 1):
        at = 0.5 * (x[place - 1] + x[place])
        design = np.column_stack((np.ones(len(x)), x - at, np.maximum(x - at, 0.0)))
        if np.linalg.matrix_rank(design) < 3 or len(x) <= 3:
            continue
        found, *_ = np.linalg.lstsq(design, y, rcond=None)
        left = y - design @ found
        squares = float(left @ left)
        variance = max(squares / (len(x) - 3), 1e-12)
        covariance = variance * np.linalg.inv(design.T @ design)
        is_told = abs(found[2]) > BELIEVED * math.sqrt(covariance[2, 2])
        if is_told and squares < least:
            least = squares
            best = (float(at), float((found[1] + found[2]) / found[1]))
    return best


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights that must come again: where they are, how they scatter, whether they wander."""

    n: int
    middle_m: float
    spread_m: float  # standard deviation from one to the next
    change: ZeroChange  # of the counter: none, step, drift, unclear
    put_aside: int  # heights far from the middle: another way of working


def repeated_heights(time_us: NDArray[np.int64], heights_m: Values) -> Heights:
    """Judge heights at which slips were set, or lengths of pipe that is the same.

    Parameters
    ----------
    time_us : ndarray of int64
        When. [us]
    heights_m : ndarray
        Heights, or shown less known lengths. [m]

    Returns
    -------
    Heights
        Middle, scatter from one to the next, step or drift told apart. [m]

    Examples
    --------
    >>> hours = np.arange(10) * 3_600_000_000
    >>> heights = 1.2 + np.where(np.arange(10) < 5, 0.0, 0.3) + np.tile([0.01, -0.01], 5)
    >>> found = repeated_heights(hours, heights)
    >>> found.change.kind, round(found.change.step, 2)
    ('step', 0.3)

    References
    ----------
    .. [1] As `monitor.metrology.zero_drift.zero_change`.
    """
    times, heights = np.asarray(time_us), np.asarray(heights_m, dtype=float)
    known = np.isfinite(heights)
    times, heights = times[known], heights[known]
    middle = float(np.median(heights)) if len(heights) else math.nan
    near = np.abs(heights - middle) <= OTHER_WORK_m
    aside = int(np.count_nonzero(~near))
    times, heights = times[near], heights[near]
    return Heights(
        n=len(heights),
        middle_m=middle,
        spread_m=standard_deviation_by_ranges(heights),
        change=zero_change(times, heights),
        put_aside=aside,
    )


@dataclass(frozen=True, slots=True)
class LengthCheck:
    """Lengths by the block against lengths of the pipe."""

    n: int
    scale: float  # known over shown length: what the counter should be multiplied by
    scale_half_width: float  # 95 %
    spread_m: float  # standard deviation of single differences
    sum_m: float  # shown less known, over all


def against_lengths(shown_m: Values, known_m: Values) -> LengthCheck:
    """Compare lengths the block has shown with those of the pipe, stand by stand.

    Parameters
    ----------
    shown_m : ndarray
        Length of each stand by block travel. [m]
    known_m : ndarray
        Length of the same stand by the tally. [m]

    Returns
    -------
    LengthCheck
        Scale by all of them, its interval, scatter, sum of the differences. [-] [m]

    Raises
    ------
    ValueError
        For lengths that do not pair, fewer than two that are known, or a length not above 0.

    Examples
    --------
    >>> check = against_lengths(np.array([28.6, 28.8, 28.7]), np.array([28.5, 28.7, 28.6]))
    >>> round(check.scale, 4), round(check.sum_m, 2)
    (0.9965, 0.3)

    References
    ----------
    .. [1] Ratio of sums; its interval from the scatter of the differences. Derived.
    """
    shown, known = (np.asarray(v, dtype=float).ravel() for v in (shown_m, known_m))
    if len(shown) != len(known):
        raise ValueError(f"shown_m has {len(shown)} stands and known_m {len(known)}; pairs needed")
    both = np.isfinite(shown) & np.isfinite(known)
    shown, known = shown[both], known[both]
    if len(shown) < 2:
        raise ValueError(f"{len(shown)} stands with both lengths; at least 2 are needed")
    if not (np.all(shown > 0.0) and np.all(known > 0.0)):
        raise ValueError("shown_m and known_m must be above 0")
    scale = float(known.sum() / shown.sum())
    left = known - scale * shown
    spread = float(np.sqrt(np.sum(left * left) / (len(left) - 1)))
    half = student_t_975(len(left) - 1) * spread * math.sqrt(len(left)) / float(shown.sum())
    return LengthCheck(len(shown), scale, half, spread, float((shown - known).sum()))
