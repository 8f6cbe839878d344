"""The grounds of the report: settings in force, corrections, data quality, source."""

from __future__ import annotations

from html import escape

import numpy as np

from monitor import __version__
from monitor.mechanics.reeving import load_factor
from monitor.metrology.uncertainty import UNCALIBRATED_SHARE
from monitor.model import Activity, Quality, State
from monitor.report.findings import Findings
from monitor.report.material import Material
from monitor.report.page_parts import moment, table
from monitor.report.wording import bare, day_and_time, figure, unit
from monitor.review.calibration import RIG_FILE, calibrations_in_force
from monitor.review.line import count, duration
from monitor.review.span import Span
from monitor.rig.rig import Rig

# Loads are told to a kilonewton.
LEAST_TOLD_N = 1e3
FLAG_WORDS = {
    Quality.MISSING: "value missing",
    Quality.UNREADABLE: "value unreadable",
    Quality.ABSURD: "value outside what a rig can do",
    Quality.FROZEN: "signal frozen",
    Quality.FAULT: "transmitter reports a fault",
    Quality.JUMP: "block position jumped",
}


def settings_part(material: Material, display: str) -> str:
    """What the figures rest on, from the rig file and the acts."""
    rig, at = material.rig, int(material.span.time_us[0])
    lines, reeving = material.lines_at(at), material.rig.reeving
    factors = [
        load_factor(lines, reeving.sheave_efficiency, reeving.dead_line_sheave, way)
        for way in ("hoisting", "lowering")
    ]
    mud = material.mud_density_at(at)
    rows = [
        ("Rig", escape(rig.name)),
        ("Lines strung", f"{lines}, dead-line sheave {escape(reeving.dead_line_sheave)}"),
        (
            "Sheave efficiency",
            f"{reeving.sheave_efficiency:g} a turning sheave: hook load is {factors[0]:.3f} "
            f"times the tension hoisting, {factors[1]:.3f} lowering",
        ),
        ("Travelling weight", figure(material.travelling_weight_at(at), "force", display)),
        ("Mud density", figure(mud, "density", display) if np.isfinite(mud) else "not given"),
        (
            "Give of line and mast",
            figure(rig.hoist_compliance_m_N, "compliance", display)
            if rig.hoist_compliance_m_N
            else "not given",
        ),
        ("Calibration in force", _calibration(material, display)),
        (
            "Event limits",
            f"overpull {figure(rig.events.overpull_N, 'force', display)}, slack-off "
            f"{figure(rig.events.slack_off_N, 'force', display)}",
        ),
        ("String", _string(rig, display)),
        ("Rig file, SHA-256", f"<span class='hash'>{rig.text_hash or 'not known'}</span>"),
        ("Program", f"Hook Load Monitor {__version__}"),
    ]
    return table(("Setting", "as the record began"), rows, words=(0, 1))


def _calibration(material: Material, display: str) -> str:
    """Give the calibration in force as the span began, and each that came after it."""
    rig, span = material.rig, material.span
    first, last = (int(span.time_us[at]) for at in (0, -1))
    told = []
    for each in calibrations_in_force(material.calibrations, first, last):
        if each.version == RIG_FILE:
            what = escape(rig.sensor.calibration) or _no_calibration(rig, display)
            what = f"of the rig file: {what}" if each.since_us is not None else what
        else:
            what = f"number {each.version}: {escape(each.words)}"
        if each.since_us is not None:
            why = f", {escape(each.reason)}" if each.reason else ""
            what += f" (since {day_and_time(each.since_us)}, by {escape(each.who)}{why})"
        told.append(what)
    return "; then ".join(told)


def _no_calibration(rig: Rig, display: str) -> str:
    span = ""
    if rig.sensor.span_N is not None:
        span = f" (span {figure(rig.sensor.span_N, 'force', display)})"
    return f"none given: {100 * UNCALIBRATED_SHARE:g} % of the tension is allowed for{span}"


def _string(rig: Rig, display: str) -> str:
    if not rig.string:
        return "not described"
    parts = []
    for section in rig.string:
        long = (
            "the rest" if section.length_m is None else figure(section.length_m, "length", display)
        )
        sizes = [
            figure(size, "diameter", display)
            for size in (section.outside_diameter_m, section.inside_diameter_m)
        ]
        parts.append(f"{escape(section.name)} {long}, {sizes[0]} by {sizes[1]}")
    return "; ".join(parts) + " (from the bit upwards)"


def corrections_part(material: Material, findings: Findings, display: str) -> str:
    """Terms that make the hook load at the peaks, and what the empty block says of zero."""
    rows = [
        (
            label,
            moment_text(each.time_us),
            bare(each.tension_N, "force", display),
            bare(each.plain_N, "force", display),
            _signed(each.line_N, display),
            _signed(each.friction_N, display),
            _signed(each.inertia_N, display),
            _signed(each.hose_N, display),
            bare(each.hook_load_N, "force", display),
            bare(each.half_width_N, "force", display),
            _signed(each.calibration_N, display),
        )
        for label, each in findings.corrections
    ]
    zero = _zero(material, findings, display)
    if not rows:
        return (
            "<p>No pull and no event, or a hook load that was reported and is taken as it is: "
            f"there is no correction to show.</p>{zero}"
        )
    load = unit("force", display)
    head = (
        "", "Time", f"Dead-line<br>tension, {load}", f"× lines<br>strung, {load}",
        f"drilling line<br>{load}", f"sheave friction<br>{load}", f"inertia<br>{load}",
        f"mud hose<br>{load}",
        f"= hook load<br>{load}", f"±<br>{load}", f"zero, scale<br>{load}",
    )  # fmt: skip
    note = (
        "<p class='note'>Drilling line: what hangs between the blocks and is not felt at the "
        "anchor. Inertia: of the travelling equipment. Zero, scale: "
        "what the calibration in force changed in the tension times lines; it is in it already. "
        "Mud hose: what more of it hangs on the block than where the travelling weight was "
        "read; 0 where the rig file describes none. Terms add up before rounding.</p>"
    )
    return table(head, rows) + note + zero


