"""The motion compensator in the status: its state, stroke, load, and what heave leaves."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from monitor.interpret.hoist import Hoist
from monitor.mechanics.compensator import compensator_room_N, load_swing_at_bit_N
from monitor.mechanics.heave import position_above_sea_bed_m
from monitor.mechanics.stretch import stretch_m

NAN = float("nan")
# A depth mark of one of these names says where the sea bed is.
SEA_BED_NAMES = ("sea bed", "mud line")
# A stroke read below its zero or beyond its end by less than this is the sensor's.
STROKE_SLACK_M = 0.05


def compensator_part(
    hoist: Hoist, load_N: float, waves: Mapping[str, Any]
) -> dict[str, Any] | None:
    """Everything of the compensator; None where none is fitted."""
    fitted = hoist.rig.compensator
    if fitted is None:
        return None
    open_N, locked_N = fitted.load_limit_N, _locked_limit_N(hoist)
    state = "open" if is_open_though_locked(hoist, waves) else hoist.compensator
    used_m = _known(waves.get("stroke_used_m"))
    return {
        "state": hoist.compensator,
        "is_open_though_locked": is_open_though_locked(hoist, waves),
        "kind": fitted.kind,
        "stroke_m": hoist.stroke_m,
        "stroke_used_m": used_m,
        "stroke_limit_m": fitted.stroke_limit_m,
        "load_N": load_N,
        "load_limit_N": open_N if state == "open" else locked_N,
        "room_N": float(compensator_room_N(load_N, state, open_N, locked_N)),
        "load_mean_N": waves.get("load_mean_N"),
        "load_swing_N": waves.get("load_swing_N"),
        "swing_at_bit_N": _swing_at_bit_N(hoist, state, waves),
        "above_sea_bed_m": _above_sea_bed_m(hoist, waves),
        "heave_amplitude_m": waves.get("amplitude_m"),
        "heave_period_s": waves.get("period_s"),
        "heave_height_m": waves.get("height_m"),
        "heave_limit_m": hoist.rig.limits.heave_m or fitted.stroke_limit_m,
    }


def _known(value: Any) -> float:
    return NAN if value is None else float(value)


def is_open_though_locked(hoist: Hoist, waves: Mapping[str, Any]) -> bool:
    """Whether its stroke is drawn out while people say that it is locked."""
    return hoist.compensator == "locked" and waves.get("is_open") == 1.0


def _locked_limit_N(hoist: Hoist) -> float:
    """Rating of the locked compensator where one is given, else its load limit."""
    fitted = hoist.rig.compensator
    named = [
        piece.rating_at(hoist.lines_strung)
        for piece in hoist.rig.equipment
        if piece.name in ("compensator", "motion compensator")
    ]
    return min(named, default=NAN if fitted is None else fitted.load_limit_N)


def _swing_at_bit_N(hoist: Hoist, state: str, waves: Mapping[str, Any]) -> float:
    """Swing of the weight on bit that heave leaves by the springs; seal friction not in it."""
    fitted, depth_m = hoist.rig.compensator, hoist.present["depth_m"]
    height_m = 2.0 * _known(waves.get("amplitude_m"))
    if fitted is None or not height_m >= 0.0:
        return NAN
    spring = math.inf if state == "locked" else fitted.stiffness_N_m
    string = _string_stiffness_N_m(hoist, depth_m)
    if spring is None or (math.isinf(spring) and math.isinf(string)):
        return NAN
    return float(load_swing_at_bit_N(height_m, spring, string))


def _string_stiffness_N_m(hoist: Hoist, depth_m: float) -> float:
    """Pull per stretch of the string on bottom; infinite, the safe side, where not known."""
    if not hoist.rig.string or not depth_m > 0.0:
        return math.inf
    stretch_m_N = stretch_m(1.0, hoist.rig.string, depth_m)
    return 1.0 / stretch_m_N if stretch_m_N > 0.0 else math.inf


def _above_sea_bed_m(hoist: Hoist, waves: Mapping[str, Any]) -> float:
    """Height of the elevators over the sea bed, where a depth mark says how deep that is."""
    fitted = hoist.rig.compensator
    bed = [mark.depth_m for mark in hoist.rig.depth_marks if mark.name in SEA_BED_NAMES]
    heave_m = _known(waves.get("heave_m"))
    if fitted is None or not bed:
        return NAN
    # By definition the block position has the stroke of one at the crown in it already.
    stroke_m = hoist.stroke_m if fitted.kind == "in-line" else 0.0
    return float(position_above_sea_bed_m(hoist.block_m, heave_m, bed[0], stroke_m))


def compensator_warnings(part: Mapping[str, Any]) -> list[str]:
    """What a person should know of it."""
    found = []
    if part["is_open_though_locked"]:
        found.append(
            "compensator is said to be locked, yet its stroke is drawn out: taken as open"
        )
    stroke_m, limit_m = part["stroke_m"], part["stroke_limit_m"]
    if stroke_m > limit_m + STROKE_SLACK_M or stroke_m < -STROKE_SLACK_M:
        found.append("compensator stroke reads beyond its ends: check its zero")
    height_m = part["heave_height_m"]
    if height_m is not None and height_m > part["heave_limit_m"]:
        found.append("heave is over its limit")
    return found
