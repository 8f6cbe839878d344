"""The newest rows of a record as a calibration needs them, and what ails the signal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.metrology.signal_health import (
    CurrentState,
    SignalHealth,
    current_states,
    signal_health,
)
from monitor.metrology.steady_reading import SteadySpell
from monitor.model import Floats, Quality
from monitor.review.captured_points import Reading, reach_of
from monitor.review.span import Span
from monitor.rig.rig import Rig
from monitor.store.rows import Rows

NOTHING = math.nan
STATE_WORDS = {
    CurrentState.FAILED_LOW: "failed low: look for a break in the loop, its supply, its plugs",
    CurrentState.FAILED_HIGH: "failed high: look for a short circuit; the transmitter reports it",
    CurrentState.DOUBTFUL_LOW: "below its measuring range",
    CurrentState.DOUBTFUL_HIGH: "above its measuring range",
}


def reading_of_rows(rows: Rows, rig: Rig, status: dict[str, Any]) -> Reading | None:
    """What the rows say of the sensor; None where neither signal nor tension comes in."""
    kept = (rows.columns["row"].astype(np.int64) & int(Quality.LATE | Quality.GAP)) == 0

    def column(name: str) -> Floats:
        found = rows.columns.get(name)
        if found is None:
            return np.full(int(kept.sum()), NOTHING)
        return np.asarray(found.astype(np.float64)[kept])

    reading_of = "deadline_tension" if "deadline_tension_N" in rows.columns else "deadline_signal"
    signal = column("deadline_tension_N" if reading_of == "deadline_tension" else reading_of)
    if not np.isfinite(signal).any() and reading_of not in _present(rows):
        return None
    raw = signal
    if reading_of == "deadline_signal" and rig.sensor.signal_quantity == "current":
        states = current_states(signal)
        failed = (states == CurrentState.FAILED_LOW) | (states == CurrentState.FAILED_HIGH)
        signal = np.where(failed, NOTHING, signal)
    depth = column("bit_depth_m")
    lines = status.get("lines_strung") or rig.reeving.lines_strung
    travelling = status.get("travelling_weight_N")
    return Reading(
        time_us=rows.time_us[kept],
        raw=raw,
        signal=signal,
        reference_N=column("reference_load_N"),
        block_m=column("block_position_m"),
        friction=column("friction_state"),
        reading_of=reading_of,
        reach=reach_of(rig, reading_of),
        lines_strung=int(lines),
        travelling_weight_N=rig.travelling_weight_N if travelling is None else float(travelling),
        bit_depth_m=float(depth[-1]) if len(depth) else NOTHING,
    )


def span_of_rows(parts: Sequence[Rows]) -> Span:
    """Give block positions of a few rows as a span."""
    known = [part for part in parts if len(part)]
    if not known:
        return Span(np.zeros(0, dtype=np.int64), {})
    times = np.concatenate([part.time_us for part in known])
    nothing = np.full(1, NOTHING)
    block = [
        np.asarray(part.columns.get("block_position_m", nothing), dtype=np.float64)[: len(part)]
        for part in known
    ]
    return Span(times, {"block_position": np.concatenate(block)})


def _present(rows: Rows) -> set[str]:
    return {name.removesuffix("_N") for name in rows.columns}


def steady_now(reading: Reading) -> SteadySpell | None:
    """Give the spell that lasts to the newest row, however short; None while none does."""
    spells = reading.spells()
    return spells[-1] if spells and spells[-1].is_open else None


def ailment(reading: Reading, rig: Rig) -> str:
    """What the newest reading says is wrong with the signal, in words; "" when it measures."""
    if not len(reading.raw):
        return "no reading"
    newest = reading.raw[-1:]
    if not np.isfinite(newest).all():
        return "no reading"
    if reading.reading_of == "deadline_signal" and rig.sensor.signal_quantity == "current":
        return STATE_WORDS.get(CurrentState(int(current_states(newest)[0])), "")
    return ""


def health(reading: Reading, rig: Rig) -> SignalHealth:
    """Noise, steps, ends of scale, frozen spells over the rows given."""
    low, high = 0.0, reading.reach
    if reading.reading_of == "deadline_signal":
        low, high = rig.sensor.signal_low, rig.sensor.signal_high
    is_current = (
        reading.reading_of == "deadline_signal" and rig.sensor.signal_quantity == "current"
    )
    return signal_health(reading.time_us, reading.raw, low, high, is_current=is_current)
