"""The rig sheet at one bit depth: weights by friction, pull, stretch, volumes, line work.

As the rig file says, before any record: what a record shows goes before it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from monitor import units
from monitor.interpret.standard_work import REAMS, round_trip_J
from monitor.mechanics.drag import weight_fan
from monitor.mechanics.line_work import coring_work_J, drilling_work_J, short_trip_work_J
from monitor.mechanics.pipe import tensile_capacity_N
from monitor.mechanics.pipe_limits import section_capacities_N
from monitor.mechanics.pipe_strength import (
    WeakestPoint,
    torsional_capacity_Nm,
    torsional_capacity_under_tension_Nm,
    weakest_point,
)
from monitor.mechanics.pipe_volume import string_displacement_m3, trip_fill_m3
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.stretch import stretch_m
from monitor.mechanics.survey import well_path
from monitor.mechanics.thermal import thermal_load_N, thermal_stretch_m
from monitor.rig.rig import Rig

# Friction factors usual in cased and open hole lie between these (common practice).
FRICTION_FACTORS = (0.1, 0.2, 0.3, 0.4)
# A stand of three joints, and a short trip of ten of them (common practice).
STAND_M, SHORT_TRIP_M = 28.5, 285.0
PULL_N, WARMER_K = 100e3, 10.0
JOINT_STIFFENING = 1.04  # by tool joints, about


def depth_sheet(rig: Rig, bit_depth_m: float) -> dict[str, Any] | None:
    """Everything of the sheet, SI; None where the rig file has no string."""
    if not rig.string:
        return None
    shoe = next((mark.depth_m for mark in rig.depth_marks if mark.name == "casing shoe"), None)
    hole = Hole(well_path(rig.survey), rig.mud_density_kg_m3, shoe)
    fan = weight_fan(rig.string, hole, np.array([bit_depth_m]), np.array(FRICTION_FACTORS))
    gear_N = rig.travelling_weight_N
    rotating_N = float(fan.rotating_N.ravel()[0])
    return {
        "bit_depth_m": bit_depth_m,
        "rotating_N": rotating_N + gear_N,
        "is_curved": any(station.inclination_rad > 0.0 for station in rig.survey),
        "weights": [
            {"friction_factor": factor, "hoisting_N": up + gear_N, "lowering_N": down + gear_N}
            for factor, up, down in zip(
                FRICTION_FACTORS,
                fan.hoisting_N.ravel().tolist(),
                fan.lowering_N.ravel().tolist(),
                strict=True,
            )
        ],
        "pull": _pull(rig, hole, bit_depth_m, rotating_N),
        "stretch": _stretch(rig, bit_depth_m),
        "displacement_m3": float(string_displacement_m3(rig.string, bit_depth_m)),
        "fill_per_stand_m3": _fill_m3(rig, bit_depth_m),
        "line_work": _line_work(rig, bit_depth_m),
    }


def _pull(rig: Rig, hole: Hole, bit_depth_m: float, rotating_N: float) -> dict[str, Any] | None:
    """Pull the pipe bears, where it gives first, and the torque left while it hangs."""
    capacities = section_capacities_N(rig)
    if all(capacity is None for capacity in capacities):
        return None
    point: WeakestPoint = weakest_point(rig.string, capacities, hole, bit_depth_m)
    found: dict[str, Any] = {
        "section": point.section,
        "depth_m": point.depth_m,
        "pull_N": point.pull_N + rig.travelling_weight_N,
        "margin_of_overpull_N": point.margin_N,
        "torque_left_Nm": None,
    }
    pipe, top = rig.pipe, rig.string[-1]
    if pipe is not None and pipe.yield_Pa is not None:
        tube = (top.outside_diameter_m, top.inside_diameter_m, pipe.yield_Pa, pipe.pipe_class)
        torque = torsional_capacity_Nm(*tube, pipe.design_factor)
        tension = tensile_capacity_N(*tube, pipe.design_factor)
        left = torsional_capacity_under_tension_Nm(rotating_N, tension, torque)
        found["torque_left_Nm"] = float(left)
    return found


def _stretch(rig: Rig, bit_depth_m: float) -> dict[str, Any]:
    """Stretch under a pull, the give of the hoist beside it, and what warmth does."""
    plain = stretch_m(PULL_N, rig.string, bit_depth_m)
    jointed = stretch_m(PULL_N, rig.string, bit_depth_m, stiffening=JOINT_STIFFENING)
    growth = float(thermal_stretch_m(bit_depth_m, WARMER_K))
    held_N = thermal_load_N(growth, plain / PULL_N, rig.hoist_compliance_m_N)
    return {
        "pull_N": PULL_N,
        "plain_tube_m": plain,
        "with_tool_joints_m": jointed,
        "hoist_m": PULL_N * rig.hoist_compliance_m_N,
        "warmer_K": WARMER_K,
        "growth_m": growth,
        "held_N": float(held_N),
    }


def _fill_m3(rig: Rig, bit_depth_m: float) -> dict[str, float]:
    """Mud that a stand pulled takes the room of, from the top of the string."""
    after_m = max(bit_depth_m - STAND_M, 0.0)
    return {
        pulled: float(trip_fill_m3(rig.string, bit_depth_m, after_m, pulled=pulled))
        for pulled in ("dry", "wet")
    }


def _line_work(rig: Rig, bit_depth_m: float) -> dict[str, float]:
    """Line work by the standard's formulas, of operations that begin at this depth."""
    gear_N = rig.travelling_weight_N
    here, deeper, shallower = (
        round_trip_J(rig, max(depth, 0.0), STAND_M, gear_N)
        for depth in (bit_depth_m, bit_depth_m + STAND_M, bit_depth_m - SHORT_TRIP_M)
    )
    drilled = {
        drive: drilling_work_J(here, deeper, n_reams=REAMS, connection=drive)
        for drive in ("kelly", "top drive")
    }
    return {
        "round_trip_J": here,
        "drilling_stand_kelly_J": drilled["kelly"],
        "drilling_stand_top_drive_J": drilled["top drive"],
        "coring_stand_J": coring_work_J(here, deeper),
        "short_trip_J": short_trip_work_J(shallower, here),
    }


