"""Versions of the calibration in one record, from the acts that were taken."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from monitor.ingest.points import points_of
from monitor.metrology.calibration import Calibration
from monitor.metrology.proposal import Proposal, as_found, change_between, from_text, two_point
from monitor.model import CalibrationAct
from monitor.report.certificate import Reference, certificate
from monitor.report.sensor_points import (
    SIGNAL_UNITS,
    errors_before,
    points_text,
    shown_reading,
    tell_before,
)
from monitor.review.captured_points import reach_of
from monitor.rig.rig import Rig
from monitor.units import display_value, iso_utc


def proposal_of(acts: Sequence[CalibrationAct], version: int) -> Proposal | None:
    """Give a version as it was proposed; None for the rig file's, and one that is not there."""
    text = next(
        (a.text for a in acts if a.act == "calibration_proposed" and a.version == version), None
    )
    return None if text is None else from_text(text)


def fit_of(
    acts: Sequence[CalibrationAct], version: int, rig: Rig, reading_of: str
) -> Calibration | None:
    """Fit of a version, SI; None where the rig file says nothing."""
    proposed = proposal_of(acts, version)
    if proposed is not None:
        return proposed.fit()
    if reading_of == "deadline_tension":
        span_N = reach_of(rig, reading_of)
        return two_point(span_N, 0.0, span_N)
    if rig.sensor.span_N is None:
        return None
    return two_point(rig.sensor.span_N, rig.sensor.signal_low, rig.sensor.signal_high)


def versions(
    acts: Sequence[CalibrationAct], rig: Rig, reading_of: str, display: str
) -> dict[str, Any]:
    """Newest first, with who and when, what it was made with and what it changes."""
    in_force = acts[-1].in_force if acts else 0
    rows = [_row(act, acts, in_force, rig, reading_of, display) for act in acts if _is_new(act)]
    rows.reverse()
    rows.append(
        {
            "version": 0,
            "state": "in force" if in_force == 0 else "not in force",
            "words": "two points of the rig file"
            if reading_of == "deadline_signal"
            else "tension as it comes in",
            "acts": [],
        }
    )
    return {"in_force": in_force, "rows": rows}


def _is_new(act: CalibrationAct) -> bool:
    return act.act == "calibration_proposed"


def _row(
    act: CalibrationAct,
    acts: Sequence[CalibrationAct],
    in_force: int,
    rig: Rig,
    reading_of: str,
    display: str,
) -> dict[str, Any]:
    proposed = from_text(act.text)
    later = [one for one in acts if one.version == act.version and not _is_new(one)]
    was_approved = any(one.act == "calibration_approved" for one in later)
    state = (
        "in force" if act.version == in_force else "not in force" if was_approved else "proposed"
    )
    row: dict[str, Any] = {
        "version": act.version,
        "state": state,
        "words": proposed.in_words(),
        "reference": proposed.reference,
        "certificate": proposed.certificate,
        "note": proposed.note,
        "acts": [
            {
                "act": one.act.removeprefix("calibration_").replace("_", " "),
                "who": one.who,
                "time_us": one.time_us,
                "text": "" if _is_new(one) else one.text,
            }
            for one in (act, *later)
        ],
    }
    now = fit_of(acts, in_force, rig, reading_of)
    if now is not None and state != "in force":
        change = change_between(now, proposed.fit())
        row["change"] = display_value(change.greatest_N, "force", display)
        row["change_percent"] = 100.0 * change.greatest_share
    if proposed.as_found and now is not None:
        judged = as_found(
            proposed.as_found, fit_of(acts, _before(act, acts), rig, reading_of) or now
        )
        worst = max(judged.error_N, key=abs)
        row["as_found_worst"] = display_value(worst, "force", display)
    return row


def _before(act: CalibrationAct, acts: Sequence[CalibrationAct]) -> int:
    """Version in force when an act was left."""
    return next((one.in_force for one in reversed(acts) if one.seq < act.seq), 0)


def version_certificate(
    acts: Sequence[CalibrationAct], version: int, rig: Rig, display: str
) -> tuple[dict[str, Any], list[tuple[str, str]]] | None:
    """Certificate of a saved version and its settings; None where there is none."""
    proposed = proposal_of(acts, version)
    if proposed is None:
        return None
    text = points_text(proposed, rig, display)
    greatest_N = max(abs(load) for load in proposed.loads_N)
    percent = 100.0 * 1.96 * proposed.reference_uncertainty_N / greatest_N if greatest_N else 0.0
    points = points_of(text, rig, "held", name=f"version {version} of the record")
    found = certificate(
        points,
        proposed.model,
        through_zero=proposed.through_zero,
        who=proposed.measured_by,
        when=proposed.measured,
        rig=rig,
        reference=Reference(proposed.reference, proposed.certificate, round(percent, 4)),
    )
    new = next(act for act in acts if _is_new(act) and act.version == version)
    had = fit_of(acts, _before(new, acts), rig, proposed.reading_of)
    errors = errors_before(points, had)
    rows = [
        {"line": line, "error_before": error}
        for line, error in zip(points.lines, errors, strict=True)
    ]
    tell_before(found, rows)
    return found, settings(rig, version, acts)


def _signal(value: float, rig: Rig) -> str:
    return f"{shown_reading(value, rig, 'deadline_signal', 'metric'):g}"


def settings(
    rig: Rig, version: int | None = None, acts: Sequence[CalibrationAct] = ()
) -> list[tuple[str, str]]:
    """What the figures rest on besides the points, for the certificate."""
    sensor, reeving = rig.sensor, rig.reeving
    rows = [("Rig", rig.name)]
    if sensor.span_N is not None:
        rows.append(
            (
                "Sensor by the rig file",
                f"{_signal(sensor.signal_low, rig)} to {_signal(sensor.signal_high, rig)} "
                f"{SIGNAL_UNITS[sensor.signal_quantity]}, span {sensor.span_N / 1e3:g} kN",
            )
        )
    rows += [
        ("Lines strung by the rig file", str(reeving.lines_strung)),
        ("Efficiency of a sheave", f"{reeving.sheave_efficiency:g}"),
        ("Dead-line sheave", reeving.dead_line_sheave),
        ("Travelling weight", f"{rig.travelling_weight_N / 1e3:g} kN"),
    ]
    for act in acts:
        if act.version == version:
            what = act.act.removeprefix("calibration_").replace("_", " ")
            rows.append((f"Version {version} {what}", f"{iso_utc(act.time_us)} by {act.who}"))
    return rows
