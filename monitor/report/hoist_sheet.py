"""The rig sheet's part of the hoist: gear, line, drum, brake, compensator, volumes of pipe.

As the rig file begins, before any record. Pure: a ``Rig`` in, a dict or lines of text out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from monitor import units
from monitor.interpret.drum_status import drum_part
from monitor.interpret.hoist import Hoist
from monitor.interpret.known import all_known
from monitor.interpret.line_status import line_goal_J, line_part
from monitor.mechanics.braking import greatest_speed_m_s
from monitor.mechanics.lifting import lifting_speed_m_s
from monitor.mechanics.pipe_volume import pipe_capacity_m3_m, pipe_displacement_m3_m
from monitor.mechanics.ratings import InUse, hoist_limits, in_use_at_first, pull_limits
from monitor.mechanics.reeving import SIZING_FRICTION_FACTOR, sizing_sheave_efficiency
from monitor.mechanics.string_up import crown_sheaves, travelling_sheaves
from monitor.rig.hoisting import DUTIES
from monitor.rig.rig import Rig


def hoist_sheet(rig: Rig) -> dict[str, Any]:
    """Everything of the hoist, SI; a part is None or empty where the rig file does not give it."""
    n = rig.reeving.lines_strung
    hoist = Hoist(rig)
    line = line_part(hoist, "hoisting", math.nan)
    sheet: dict[str, Any] = {
        "crown_sheaves_used": crown_sheaves(n),
        "sheave_bearings": rig.reeving.sheave_bearings,
        "travelling_sheaves_used": travelling_sheaves(n),
        "gear": [_gear(rig, gear.name) for gear in rig.gear],
        "drilling_line": None
        if line is None
        else {
            **line,
            "pull_by_duty_N": _duties(rig),
            "pull_by_duty_sizing_N": _duties(_sizing(rig)),
            "sizing_factor": SIZING_FRICTION_FACTOR[rig.reeving.sheave_bearings],
        },
        "line_work": None if line is None else _line_work(rig, hoist),
        "drum": _drum(rig, hoist),
        "brake": _brake(rig),
        "hoisting_speed_m_s": _speed_m_s(rig),
        "compensator": _compensator(rig),
        "hook": None if rig.hook is None else rig.hook.kind,
        "volumes": [
            {
                "section": section.name,
                "capacity_m3_m": pipe_capacity_m3_m(section.inside_diameter_m),
                "displacement_m3_m": pipe_displacement_m3_m(section.weight_in_air_N_m),
            }
            for section in rig.string
        ],
    }
    known: dict[str, Any] = all_known(sheet)
    return known


def _gear(rig: Rig, name: str) -> dict[str, Any]:
    gear = next(each for each in rig.gear if each.name == name)
    state = "" if rig.compensator is None else rig.compensator.state
    in_use = InUse(rig.reeving.lines_strung, gear.weight_N, name, gear.duty, state)
    limits = pull_limits(rig, in_use.lines_strung, in_use)
    return {
        "name": name,
        "weight_N": gear.weight_N,
        "duty": gear.duty,
        "elevator": gear.elevator,
        "tubular": gear.tubular,
        "weakest_link": limits[0].name if limits else None,
        "limit_N": limits[0].limit_N if limits else None,
    }


def _duties(rig: Rig) -> dict[str, float | None]:
    """Hook load that brings the drilling line to its least design factor, by duty."""
    first, found = in_use_at_first(rig), {}
    for duty in DUTIES:
        in_use = InUse(first.lines_strung, first.travelling_weight_N, first.gear, duty)
        limits = {limit.name: limit.limit_N for limit in hoist_limits(rig, in_use)}
        found[duty] = limits.get("drilling line")
    return found


def _sizing(rig: Rig) -> Rig:
    """Return the rig with the sheave efficiency by which the standard sizes a line."""
    efficiency = sizing_sheave_efficiency(rig.reeving.sheave_bearings)
    return replace(rig, reeving=replace(rig.reeving, sheave_efficiency=efficiency))


def _line_work(rig: Rig, hoist: Hoist) -> dict[str, Any]:
    programme = rig.line_work
    return {
        "goal_J": line_goal_J(hoist),
        "since_cut_J": programme.since_cut_J,
        "cut_length_m": programme.cut_length_m,
        "lap_length_m": programme.lap_length_m,
        "time_limit_s": programme.time_limit_s,
        "cuts": len(programme.cuts),
    }


def _drum(rig: Rig, hoist: Hoist) -> dict[str, Any] | None:
    """Drum with the block at its lowest and at its highest."""
    found = {}
    for name, height in (("lowest", rig.limits.floor_m), ("highest", rig.limits.crown_m)):
        hoist.block_m = math.nan if height is None else height
        found[name] = drum_part(hoist)
    hoist.block_m = math.nan
    low, high = found["lowest"], found["highest"]
    if rig.drum is None or low is None or high is None:
        return None
    return {
        "most_layers": rig.drum.layers,
        "least_wraps": rig.drum.least_wraps,
        "wraps_lowest": low["wraps_left_now"],
        "wraps_highest": high["wraps_left_now"],
        "layer_highest": high["layers"],
        "line_on_drum_highest_m": high["line_on_drum_m"],
    }


def _brake(rig: Rig) -> dict[str, Any] | None:
    drawworks = rig.drawworks
    if drawworks is None or drawworks.brake_deceleration_m_s2 is None:
        return None
    brake = (drawworks.brake_deceleration_m_s2, drawworks.reaction_time_s)
    return {
        "deceleration_m_s2": brake[0],
        "reaction_time_s": brake[1],
        "greatest_speed_m_s": {
            f"{distance:g} m": float(greatest_speed_m_s(distance, *brake))
            for distance in (1.0, 3.0, 10.0)
        },
    }


def _speed_m_s(rig: Rig) -> dict[str, float] | None:
    """Steady hoisting speed that the drawworks' power allows, empty and at the weakest link."""
    if rig.drawworks is None or rig.drawworks.power_W is None:
        return None
    reeving = rig.reeving
    limits = pull_limits(rig, reeving.lines_strung)
    loads = {"empty block": rig.travelling_weight_N}
    if limits:
        loads["at the weakest link"] = limits[0].limit_N
    return {
        name: float(
            lifting_speed_m_s(
                rig.drawworks.power_W,
                load_N,
                reeving.lines_strung,
                reeving.sheave_efficiency,
                reeving.extra_fast_line_sheaves,
            )
        )
        for name, load_N in loads.items()
    }


