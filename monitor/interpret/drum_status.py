"""Drum and brake in the status: wraps left, fleet angle, room to stop."""

from __future__ import annotations

import math
from typing import Any

from monitor.interpret.hoist import Hoist
from monitor.mechanics.block_position import surveyed_height_m
from monitor.mechanics.braking import stopping_distance_m
from monitor.mechanics.drum import (
    fleet_angle_rad,
    layer_of_wraps,
    line_at_block_height_m,
    line_on_drum_m,
    wraps_of_width,
    wraps_on_drum,
)

NAN = float("nan")


def drum_part(hoist: Hoist) -> dict[str, Any] | None:
    """Wraps now and at the lowest block; None without drum or line in the rig file."""
    drum, line = hoist.rig.drum, hoist.rig.line
    if drum is None or line is None:
        return None
    per_layer = wraps_of_width(drum.width_m, line.diameter_m)
    now = lowest = on_drum_m = layers = angle = NAN
    reference = _counted_line_m(hoist, per_layer)
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

        on_drum_m, now = wraps_at(block_height_m(hoist))
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


def block_height_m(hoist: Hoist) -> float:
    """Block height, corrected by the survey table where one is given."""
    drum = hoist.rig.drum
    if drum is None or not drum.shown_m or not math.isfinite(hoist.block_m):
        return hoist.block_m
    return float(surveyed_height_m(hoist.block_m, drum.shown_m, drum.surveyed_m))


def _counted_line_m(hoist: Hoist, per_layer: int) -> tuple[float, float] | None:
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


def braking_part(hoist: Hoist) -> dict[str, Any] | None:
    """Distance to stop from the present speed, and what would be left above and below."""
    drawworks, limits = hoist.rig.drawworks, hoist.rig.limits
    if drawworks is None or drawworks.brake_deceleration_m_s2 is None:
        return None
    speed, height = hoist.present["speed_m_s"], block_height_m(hoist)
    stop_m = float(
        stopping_distance_m(
            abs(speed), drawworks.brake_deceleration_m_s2, drawworks.reaction_time_s
        )
    )
    up_m, down_m = (stop_m, 0.0) if speed > 0.0 else (0.0, stop_m)
    crown, floor = limits.crown_m, limits.floor_m
    return {
        "stopping_distance_m": stop_m,
        "room_to_crown_m": NAN if crown is None else crown - height - up_m,
        "room_to_floor_m": NAN if floor is None else height - floor - down_m,
    }
