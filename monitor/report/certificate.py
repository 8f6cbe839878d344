"""CERT.json: a calibration as a file, complete enough to be checked without this program."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from monitor import __version__
from monitor.ingest.points import Points
from monitor.metrology.calibration import (
    Calibration,
    Values,
    fit_calibration,
    load_of,
    reading_at,
)
from monitor.metrology.load_interval import load_half_width
from monitor.metrology.load_series import LevelScatter, directions, level_scatter
from monitor.metrology.lower_limit import (
    LEAST_POINTS,
    average_ratio,
    least_load,
    lower_limit_factor,
)
from monitor.metrology.sheave_friction import student_t_975
from monitor.report.summary import CAUTION
from monitor.rig.rig import Rig

_TABLE_ROWS = 11
_OUTLIER = 3.0
NORMAL_95 = 1.96
_FORMULAS = {
    1: "load = (reading - c0) / c1",
    2: "load = 2 (reading - c0) / (c1 + sign(c1) sqrt(c1^2 + 4 c2 (reading - c0)))",
}


@dataclass(frozen=True, slots=True)
class Reference:
    """What gave the loads; ``half_width_percent`` of the greatest load, at 95 %, as it says."""

    name: str = ""
    certificate: str = ""
    half_width_percent: float = 0.0

    def standard_uncertainty(self, fit: Calibration) -> float:
        """Give the same as a standard uncertainty in the unit of the loads."""
        return self.half_width_percent / 100.0 * max(map(abs, fit.load_range)) / NORMAL_95


def certificate(
    points: Points,
    model: str,
    *,
    through_zero: bool = False,
    who: str = "",
    when: str,
    rig: Rig | None = None,
    reference: Reference | None = None,
) -> dict[str, Any]:
    """Fit the points and tell all that was found; ValueError where they allow no fit.

    Points of a series "as found" are told beside the fit and are not in it.
    """
    every, points = points, points.fitted()
    if not points.lines:
        raise ValueError("every point is as found, before the adjustment; none is left to fit")
    reference = reference or Reference()
    fit = fit_calibration(points.loads, points.readings, model, through_zero=through_zero)
    zero = _zero_reading(points, fit)
    factor = lower_limit_factor(fit.residual_standard_deviation)
    factor_load = factor * average_ratio(points.loads, points.readings, zero)
    scatter = level_scatter(fit, points.loads, points.readings, points.series, zero)
    rising = directions(points.loads.tolist(), points.series)
    return {
        "what": "calibration of a dead-line sensor: reading as a function of the load at it",
        "caution": CAUTION,
        "program_version": __version__,
        "who": who,
        "when": when,
        "points_file": Path(points.file).name,
        "points_sha256": points.sha256,
        "load_unit": points.load_unit,
        "reading_unit": points.reading_unit,
        "detail_units": dict(points.detail_units),
        "model": model,
        "through_zero": through_zero,
        "coefficients": fit.coefficients,
        "standard_errors": fit.standard_errors,
        "degrees_of_freedom": fit.n_free,
        "residual_standard_deviation": fit.residual_standard_deviation,
        "lower_limit_factor": factor,
        "lower_limit_factor_load": factor_load,
        "least_load_of_class": {
            name: least_load(factor_load, name, fit) if math.isfinite(factor_load) else None
            for name in ("A", "AA")
        },
        "zero_reading": zero,
        "range": {"load": fit.load_range, "reading": fit.reading_range},
        "inverse": _inverse(fit, reference.standard_uncertainty(fit)),
        "reference": {
            "name": reference.name,
            "certificate": reference.certificate,
            "half_width_95_percent": reference.half_width_percent,
        },
        "series": _series_part(scatter),
        "reeving": _reeving_part(points, rig),
        "points": _point_rows(points, fit, rising),
        "as_found": _as_found_rows(every, fit),
        "notes": [*points.notes, *_notes(points, fit, model, scatter)],
    }


def certificate_text(found: dict[str, Any]) -> str:
    """Two lines for the terminal."""
    names = ("", " load", " load^2")
    terms = [f"{c:+.6g}{name}" for c, name in zip(found["coefficients"], names, strict=False)]
    low, high = found["range"]["load"]
    unit, reading_unit = found["load_unit"], found["reading_unit"]
    return (
        f"reading{f' [{reading_unit}]' if reading_unit else ''} = {' '.join(terms)}"
        f", load {low:g} to {high:g} {unit}\n"
        f"{len(found['points'])} points, residual standard deviation "
        f"{found['residual_standard_deviation']:.4g}, lower limit factor "
        f"{found['lower_limit_factor']:.4g} ({found['lower_limit_factor_load']:.4g} {unit})"
    )


def _zero_reading(points: Points, fit: Calibration) -> float:
    """Reading at no load: as measured there, else as the fit gives it."""
    at_zero = points.readings[points.loads == 0.0]
    return float(at_zero.mean()) if len(at_zero) else fit.coefficients[0]


def _inverse(fit: Calibration, reference_uncertainty: float) -> dict[str, Any]:
    """Load of a reading: the exact rule, a polynomial near it, and a table with intervals."""
    table = np.linspace(*fit.reading_range, _TABLE_ROWS)
    loads, _ = load_of(fit, table)
    widths = load_half_width(fit, table, reference_uncertainty=reference_uncertainty)
    coefficients, difference = _inverse_polynomial(fit)
    return {
        "formula": _FORMULAS[fit.degree] + ", c the coefficients above, within the range",
        "coefficients": coefficients,
        "coefficients_largest_difference": difference,
        "table": [
            {"reading": reading, "load": load, "half_width_95": width}
            for reading, load, width in zip(
                table.tolist(), loads.tolist(), widths.tolist(), strict=True
            )
        ],
    }


def _inverse_polynomial(fit: Calibration) -> tuple[tuple[float, ...], float]:
    """Load in ascending powers of the reading, and its greatest distance from the root.

    Exact for a line; for a quadratic a polynomial of the same degree through the true root,
    for equipment that takes nothing else.
    """
    if fit.degree == 1:
        c0, c1 = fit.coefficients
        return (-c0 / c1, 1.0 / c1), 0.0
    low, high = fit.reading_range
    nodes = np.cos(np.pi * (np.arange(64) + 0.5) / 64)  # even in the greatest difference
    readings = low + (high - low) * (nodes + 1.0) / 2.0
    near = fit_calibration(readings, load_of(fit, readings)[0], "quadratic")
    grid: Values = np.linspace(low, high, 1001)
    difference = np.abs(reading_at(near, grid) - load_of(fit, grid)[0]).max()
    return near.coefficients, float(difference)


def _series_part(scatter: tuple[LevelScatter, ...]) -> dict[str, Any]:
    def worst(values: list[float]) -> float | None:
        return max((value for value in values if not math.isnan(value)), default=None)

    return {
        "repeatability_percent": worst([level.repeatability_percent for level in scatter]),
        "reversibility_percent": worst([level.reversibility_percent for level in scatter]),
        "levels": [
            {
                "load": level.load,
                "repeatability_percent": level.repeatability_percent,
                "reversibility_percent": level.reversibility_percent,
            }
            for level in scatter
        ],
    }


def _reeving_part(points: Points, rig: Rig | None) -> dict[str, Any] | None:
    if points.hook_loads is None or rig is None:
        return None
    return {
        "rig": rig.name,
        "sheave_efficiency": rig.reeving.sheave_efficiency,
        "dead_line_sheave": rig.reeving.dead_line_sheave,
    }


def _point_rows(points: Points, fit: Calibration, rising: list[str]) -> list[dict[str, Any]]:
    fitted = reading_at(fit, points.loads)
    in_load, _ = load_of(fit, points.readings)
    rows = []
    for place, line in enumerate(points.lines):
        row: dict[str, Any] = {
            "line": line,
            "series": points.series[place],
            "load_is": rising[place],
            "reference_load": float(points.loads[place]),
            "reading": float(points.readings[place]),
            "fitted": float(fitted[place]),
            "residual": float(points.readings[place] - fitted[place]),
            "residual_load": float(in_load[place] - points.loads[place]),
        }
        details = {name: cells[place] for name, cells in points.details.items() if cells[place]}
        if details:
            row["details"] = details
        if points.hook_loads is not None:
            row["reference_hook_load"] = float(points.hook_loads[place])
            row["lines_strung"] = points.lines_strung[place]
            row["direction"] = points.directions[place]
        rows.append(row)
    return rows


def _as_found_rows(points: Points, fit: Calibration) -> list[dict[str, Any]]:
    """What the sensor read before it was adjusted, as loads of the calibration after it."""
    found = points.chosen([at for at, is_so in enumerate(points.is_as_found) if is_so])
    if not found.lines:
        return []
    return _point_rows(found, fit, ["as found"] * len(found.lines))


def _notes(
    points: Points, fit: Calibration, model: str, scatter: tuple[LevelScatter, ...]
) -> list[str]:
    low, high = fit.load_range
    notes = [f"Holds from {low:g} to {high:g} {points.load_unit}; beyond, it is extrapolated."]
    if fit.n_points < LEAST_POINTS:
        notes.append(
            f"{fit.n_points} points; the practice for force instruments asks for at least "
            f"{LEAST_POINTS}, in three runs or so."
        )
    if all(math.isnan(level.reversibility_percent) for level in scatter):
        notes.append("No load came both rising and falling: reversibility is not known.")
    notes += _curvature_notes(points, fit, model)
    notes += _outlier_notes(points, fit)
    if points.hook_loads is not None:
        notes.append(
            "Hook loads were turned into dead-line tension with the rig file's sheave "
            "efficiency: its error goes straight into the gain. A block at rest keeps the "
            "friction of its last motion; held is right only where none is left."
        )
    return notes


def _curvature_notes(points: Points, fit: Calibration, model: str) -> list[str]:
    """Whether the other model or a free zero would have been the better choice."""
    notes = []
    if fit.is_through_zero:
        free = _fit_or_none(points, model)
        if free is not None and _is_significant(free, 0):
            notes.append(
                f"The reading at no load is {free.coefficients[0]:.4g} when it is free, more "
                "than its doubt from zero: do not hold it through zero."
            )
    if fit.degree == 2 and not _is_significant(fit, 2):
        notes.append("The curvature is within its doubt: a straight line would do.")
    if fit.degree == 1 and not fit.is_through_zero:
        curved = _fit_or_none(points, "quadratic")
        if curved is not None and _is_significant(curved, 2):
            notes.append(
                "The points are curved: a quadratic has a residual standard deviation of "
                f"{curved.residual_standard_deviation:.4g}, the line "
                f"{fit.residual_standard_deviation:.4g}."
            )
    if not _is_significant(fit, 1):
        notes.append("The reading hardly depends on the load: the slope is within its doubt.")
    return notes


def _fit_or_none(points: Points, model: str) -> Calibration | None:
    try:
        return fit_calibration(points.loads, points.readings, model)
    except ValueError:
        return None  # too few points for it: nothing to compare with


def _is_significant(fit: Calibration, power: int) -> bool:
    doubt = student_t_975(fit.n_free) * fit.standard_errors[power]
    return abs(fit.coefficients[power]) > doubt


def _outlier_notes(points: Points, fit: Calibration) -> list[str]:
    residuals = points.readings - reading_at(fit, points.loads)
    bound = _OUTLIER * fit.residual_standard_deviation
    far = [
        line
        for line, residual in zip(points.lines, residuals.tolist(), strict=True)
        if abs(residual) > bound > 0.0
    ]
    if not far:
        return []
    named = ", ".join(str(line) for line in far[:5])
    return [f"Beyond {_OUTLIER:g} standard deviations, look at them: line {named} of the points."]
