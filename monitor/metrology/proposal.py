"""A calibration as it is proposed: the points, what they were measured with, how to fit them.

It travels as one line of JSON in a person's act, so that a record holds everything its
figures rest on and a rerun makes the same fit. Units are SI: loads at the sensor in newtons,
readings in the unit the channel has inside (A, V, Pa or N).
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from monitor.metrology.calibration import (
    DEGREES,
    Calibration,
    Values,
    fit_calibration,
    load_of,
)
from monitor.metrology.load_interval import load_half_width

# Channels that a calibration turns into tension: the raw signal, or a tension that comes in
# converted already and is put right.
READINGS = ("deadline_signal", "deadline_tension")
# More points than any calibration has; keeps an act small.
MOST_POINTS = 400
LONGEST_TEXT = 500
# A calibration far from the one in force is a slip of units or of points: our choice.
GREATEST_CHANGE = 0.2


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed. ``as_found`` holds pairs of load and reading before adjustment."""

    reading_of: str
    loads_N: tuple[float, ...]
    readings: tuple[float, ...]
    model: str = "linear"
    through_zero: bool = False
    series: tuple[str, ...] = ()
    reference: str = ""  # what gave the loads: a load cell, a known weight, a hydraulic pull
    certificate: str = ""  # of the reference
    reference_uncertainty_N: float = 0.0  # standard uncertainty of the reference, at the sensor
    as_found: tuple[tuple[float, float], ...] = ()
    measured: str = ""  # when, ISO 8601
    measured_by: str = ""
    note: str = ""

    def fit(self) -> Calibration:
        """Fit the points; ValueError where they allow no fit or no inverse."""
        found = fit_calibration(
            np.array(self.loads_N),
            np.array(self.readings),
            self.model,
            through_zero=self.through_zero,
        )
        if not found.is_monotonic:
            raise ValueError(
                "the fit is flat or turns over within its range: a reading there has no one "
                "load; fit it linear, or look for a bad point"
            )
        return found

    def to_text(self) -> str:
        """One line of JSON that `from_text` gives back."""
        return json.dumps(
            {part.name: getattr(self, part.name) for part in fields(self)},
            separators=(",", ":"),
            ensure_ascii=False,
        )

    def in_words(self) -> str:
        """Say in a few words what it is."""
        low, high = min(self.loads_N), max(self.loads_N)
        by = f", by {self.reference}" if self.reference else ""
        return (
            f"{len(self.loads_N)} points, {low / 1e3:.4g} to {high / 1e3:.4g} kN at the sensor, "
            f"{self.model}{by}"
        )


def from_text(text: str) -> Proposal:
    """Read a proposal; ValueError says what is wrong with it."""
    try:
        given = json.loads(text)
    except ValueError:
        raise ValueError("a calibration is expected as JSON, with its points") from None
    if not isinstance(given, dict):
        raise ValueError("a calibration is expected as a JSON object, with its points")
    known = {part.name for part in fields(Proposal)}
    unknown = sorted(set(given) - known)
    if unknown:
        raise ValueError(f"unknown in a calibration: {', '.join(unknown)}")
    if given.get("reading_of") not in READINGS:
        raise ValueError(f"reading_of: one of {', '.join(READINGS)} is expected")
    if given.get("model", "linear") not in DEGREES:
        raise ValueError(f"model: {' or '.join(DEGREES)} is expected")
    loads, readings = (_numbers(given, name) for name in ("loads_N", "readings"))
    if len(loads) != len(readings):
        raise ValueError(f"{len(loads)} loads and {len(readings)} readings; they must be pairs")
    series = tuple(str(item) for item in _list(given, "series"))
    if series and len(series) != len(loads):
        raise ValueError(f"{len(loads)} points and {len(series)} names of series")
    uncertainty = given.get("reference_uncertainty_N", 0.0)
    if not _is_number(uncertainty) or uncertainty < 0.0:
        raise ValueError("reference_uncertainty_N: a number from 0 up is expected")
    proposal = Proposal(
        reading_of=given["reading_of"],
        loads_N=loads,
        readings=readings,
        model=given.get("model", "linear"),
        through_zero=bool(given.get("through_zero", False)),
        series=series,
        reference_uncertainty_N=float(uncertainty),
        as_found=_pairs(given),
        **{name: _words(given, name) for name in _WORDS},
    )
    proposal.fit()
    return proposal


_WORDS = ("reference", "certificate", "measured", "measured_by", "note")


def _words(given: dict[str, Any], name: str) -> str:
    return str(given.get(name, ""))[:LONGEST_TEXT]


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and math.isfinite(value)


def _list(given: dict[str, Any], name: str) -> list[Any]:
    items = given.get(name, [])
    if not isinstance(items, list) or len(items) > MOST_POINTS:
        raise ValueError(f"{name}: a list of at most {MOST_POINTS} is expected")
    return items


