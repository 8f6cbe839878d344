"""Series of rising and falling loads: repeatability and reversibility of a sensor.

The figures are those of the force-proving standard ISO 376, taken over whatever series
there are; its classes are not awarded, for they need its whole procedure.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.metrology.calibration import Calibration, Values, reading_at

# Loads nearer than this share of the greatest are the same level: our choice.
SAME_LEVEL = 0.01
_RISING = re.compile(r"\b(up|rising|increasing|loading)\b", re.IGNORECASE)
_FALLING = re.compile(r"\b(down|falling|decreasing|unloading)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class LevelScatter:
    """What the series say at one load, in percent of the deflection there."""

    load: float
    repeatability_percent: float  # not-a-number without two rising series
    reversibility_percent: float  # not-a-number without a rising and a falling one


def relative_range_percent(deflections: Values) -> Values:
    """Greatest less least deflection over their mean, at each load.

    Parameters
    ----------
    deflections : ndarray
        One row a series, one column a load. [unit of the readings]

    Returns
    -------
    ndarray
        Over series in one mounting the repeatability b', over mountings turned about the
        axis the reproducibility b. [%]

    Raises
    ------
    ValueError
        For fewer than two series.

    Notes
    -----
    100 (X_max - X_min) / mean X. A dead-line sensor is not turned, so b does not arise.

    Examples
    --------
    >>> relative_range_percent(np.array([[1.0000], [1.0004]])).round(4)
    array([0.04])

    References
    ----------
    .. [1] ISO 376:2011, "Calibration of force-proving instruments", 7.5; from memory.
    """
    table = np.atleast_2d(np.asarray(deflections, dtype=float))
    if len(table) < 2:
        raise ValueError(f"deflections has {len(table)} series; must have at least 2")
    return np.asarray(100.0 * np.ptp(table, axis=0) / np.abs(table.mean(axis=0)))


def reversibility_percent(rising: Values, falling: Values) -> Values:
    """Mean difference of falling and rising deflection over the rising, at each load.

    Parameters
    ----------
    rising, falling : ndarray
        One row a pair of series, one column a load. [unit of the readings]

    Returns
    -------
    ndarray
        Reversibility error v, without sign. [%]

    Raises
    ------
    ValueError
        For series that do not pair.

    Notes
    -----
    v = mean of 100 |X' - X| / X over the pairs.

    Examples
    --------
    >>> up, down = np.array([[1.0008], [0.9998]]), np.array([[1.0012], [1.0003]])
    >>> reversibility_percent(up, down).round(4)
    array([0.045])

    References
    ----------
    .. [1] As `relative_range_percent`.
    """
    up, down = (np.atleast_2d(np.asarray(table, dtype=float)) for table in (rising, falling))
    if up.shape != down.shape:
        raise ValueError(f"rising is {up.shape} and falling {down.shape}; must be pairs")
    return np.asarray(np.mean(100.0 * np.abs((down - up) / up), axis=0))


def directions(loads: Sequence[float], series: Sequence[str]) -> list[str]:
    """Direction in which each point was come to, ``"rising"`` or ``"falling"``.

    Parameters
    ----------
    loads : sequence of float
        Loads in the order they were applied. [unit of the loads]
    series : sequence of str
        Label of each point's series; words such as up, down, loading, unloading decide.

    Returns
    -------
    list of str
        One a point.

    Notes
    -----
    Without such a word the order of the loads within the series decides; a single fall that
    is followed by a rise is the beginning of the next rise, the sensor having been unloaded
    in between.

    Examples
    --------
    >>> directions([10, 20, 10, 20, 30, 20, 10], [""] * 7)
    ['rising', 'rising', 'rising', 'rising', 'rising', 'falling', 'falling']

    References
    ----------
    .. [1] None: it computes nothing.
    """
    found = [""] * len(loads)
    for label in dict.fromkeys(series):
        places = [place for place, name in enumerate(series) if name == label]
        if _FALLING.search(label) or _RISING.search(label):
            words = ["falling" if _FALLING.search(label) else "rising"] * len(places)
        else:
            words = _by_order([loads[place] for place in places])
        for place, word in zip(places, words, strict=True):
            found[place] = word
    return found


def _by_order(loads: Sequence[float]) -> list[str]:
    words: list[str] = []
    for place, load in enumerate(loads):
        if place == 0 or load > loads[place - 1]:
            words.append("rising")
        elif load == loads[place - 1]:
            words.append(words[-1])
        else:
            words.append("falling")
    if len(loads) > 1 and loads[1] < loads[0]:
        words[0] = "falling"  # a series that only falls begins at its top
    for place in range(1, len(words) - 1):
        if words[place - 1 : place + 2] == ["rising", "falling", "rising"]:
            words[place] = "rising"
    return words


def level_scatter(
    calibration: Calibration,
    loads: Values,
    readings: Values,
    series: Sequence[str],
    zero_reading: float,
) -> tuple[LevelScatter, ...]:
    """Repeatability and reversibility at each load that was applied more than once.

    Parameters
    ----------
    calibration : Calibration
        The fit; it carries readings taken at slightly different loads to the same load.
    loads : ndarray
        Loads in the order they were applied. [unit of the loads]
    readings : ndarray
        Readings. [unit of the readings]
    series : sequence of str
        Label of each point's series.
    zero_reading : float
        Reading at no load. [unit of the readings]

    Returns
    -------
    tuple of LevelScatter
        By rising load; the load zero is left out. [unit of the loads] [%]

    Notes
    -----
    Loads within 1 % of the greatest are one level. Repeatability over the rising points of
    a level, reversibility of each falling point against the mean of the rising: where there
    is one pair, or as many as there are, the figures of the standard.

    Examples
    --------
    >>> from monitor.metrology.calibration import fit_calibration
    >>> x, y = np.array([50.0, 100.0, 50.0, 0.0]), np.array([12.0, 20.0, 12.08, 4.0])
    >>> fit = fit_calibration(x, y)
    >>> found = level_scatter(fit, x, y, [""] * 4, 4.0)
    >>> [round(level.reversibility_percent, 2) for level in found]
    [1.0]

    References
    ----------
    .. [1] As `relative_range_percent`.
    """
    words = np.array(directions([float(load) for load in loads], series))
    found = []
    for members in _levels(np.asarray(loads, dtype=float)):
        level = float(np.mean(loads[members]))
        if level == 0.0 or len(members) < 2:
            continue
        fit_there = reading_at(calibration, np.array([level]))
        deflections = (
            readings[members] - reading_at(calibration, loads[members]) + fit_there - zero_reading
        )
        rising = deflections[words[members] == "rising"]
        falling = deflections[words[members] == "falling"]
        repeatability = reversibility = math.nan
        if len(rising) > 1:
            repeatability = float(relative_range_percent(rising[:, np.newaxis])[0])
        if len(rising) and len(falling):
            up = np.full((len(falling), 1), rising.mean())
            if len(rising) == len(falling):
                up = rising[:, np.newaxis]
            reversibility = float(reversibility_percent(up, falling[:, np.newaxis])[0])
        if not (math.isnan(repeatability) and math.isnan(reversibility)):
            found.append(LevelScatter(level, repeatability, reversibility))
    return tuple(found)


def _levels(loads: Values) -> list[np.ndarray]:
    """Places of the points of each level, by rising load, in order of the file within one."""
    order = np.argsort(loads, kind="stable")
    gap = np.diff(loads[order]) > SAME_LEVEL * float(np.abs(loads).max())
    return [np.sort(part) for part in np.split(order, np.flatnonzero(gap) + 1)]