def _zero(material: Material, findings: Findings, display: str) -> str:
    """Say how far the empty block is from what it should weigh: zero, lines and gear together."""
    empty = findings.empty
    if not empty.connections:
        return "<p class='note'>The empty block was not seen in slips: zero is not checked.</p>"
    weight_N = material.travelling_weight_at(int(material.span.time_us[-1]))
    return (
        f"<p class='note'>Zero: the empty block read {figure(empty.load_N, 'force', display)} "
        f"(median of {count(empty.connections, 'connection')}, spread ± "
        f"{figure(max(empty.spread_N, LEAST_TOLD_N), 'force', display)} at most) where "
        f"{figure(weight_N, 'force', display)} is declared: "
        f"{_signed(empty.load_N - weight_N, display)} {unit('force', display)}.</p>"
    )


def moment_text(time_us: int) -> str:
    """Time of day of a peak, which has no line of its own in the sequence."""
    return moment(time_us).split(">")[1].split("<")[0]


def _signed(value_N: float, display: str) -> str:
    text = bare(abs(value_N), "force", display)
    if not np.isfinite(value_N) or not text.strip("0."):
        return text
    return ("+" if value_N > 0.0 else "−") + text


def quality_part(material: Material) -> str:
    """Rows read and refused by reason, gaps, and how long each flag stood in the span."""
    counts, span = material.counts, material.span
    rejected = dict(counts.get("rejected") or {})
    rows = [
        ("Rows read in the whole record", f"{counts.get('samples', 0):,}"),
        ("Rows in the span of this report", f"{len(span):,}"),
        ("Usual time between rows", f"{span.interval_s():g} s"),
        *(
            (f"Refused: {escape(str(reason))}", f"{number:,}")
            for reason, number in sorted(rejected.items())
        ),
    ]
    if not rejected:
        rows.append(("Refused rows or cells", "none"))
    missing = dict(counts.get("missing") or {})
    rows += [
        (f"Empty cells: {escape(channel.replace('_', ' '))}", f"{number:,}")
        for channel, number in sorted(missing.items())
    ]
    gaps = [event for event in material.events if event.kind == "data_gap"]
    lost = sum(((e.end_us or e.start_us) - e.start_us) / 1e6 for e in gaps)
    told = f"{len(gaps)}, {duration(lost)} together" if gaps else "none"
    rows.append(("Gaps in the span", told))
    rows.append(("Clock set back or far ahead", f"{counts.get('clock_steps', 0)} times"))
    rows += _known(span)
    flags = span["quality"].astype(np.int64)
    for flag, words in FLAG_WORDS.items():
        number = int(np.count_nonzero(flags & int(flag)))
        if number:
            rows.append(
                (f"Rows flagged: {words}", f"{number:,} ({100 * number / len(span):.1f} %)")
            )
    notes = "".join(
        f"<p class='note'>{escape(str(text))}</p>"
        for text in (*(counts.get("notes") or ()), *(counts.get("examples") or ()))
    )
    ignored = counts.get("ignored_columns") or ()
    if ignored:
        notes += f"<p class='note'>Columns not used: {escape(', '.join(ignored))}.</p>"
    return table(("What", "how much"), rows, style_name="narrow") + notes


def _known(span: Span) -> list[tuple[str, str]]:
    """Shares of the rows out of slips of which the figures are known, and how surely."""
    out = span["activity"] != Activity.IN_SLIPS
    if not out.any():
        return [("Rows out of slips", "none")]
    state = span["state"].astype(np.int64)[out]
    shares = (
        ("hook load known", np.isfinite(span["hook_load_N"][out])),
        ("expected load known", np.isfinite(span["expected_N"][out])),
        ("bit depth known", np.isfinite(span["bit_depth_m"][out])),
        ("bit depth uncertain after a gap or jump", (state & State.DEPTH_UNCERTAIN) > 0),
        ("direction of sheave friction not known", (state & State.FRICTION_UNKNOWN) > 0),
    )
    return [
        (f"Rows out of slips: {words}", f"{100.0 * float(np.mean(rows)):.1f} %")
        for words, rows in shares
    ]


def source_part(material: Material) -> str:
    """Say which record this is of, so that nobody can take another for it."""
    rows = [
        (escape(each.name), escape(each.what), f"<span class='hash'>{each.sha256}</span>")
        for each in material.sources
    ]
    first, last = (day_and_time(int(material.span.time_us[at])) for at in (0, -1))
    return table(("Source", "", "SHA-256"), rows, words=(0, 1, 2)) + (
        f"<p class='note'>Span of this report: {first} to {last} UTC.</p>"
    )
