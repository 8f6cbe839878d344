"""Lower limit factor and the least load of a class, by the practice of ASTM E74.

How small a load the sensor can still tell apart, from the scatter about its own fit. It
speaks of the sensor on the calibration bench, not of a hook load with sheaves in between.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.metrology.calibration import Calibration, Values

COVERAGE = 2.4  # about 99 % of the scatter
# Least load of a class in lower limit factors: 0.25 % and 0.05 % of the load.
CLASSES = {"A": 400.0, "AA": 2000.0}
LEAST_POINTS = 30


def lower_limit_factor(residual_standard_deviation: float, resolution: float = 0.0) -> float:
    """Lower limit factor in the unit of the readings.

    Parameters
    ----------
    residual_standard_deviation : float
        s of the fit. [unit of the readings]
    resolution : float
        Smallest step of the reading, 0 where none is known. [unit of the readings]

    Returns
    -------
    float
        2.4 s, never below the resolution. [unit of the readings]

    Raises
    ------
    ValueError
        For a value below zero.

    Examples
    --------
    >>> round(lower_limit_factor(0.000205177424), 9)
    0.000492426

    References
    ----------
    .. [1] ASTM E74-18, 8.5; looked up in articles of force laboratories that quote it.
    """
    for name, value in (
        ("residual_standard_deviation", residual_standard_deviation),
        ("resolution", resolution),
    ):
        if not value >= 0.0:
            raise ValueError(f"{name} is {value}; must be at least 0")
    return max(COVERAGE * residual_standard_deviation, resolution)


def average_ratio(loads: Values, readings: Values, zero_reading: float = 0.0) -> float:
    """Mean of load over deflection, which turns the factor into a load.

    Parameters
    ----------
    loads : ndarray
        Reference loads; those of zero are left out. [unit of the loads]
    readings : ndarray
        Readings. [unit of the readings]
    zero_reading : float
        Reading at no load: 4 mA of a live zero, 0 where readings are deflections already.
        [unit of the readings]

    Returns
    -------
    float
        Mean ratio, above zero; not-a-number where no deflection is left.
        [unit of the loads / unit of the readings]

    Examples
    --------
    >>> average_ratio(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.0, 20.0]), 4.0)
    6.25

    References
    ----------
    .. [1] As `lower_limit_factor`.
    """
    deflection = np.asarray(readings, dtype=float) - zero_reading
    used = (np.asarray(loads) != 0.0) & (deflection != 0.0)
    if not used.any():
        return math.nan
    return abs(float(np.mean(np.asarray(loads)[used] / deflection[used])))


def least_load(factor_load: float, class_name: str, calibration: Calibration) -> float:
    """Least load for which the sensor is of a class.

    Parameters
    ----------
    factor_load : float
        Lower limit factor turned into a load. [unit of the loads]
    class_name : str
        ``"A"`` (0.25 %) or ``"AA"`` (0.05 %).
    calibration : Calibration
        The fit: nothing is claimed outside the loads that were applied.

    Returns
    -------
    float
        Least load, not below the least load applied above zero; not-a-number where the
        class begins above the greatest. [unit of the loads]

    Raises
    ------
    ValueError
        For another class.

    Examples
    --------
    >>> from monitor.metrology.calibration import fit_calibration
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.0, 20.0]))
    >>> least_load(0.1, "A", fit), least_load(0.1, "AA", fit)
    (40.0, nan)

    References
    ----------
    .. [1] As `lower_limit_factor`.
    """
    if class_name not in CLASSES:
        raise ValueError(f"class_name is {class_name!r}; must be {' or '.join(CLASSES)}")
    low, high = calibration.load_range
    least = max(CLASSES[class_name] * factor_load, low)
    return least if least <= high else math.nan
