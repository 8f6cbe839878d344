"""Friction factors from recorded weights, each direction by itself, with uncertainty.

A factor found so belongs to the model of `monitor.mechanics.drag`: whatever looks like
friction is in it. It is no property of mud and steel, and a trend tells more than a value.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.drag import friction_sign
from monitor.mechanics.soft_string import Hole, floor_tension_N
from monitor.rig.rig import Section

Array = NDArray[np.float64]

_STEP = 1e-4  # of a friction factor, for slopes; weights bend little over it
_HUBER = 1.345  # standard deviations beyond which a residual pulls no harder; 95 % efficiency


@dataclass(frozen=True, slots=True, eq=False)
class FrictionFit:
    """What recorded weights in one direction say of friction. Not-a-number: nothing."""

    direction: str
    friction_factor: float  # open hole, or all of it
    standard_error: float  # scatter and common error together
    cased_friction_factor: float  # as fitted or as given; not-a-number where there is none
    cased_standard_error: float
    residual_N: Array  # recorded less fitted, in the order given
    residual_standard_deviation_N: float  # robust
    n_weights: int


def _solve(slope: Array, residual: Array, weight: Array) -> tuple[Array, Array] | None:
    """Weighted least-squares step and the inverse of its normal matrix."""
    scale = np.sqrt((slope**2).mean(axis=0))
    if np.any(scale < 1.0):  # a newton a unit of friction factor: nothing to see
        return None
    scaled = slope / scale
    normal = scaled.T @ (scaled * weight[:, None])
    if np.linalg.cond(normal) > 1e8:
        return None
    inverse = np.linalg.inv(normal)
    step = inverse @ (scaled.T @ (weight * residual))
    return step / scale, inverse / np.outer(scale, scale)


def _robust_deviation(residual: Array, n_factors: int) -> float:
    """Standard deviation from the median of the sizes, corrected for what was fitted."""
    size = np.sort(np.abs(residual))[max(n_factors - 1, 0) :]
    return float(1.4826 * np.median(size)) if size.size else math.nan


def _gauss_newton(
    modelled: Callable[[Array], Array], weight: Array, n_factors: int
) -> tuple[Array, Array, Array, Array] | None:
    """Best factors, unscaled covariance, their shift a newton of common error, residuals."""
    if weight.size <= n_factors:
        return None
    factors = np.full(n_factors, 0.2)
    trials = np.vstack((np.zeros(n_factors), _STEP * np.eye(n_factors)))
    for _ in range(20):
        values = modelled(factors + trials)
        slope = (values[1:] - values[0]).T / _STEP
        residual = weight - values[0]
        limit = max(_HUBER * _robust_deviation(residual, n_factors), 1e-6)
        trust = np.minimum(1.0, limit / np.maximum(np.abs(residual), 1e-9))
        solved = _solve(slope, residual, trust)
        if solved is None:
            return None
        step, inverse = solved
        factors = factors + np.clip(step, -0.3, 0.3)  # a step, not the result
        if np.max(np.abs(step)) < 1e-7:
            break
    shift_per_N = inverse @ (slope.T @ trust)
    return factors, inverse, shift_per_N, weight - modelled(factors[None])[0]


def fit_friction_factor(
    sections: Sequence[Section],
    hole: Hole,
    bit_depth_m: Array,
    weight_N: Array,
    direction: str,
    *,
    cased_friction_factor: float | None = None,
    fit_cased: bool = False,
    common_error_N: float = 0.0,
) -> FrictionFit:
    """Friction factor that explains recorded weights of one direction best.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    hole : Hole
        Path, mud and casing shoe. [-]
    bit_depth_m : ndarray
        Measured bit depths, one axis. [m]
    weight_N : ndarray
        Recorded weights there, travelling equipment and pipe above the floor taken off. [N]
    direction : str
        ``"hoisting"`` or ``"lowering"``. [-]
    cased_friction_factor : float or None
        Known factor above the casing shoe; None: one factor for the whole hole. [-]
    fit_cased : bool
        Fit a second factor above the casing shoe; the hole needs one. [-]
    common_error_N : float
        Standard uncertainty that all weights share: sensor, travelling weight, mud density;
        at least 0. [N]

    Returns
    -------
    FrictionFit
        Factors and standard errors [-], residuals [N].

    Raises
    ------
    ValueError
        For the rotating direction, arrays of different shape, a cased factor that is both
        given and to be fitted, one to be fitted without a casing shoe, a negative common
        error.

    Notes
    -----
    Gauss-Newton with Huber's weights, so that a few tight spots do not raise the factor.
    Rows with not-a-number are left out. Where the weights do not depend on friction (a
    vertical hole, all depths above the first bend), or there are fewer than one more than
    factors, the result is not-a-number. A factor below 0 is left so: it says that the
    string's weight, the travelling weight or the mud density is wrong. The common error
    is carried through the same least squares and added in quadrature.

    Examples
    --------
    >>> from monitor.mechanics.drag import moving_weight_N
    >>> from monitor.mechanics.survey import well_path
    >>> from monitor.rig.rig import SurveyStation
    >>> hole = Hole(well_path([SurveyStation(0.0, 1.0, 0.0)]), 1200.0)
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> depth = np.linspace(500.0, 2000.0, 20)
    >>> weight = moving_weight_N([pipe], hole, depth, 0.27, "hoisting")
    >>> fit = fit_friction_factor([pipe], hole, depth, weight, "hoisting", common_error_N=5e3)
    >>> fit.friction_factor, fit.standard_error
    (0.27, 0.015)

    References
    ----------
    .. [1] P. J. Huber, Robust Statistics, Wiley, 1981, for the weights; from memory.
    """
    depth = np.asarray(bit_depth_m, dtype=np.float64)
    weight = np.asarray(weight_N, dtype=np.float64)
    sign = friction_sign(direction)
    if sign == 0.0:
        raise ValueError("direction is 'rotating'; must be hoisting or lowering")
    if depth.ndim != 1 or depth.shape != weight.shape:
        raise ValueError(
            f"weight_N has shape {weight.shape} and bit_depth_m {depth.shape}; must be the same, "
            "of one axis"
        )
    if fit_cased and (cased_friction_factor is not None or hole.casing_shoe_m is None):
        raise ValueError(
            "fit_cased is True; needs a casing shoe and no cased_friction_factor given"
        )
    if common_error_N < 0.0:
        raise ValueError(f"common_error_N is {common_error_N}; must be at least 0")
    is_used = np.isfinite(depth) & np.isfinite(weight)
    n_factors = 2 if fit_cased else 1

    def modelled(factors: Array) -> Array:
        """Weights for each row of factors: open and, where there is a second, cased."""
        cased = factors[:, 1] if fit_cased else cased_friction_factor
        return floor_tension_N(
            sections, hole, depth[is_used], factors[:, 0], sign, cased_friction_factor=cased
        )

    found = _gauss_newton(modelled, weight[is_used], n_factors)
    residual = np.full(depth.shape, math.nan)
    factors, errors = np.full(2, math.nan), np.full(2, math.nan)
    deviation = math.nan
    if cased_friction_factor is not None:
        factors[1], errors[1] = cased_friction_factor, 0.0
    if found is not None:
        best, covariance, shift_per_N, rest = found
        residual[is_used] = rest
        deviation = _robust_deviation(rest, n_factors)
        variance = deviation**2 * np.diag(covariance) + (common_error_N * shift_per_N) ** 2
        factors[:n_factors], errors[:n_factors] = best, np.sqrt(variance)
    return FrictionFit(
        direction, float(factors[0]), float(errors[0]), float(factors[1]), float(errors[1]),
        residual, deviation, int(is_used.sum()),
    )  # fmt: skip
