"""What a record says of its sensor, in plain sentences: for the calm sections of the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from monitor.metrology.calibration import Calibration
from monitor.model import EmptyCheck, Floats, TripRow
from monitor.report.sensor_charts import zero_chart
from monitor.report.sensor_geometry import block_section, friction_section, geometry_section
from monitor.report.sensor_points import reading_unit, shown_reading
from monitor.report.sensor_section import Section, finding, force
from monitor.report.wording import day_and_time
from monitor.review.captured_points import Reading
from monitor.review.line import duration
from monitor.review.sensor_reading import health, reading_of_rows
from monitor.review.span import Span
from monitor.review.zero_history import LEAST_CHECKS, ZeroHistory, zero_history
from monitor.rig.rig import Rig
from monitor.store.rows import Rows
from monitor.units import DISPLAY_SETS, display_value

CHECKS_DRAWN = 60
BUDGET_SHOWN = 4
# What the look back over minutes finds, by the sign that the watch has for the same.
SIGNS = {
    "failed low": "failed",
    "failed high": "failed",
    "at the top of its scale": "high end",
    "at the bottom of its scale": "low end",
    "frozen": "frozen",
    "coarse steps": "coarse",
}


def sections(
    rows: Rows,
    rig: Rig,
    status: dict[str, Any],
    checks: Sequence[EmptyCheck],
    stands: Sequence[TripRow],
    slips: Span | None,
    fit: Calibration | None,
    display: str,
) -> dict[str, Any]:
    """Sections by the name of their place on the page."""
    reading = reading_of_rows(rows, rig, status)
    told: dict[str, Any] = status.get("sensor") or {}
    found = {
        "sensor-health-section": signal_section(reading, rig, told.get("signal") or {}, display),
        "sensor-uncertainty": uncertainty_section(told.get("uncertainty") or {}, display),
        "sensor-friction": friction_section(
            checks, rig, int(status.get("lines_strung") or rig.reeving.lines_strung), display
        ),
        "sensor-geometry-told": geometry_section(rig, fit, display),
        "sensor-block": block_section(stands, slips, display),
        "sensor-zero": zero_section(checks, rig, display),
        "sensor-lines": line_count_section(told.get("line_count") or {}),
    }
    return {"sections": {name: asdict(section) for name, section in found.items()}}


def signal_section(
    reading: Reading | None, rig: Rig, told: dict[str, Any], display: str
) -> Section:
    """Say what ails the signal, or that nothing does: watched as it came, and looked back at."""
    if reading is None or not len(reading.raw):
        return Section(("No dead-line signal and no tension come in.",))
    found = health(reading, rig)
    unit = reading_unit(rig, reading.reading_of, display)
    per_si = shown_reading(1.0, rig, reading.reading_of, display) - shown_reading(
        0.0, rig, reading.reading_of, display
    )
    seconds = (int(reading.time_us[-1]) - int(reading.time_us[0])) / 1e6
    lines = [f"{found.n_samples:,} readings of the last {duration(seconds)} looked at."]
    findings = [{"what": one["what"], "check": one["check"]} for one in told.get("findings", [])]
    signs = {one["sign"] for one in told.get("findings", [])}
    findings += [
        {"what": what, "check": check}
        for what, check in found.findings
        if SIGNS[what] not in signs
    ]
    if not findings:
        lines[0] += " Nothing ails the signal."
    if found.noise == found.noise:
        noise = f"Noise {found.noise * per_si:.2g} {unit} from reading to reading"
        step = f", steps of {found.resolution * per_si:.2g} {unit}" if found.resolution > 0 else ""
        lines.append(f"{noise}{step}.")
    if told.get("fall_s") is not None:
        lines.append(
            f"At slips the load falls in {told['fall_s']:.1f} s at the quickest of "
            f"{told['falls']}: the sensor is no slower than that."
        )
    return Section(
        tuple(lines),
        tuple(findings),
        ("A healthy signal can still be wrong by its calibration.",),
        asks=bool(findings),
    )


def uncertainty_section(told: dict[str, Any], display: str) -> Section:
    """Say how sure hook load and weight on bit are, and what most of the doubt is."""
    width = told.get("hook_load_half_width_N")
    if width is None:
        return Section(("No hook load is known now.",))
    lines = [
        f"Hook load {force(told.get('hook_load_N'), display, 3)} \u00b1 {force(width, display)} "
        "(95 %)."
    ]
    rows = told.get("hook_load_budget") or []
    notes = [
        f"{row['name'].capitalize()} \u00b1 {force(row['half_width_N'], display)}"
        + (f": {row['less']}." if row.get("less") else ".")
        for row in rows[:BUDGET_SHOWN]
    ]
    on_bit = told.get("weight_on_bit_half_width_N")
    if on_bit is not None:
        lines.append(
            f"Weight on bit {force(told.get('weight_on_bit_N'), display, 3)} \u00b1 "
            f"{force(on_bit, display)}, drag in the hole not counted."
        )
    findings = []
    if told.get("exceeds_alarm_margin"):
        worst = rows[0]["less"] if rows and rows[0].get("less") else "what the doubt comes from"
        findings.append(
            {
                "what": "\u00b1 is wider than the alarm margin of "
                f"{force(told.get('alarm_margin_N'), display)}",
                "check": worst,
            }
        )
    return Section(tuple(lines), tuple(findings), tuple(notes), asks=bool(findings))


def line_count_section(told: dict[str, Any]) -> Section:
    """Say how many lines the empty block reads like, with odds."""
    best, words = told.get("most_likely"), str(told.get("in_words") or "")
    if best is None:
        return Section((f"{words[:1].upper()}{words[1:] or 'Not known yet'}.",))
    lines = [f"{words[:1].upper()}{words[1:]}."]
    share = (told.get("by_lines") or {}).get(str(best), 0.0)
    doubt = best != told.get("told") and share > (told.get("something_else") or 0.0)
    findings = (
        (
            {
                "what": f"told are {told['told']} lines, the block reads like {best}",
                "check": "count the lines at the block; weight of the travelling equipment",
            },
        )
        if doubt
        else ()
    )
    others = [
        f"{n}: {odds:.1%}"
        for n, odds in sorted(
            (told.get("by_lines") or {}).items(), key=lambda item: -float(item[1])
        )[:3]
    ]
    notes = ["Most likely counts: " + ", ".join(others) + "."] if others else []
    return Section(lines=tuple(lines), findings=findings, notes=tuple(notes), asks=doubt)


def zero_section(checks: Sequence[EmptyCheck], rig: Rig, display: str) -> Section:
    """Say where the empty block's reading stands, step told from drift, with its chart."""
    told = [zero_history(checks, way, rig) for way in ("up", "down")]
    known = [one for one in told if one is not None and np.isfinite(one.levels_N).any()]
    if not known:
        return Section(
            (
                "Not checked yet: it is, for nothing, at every connection with the elevators "
                "empty, block moving the same way each time.",
            )
        )
    history = max(known, key=lambda one: int(np.isfinite(one.levels_N).sum()))
    levels = history.levels_N[np.isfinite(history.levels_N)]
    counted = f"{len(levels)} check{'s' if len(levels) > 1 else ''}"
    lines = [
        f"{counted} of the empty block going {history.direction}: "
        f"{force(float(levels[-1]), display, 4)} at the newest."
    ]
    if history.chart is None:
        lines.append(f"From {LEAST_CHECKS} checks on it is charted.")
        return Section(tuple(lines))
    average = float(history.chart.ewma[-1])
    moved_N = average - history.centre_N
    half_N = float(history.chart.upper_ewma[-1]) - history.centre_N
    lines.append(
        f"Their weighted average is {force(abs(moved_N), display)} "
        f"{'above' if moved_N >= 0 else 'below'} where it began; chance alone keeps it within "
        f"{force(half_N, display)}; it matters from {force(history.limit_N, display)} on, 1 % of "
        "the sensor's span."
    )
    lines += _change_words(history, display)
    out = abs(moved_N) > history.limit_N
    findings = (
        (
            finding(
                "the zero has moved",
                "the zero with the line slack; fluid and gap at the anchor; whether other gear "
                "hangs",
            ),
        )
        if out
        else ()
    )
    chart = _zero_drawing(history, display)
    return Section(tuple(lines), findings, _temperature_notes(history, display), chart, asks=out)


