"""Sheaves and block on the Sensor page: what the record and a tape say, in sentences."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.metrology.block_survey import BlockSurvey, block_survey, repeated_heights
from monitor.metrology.calibration import Calibration
from monitor.model import EmptyCheck, TripRow
from monitor.report.sensor_section import Section, finding, force
from monitor.report.wording import day_and_time
from monitor.review.friction_runs import empty_pairs, friction_of_record
from monitor.rig.rig import Rig
from monitor.units import DISPLAY_SETS, display_value, factor, format_value

# A counter off by more than this over its stroke moves bit depth and stand lengths by more
# than people measure them to: our choice.
SCALE_ASKS = 0.005
LEAST_STANDS = 6
# Arm and area are known to some per cent at best: our choice.
GEOMETRY_SHARE = 0.05
LINE_FOR_SIZE_N = 100e3
SURVEY_ROWS = 200


def friction_section(
    checks: Sequence[EmptyCheck], rig: Rig, lines_strung: int, display: str
) -> Section:
    """Say what the empty block going both ways tells of the sheaves; proposed, never applied."""
    told = friction_of_record(empty_pairs(checks, rig), lines_strung, rig)
    notes = (
        "Known loads captured both ways tell efficiency and rail drag apart: see the fit.",
        *told.hints,
    )
    if told.found is None:
        why = told.why[:1].upper() + told.why[1:]
        refused = told.why.startswith("refused")
        findings = (
            (finding("no sheaves do this", "zero, travelling weight, rails, lines strung"),)
            if refused
            else ()
        )
        return Section((f"{why}.",), findings, notes)
    found = told.found
    lines = [
        f"Efficiency of a sheave {found.sheave_efficiency:.4f} \u00b1 "
        f"{found.efficiency_half_width:.4f} ({told.why})."
    ]
    if math.isfinite(found.rail_drag_N):
        lines.append(
            f"Drag of the rails {force(found.rail_drag_N, display)} \u00b1 "
            f"{force(found.rail_drag_half_width_N, display)}."
        )
    if told.is_other:
        lines.append(
            f"The rig file says {told.in_use:g}. Proposed, not applied: put it into the rig file "
            "once somebody has looked at it."
        )
    else:
        lines.append(f"The rig file's {told.in_use:g} agrees.")
    return Section(tuple(lines), (), notes)


def block_section(stands: Sequence[TripRow], display: str) -> Section:
    """Say whether lengths of stands come again, which tells whether the counter wanders."""
    own = [row for row in stands if not row.void and row.in_slips_us is not None]
    whole = [row for row in own if row.direction in ("in", "out")]
    if len(whole) < LEAST_STANDS:
        return Section(
            (
                f"{len(whole)} stands tripped so far; from {LEAST_STANDS} on their lengths tell "
                "whether the block's counter wanders.",
            )
        )
    found = repeated_heights(
        np.array([row.in_slips_us for row in whole], dtype=np.int64),
        np.array([row.length_m for row in whole]),
    )
    lines = [
        f"{found.n} stands of {_length(found.middle_m, display)}, from one to the next within "
        f"{_length(found.spread_m, display)}."
    ]
    change = found.change
    findings: tuple[dict[str, str], ...] = ()
    if change.kind == "step" and change.step_time_us is not None:
        findings = (
            finding(
                f"their lengths stepped by {_length(change.step, display)} at "
                f"{day_and_time(change.step_time_us)} UTC",
                "encoder and its coupling; line moved on the drum; other pipe",
            ),
        )
    elif change.kind in ("drift", "unclear"):
        findings = (
            finding(
                "their lengths wander", "encoder, its coupling, wraps on the drum; other pipe"
            ),
        )
    aside = (f"{found.put_aside} of other length left out.",) if found.put_aside else ()
    return Section(tuple(lines), findings, aside, asks=bool(findings))


def _length(value_m: float, display: str) -> str:
    unit = DISPLAY_SETS[display]["length"].unit
    shown = display_value(value_m, "length", display)
    return f"{shown:.2f} {unit}".replace("-", "\u2212")


def geometry_section(rig: Rig, fit: Calibration | None, display: str) -> Section:
    """Say what arm ratio and effective area make of a tension, against the calibration."""
    sensor = rig.sensor
    if sensor.arm_ratio is None and sensor.effective_area_m2 is None:
        return Section(("The rig file gives neither arm_ratio nor effective_area of the anchor.",))
    lines = []
    if sensor.arm_ratio is not None:
        lines.append(f"Force on the sensor is {sensor.arm_ratio:g} of the line's tension.")
    if sensor.effective_area_m2 is None:
        return Section(tuple(lines))
    by_geometry = (sensor.arm_ratio or 1.0) / sensor.effective_area_m2  # Pa a newton
    lines.append(
        f"{force(LINE_FOR_SIZE_N, display)} of line should give "
        f"{format_value(by_geometry * LINE_FOR_SIZE_N, 'pressure', display)}."
    )
    if fit is None or sensor.signal_quantity != "pressure":
        return Section(tuple(lines))
    apart = fit.coefficients[1] / by_geometry - 1.0
    lines.append(f"The gain in force is off that by {apart:+.1%}.".replace("-", "\u2212"))
    if abs(apart) <= GEOMETRY_SHARE:
        return Section(tuple(lines))
    found = finding(
        "arm and area do not give the calibrated gain",
        "arm ratio and diaphragm as fitted; pins of the anchor; gap and air in the fluid",
    )
    return Section(tuple(lines), (found,), asks=True)


def survey_answer(text: str, display: str) -> dict[str, Any]:
    """Judge a tape survey given as lines of taped height, shown height, up or down."""
    rows = [cells for cells in csv.reader(io.StringIO(text)) if any(cells)][:SURVEY_ROWS]
    taped, shown, up, faults = [], [], [], []
    for number, cells in enumerate(rows, 1):
        try:
            taped_here, shown_here = (float(cell) for cell in cells[:2])
        except ValueError:
            faults.append(f"line {number}: taped height, shown height, up or down is expected")
            continue
        taped.append(taped_here)
        shown.append(shown_here)
        up.append(len(cells) < 3 or not cells[2].strip().lower().startswith("down"))
    answer: dict[str, Any] = {"faults": faults, "points": len(taped), "lines": [], "asks": False}
    per_m = factor(DISPLAY_SETS[display]["length"].unit, "length")[0]
    try:
        found = block_survey(np.array(taped and shown) * per_m, np.array(taped) * per_m,
                             np.array(up, dtype=bool))  # fmt: skip
    except ValueError as error:
        words = str(error).replace("shown_m", "the survey").replace("taped_m", "the tape")
        return answer | {"lines": [f"{words[:1].upper()}{words[1:]}." if taped else ""]}
    return answer | {
        "lines": _survey_words(found, display),
        "asks": abs(found.scale - 1.0) > max(SCALE_ASKS, found.scale_half_width),
    }


def _survey_words(found: BlockSurvey, display: str) -> list[str]:
    lines = [
        f"Tape over counter {found.scale:.4f} \u00b1 {found.scale_half_width:.4f}; the counter's "
        f"zero is at {_length(found.zero_m, display)} by tape; it is off by "
        f"{_length(found.greatest_error_m, display)} at most, at "
        f"{_length(found.greatest_at_m, display)}."
    ]
    if math.isfinite(found.layer_at_m):
        lines.append(
            f"Its scale changes by {100.0 * (found.scale_change - 1.0):+.1f} % at "
            f"{_length(found.layer_at_m, display)}: the line changes its layer on the drum there."
        )
    if math.isfinite(found.reversal_m):
        lines.append(
            f"Going up it shows {_length(found.reversal_m, display)} more than going down: play "
            "or slip between drum and encoder, or stretch of the line."
        )
    return lines
