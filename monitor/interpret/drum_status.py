"""Drum and brake in the status: wraps left, fleet angle, room to stop."""

from __future__ import annotations

import math
from typing import Any

from monitor.interpret.hoist import Hoist
from monitor.mechanics.braking import stopping_distance_m
from monitor.mechanics.drum import (
    fleet_angle_rad,
    layer_of_wraps,
    line_at_block_height_m,
    line_on_drum_m,
    wraps_of_width,
    wraps_on_drum,
)
from monitor.mechanics.lifting import lifting_power_W, lifting_speed_m_s
from monitor.rig.hoisting import Drawworks

NAN = float("nan")


def drum_part(hoist: Hoist) -> dict[str, Any] | None:
    """Wraps now and at the lowest block; None without drum or line in the rig file."""
    drum, line = hoist.rig.drum, hoist.rig.line
    if drum is None or line is None:
        return None
    per_layer = wraps_of_width(drum.width_m, line.diameter_m)
    now = lowest = on_drum_m = layers = angle = NAN
    reference = counted_line_m(hoist, per_layer)
    floor_m = hoist.rig.limits.floor_m
    if reference is not None:
        line_m, height_m = reference

        def wraps_at(block_m: float) -> tuple[float, float]:
            length = float(line_at_block_height_m(block_m, hoist.lines_strung, line_m, height_m))
            if not length >= 0.0:
                return length, (0.0 if length < 0.0 else NAN)
            return length, float(
                wraps_on_drum(length, drum.diameter_m, line.diameter_m, per_layer)
            )

        on_drum_m, now = wraps_at(hoist.block_m)
        lowest = NAN if floor_m is None else wraps_at(floor_m)[1]
        if now > 0.0:
            layers = float(layer_of_wraps(now, per_layer))
            angle = _fleet_angle_rad(hoist, now, per_layer)
    return {
        "layers": layers,
        "wraps_left_now": now,
        "wraps_left_lowest": lowest,
        "least_wraps": drum.least_wraps,
        "line_on_drum_m": on_drum_m,
        "fleet_angle_rad": angle,
    }


def counted_line_m(hoist: Hoist, per_layer: int) -> tuple[float, float] | None:
    """Line on the drum and the block height it was counted at; None where not counted."""
    drum, line = hoist.rig.drum, hoist.rig.line
    if drum is None or line is None or not math.isfinite(hoist.wraps_at_m):
        return None
    if math.isfinite(hoist.wraps):
        counted = line_on_drum_m(hoist.wraps, drum.diameter_m, line.diameter_m, per_layer)
        return float(counted), hoist.wraps_at_m
    return None if drum.line_on_drum_m is None else (drum.line_on_drum_m, hoist.wraps_at_m)


def _fleet_angle_rad(hoist: Hoist, wraps: float, per_layer: int) -> float:
    """Angle of the wrap being spooled, the sheave taken as over the drum's middle."""
    drum = hoist.rig.drum
    if drum is None or drum.fleet_distance_m is None:
        return NAN
    # There and back along the drum: position in the layer, from -1/2 to 1/2 of the width.
    share = (wraps % per_layer) / per_layer - 0.5
    return float(fleet_angle_rad(share * drum.width_m, drum.fleet_distance_m))


def stroke_taken_m(hoist: Hoist) -> tuple[float, float]:
    """What the compensator's stroke takes off the room at crown and floor, as the events do."""
    fitted = hoist.rig.compensator
    if fitted is None:
        return 0.0, 0.0
    taken_m = max(hoist.stroke_m, 0.0)
    if not math.isfinite(hoist.stroke_m):
        taken_m = fitted.stroke_limit_m if hoist.compensator == "open" else 0.0
    return (0.0, taken_m) if fitted.kind == "in-line" else (taken_m, 0.0)


def braking_part(hoist: Hoist) -> dict[str, Any] | None:
    """Distance to stop from the present speed, what would be left then, and lifting power."""
    drawworks, limits = hoist.rig.drawworks, hoist.rig.limits
    if drawworks is None or drawworks == Drawworks(reaction_time_s=drawworks.reaction_time_s):
        return None
    speed, height = hoist.present["speed_m_s"], hoist.block_m
    stop_m, brake_m_s2 = NAN, drawworks.brake_deceleration_m_s2
    if brake_m_s2 is not None:
        stop_m = float(stopping_distance_m(abs(speed), brake_m_s2, drawworks.reaction_time_s))
    # Power now, and the speed that the drawworks' power allows with this load.
    load_N, power_W, allowed_m_s = hoist.present["load_N"], NAN, NAN
    reeving, n = hoist.rig.reeving, hoist.lines_strung
    sheaves = (n, reeving.sheave_efficiency, reeving.extra_fast_line_sheaves)
    if load_N > 0.0:
        power_W = float(lifting_power_W(load_N, max(speed, 0.0), *sheaves))
        if drawworks.power_W is not None:
            allowed_m_s = float(lifting_speed_m_s(drawworks.power_W, load_N, *sheaves))
    up_m, down_m = (stop_m, 0.0) if speed > 0.0 else (0.0, stop_m)
    crown, floor = limits.crown_m, limits.floor_m
    at_crown_m, at_floor_m = stroke_taken_m(hoist)
    return {
        "lifting_power_W": power_W,
        "power_W": drawworks.power_W,
        "allowed_speed_m_s": allowed_m_s,
        "stopping_distance_m": stop_m,
        "room_to_crown_m": NAN if crown is None else crown - at_crown_m - height - up_m,
        "room_to_floor_m": NAN if floor is None else height - at_floor_m - floor - down_m,
    }