def _change_words(history: ZeroHistory, display: str) -> list[str]:
    change, left_s = history.change, history.time_to_limit_s
    if change.kind == "step" and change.step_time_us is not None:
        return [
            f"A step of {force(change.step, display)} at {day_and_time(change.step_time_us)} UTC: "
            "something was done or gave way then."
        ]
    if change.kind == "drift":
        words = f"It drifts by {force(change.drift_per_s * 3600.0, display)} an hour"
        if 0.0 < left_s < math.inf:
            words += f", and is at 1 % of span in {duration(left_s)} if it goes on"
        return [words + "."]
    if change.kind == "unclear":
        return ["It has changed; whether by a step or by drift cannot be told yet."]
    return []


def _temperature_notes(history: ZeroHistory, display: str) -> tuple[str, ...]:
    effect = history.temperature
    if effect is None:
        return ()
    if not effect.is_told:
        return ("It does not go with the temperature.",)
    return (
        f"With the temperature it goes by {force(effect.slope_N_K, display)} \u00b1 "
        f"{force(effect.half_width_N_K, display)} a kelvin.",
    )


def _zero_drawing(history: ZeroHistory, display: str) -> str:
    chart = history.chart
    if chart is None:
        return ""
    last = slice(-CHECKS_DRAWN, None)

    def shown(values: Floats) -> list[float]:
        return [display_value(value, "force", display) for value in values[last].tolist()]

    return zero_chart(
        shown(history.levels_N),
        shown(chart.ewma),
        shown(chart.lower_ewma),
        shown(chart.upper_ewma),
        display_value(history.centre_N, "force", display),
        DISPLAY_SETS[display]["force"].unit,
    )
