"""Stretch and load of the string from a change of its temperature.

Free expansion of steel. Pressure, ballooning and the change of the modulus with temperature
are not in it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from monitor.mechanics.reeving import Numeric

# 6.9e-6 per degree F, printed for oil country tubulars as 0.83 in per 100 ft and 100 F.
STEEL_EXPANSION_per_K = 1.245e-5


def thermal_stretch_m(
    length_m: Numeric,
    temperature_change_K: Numeric,
    expansion_per_K: float = STEEL_EXPANSION_per_K,
) -> Numeric:
    """Growth of a free string that gets warmer.

    Parameters
    ----------
    length_m : float or ndarray
        Length of the string. [m]
    temperature_change_K : float or ndarray
        Mean change of temperature along it, warmer positive. [K]
    expansion_per_K : float
        Coefficient of expansion of the steel. [1/K]

    Returns
    -------
    float or ndarray
        Growth, below 0 where it shrinks. [m]

    Notes
    -----
    a L dT. A string held at both ends does not grow; see `thermal_load_N`.

    Examples
    --------
    10 000 ft, 147.5 F warmer on average, in inches; 122.43 is published:

    >>> thermal_stretch_m(10_000 * 0.3048, 147.5 / 1.8) / 0.0254
    122.4

    References
    ----------
    .. [1] Drilling formulas site, drill pipe elongation due to temperature; looked up.
    """
    return expansion_per_K * length_m * temperature_change_K


def mean_temperature_change_K(
    depth_m: ArrayLike, change_K: ArrayLike, length_m: float
) -> float:  # fmt: skip
    """Mean change of temperature along a string, from a profile over depth.

    Parameters
    ----------
    depth_m : array_like
        Measured depths of the profile, increasing. [m]
    change_K : array_like
        Change of temperature there: now less when the string was last known. [K]
    length_m : float
        From the rig floor to the lower end of the string, above 0. [m]

    Returns
    -------
    float
        Mean change. [K]

    Raises
    ------
    ValueError
        For a profile of less than one point, of depths that do not increase, or a length not
        above 0.

    Notes
    -----
    Straight between the points; above the first and below the last their values hold.
    Not-a-number in gives not-a-number.

    Examples
    --------
    Nothing at the floor, 90 K at 3000 m:

    >>> mean_temperature_change_K([0.0, 3000.0], [0.0, 90.0], 3000.0)
    45.0
    >>> mean_temperature_change_K([0.0, 3000.0], [0.0, 90.0], 1000.0)
    15.0

    References
    ----------
    .. [1] Derived.
    """
    depth = np.asarray(depth_m, dtype=np.float64)
    change = np.asarray(change_K, dtype=np.float64)
    if depth.ndim != 1 or depth.shape != change.shape or not depth.size:
        raise ValueError(
            f"depth_m has shape {depth.shape} and change_K {change.shape}; must be the same, of "
            "one axis, at least one point"
        )
    if np.any(np.diff(depth) <= 0.0):
        raise ValueError("depth_m does not increase; must increase")
    if length_m <= 0.0:
        raise ValueError(f"length_m is {length_m}; must be above 0")
    corner = np.unique(np.concatenate(([0.0, length_m], depth)))
    corner = corner[(corner >= 0.0) & ~(corner > length_m)]
    values = np.interp(corner, depth, change)
    return float(((values[1:] + values[:-1]) / 2 * np.diff(corner)).sum() / length_m)


def thermal_load_N(
    free_stretch_m: Numeric, stretch_per_pull_m_N: float, hoist_compliance_m_N: float = 0.0
) -> Numeric:
    """Change of hook load of a string that is held below when its temperature changes.

    Parameters
    ----------
    free_stretch_m : float or ndarray
        What the free length would grow by. [m]
    stretch_per_pull_m_N : float
        Stretch of the free length a newton of pull, above 0. [m/N]
    hoist_compliance_m_N : float
        Give of line and mast a newton, at least 0. [m/N]

    Returns
    -------
    float or ndarray
        Change of hook load with the block held still: below 0 for a string that gets
        warmer. [N]

    Raises
    ------
    ValueError
        For a stretch per pull not above 0 or a negative compliance.

    Notes
    -----
    Minus the growth over string and hoist in series.

    Examples
    --------
    A growth of 0.5 m of a string that stretches 2.5 mm a kN:

    >>> thermal_load_N(0.5, 2.5e-6)
    -200000.0

    References
    ----------
    .. [1] Derived.
    """
    if not stretch_per_pull_m_N > 0.0:
        raise ValueError(f"stretch_per_pull_m_N is {stretch_per_pull_m_N}; must be above 0")
    if hoist_compliance_m_N < 0.0:
        raise ValueError(f"hoist_compliance_m_N is {hoist_compliance_m_N}; must be at least 0")
    return -free_stretch_m / (stretch_per_pull_m_N + hoist_compliance_m_N)
