"""Points of a calibration as text that people can read, paste and keep, and what they give."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from monitor.ingest.errors import InputError
from monitor.ingest.points import AS_FOUND, Points, points_of
from monitor.metrology.calibration import Calibration, load_of
from monitor.metrology.proposal import Proposal, from_text
from monitor.report.certificate import Reference, certificate
from monitor.report.sensor_charts import residual_chart
from monitor.review.captured_points import CapturedPoint
from monitor.review.friction_points import friction_of_points
from monitor.rig.rig import Rig
from monitor.units import DISPLAY_SETS, UnitError, display_value, factor, iso_utc, quantity_of

SIGNAL_UNITS = {"current": "mA", "voltage": "V", "pressure": "bar"}
_LOAD_DIGITS = 7
# Loads nearer than this share of the greatest are the same load, held once more: our choice.
SAME_LOAD = 0.01


def reading_unit(rig: Rig, reading_of: str, display: str) -> str:
    """Unit in which people read this sensor."""
    if reading_of == "deadline_tension":
        return DISPLAY_SETS[display]["force"].unit
    return SIGNAL_UNITS[rig.sensor.signal_quantity]


def shown_reading(value_si: float, rig: Rig, reading_of: str, display: str) -> float:
    """Give a reading in that unit."""
    unit = reading_unit(rig, reading_of, display)
    scale, offset = factor(unit, "force" if reading_of == "deadline_tension" else "signal")
    return (value_si - offset) / scale


def header(rig: Rig, reading_of: str, display: str) -> str:
    """Header of the text, in the form that `hookload calibrate` reads."""
    unit, load_unit = reading_unit(rig, reading_of, display), DISPLAY_SETS[display]["force"].unit
    length_unit = DISPLAY_SETS[display]["length"].unit
    return (
        f"reference_load [{load_unit}],reading [{unit}],series,time,reference,"
        f"at_hook [{load_unit}],moved,block [{length_unit}],readings,scatter [{unit}],"
        f"drift [{unit}]"
    )


def point_line(
    point: CapturedPoint, rig: Rig, reading_of: str, display: str, *, is_as_found: bool = False
) -> str:
    """One captured point as a line of that text."""
    unit_per_si = shown_reading(1.0, rig, reading_of, display) - shown_reading(
        0.0, rig, reading_of, display
    )

    def force(value_N: float) -> str:
        return _cell(display_value(value_N, "force", display))

    spell = point.spell
    return ",".join(
        (
            force(point.sensor_load_N),
            _cell(shown_reading(spell.mean, rig, reading_of, display)),
            AS_FOUND if is_as_found else "",
            iso_utc(spell.start_us)[:19] + "Z",
            point.kind,
            force(point.hook_load_N),
            point.moved,
            _cell(display_value(point.block_m, "length", display), 4),
            str(spell.n_readings),
            _cell(spell.scatter * unit_per_si, 3),
            _cell(spell.drift * unit_per_si, 2),
        )
    )


def _number(cell: str) -> float:
    """Number in a cell that people may have written anything into; NaN where there is none."""
    try:
        return float(cell)
    except ValueError:
        return math.nan


def _cell(value: float, digits: int = _LOAD_DIGITS) -> str:
    return f"{value + 0.0:.{digits}g}" if math.isfinite(value) else ""


def points_answer(
    text: str,
    rig: Rig,
    *,
    model: str,
    through_zero: bool,
    reference: Reference,
    who: str,
    when: str,
    before: Calibration | None,
    lines_strung: int | None = None,
) -> dict[str, Any]:
    """Read and fit the text; every fault and every reason in words, nothing raised.

    ``before`` is the calibration in force, SI: how far it is out at these points is told.
    """
    answer: dict[str, Any] = {"faults": [], "points": [], "certificate": None, "why_no_fit": ""}
    if not text.strip():
        return answer | {"why_no_fit": "no point yet"}
    try:
        points = with_series(points_of(text, rig, "held"))
    except InputError as error:
        return answer | {"faults": str(error).splitlines()}
    answer["load_unit"], answer["reading_unit"] = points.load_unit, points.reading_unit
    answer["points"] = _rows(points, before)
    try:
        found = certificate(
            points, model, through_zero=through_zero, who=who, when=when, rig=rig,
            reference=reference,
        )  # fmt: skip
    except ValueError as error:
        return answer | {"why_no_fit": str(error)}
    found["notes"] += day_notes(points) + direction_notes(points.fitted(), found)
    answer["friction"] = friction_words(points.fitted(), rig, found, lines_strung)
    tell_before(found, answer["points"])
    answer["certificate"] = found
    answer["residual_chart"] = residual_chart(found)
    left = {row["line"]: row["residual_load"] for row in (*found["points"], *found["as_found"])}
    for row in answer["points"]:
        row["residual_load"] = left[row["line"]]
    return answer


def with_series(points: Points) -> Points:
    """Call captured points up or down by the known load, where nobody has given a series.

    The load at the sensor cannot tell it: it goes up and down with the sheaves' friction as
    well, whichever way the block last moved.
    """
    at_hook, moments = points.details.get("at_hook", ()), points.details.get("time", ())
    if not moments:
        return points
    loads = [
        load if math.isnan(_number(written)) else _number(written)
        for written, load in zip(
            at_hook or ("",) * len(moments), points.loads.tolist(), strict=True
        )
    ]
    series = list(points.series)
    same = SAME_LOAD * max(loads)
    word, before = "up", -math.inf
    for place in sorted(range(len(loads)), key=lambda at: moments[at]):
        if points.is_as_found[place]:
            continue
        if abs(loads[place] - before) > same:
            word = "up" if loads[place] > before else "down"
            before = loads[place]
        series[place] = series[place] or word
    return replace(points, series=tuple(series))


def day_notes(points: Points) -> list[str]:
    """Whether points of an older test are still among them."""
    days = sorted({moment[:10] for moment in points.details.get("time", ()) if moment})
    if len(days) < 2:
        return []
    return [f"The points are of {len(days)} days, {days[0]} to {days[-1]}: one test or several?"]


def direction_notes(points: Points, found: dict[str, Any]) -> list[str]:
    """Whether points after hoisting and after lowering lie apart: the sheaves' share of it."""
    moved = points.details.get("moved", ())
    if not moved:
        return []
    left = {
        way: [
            row["residual_load"]
            for row, cell in zip(found["points"], moved, strict=True)
            if cell == way
        ]
        for way in ("hoisting", "lowering")
    }
    up, down = (np.array(left[way]) for way in ("hoisting", "lowering"))
    if len(up) < 2 or len(down) < 2:
        if len(up) + len(down) and not (len(up) and len(down)):
            return [
                "All points came after one direction of the block: an error of the sheaves' "
                "friction goes wholly into the calibration. Take them both ways."
            ]
        return []
    apart = float(up.mean() - down.mean())
    doubt = 1.96 * math.sqrt(up.var(ddof=1) / len(up) + down.var(ddof=1) / len(down))
    if abs(apart) <= doubt:
        return []
    return [
        f"After hoisting the points lie {abs(apart):.2g} {found['load_unit']} "
        f"{'above' if apart > 0 else 'below'} those after lowering: drag of the rails, or "
        "sheaves of another efficiency than the rig file's. Both ways taken evenly, it cancels."
    ]