def _compensator(rig: Rig) -> dict[str, Any] | None:
    fitted = rig.compensator
    if fitted is None:
        return None
    return {
        "kind": fitted.kind,
        "state": fitted.state,
        "stroke_limit_m": fitted.stroke_limit_m,
        "load_limit_N": fitted.load_limit_N,
        "stiffness_N_m": fitted.stiffness_N_m,
    }


def hoist_warnings_of_sheet(sheet: Mapping[str, Any]) -> list[str]:
    """What the figures themselves show to be wrong; the rig file alone does not."""
    drum, found = sheet["drum"], []
    if drum is not None and drum["wraps_lowest"] is not None:
        if drum["wraps_lowest"] < drum["least_wraps"]:
            found.append(
                f"{drum['wraps_lowest']:.1f} wraps are left on the drum at the lowest block; "
                f"at least {drum['least_wraps']:g} are wanted"
            )
    if drum is not None and drum["layer_highest"] and drum["most_layers"]:
        if drum["layer_highest"] > drum["most_layers"]:
            found.append(
                f"with the block at the crown limit the line is in layer "
                f"{drum['layer_highest']:.0f}; the drum holds {drum['most_layers']}"
            )
    line = sheet["drilling_line"]
    if line is not None and line["sheave_advice"].startswith("too small"):
        found.append(
            f"sheaves are {line['sheave_ratio']:.1f} line diameters: too small for "
            "this construction"
        )
    return found


