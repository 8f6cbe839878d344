"""Points of a calibration taken from a record: a steady reading set against a known load."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from monitor.mechanics.pipe import string_weight_N
from monitor.mechanics.reference_load import sensor_tension_N
from monitor.metrology.steady_reading import TOLERANCE_SHARE, SteadySpell, steady_spells
from monitor.model import Floats, Ints
from monitor.review.reference_kinds import AT_SENSOR, BELOW_HOOK, KINDS
from monitor.rig.rig import Rig

# Friction counts as turned over within this of its end: what is left is under a thousandth of
# the load.
TURNED = 0.98
UNKNOWN_SPAN_N = 450e3  # range of a tension that comes in converted, where the rig file has none


class CaptureError(ValueError):
    """A point that cannot be taken; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The newest rows of a record as far as a calibration needs them; NaN where not known."""

    time_us: Ints
    raw: Floats  # raw signal, or the tension that comes in [SI of the channel]
    signal: Floats  # the same; NaN where the transmitter reports a fault
    reference_N: Floats  # what a recorded load cell below the hook reads
    block_m: Floats
    friction: Floats
    reading_of: str  # the channel
    reach: float  # range of the signal
    lines_strung: int
    travelling_weight_N: float
    bit_depth_m: float

    @property
    def tolerance(self) -> float:
        """How still a reading must stand."""
        return TOLERANCE_SHARE * self.reach

    def spells(self) -> tuple[SteadySpell, ...]:
        """Spells in which the reading stands still."""
        return steady_spells(self.time_us, self.signal, self.tolerance)


@dataclass(frozen=True, slots=True)
class CapturedPoint:
    """One point with all that it rests on."""

    spell: SteadySpell
    kind: str
    sensor_load_N: float
    hook_load_N: float  # NaN where the load acts at the sensor
    moved: str  # "hoisting", "lowering", or "" where no sheave is in between
    block_m: float
    lines_strung: int


def reach_of(rig: Rig, reading_of: str) -> float:
    """Range of the signal a sensor gives, or of the tension that comes in."""
    if reading_of == "deadline_tension":
        return rig.sensor.span_N or UNKNOWN_SPAN_N
    return rig.sensor.signal_high - rig.sensor.signal_low


def over(reading: Reading, values: Floats, spell: SteadySpell) -> float:
    """Mean of what else was recorded during a spell."""
    within = (reading.time_us >= spell.start_us) & (reading.time_us <= spell.end_us)
    known = values[within][np.isfinite(values[within])]
    return float(known.mean()) if len(known) else math.nan


def moved(reading: Reading, spell: SteadySpell) -> str:
    """Which way the block last moved before a spell; "" where it is not sure."""
    state = over(reading, reading.friction, spell)
    if state >= TURNED:
        return "hoisting"
    return "lowering" if state <= -TURNED else ""


def known_load_N(kind: str, reading: Reading, rig: Rig, spell: SteadySpell | None) -> float:
    """Load of a kind as far as the record and the rig file know it; NaN where people must say."""
    if kind == "no_load":
        return 0.0
    if kind == "empty_block":
        return reading.travelling_weight_N
    if kind == "known_string" and rig.string and rig.mud_density_kg_m3 is not None:
        if math.isfinite(reading.bit_depth_m) and reading.bit_depth_m > 0.0:
            above_m = math.nan if spell is None else over(reading, reading.block_m, spell)
            return reading.travelling_weight_N + _string_N(
                rig, rig.mud_density_kg_m3, reading.bit_depth_m, above_m
            )
    if kind == "load_cell" and spell is not None:
        told = over(reading, reading.reference_N, spell)
        return max(told, 0.0)
    return math.nan


def _string_N(rig: Rig, mud_density_kg_m3: float, bit_depth_m: float, above_m: float) -> float:
    """Weight of the string, hole vertical: in mud below the floor, in air above it."""
    below, whole = bit_depth_m, bit_depth_m + (above_m if above_m > 0.0 else 0.0)
    depths = np.array([below, whole])
    in_mud = float(string_weight_N(rig.string, depths, mud_density_kg_m3)[0])
    in_air = string_weight_N(rig.string, depths)
    return in_mud + float(in_air[1] - in_air[0])


def captured(
    reading: Reading, rig: Rig, spell: SteadySpell, kind: str, load_N: float
) -> CapturedPoint:
    """Set a spell against a known load; `CaptureError` where that says nothing."""
    if kind not in KINDS:
        raise CaptureError(f"no such reference: {kind}")
    if spell.why_not:
        raise CaptureError(f"the reading is not steady yet: {spell.why_not}")
    if not (math.isfinite(load_N) and load_N >= 0.0):
        raise CaptureError("the reference load is missing: give it as a number, 0 or more")
    block_m = over(reading, reading.block_m, spell)
    if KINDS[kind].acts == AT_SENSOR:
        return CapturedPoint(spell, kind, load_N, math.nan, "", block_m, reading.lines_strung)
    direction = moved(reading, spell)
    if not direction:
        raise CaptureError(
            "the sheaves' friction has not turned over: move the block half a metre one way, "
            "hold it, and capture then"
        )
    hook_N = load_N + (reading.travelling_weight_N if KINDS[kind].acts == BELOW_HOOK else 0.0)
    height_m = block_m if math.isfinite(block_m) else None
    tension_N = float(sensor_tension_N(hook_N, rig, reading.lines_strung, direction, height_m))
    if tension_N < 0.0:
        raise CaptureError("that load is less than the weight of the line itself: check it")
    return CapturedPoint(spell, kind, tension_N, hook_N, direction, block_m, reading.lines_strung)