def friction_words(
    points: Points, rig: Rig, found: dict[str, Any], lines_strung: int | None
) -> str:
    """What the points say of the sheaves, in a sentence; "" where no load acts at the hook."""
    at_hook, moved = points.details.get("at_hook", ()), points.details.get("moved", ())
    if not at_hook or not any(at_hook) or not any(moved):
        return ""
    per_N = factor(points.load_unit, "force")[0]
    lengths = points.detail_units.get("block", "m")
    metres = factor(lengths, "length")[0]
    loads = [row["reference_load"] + row["residual_load"] for row in found["points"]]
    told = friction_of_points(
        np.array(loads) * per_N,
        np.array([_number(cell) * per_N for cell in at_hook]),
        moved,
        np.array(
            [_number(cell) * metres for cell in points.details.get("block", ("",) * len(moved))]
        ),
        rig,
        lines_strung or rig.reeving.lines_strung,
    )
    if told.found is None:
        return f"Sheave friction from these points: {told.why}."
    rails = told.found.rail_drag_N / per_N, told.found.rail_drag_half_width_N / per_N
    half = max(told.found.efficiency_half_width, 1e-5)
    words = (
        f"Sheave friction from these points: efficiency {told.found.sheave_efficiency:.5f} "
        f"\u00b1 {half:.5f}, drag of the rails {rails[0]:.2g} "
        f"\u00b1 {rails[1]:.1g} {points.load_unit} (by their scatter, {told.n_loads} loads). "
    )
    if told.is_other:
        return words + (
            f"The rig file says {told.in_use:g}: proposed, not applied; put it into the rig file "
            "once somebody has looked at it."
        )
    return words + f"The rig file's {told.in_use:g} agrees."


