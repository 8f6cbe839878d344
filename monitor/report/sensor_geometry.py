"""Sheaves and block on the Sensor page: what the record and a tape say, in sentences."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.metrology.block_survey import BlockSurvey, Heights, block_survey
from monitor.metrology.calibration import Calibration
from monitor.model import EmptyCheck, TripRow
from monitor.report.sensor_section import Section, finding, force
from monitor.report.wording import day_and_time
from monitor.review.block_consistency import LEAST_STANDS, block_consistency
from monitor.review.friction_runs import empty_pairs, friction_of_record
from monitor.review.span import Span
from monitor.rig.rig import Rig
from monitor.units import DISPLAY_SETS, display_value, factor, format_value

# A counter off by more than this over its stroke moves bit depth and stand lengths by more
# than people measure them to: our choice.
SCALE_ASKS = 0.005
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


def block_section(stands: Sequence[TripRow], slips: Span | None, display: str) -> Section:
    """Say whether slips and stands come again at one height and length: the counter's check."""
    told = block_consistency(stands, slips)
    if told.lengths is None and told.slips is None:
        return Section(
            (
                "Too few stands so far; from six on their lengths, and the heights at which slips "
                "are set running in, tell whether the block's counter wanders.",
            )
        )
    lines, findings, notes = [], [], []
    for name, found in (("Slips set at", told.slips), ("Stands of", told.lengths)):
        if found is None:
            continue
        lines.append(
            f"{name} {_length(found.middle_m, display)}, {found.n} of them, from one to the next "
            f"within {_length(found.spread_m, display)}."
        )
        findings += _wander(name, found, display)
        if found.put_aside:
            notes.append(f"{found.put_aside} others left out.")
    return Section(tuple(lines), tuple(findings), tuple(notes), asks=bool(findings))


def _wander(name: str, found: Heights, display: str) -> list[dict[str, str]]:
    change, what = found.change, "heights of slips" if name.startswith("Slips") else "stands"
    check = "encoder and its coupling; wraps on the drum; whether the pipe is another"
    if change.kind == "step" and change.step_time_us is not None:
        when = day_and_time(change.step_time_us)
        return [finding(f"{what} stepped by {_length(change.step, display)} at {when} UTC", check)]
    if change.kind in ("drift", "unclear"):
        return [finding(f"{what} wander", check)]
    return []


def tally_words(stands: Sequence[TripRow], text: str, display: str) -> list[str]:
    """Compare the newest stands with their lengths by the tally, one a line, oldest first."""
    per_m = factor(DISPLAY_SETS[display]["length"].unit, "length")[0]
    known = [_number(cell) * per_m for cell in text.split()][:SURVEY_ROWS]
    if not known:
        return []
    if any(math.isnan(length) for length in known):
        return ["The tally: one length a line is expected."]
    whole = [row for row in stands if row.in_slips_us is not None and not row.void]
    found = block_consistency(whole[-len(known) :], None, known).tally
    if found is None:
        return [f"The tally: at least {LEAST_STANDS} stands that are whole are needed."]
    return [
        f"Tally over counter {found.scale:.4f} \u00b1 {found.scale_half_width:.4f} by {found.n} "
        f"stands; the counter shows {_length(found.sum_m, display)} more over all of them."
    ]


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return math.nan


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


def survey_answer(
    text: str, display: str, stands: Sequence[TripRow] = (), tally: str = ""
) -> dict[str, Any]:
    """Judge a tape survey given as lines of taped height, shown height, up or down; a tally."""
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
    by_tally = tally_words(stands, tally, display)
    answer: dict[str, Any] = {
        "faults": faults, "points": len(taped), "lines": by_tally, "asks": False,
    }  # fmt: skip
    if not taped:
        return answer
    per_m = factor(DISPLAY_SETS[display]["length"].unit, "length")[0]
    try:
        found = block_survey(np.array(taped and shown) * per_m, np.array(taped) * per_m,
                             np.array(up, dtype=bool))  # fmt: skip
    except ValueError as error:
        words = str(error).replace("shown_m", "the survey").replace("taped_m", "the tape")
        return answer | {"lines": [f"{words[:1].upper()}{words[1:]}.", *by_tally]}
    return answer | {
        "lines": [*_survey_words(found, display), *by_tally],
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
