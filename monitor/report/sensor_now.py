"""What the Sensor page shows of the running record: reading, known loads, state of the signal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.interpret.known import known_or_none
from monitor.metrology.steady_reading import LEAST_S, SteadySpell
from monitor.report import svg
from monitor.report.sensor_points import (
    header,
    point_line,
    reading_unit,
    shown_reading,
)
from monitor.report.svg import Axis
from monitor.review.captured_points import (
    CaptureError,
    Reading,
    captured,
    known_load_N,
    moved,
    over,
)
from monitor.review.reference_kinds import KINDS
from monitor.review.sensor_reading import ailment, reading_of_rows, steady_now
from monitor.rig.rig import Rig
from monitor.store.rows import Rows
from monitor.units import DISPLAY_SETS, UnitError, display_value, to_si

SPELLS_SHOWN = 40
STRIP_S = 60.0


def now_answer(
    rows: Rows, rig: Rig, status: dict[str, Any], display: str, *, with_spells: bool
) -> dict[str, Any]:
    """The reading now and whether it stands still; with the steady spells where asked."""
    reading = reading_of_rows(rows, rig, status)
    if reading is None:
        return {"ailment": "no dead-line signal and no tension come in", "steady": None}
    spell = steady_now(reading)
    newest = float(reading.raw[-1]) if len(reading.raw) else math.nan
    told: dict[str, Any] = {
        "reading_of": reading.reading_of,
        "unit": reading_unit(rig, reading.reading_of, display),
        "load_unit": DISPLAY_SETS[display]["force"].unit,
        "value": known_or_none(shown_reading(newest, rig, reading.reading_of, display)),
        "ailment": ailment(reading, rig),
        "least_s": LEAST_S,
        "steady": None if spell is None else _spell(spell, reading, rig, display),
        "known": _known(reading, rig, spell, display),
        "moved": "" if spell is None else moved(reading, spell),
        "strip": signal_strip(reading, rig, display),
        "has_reference": bool(np.isfinite(reading.reference_N).any()),
        "header": header(rig, reading.reading_of, display),
    }
    if with_spells:
        usable = [one for one in reading.spells() if not one.why_not][-SPELLS_SHOWN:]
        told["spells"] = [
            _spell(one, reading, rig, display)
            | {
                "moved": moved(reading, one),
                "known": _known(reading, rig, one, display),
            }
            for one in reversed(usable)
        ]
    return told


def _spell(spell: SteadySpell, reading: Reading, rig: Rig, display: str) -> dict[str, Any]:
    per_si = shown_reading(1.0, rig, reading.reading_of, display) - shown_reading(
        0.0, rig, reading.reading_of, display
    )
    return {
        "start_us": spell.start_us,
        "end_us": spell.end_us,
        "seconds": round(spell.duration_s),
        "n_readings": spell.n_readings,
        "mean": known_or_none(shown_reading(spell.mean, rig, reading.reading_of, display)),
        "scatter": known_or_none(spell.scatter * per_si),
        "drift": known_or_none(spell.drift * per_si),
        "why_not": spell.why_not,
        "is_frozen": spell.is_frozen,
        "block": known_or_none(
            display_value(over(reading, reading.block_m, spell), "length", display)
        ),
    }


def _known(
    reading: Reading, rig: Rig, spell: SteadySpell | None, display: str
) -> dict[str, float | None]:
    return {
        kind: known_or_none(
            display_value(known_load_N(kind, reading, rig, spell), "force", display)
        )
        for kind in KINDS
    }


def captured_lines(
    rows: Rows,
    rig: Rig,
    status: dict[str, Any],
    display: str,
    *,
    kind: str,
    load: str,
    moments_us: Sequence[int],
    is_as_found: bool,
) -> dict[str, Any]:
    """Take the spells that hold these moments as points; `CaptureError` says why one cannot be."""
    reading = reading_of_rows(rows, rig, status)
    if reading is None:
        raise CaptureError("no dead-line signal and no tension come in")
    spells, lines = reading.spells(), []
    for moment in moments_us:
        spell = next((one for one in spells if one.start_us <= moment <= one.end_us), None)
        if spell is None:
            raise CaptureError(
                "the reading does not stand still there any more; wait and press again"
            )
        load_N = _load_N(load, kind, reading, rig, spell, display)
        point = captured(reading, rig, spell, kind, load_N)
        lines.append(point_line(point, rig, reading.reading_of, display, is_as_found=is_as_found))
    return {"header": header(rig, reading.reading_of, display), "lines": lines}


def _load_N(
    text: str, kind: str, reading: Reading, rig: Rig, spell: SteadySpell, display: str
) -> float:
    """Load as written, in the display's unit unless it names its own; else as recorded."""
    if not text:
        return known_load_N(kind, reading, rig, spell)
    written = text.replace("\u2212", "-")
    try:
        float(written)
    except ValueError:
        pass
    else:
        written = f"{written} {DISPLAY_SETS[display]['force'].unit}"
    try:
        return to_si(written, "force")
    except UnitError as error:
        raise CaptureError(f"reference load: {error}") from None


def signal_strip(reading: Reading, rig: Rig, display: str) -> str:
    """Draw the last minute of the signal, every spike in it."""
    if not len(reading.raw):
        return ""
    time_s = (reading.time_us - reading.time_us[-1]) / 1e6
    part = time_s >= -STRIP_S
    scale = shown_reading(1.0, rig, reading.reading_of, display)
    zero = shown_reading(0.0, rig, reading.reading_of, display)
    values = reading.raw[part] * (scale - zero) + zero
    across = Axis(-STRIP_S, 0.0, 52.0, 470.0)
    up = svg.nice_axis([values], 74.0, 10.0)
    x, y = svg.thinned(time_s[part], values, 200)
    parts = []
    for value in svg.ticks(up, 2):
        parts.append(svg.line(52.0, up.at(value), 470.0, up.at(value), "grid"))
        parts.append(svg.words(47.0, up.at(value) + 4.0, f"{value:.5g}", "tick", "end"))
    parts.append(svg.path(across.all_at(x), up.all_at(y), "ink"))
    return svg.drawing(480.0, 84.0, "the signal over the last minute", parts)