def hoist_sheet_lines(sheet: Mapping[str, Any], display: str) -> list[str]:
    """Sheet as lines of text, in the units of a display set."""

    def show(value: float | None, quantity: str) -> str:
        return units.format_value(math.nan if value is None else value, quantity, display)

    lines = [
        f"Sheaves in use      {sheet['crown_sheaves_used']} at the crown, "
        f"{sheet['travelling_sheaves_used']} at the travelling block"
    ]
    for gear in sheet["gear"]:
        holds = f", {gear['elevator']} elevator for {gear['tubular']}" if gear["elevator"] else ""
        weakest = (
            f"; weakest {gear['weakest_link']}, {show(gear['limit_N'], 'force')}"
            if gear["weakest_link"]
            else ""
        )
        lines.append(
            f"Gear {gear['name']}: {show(gear['weight_N'], 'force')}, {gear['duty']}"
            f"{holds}{weakest}"
        )
    for part in (_line_lines, _drum_lines, _drawworks_lines, _compensator_lines):
        lines += part(sheet, show)
    for each in sheet["volumes"]:
        lines.append(
            f"Volume of {each['section']}: capacity {1e3 * each['capacity_m3_m']:.2f} L/m, "
            f"displacement {1e3 * each['displacement_m3_m']:.2f} L/m (open ended)"
        )
    return lines


def _line_lines(sheet: Mapping[str, Any], show: Any) -> list[str]:
    line, work = sheet["drilling_line"], sheet["line_work"]
    if line is None:
        return []
    found = [
        f"Drilling line       {show(line['diameter_m'], 'diameter')}, strength "
        f"{show(line['strength_N'], 'force')}"
    ]
    if line["sheave_ratio"] is not None:
        found[0] += f", sheaves {line['sheave_ratio']:.1f} diameters: {line['sheave_advice']}"
    if line["strength_N"] is not None:
        pulls = (f"{duty} {show(pull, 'force')}" for duty, pull in line["pull_by_duty_N"].items())
        found.append(f"Line allows         {', '.join(pulls)}")
        sizing = line["pull_by_duty_sizing_N"]
        pulls = (
            f"{duty} {show(sizing[duty], 'force')}" for duty in ("tripping", "setting casing")
        )
        found.append(
            f"By sizing factor    {', '.join(pulls)} (API RP 9B, K {line['sizing_factor']:g}, "
            f"{sheet['sheave_bearings']} bearings)"
        )
    if work["goal_J"] is not None:
        found.append(
            f"Slip and cut        every {show(work['goal_J'], 'work')}, "
            f"{show(work['since_cut_J'], 'work')} done since the last cut; "
            f"cuts in the log: {work['cuts']}"
        )
    return found


def _drum_lines(sheet: Mapping[str, Any], show: Any) -> list[str]:
    drum = sheet["drum"]
    if drum is None or drum["wraps_lowest"] is None:
        return []
    high = (
        "" if drum["layer_highest"] is None else f", layer {drum['layer_highest']:.0f} at the top"
    )
    return [
        f"Drum                {drum['wraps_lowest']:.1f} wraps left at the lowest block "
        f"(least {drum['least_wraps']:g}){high}"
    ]


def _drawworks_lines(sheet: Mapping[str, Any], show: Any) -> list[str]:
    found = []
    if sheet["hoisting_speed_m_s"] is not None:
        speeds = (f"{show(v, 'speed')} {name}" for name, v in sheet["hoisting_speed_m_s"].items())
        found.append(f"Power allows        {', '.join(speeds)}")
    if sheet["brake"] is not None:
        speeds = (
            f"{show(speed, 'speed')} in {distance}"
            for distance, speed in sheet["brake"]["greatest_speed_m_s"].items()
        )
        found.append(f"Stops from          {', '.join(speeds)}")
    return found


def _compensator_lines(sheet: Mapping[str, Any], show: Any) -> list[str]:
    fitted = sheet["compensator"]
    if fitted is None:
        return []
    return [
        f"Compensator         {fitted['kind']}, {fitted['state']}, stroke "
        f"{show(fitted['stroke_limit_m'], 'length')}, load limit "
        f"{show(fitted['load_limit_N'], 'force')}"
    ]
