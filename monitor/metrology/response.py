"""How fast and how faithfully a dead-line sensor follows: fall of the load, sag at rest.

A hydraulic anchor that has lost fluid, or has air in it, follows slowly and lets a load at
rest sink. Both show in any record: at slips the load must fall as fast as the crew lets it,
and an empty block at rest must keep its reading.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

# Shares of a fall between which it is timed: past its slow beginning, before its tail.
FALL_FROM, FALL_TO = 0.9, 0.3


def fall_time_s(time_s: Values, values: Values, low: float) -> float:
    """Time in which a fall to a level covers most of its way.

    Parameters
    ----------
    time_s : ndarray
        Times of the rows about the fall, the last at or after its end. [s]
    values : ndarray
        Reading at each. [any]
    low : float
        Level it falls to. [as values]

    Returns
    -------
    float
        From the last row at 90 % of the fall to the first after it at 30 %; not-a-number
        where the rows do not hold both. [s]

    Notes
    -----
    For a first-order lag under a step it is ln(0.9 / 0.3) = 1.0986 of its time constant. The
    load itself falls as fast as slips are set, so the least over many falls is an upper
    bound for the lag, not the lag.

    Examples
    --------
    >>> t = np.arange(0.0, 20.0, 0.1)
    >>> load = np.where(t < 5.0, 10.0, 10.0 * np.exp(-(t - 5.0) / 2.0))
    >>> round(fall_time_s(t, load, 0.0), 1)
    2.3

    References
    ----------
    .. [1] Derived from the first-order lag.
    """
    known = np.isfinite(values)
    t, v = time_s[known], values[known]
    if len(v) < 2:
        return math.nan
    top = float(np.max(v))
    if not top > low:
        return math.nan
    share = (v - low) / (top - low)
    under = np.flatnonzero(share <= FALL_TO)
    under = under[under > int(np.argmax(v))]
    if not len(under):
        return math.nan
    end = int(under[0])
    above = np.flatnonzero(share[:end] >= FALL_FROM)
    if not len(above):
        return math.nan
    return float(t[end] - t[above[-1]])


@dataclass(frozen=True, slots=True)
class Sag:
    """Change of a reading at rest, per second, over several spells."""

    rate_per_s: float  # middle of the spells
    spells: int
    same_way: int  # spells that sank


def sag(rates: Values) -> Sag:
    """Tell whether a reading at rest sinks, spell after spell.

    Parameters
    ----------
    rates : ndarray
        Slope of each spell at rest. [any / s]

    Returns
    -------
    Sag
        Median slope, and in how many spells it sank. [any / s]

    Examples
    --------
    >>> sag(np.array([-2.0, -1.0, -3.0, 0.5]))
    Sag(rate_per_s=-1.5, spells=4, same_way=3)

    References
    ----------
    .. [1] Median and sign count; common practice.
    """
    known = rates[np.isfinite(rates)]
    if not len(known):
        return Sag(math.nan, 0, 0)
    return Sag(float(np.median(known)), len(known), int(np.count_nonzero(known < 0.0)))


def slope_per_s(time_s: Values, values: Values) -> float:
    """Slope of a straight line by least squares.

    Parameters
    ----------
    time_s, values : ndarray
        Pairs. [s] [any]

    Returns
    -------
    float
        Slope; not-a-number below three different times. [any / s]

    Examples
    --------
    >>> slope_per_s(np.array([0.0, 1.0, 2.0]), np.array([5.0, 4.0, 3.0]))
    -1.0

    References
    ----------
    .. [1] Least squares.
    """
    if len(time_s) < 3:
        return math.nan
    away = time_s - time_s.mean()
    spread = float(np.sum(away * away))
    return float(np.sum(away * (values - values.mean()))) / spread if spread > 0.0 else math.nan


def anchor_force_N(line_tension_N: float, arm_ratio: float) -> float:
    """Force on the load cell of a dead-line anchor.

    Parameters
    ----------
    line_tension_N : float
        Tension of the dead line. [N]
    arm_ratio : float
        Wrap radius of the line over the arm of the load cell. [-]

    Returns
    -------
    float
        Force. [N]

    Notes
    -----
    An error of radius or arm goes straight into the reading.

    Examples
    --------
    >>> round(anchor_force_N(40_000.0, 10.0 / 25.0))
    16000

    References
    ----------
    .. [1] Derived: moments about the anchor's pin.
    """
    return line_tension_N * arm_ratio


def cell_pressure_Pa(line_tension_N: float, arm_ratio: float, effective_area_m2: float) -> float:
    """Pressure in a hydraulic load cell.

    Parameters
    ----------
    line_tension_N : float
        Tension of the dead line. [N]
    arm_ratio : float
        As `anchor_force_N`. [-]
    effective_area_m2 : float
        Effective area of the cell. [m2]

    Returns
    -------
    float
        Pressure. [Pa]

    Examples
    --------
    >>> round(cell_pressure_Pa(177.93e3, 0.4, 20 * 0.0254**2) / 6894.757)
    800

    References
    ----------
    .. [1] Derived: force over area.
    """
    return anchor_force_N(line_tension_N, arm_ratio) / effective_area_m2
