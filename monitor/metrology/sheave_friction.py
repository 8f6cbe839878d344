"""Sheave efficiency and rail drag from runs up and down with the same load.

While the block goes up the dead line reads low, going down it reads high, and the ratio
gives the sheaves' efficiency. Drag of the travelling equipment on its rails looks the same
at one load; it does not grow with the load, so two loads or more tell them apart.

Every run: steady speed, same height window both ways, tension corrected for the weight of
the drilling line (add weight per length times mean block height above the sensor).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# What sheaves can be: friction takes something, and below 0.95 something else is wrong (a
# sheave that does not turn, the string's drag counted in, up and down at two loads).
LEAST_EFFICIENCY = 0.95
# Runs at loads nearer than this cannot tell efficiency from drag: our choice.
LEAST_SPREAD = 1.25
# Drag below zero by this share of the least load is taken for noise where the noise is not
# known: our choice.
UNKNOWN_DOUBT = 0.01

# 97.5 % quantiles of Student's t by degrees of freedom; beyond the table a series in
# 1 / n, at most 0.003 from the exact value. From memory, checked in the tests.
STUDENT_T_975 = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


@dataclass(frozen=True, slots=True)
class SteadyMean:
    """Mean tension of one steady run and its standard uncertainty."""

    tension_N: float
    standard_uncertainty_N: float
    n_samples: int


@dataclass(frozen=True, slots=True)
class SheaveFriction:
    """What the runs say. Half widths are of 95 % intervals; not-a-number: cannot be told."""

    sheave_efficiency: float
    efficiency_half_width: float
    rail_drag_N: float  # not-a-number from one load: it is in the efficiency then
    rail_drag_half_width_N: float
    loads_N: tuple[float, ...]  # what hung on the lines, by run
    is_combined: bool  # one load: efficiency with the rails' drag in it
    largest_residual_N: float


def steady_mean(tension_N: NDArray[np.float64], n_blocks: int = 8) -> SteadyMean:
    """Mean of a steady run with an uncertainty that allows for correlated noise.

    Parameters
    ----------
    tension_N : ndarray
        Tension over the run, one direction, steady speed. [N]
    n_blocks : int
        Equal pieces whose means are compared, at least 4. [-]

    Returns
    -------
    SteadyMean
        Mean and standard uncertainty. [N]

    Raises
    ------
    ValueError
        For fewer than four blocks, or fewer known samples than two a block.

    Notes
    -----
    Scatter of the block means over sqrt(n_blocks): noise that is correlated over less than
    a block is counted in full, unlike the scatter of single samples. A drift over the run
    widens it too.

    Examples
    --------
    >>> steady_mean(np.tile([99.0, 101.0], 16))
    SteadyMean(tension_N=100.0, standard_uncertainty_N=0.0, n_samples=32)

    References
    ----------
    .. [1] Method of batch means; from memory.
    """
    known = tension_N[np.isfinite(tension_N)]
    if n_blocks < 4:
        raise ValueError(f"n_blocks is {n_blocks}; must be at least 4")
    if len(known) < 2 * n_blocks:
        raise ValueError(f"tension_N has {len(known)} known samples; must have {2 * n_blocks}")
    means = np.array([block.mean() for block in np.array_split(known, n_blocks)])
    uncertainty = float(np.std(means, ddof=1)) / math.sqrt(n_blocks)
    return SteadyMean(float(known.mean()), uncertainty, len(known))


def sheave_friction(
    tension_up_N: NDArray[np.float64],
    tension_down_N: NDArray[np.float64],
    n_lines: int,
    dead_line_sheave: str = "fixed",
    up_uncertainty_N: NDArray[np.float64] | float | None = None,
    down_uncertainty_N: NDArray[np.float64] | float | None = None,
) -> SheaveFriction:
    """Sheave efficiency and rail drag from runs up and down.

    Parameters
    ----------
    tension_up_N : ndarray
        Mean dead-line tension of each run up, one a load. [N]
    tension_down_N : ndarray
        The same runs down. [N]
    n_lines : int
        Lines strung, at least 2. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]
    up_uncertainty_N, down_uncertainty_N : ndarray or float, optional
        Standard uncertainty of each mean, above 0; without them it is taken from the
        scatter about the line, which needs three loads. [N]

    Returns
    -------
    SheaveFriction
        Efficiency, rail drag, half widths, loads. [-] [N]

    Raises
    ------
    ValueError
        For runs that do not pair, tensions not above 0, and for impossible results with
        the reason: up not below down (efficiency 1 or more), efficiency below 0.95, drag
        below zero by more than twice its half width, loads too near one another.

    Notes
    -----
    F_up = (W + D) / f_up, F_down = (W - D) / f_down, so F_down = s F_up - 2 D / f_down with
    s = f_up / f_down = e^-(n-1), turning e^-(n+1): a straight line over the loads, fitted
    with errors in both tensions. Its slope gives e, its intercept D. One load: D is taken as
    0 and falls into e, the combined figure.

    Examples
    --------
    >>> found = sheave_friction(np.array([24e3]), np.array([27e3]), 10)
    >>> round(found.sheave_efficiency, 4), found.is_combined
    (0.987, True)

    References
    ----------
    .. [1] Derived from the belt-friction model of API RP 9B. York et al., "Unified equations
       for the slope, intercept, and standard errors of the best straight line", American
       Journal of Physics 72, 2004; from memory.
    """
    up, down = (np.asarray(t, dtype=float).ravel() for t in (tension_up_N, tension_down_N))
    _check_runs(up, down, n_lines, dead_line_sheave)
    u_up = _uncertainties("up_uncertainty_N", up_uncertainty_N, up)
    u_down = _uncertainties("down_uncertainty_N", down_uncertainty_N, down)
    power = n_lines - 1 if dead_line_sheave == "fixed" else n_lines + 1
    if len(up) == 1:
        return _combined(up, down, u_up, u_down, n_lines, power)
    if up.max() < LEAST_SPREAD * up.min():
        raise ValueError(
            f"tension_up_N runs from {up.min():g} to {up.max():g}; the loads must differ by "
            f"{LEAST_SPREAD:g} times to tell efficiency from rail drag; give one run for the "
            "combined figure"
        )
    slope, intercept, covariance, t = _line(up, down, u_up, u_down)
    e, e_half = _efficiency(slope, t * math.sqrt(covariance[0][0]), power)
    f_up, f_down = load_factors(e, n_lines, dead_line_sheave)
    drag = -intercept * f_down / 2.0
    # f_down varies with the slope too: d f_down / d slope by a small difference.
    step = 1e-6 * slope
    other = load_factors((slope + step) ** (-1.0 / power), n_lines, dead_line_sheave)[1]
    by_slope = -intercept * (other - f_down) / step / 2.0
    by_intercept = -f_down / 2.0
    variance = (
        by_slope**2 * covariance[0][0]
        + 2.0 * by_slope * by_intercept * covariance[0][1]
        + by_intercept**2 * covariance[1][1]
    )
    drag_half = t * math.sqrt(max(variance, 0.0))
    doubt = 2.0 * drag_half if math.isfinite(drag_half) else UNKNOWN_DOUBT * float(up.min()) * f_up
    if drag < -doubt:
        raise ValueError(
            f"rail drag comes out as {drag:.0f} N; rails cannot push the block along: the runs "
            "up and down were not at the same load, the line's weight was not corrected, or the "
            "zero of the sensor is off"
        )
    loads = (up * f_up + down * f_down) / 2.0
    residual = float(np.abs(down - slope * up - intercept).max())
    return SheaveFriction(e, e_half, drag, drag_half, tuple(loads.tolist()), False, residual)


def _check_runs(
    up: NDArray[np.float64], down: NDArray[np.float64], n_lines: int, dead_line_sheave: str
) -> None:
    if n_lines < 2:
        raise ValueError(f"n_lines is {n_lines}; must be at least 2")
    if dead_line_sheave not in ("fixed", "turning"):
        raise ValueError(f"dead_line_sheave is {dead_line_sheave!r}; must be fixed or turning")
    if len(up) != len(down) or len(up) == 0:
        raise ValueError(
            f"tension_up_N has {len(up)} runs and tension_down_N {len(down)}; each load needs both"
        )
    for name, tensions in (("tension_up_N", up), ("tension_down_N", down)):
        if not np.all(tensions > 0.0) or not np.all(np.isfinite(tensions)):
            raise ValueError(f"{name} is {tensions.tolist()}; every run must be known, above 0")


def _uncertainties(
    name: str, given: NDArray[np.float64] | float | None, like: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    if given is None:
        return None
    values = np.broadcast_to(np.asarray(given, dtype=float), like.shape)
    if not np.all(values > 0.0):
        raise ValueError(f"{name} is {values.tolist()}; every run's must be above 0")
    return values


def load_factors(
    sheave_efficiency: float, n_lines: int, dead_line_sheave: str = "fixed"
) -> tuple[float, float]:
    """Load over dead-line tension, hoisting and lowering.

    Parameters
    ----------
    sheave_efficiency : float
        Efficiency of one turning sheave, above 0. [-]
    n_lines : int
        Lines strung. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]

    Returns
    -------
    tuple of float
        Hoisting and lowering. [-]

    Examples
    --------
    >>> [round(factor, 6) for factor in load_factors(0.98, 10)]
    [10.970176, 9.14636]

    References
    ----------
    .. [1] As `monitor.mechanics.reeving`, the sums written out.
    """
    e = sheave_efficiency
    up = math.fsum(e**-k for k in range(n_lines))
    down = math.fsum(e**k for k in range(n_lines))
    return (up, down) if dead_line_sheave == "fixed" else (up / e, down * e)


def _efficiency(slope: float, slope_half_width: float, power: int) -> tuple[float, float]:
    """Efficiency of a slope, refused where no sheaves have it."""
    if slope <= 1.0:
        raise ValueError(
            f"tension down over tension up comes out as {slope:.4f}; sheaves with friction make "
            "it greater than 1: up and down were exchanged, the load differed, or the rails' "
            "drag outweighs the sheaves' friction"
        )
    e = float(slope ** (-1.0 / power))
    if e < LEAST_EFFICIENCY:
        raise ValueError(
            f"sheave efficiency comes out as {e:.4f}; below {LEAST_EFFICIENCY} is not sheaves "
            "in order: a sheave that does not turn, a wrong line count, string drag, or two loads"
        )
    return e, e / (power * slope) * slope_half_width


def _combined(
    up: NDArray[np.float64],
    down: NDArray[np.float64],
    u_up: NDArray[np.float64] | None,
    u_down: NDArray[np.float64] | None,
    n_lines: int,
    power: int,
) -> SheaveFriction:
    slope = float(down[0] / up[0])
    half = math.nan
    if u_up is not None and u_down is not None:
        half = 1.96 * slope * math.hypot(u_up[0] / up[0], u_down[0] / down[0])
    e, e_half = _efficiency(slope, half, power)
    f_up = load_factors(e, n_lines, "fixed" if power < n_lines else "turning")[0]
    load = float(up[0]) * f_up
    return SheaveFriction(e, e_half, math.nan, math.nan, (load,), True, 0.0)


def student_t_975(n_free: int) -> float:
    """97.5 % quantile of Student's t.

    Parameters
    ----------
    n_free : int
        Degrees of freedom, at least 1. [-]

    Returns
    -------
    float
        Quantile. [-]

    Raises
    ------
    ValueError
        For fewer than one.

    Notes
    -----
    Table to 10, beyond it 1.96 + 2.4 / n + 2.8 / n^2.

    Examples
    --------
    >>> student_t_975(1), round(student_t_975(20), 2)
    (12.706, 2.09)

    References
    ----------
    .. [1] Student's t table; from memory, checked against another implementation.
    """
    if n_free < 1:
        raise ValueError(f"n_free is {n_free}; must be at least 1")
    if n_free <= len(STUDENT_T_975):
        return STUDENT_T_975[n_free - 1]
    return 1.96 + 2.4 / n_free + 2.8 / n_free**2


def _line(
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    u_x: NDArray[np.float64] | None,
    u_y: NDArray[np.float64] | None,
) -> tuple[float, float, tuple[tuple[float, float], tuple[float, float]], float]:
    """Slope, intercept, their covariance and the 95 % factor; errors in both (York 2004)."""
    known = u_x is not None and u_y is not None
    w_x = 1.0 / np.square(u_x) if u_x is not None and known else np.ones_like(x)
    w_y = 1.0 / np.square(u_y) if u_y is not None and known else np.ones_like(y)
    slope = float(np.polyfit(x, y, 1)[0])
    for _ in range(50):
        weight = w_x * w_y / (w_x + slope**2 * w_y)
        x_mean, y_mean = (float(np.sum(weight * v) / np.sum(weight)) for v in (x, y))
        beta = weight * ((x - x_mean) / w_y + slope * (y - y_mean) / w_x)
        new = float(np.sum(weight * beta * (y - y_mean)) / np.sum(weight * beta * (x - x_mean)))
        if abs(new - slope) <= 1e-14 * abs(new):
            break
        slope = new
    intercept = y_mean - slope * x_mean
    x_fit = x_mean + beta
    x_bar = float(np.sum(weight * x_fit) / np.sum(weight))
    var_slope = 1.0 / float(np.sum(weight * np.square(x_fit - x_bar)))
    var_intercept = 1.0 / float(np.sum(weight)) + x_bar**2 * var_slope
    n_free = len(x) - 2
    reduced = math.nan
    if n_free > 0:
        reduced = float(np.sum(weight * np.square(y - slope * x - intercept))) / n_free
    # Given uncertainties are widened where the scatter is greater than they say.
    scale, t = (max(1.0, reduced) if n_free else 1.0, 1.96) if known else (reduced, math.nan)
    if not known and n_free > 0:
        t = student_t_975(n_free)
    covariance = -x_bar * var_slope
    return (
        slope,
        intercept,
        (
            (scale * var_slope, scale * covariance),
            (scale * covariance, scale * var_intercept),
        ),
        t,
    )