def _numbers(given: dict[str, Any], name: str) -> tuple[float, ...]:
    items = _list(given, name)
    if not items or not all(_is_number(item) for item in items):
        raise ValueError(f"{name}: a list of numbers is expected")
    return tuple(float(item) for item in items)


def _pairs(given: dict[str, Any]) -> tuple[tuple[float, float], ...]:
    pairs = _list(given, "as_found")
    for pair in pairs:
        if not (isinstance(pair, list) and len(pair) == 2 and all(map(_is_number, pair))):
            raise ValueError("as_found: pairs of load and reading are expected")
    return tuple((float(load), float(reading)) for load, reading in pairs)


@dataclass(frozen=True, slots=True)
class Change:
    """What another calibration makes of the same readings, over its range of loads."""

    loads_N: Values
    before_N: Values
    after_N: Values
    greatest_N: float
    greatest_share: float  # of the greatest load


def change_between(before: Calibration, after: Calibration, n_loads: int = 11) -> Change:
    """Compare two calibrations of the same readings over the range of the later one.

    Parameters
    ----------
    before, after : Calibration
        Both of readings in one unit and loads in another.
    n_loads : int
        Loads compared, evenly spread, at least 2. [-]

    Returns
    -------
    Change
        Loads by each for the same readings. [unit of the loads]

    Examples
    --------
    >>> loads = np.array([0.0, 50.0, 100.0])
    >>> old, new = fit_calibration(loads, loads + 1.0), fit_calibration(loads, loads)
    >>> change_between(old, new, 3).before_N.round(6)
    array([-1., 49., 99.])

    References
    ----------
    .. [1] None: both inverses at the same readings.
    """
    readings = np.linspace(*after.reading_range, n_loads)
    now, then = load_of(after, readings)[0], load_of(before, readings)[0]
    greatest = float(np.max(np.abs(now - then)))
    reach = float(np.max(np.abs(now)))
    return Change(now, then, now, greatest, greatest / reach if reach else math.inf)


@dataclass(frozen=True, slots=True)
class AsFound:
    """How far the sensor was off before it was adjusted, by the calibration it had then."""

    loads_N: tuple[float, ...]
    shown_N: tuple[float, ...]
    error_N: tuple[float, ...]
    half_width_N: tuple[float, ...]
    is_within: tuple[bool, ...]  # the error is no greater than what was stated


def as_found(pairs: tuple[tuple[float, float], ...], before: Calibration) -> AsFound:
    """Judge readings taken before adjustment by the calibration in force then.

    Parameters
    ----------
    pairs : tuple
        Reference load and reading of each point. [unit of the loads] [unit of the readings]
    before : Calibration
        The calibration in force when they were taken.

    Returns
    -------
    AsFound
        What was shown, its error and whether that lay within the stated 95 %. [as given]

    Examples
    --------
    >>> points = np.array([0.0, 50.0, 100.0])
    >>> had = fit_calibration(points, points + np.array([0.1, -0.2, 0.1]))
    >>> as_found(((50.0, 50.5),), had).error_N
    (0.5,)

    References
    ----------
    .. [1] As-found and as-left: common practice of calibration laboratories.
    """
    loads = np.array([load for load, _ in pairs], dtype=float)
    readings = np.array([reading for _, reading in pairs], dtype=float)
    shown, _ = load_of(before, readings)
    error = shown - loads
    half = load_half_width(before, readings)
    return AsFound(
        tuple(loads.tolist()),
        tuple(shown.tolist()),
        tuple(np.round(error, 9).tolist()),
        tuple(half.tolist()),
        tuple((np.abs(error) <= half).tolist()),
    )


def two_point(load: float, low: float, high: float) -> Calibration:
    """Straight line through two stated points: no scatter, nothing known of its error.

    Parameters
    ----------
    load : float
        Load at the high end; none hangs at the low end. [unit of the loads]
    low, high : float
        Reading at the two ends, in order. [unit of the readings]

    Returns
    -------
    Calibration
        The line, with a residual standard deviation of 0.

    Examples
    --------
    >>> load_of(two_point(450e3, 0.004, 0.020), np.array([0.012]))[0].round(6)
    array([225000.])

    References
    ----------
    .. [1] None: two points.
    """
    middle, half = (high + low) / 2.0, (high - low) / 2.0
    nothing = ((0.0, 0.0), (0.0, 0.0))
    return Calibration(
        degree=1,
        is_through_zero=False,
        coefficients=(low, (high - low) / load),
        standard_errors=(0.0, 0.0),
        residual_standard_deviation=0.0,
        n_points=2,
        n_free=1,
        load_range=(0.0, load),
        reading_range=(low, high),
        centre=load / 2.0,
        scale=load / 2.0,
        scaled=(middle, half),
        scaled_covariance=nothing,
    )
