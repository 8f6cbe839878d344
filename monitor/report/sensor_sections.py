"""What a record says of its sensor, in plain sentences: for the calm sections of the page."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from monitor.report.sensor_points import reading_unit, shown_reading
from monitor.review.captured_points import Reading
from monitor.review.sensor_reading import health, reading_of_rows
from monitor.rig.rig import Rig
from monitor.store.rows import Rows


@dataclass(frozen=True, slots=True)
class Section:
    """Lines in sentences, findings as (what, what to check), remarks, a drawing."""

    lines: tuple[str, ...]
    findings: tuple[dict[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    chart: str = ""
    asks: bool = False  # something here asks for action


def sections(rows: Rows, rig: Rig, status: dict[str, Any], display: str) -> dict[str, Any]:
    """Sections by the name of their place on the page."""
    reading = reading_of_rows(rows, rig, status)
    told = {"sensor-health-section": signal_section(reading, rig, display)}
    return {"sections": {name: asdict(section) for name, section in told.items()}}


def signal_section(reading: Reading | None, rig: Rig, display: str) -> Section:
    """Say what ails the signal, or that nothing does."""
    if reading is None or not len(reading.raw):
        return Section(("No dead-line signal and no tension come in.",))
    found = health(reading, rig)
    unit = reading_unit(rig, reading.reading_of, display)
    per_si = shown_reading(1.0, rig, reading.reading_of, display) - shown_reading(
        0.0, rig, reading.reading_of, display
    )
    seconds = (int(reading.time_us[-1]) - int(reading.time_us[0])) / 1e6
    lines = [f"{found.n_samples:,} readings of the last {seconds / 60.0:.0f} min looked at."]
    if not found.findings:
        lines[0] += " Nothing ails the signal."
    if found.noise == found.noise:
        noise = f"Noise {found.noise * per_si:.2g} {unit} from reading to reading"
        step = f", steps of {found.resolution * per_si:.2g} {unit}" if found.resolution > 0 else ""
        lines.append(f"{noise}{step}.")
    return Section(
        tuple(lines),
        tuple({"what": what, "check": check} for what, check in found.findings),
        ("A healthy signal can still be wrong by its calibration.",),
        asks=bool(found.findings),
    )
