"""How well a load taken from a reading is known: its 95 % interval by the calibration alone."""

from __future__ import annotations

import math

import numpy as np

from monitor.metrology.calibration import Calibration, Values, load_of, reading_slope
from monitor.metrology.sheave_friction import student_t_975


def load_half_width(
    calibration: Calibration,
    readings: Values,
    *,
    n_readings: int = 1,
    resolution: float = 0.0,
    reference_uncertainty: float = 0.0,
) -> Values:
    """Half width of the 95 % interval of a load taken from a reading.

    Parameters
    ----------
    calibration : Calibration
        The fit.
    readings : ndarray
        Sensor readings. [unit of the readings]
    n_readings : int
        How many independent readings each is the mean of, at least 1. [-]
    resolution : float
        Smallest step of the reading, 0 where none is known. [unit of the readings]
    reference_uncertainty : float
        Standard uncertainty of the reference loads, common to all of them, as their own
        certificate says. [unit of the loads]

    Returns
    -------
    ndarray
        Half width; not-a-number where the load is. [unit of the loads]

    Raises
    ------
    ValueError
        As `load_of`; for no readings, or an uncertainty or resolution below zero.

    Notes
    -----
    By the law of propagation: variance of the fit at that load plus s^2 / n_readings, over
    the slope squared, times Student's t of the fit's degrees of freedom; resolution as a
    rectangle (step / sqrt 12) and the reference with 1.96; added in squares. It holds within
    the range; outside, the doubt about the model itself is in no formula. Creep, temperature
    and mounting are not in it either unless the points carry them.

    Examples
    --------
    >>> from monitor.metrology.calibration import fit_calibration
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.1, 20.0]))
    >>> load_half_width(fit, np.array([12.0])).round(2)
    array([7.49])

    References
    ----------
    .. [1] JCGM 100:2008, "Guide to the expression of uncertainty in measurement", 5.1 and
       annex H.3; from memory.
    """
    if n_readings < 1:
        raise ValueError(f"n_readings is {n_readings}; must be at least 1")
    given = {"resolution": resolution, "reference_uncertainty": reference_uncertainty}
    for name, value in given.items():
        if not value >= 0.0:
            raise ValueError(f"{name} is {value}; must be at least 0")
    loads, _ = load_of(calibration, readings)
    return half_width_at(
        calibration,
        loads,
        n_readings=n_readings,
        resolution=resolution,
        reference_uncertainty=reference_uncertainty,
    )


def half_width_at(
    calibration: Calibration,
    loads: Values,
    *,
    n_readings: int = 1,
    resolution: float = 0.0,
    reference_uncertainty: float = 0.0,
) -> Values:
    """Half width of the 95 % interval at a load already taken from a reading.

    Parameters
    ----------
    calibration : Calibration
        The fit.
    loads : ndarray
        Loads as `load_of` gives them. [unit of the loads]
    n_readings, resolution, reference_uncertainty
        As `load_half_width`.

    Returns
    -------
    ndarray
        Half width; not-a-number where the load is. [unit of the loads]

    Notes
    -----
    As `load_half_width`; the quadratic form of the covariance is written out, value by value,
    so that it does not depend on how many loads come at once.

    Examples
    --------
    >>> from monitor.metrology.calibration import fit_calibration
    >>> fit = fit_calibration(np.array([0.0, 50.0, 100.0]), np.array([4.0, 12.1, 20.0]))
    >>> half_width_at(fit, np.array([50.0])).round(2)
    array([7.49])

    References
    ----------
    .. [1] As `load_half_width`.
    """
    scaled_load = (loads - calibration.centre) / calibration.scale
    of_fit: Values = np.zeros_like(scaled_load)
    covariance = calibration.scaled_covariance
    for power in range(2 * calibration.degree, -1, -1):
        pairs = [
            covariance[i][power - i]
            for i in range(calibration.degree + 1)
            if 0 <= power - i <= calibration.degree
        ]
        of_fit = of_fit * scaled_load + math.fsum(pairs)
    of_reading = calibration.residual_standard_deviation**2 / n_readings
    by_scatter = student_t_975(calibration.n_free) ** 2 * (of_fit + of_reading)
    by_resolution = 1.96**2 * resolution**2 / 12.0
    slope = reading_slope(calibration, loads)
    return np.asarray(
        np.sqrt((by_scatter + by_resolution) / slope**2 + (1.96 * reference_uncertainty) ** 2)
    )