def _rows(points: Points, before: Calibration | None) -> list[dict[str, Any]]:
    errors = errors_before(points, before)
    return [
        {
            "line": line,
            "load": float(points.loads[place]),
            "reading": float(points.readings[place]),
            "series": points.series[place],
            "is_as_found": points.is_as_found[place],
            "error_before": errors[place],
            "residual_load": None,
            **{name: cells[place] for name, cells in points.details.items()},
        }
        for place, line in enumerate(points.lines)
    ]


def tell_before(found: dict[str, Any], rows: Sequence[Mapping[str, Any]]) -> None:
    """Put beside each as-found point how far the calibration it had then was out."""
    errors = {row["line"]: row["error_before"] for row in rows}
    for row in found["as_found"]:
        row["error_before"] = errors[row["line"]]


def errors_before(points: Points, before: Calibration | None) -> list[float | None]:
    """Load by the calibration in force less the reference, in the unit of the loads."""
    try:
        loads_N, readings = si_points(points)
    except ValueError:
        return [None] * len(points.lines)
    if before is None:
        return [None] * len(points.lines)
    per_N = factor(points.load_unit, "force")[0]
    shown, _ = load_of(before, readings)
    errors = ((shown - loads_N) / per_N).tolist()
    return [error if math.isfinite(error) else None for error in errors]


def si_points(points: Points) -> tuple[np.ndarray, np.ndarray]:
    """Loads in newtons and readings in SI; ValueError for readings of another kind."""
    names = quantity_of(points.reading_unit)
    kind = "signal" if "signal" in names else "force" if "force" in names else ""
    if not kind:
        raise ValueError(
            f"readings in {points.reading_unit or 'no unit'} are no signal of this rig's sensor: "
            "they give a certificate, and cannot be put in force here"
        )
    try:
        scale, offset = factor(points.reading_unit, kind)
    except UnitError as error:
        raise ValueError(str(error)) from None
    return (
        points.loads * factor(points.load_unit, "force")[0],
        points.readings * scale + offset,
    )


def proposal(
    text: str,
    rig: Rig,
    *,
    reading_of: str,
    model: str,
    through_zero: bool,
    reference: Reference,
    who: str,
    when: str,
    note: str = "",
) -> Proposal:
    """Turn the text into what is put before people; ValueError says what is wrong with it."""
    try:
        points = with_series(points_of(text, rig, "held"))
    except InputError as error:
        raise ValueError(str(error)) from None
    if reading_of == "deadline_signal":
        wanted = rig.sensor.signal_quantity
        if wanted not in quantity_of(points.reading_unit):
            raise ValueError(
                f"readings in {points.reading_unit or 'no unit'}: this rig's sensor gives a "
                f"{wanted}; they cannot be put in force here"
            )
    fitted = points.fitted()
    loads_N, readings = si_points(fitted)
    every_N, every = si_points(points)
    made = Proposal(
        reading_of=reading_of,
        loads_N=tuple(loads_N.tolist()),
        readings=tuple(readings.tolist()),
        model=model,
        through_zero=through_zero,
        series=fitted.series,
        reference=reference.name,
        certificate=reference.certificate,
        reference_uncertainty_N=(
            reference.half_width_percent / 100.0 * float(np.abs(loads_N).max()) / 1.96
            if len(loads_N)
            else 0.0
        ),
        as_found=tuple(
            (float(every_N[at]), float(every[at]))
            for at, is_so in enumerate(points.is_as_found)
            if is_so
        ),
        measured=when,
        measured_by=who,
        note=note,
    )
    return from_text(made.to_text())  # the same check that the recorder makes


def points_text(proposed: Proposal, rig: Rig, display: str) -> str:
    """Points of a version again as text, for its certificate."""
    unit, load_unit = (
        reading_unit(rig, proposed.reading_of, display),
        DISPLAY_SETS[display]["force"].unit,
    )
    lines = [f"reference_load [{load_unit}],reading [{unit}],series"]
    series = proposed.series or ("",) * len(proposed.loads_N)
    rows = [
        *zip(proposed.loads_N, proposed.readings, series, strict=True),
        *((load, reading, AS_FOUND) for load, reading in proposed.as_found),
    ]
    for load_N, reading, label in rows:
        load = display_value(load_N, "force", display)
        shown = shown_reading(reading, rig, proposed.reading_of, display)
        lines.append(f"{load:.10g},{shown:.10g},{label.replace(',', ' ')}")
    return "\n".join(lines) + "\n"