def depth_sheet_lines(sheet: Mapping[str, Any], display: str) -> list[str]:
    """Sheet as lines of text, in the units of a display set."""

    def show(value: float | None, quantity: str) -> str:
        return units.format_value(math.nan if value is None else value, quantity, display)

    lines = [
        f"With the bit at {show(sheet['bit_depth_m'], 'length')}, hook loads",
        f"  turning off bottom  {show(sheet['rotating_N'], 'force')}",
    ]
    if not sheet["is_curved"]:
        lines.append("  friction            a straight vertical hole: up and down as turning")
    for one in sheet["weights"] if sheet["is_curved"] else ():
        lines.append(
            f"  friction {one['friction_factor']:.1f}        hoisting "
            f"{show(one['hoisting_N'], 'force')}, lowering {show(one['lowering_N'], 'force')}"
        )
    return [*lines, *_pull_lines(sheet, show), *_other_lines(sheet, show)]


def _pull_lines(sheet: Mapping[str, Any], show: Callable[..., str]) -> list[str]:
    pull = sheet["pull"]
    if pull is None or not math.isfinite(pull["pull_N"]):
        return []
    torque = pull["torque_left_Nm"]
    left = "" if torque is None else f"; torque left as it hangs {show(torque, 'torque')}"
    return [
        f"  pipe may be pulled  to {show(pull['pull_N'], 'force')}, it gives first at "
        f"{show(pull['depth_m'], 'length')} ({pull['section']})",
        f"  margin of overpull  {show(pull['margin_of_overpull_N'], 'force')} over the hanging "
        f"string{left}",
    ]


def _other_lines(sheet: Mapping[str, Any], show: Callable[..., str]) -> list[str]:
    stretch, work, fill = sheet["stretch"], sheet["line_work"], sheet["fill_per_stand_m3"]
    lines = [
        f"  stretch             {show(stretch['with_tool_joints_m'], 'diameter')} to "
        f"{show(stretch['plain_tube_m'], 'diameter')} under {show(stretch['pull_N'], 'force')} "
        "(tool joints make it about 4 % stiffer), "
        f"line and mast {show(stretch['hoist_m'], 'diameter')} beside it",
        f"  {stretch['warmer_K']:g} K warmer         {show(stretch['growth_m'], 'diameter')} "
        f"longer; held below, {show(stretch['held_N'], 'force')} at the hook",
        f"  mud displaced       {show(sheet['displacement_m3'], 'volume')}; a stand pulled "
        f"{show(fill['dry'], 'volume')} dry, {show(fill['wet'], 'volume')} wet",
    ]
    named = {
        "round trip": "round_trip_J",
        "short trip of ten stands": "short_trip_J",
        "a stand drilled, kelly": "drilling_stand_kelly_J",
        "top drive": "drilling_stand_top_drive_J",
        "a stand cored": "coring_stand_J",
    }
    shown = ", ".join(f"{name} {show(work[key], 'work')}" for name, key in named.items())
    return [*lines, f"  line work           {shown} (API RP 9B)"]
