"""Calibration of a force sensor: reading as a function of load, and the load of a reading.

Least squares of reading = f(load), linear or quadratic, as the force-calibration standards
do it, fitted on centred and scaled loads: on raw loads of millions a quadratic loses most of
its digits. Loads and readings keep the units they come in; nothing is converted here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

DEGREES = {"linear": 1, "quadratic": 2}
Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Calibration:
    """A fit in the units of its points. ``coefficients`` ascend in powers of the load."""

    degree: int
    is_through_zero: bool
    coefficients: tuple[float, ...]  # constant 0 where it is held at zero
    standard_errors: tuple[float, ...]  # likewise 0
    residual_standard_deviation: float
    n_points: int
    n_free: int
    load_range: tuple[float, float]
    reading_range: tuple[float, float]  # of the fit at the ends of the load range, ascending
    centre: float
    scale: float
    scaled: tuple[float, ...]  # coefficients in (load - centre) / scale
    scaled_covariance: tuple[tuple[float, ...], ...]

    @property
    def is_monotonic(self) -> bool:
        """Whether each reading within the range belongs to one load only."""
        slopes = reading_slope(self, np.array([*self.load_range, self.centre]))
        return bool(np.all(slopes > 0.0) or np.all(slopes < 0.0))


def fit_calibration(
    loads: Values, readings: Values, model: str = "linear", *, through_zero: bool = False
) -> Calibration:
    """Fit reading = f(load) by least squares.

    Parameters
    ----------
    loads : ndarray
        Reference load of each point. [unit of the loads]
    readings : ndarray
        Sensor reading of each point. [unit of the readings]
    model : str
        ``"linear"`` or ``"quadratic"``.
    through_zero : bool
        Hold the reading at no load at zero: no constant is fitted. Wrong for a signal with
        a live zero such as 4-20 mA.

    Returns
    -------
    Calibration
        Coefficients, their standard errors, residual standard deviation, range. [as given]

    Raises
    ------
    ValueError
        For another model, points that do not pair or are not finite, and for too few points
        or different loads: one point more than coefficients at least.

    Notes
    -----
    s = sqrt(sum d^2 / (n - p)) with p coefficients, which is n - m - 1 for degree m with a
    constant. The loads are centred on their middle and divided by half their span (through
    zero: only divided by the greatest), solved by QR, corrected once by the fit of its own
    residuals, and turned back to powers of the load.

    Examples
    --------
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.1, 20.0]))
    >>> [round(c, 4) for c in fit.coefficients], round(fit.residual_standard_deviation, 4)
    ([4.0333, 0.16], 0.0816)

    References
    ----------
    .. [1] ASTM E74-18, "Standard Practices for Calibration and Verification for
       Force-Measuring Instruments", 7.1; looked up in articles that quote it.
    .. [2] NIST Statistical Reference Datasets, linear regression, "Pontius": a load cell,
       certified values; looked up.
    """
    x, y = (np.asarray(values, dtype=float).ravel() for values in (loads, readings))
    degree = _degree(model)
    _check_points(x, y, degree, through_zero)
    low, high = float(x.min()), float(x.max())
    centre, scale = low + (high - low) / 2.0, (high - low) / 2.0
    if through_zero:
        centre, scale = 0.0, max(abs(low), abs(high))
    first = 1 if through_zero else 0
    powers = range(first, degree + 1)
    design = np.stack([((x - centre) / scale) ** power for power in powers], axis=1)
    q, r = np.linalg.qr(design)
    solution = np.linalg.solve(r, q.T @ y)
    # A second solution of what is left over takes the rounding of the first away.
    solution = solution + np.linalg.solve(r, q.T @ _residuals(y, design, solution))
    n_free = len(x) - len(solution)
    residuals = _residuals(y, design, solution)
    s = math.sqrt(math.fsum((residuals**2).tolist()) / n_free)
    inverse_r = np.linalg.inv(r)
    scaled = np.zeros(degree + 1)
    covariance = np.zeros((degree + 1, degree + 1))
    scaled[first:] = solution
    covariance[first:, first:] = s**2 * (inverse_r @ inverse_r.T)
    turn = _turning_back(degree, centre, scale)
    errors = np.sqrt(np.maximum(np.diag(turn @ covariance @ turn.T), 0.0))
    ends = np.polynomial.polynomial.polyval((np.array([low, high]) - centre) / scale, scaled)
    return Calibration(
        degree=degree,
        is_through_zero=through_zero,
        coefficients=tuple(math.fsum((row * scaled).tolist()) for row in turn),
        standard_errors=tuple(errors.tolist()),
        residual_standard_deviation=s,
        n_points=len(x),
        n_free=n_free,
        load_range=(low, high),
        reading_range=(float(ends.min()), float(ends.max())),
        centre=centre,
        scale=scale,
        scaled=tuple(scaled.tolist()),
        scaled_covariance=tuple(tuple(row) for row in covariance.tolist()),
    )


def _degree(model: str) -> int:
    if model not in DEGREES:
        raise ValueError(f"model is {model!r}; must be {' or '.join(DEGREES)}")
    return DEGREES[model]


def _check_points(x: Values, y: Values, degree: int, through_zero: bool) -> None:
    if len(x) != len(y):
        raise ValueError(f"loads has {len(x)} points and readings {len(y)}; must be pairs")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise ValueError("loads and readings must all be known")
    n_coefficients = degree + (0 if through_zero else 1)
    if len(x) <= n_coefficients:
        raise ValueError(
            f"loads has {len(x)} points; {n_coefficients} coefficients with a standard deviation "
            f"need at least {n_coefficients + 1}"
        )
    different = len(np.unique(x[x != 0.0] if through_zero else x))
    if different < n_coefficients:
        besides = " besides zero" if through_zero else ""
        raise ValueError(
            f"loads has {different} different loads{besides}; "
            f"{n_coefficients} coefficients need at least {n_coefficients}"
        )


def _residuals(y: Values, design: Values, solution: Values) -> Values:
    """Reading less fit, each summed exactly before it is rounded."""
    terms = np.column_stack([y, -design * solution])
    return np.array([math.fsum(row) for row in terms.tolist()])


def _turning_back(degree: int, centre: float, scale: float) -> Values:
    """Matrix from coefficients in (load - centre) / scale to those in powers of the load."""
    turn = np.zeros((degree + 1, degree + 1))
    for power in range(degree + 1):
        for k in range(power + 1):
            turn[k, power] = math.comb(power, k) * (-centre) ** (power - k) / scale**power
    return turn


def reading_at(calibration: Calibration, loads: Values) -> Values:
    """Reading the fit gives at a load.

    Parameters
    ----------
    calibration : Calibration
        The fit.
    loads : ndarray
        Loads. [unit of the loads]

    Returns
    -------
    ndarray
        Readings. [unit of the readings]

    Notes
    -----
    Computed on the scaled load, where no digits are lost.

    Examples
    --------
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.0, 20.0]))
    >>> reading_at(fit, np.array([25.0]))
    array([8.])

    References
    ----------
    .. [1] As `fit_calibration`.
    """
    scaled_load = (np.asarray(loads, dtype=float) - calibration.centre) / calibration.scale
    return np.asarray(np.polynomial.polynomial.polyval(scaled_load, calibration.scaled))


def reading_slope(calibration: Calibration, loads: Values) -> Values:
    """Change of reading with load: the sensitivity.

    Parameters
    ----------
    calibration : Calibration
        The fit.
    loads : ndarray
        Loads. [unit of the loads]

    Returns
    -------
    ndarray
        Slope. [unit of the readings / unit of the loads]

    Examples
    --------
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.0, 20.0]))
    >>> reading_slope(fit, np.array([25.0])).round(6)
    array([0.16])

    References
    ----------
    .. [1] As `fit_calibration`.
    """
    scaled_load = (np.asarray(loads, dtype=float) - calibration.centre) / calibration.scale
    by_power = np.polynomial.polynomial.polyder(np.asarray(calibration.scaled))
    return np.asarray(np.polynomial.polynomial.polyval(scaled_load, by_power) / calibration.scale)


def load_of(calibration: Calibration, readings: Values) -> tuple[Values, NDArray[np.bool_]]:
    """Load that belongs to a reading, and whether it lies outside the calibrated range.

    Parameters
    ----------
    calibration : Calibration
        The fit, monotonic over its range.
    readings : ndarray
        Sensor readings. [unit of the readings]

    Returns
    -------
    loads : ndarray
        Loads; not-a-number where no load gives that reading. [unit of the loads]
    is_extrapolated : ndarray of bool
        True where no calibration point vouches for the load, not-a-number included.

    Raises
    ------
    ValueError
        Where the fit turns over within its range, so that a reading has two loads.

    Notes
    -----
    Of a quadratic's two roots the one on the branch of the calibrated range:
    u = 2 (y - a0) / (a1 + sign(a1) sqrt(a1^2 + 4 a2 (y - a0))), which loses no digits
    where a2 is small. Outside the range the load is given, and flagged.

    Examples
    --------
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.0, 20.0]))
    >>> load, outside = load_of(fit, np.array([8.0, 21.6]))
    >>> load.round(6), outside
    (array([ 25., 110.]), array([False,  True]))

    References
    ----------
    .. [1] As `fit_calibration`; the root from memory.
    """
    if not calibration.is_monotonic:
        raise ValueError(
            "calibration is flat or turns over within its range: a reading there has no one "
            "load; fit it linear, or look for a bad point"
        )
    a0, a1, a2 = (*calibration.scaled, 0.0)[:3]
    above = np.asarray(readings, dtype=float) - a0
    with np.errstate(invalid="ignore"):
        root = np.sqrt(a1 * a1 + 4.0 * a2 * above)
        loads = calibration.centre + calibration.scale * 2.0 * above / (a1 + np.copysign(root, a1))
    low, high = calibration.load_range
    slack = 1e-9 * (high - low)  # the ends themselves are inside, whatever their rounding
    return loads, ~((loads >= low - slack) & (loads <= high + slack))
