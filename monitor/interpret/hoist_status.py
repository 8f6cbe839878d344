"""The hoist's part of the status: every figure of the Hoist page, SI, None where not known.

Assembled a few times a second from what the hoist stage carries and from the rig file; it
carries nothing itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from monitor import units
from monitor.interpret.compensator_status import (
    compensator_part,
    compensator_warnings,
    is_open_though_locked,
)
from monitor.interpret.drum_status import braking_part, drum_part
from monitor.interpret.hoist import Hoist
from monitor.interpret.known import all_known
from monitor.interpret.line_status import line_part, line_work_part
from monitor.mechanics.derrick import derrick_leg_loads_N, equivalent_derrick_load_N
from monitor.mechanics.fast_line import (
    block_and_tackle_efficiency,
    derrick_load_N,
    fast_line_tension_N,
)
from monitor.mechanics.ratings import pull_limits
from monitor.mechanics.reeving import dead_line_tension_N, line_tensions_N
from monitor.rig.hoisting import Gear

NAN = float("nan")
# The empty block may read 1 to 3 t otherwise up than down (real records); more is doubted.
GEAR_DOUBT_SHARE = 0.10
TURNED = 0.999  # friction state at which it has turned over wholly


def hoist_status(hoist: Hoist, heave: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Everything the Hoist page shows; ``heave`` is the heave stage's own status."""
    load_N, half_N = hoist.present["load_N"], hoist.present["half_width_N"]
    waves = heave or {}
    string_up = _string_up(hoist, load_N, waves)
    ratings = _ratings(hoist, load_N, half_N, waves)
    drum = drum_part(hoist)
    line = line_part(hoist, string_up["direction"], load_N)
    status: dict[str, Any] = {
        "string_up": string_up,
        "ratings": ratings,
        "weakest": ratings[0]["name"] if ratings else None,
        "greatest_pull_N": _greatest_pull_N(ratings, half_N),
        "line": line,
        "line_work": line_work_part(hoist),
        "drum": drum,
        "braking": braking_part(hoist),
        "compensator": compensator_part(hoist, load_N, waves),
        "gear": _gear(hoist),
        "slip_and_cut": _slip_and_cut(hoist),
        "preparation": _preparation(hoist),
    }
    status["warnings"] = _warnings(hoist, status)
    known: dict[str, Any] = all_known(status)
    return known


def direction_of(hoist: Hoist) -> str:
    """Which way the sheaves last turned; held while friction turns over."""
    state = hoist.present["friction_state"]
    if not hoist.present["friction_known"] > 0 or not math.isfinite(state):
        return "unknown"
    if abs(state) < TURNED:
        return "held"
    return "hoisting" if state > 0 else "lowering"


def _string_up(hoist: Hoist, load_N: float, waves: Mapping[str, Any]) -> dict[str, Any]:
    reeving = hoist.rig.reeving
    n, e = hoist.lines_strung, reeving.sheave_efficiency
    sheave, extra = reeving.dead_line_sheave, reeving.extra_fast_line_sheaves
    told = direction_of(hoist)
    direction = "held" if told == "unknown" else told
    part: dict[str, Any] = {
        "lines_strung": n,
        "sheave_efficiency": e,
        "dead_line_sheave": sheave,
        "extra_fast_line_sheaves": extra,
        "direction": told,
        "load_N": load_N,
        "load_mean_N": waves.get("load_mean_N"),
        "load_swing_N": waves.get("load_swing_N"),
        "tensions_N": None,
        "fast_line_tension_N": None,
        "dead_line_tension_N": None,
        "derrick_load_N": None,
        "derrick_load_static_N": None,
        "derrick_worst_leg_N": None,
        "derrick_equivalent_N": None,
        "efficiency": block_and_tackle_efficiency(n, e, direction, extra),
    }
    # A zero that has drifted makes an empty line push: no tension is told for that.
    if not load_N >= 0.0:
        return part
    fast_N = float(fast_line_tension_N(load_N, n, e, direction, extra))
    dead_N = float(dead_line_tension_N(load_N, n, e, sheave, direction))
    # An odd line ends at the block: nothing of it pulls at the crown but what is counted.
    legs_N = derrick_leg_loads_N(load_N, fast_N, 0.0 if n % 2 else dead_N)
    return {
        **part,
        "derrick_worst_leg_N": float(legs_N.max()),
        "derrick_equivalent_N": float(equivalent_derrick_load_N(legs_N)),
        "tensions_N": line_tensions_N(load_N, n, e, direction).tolist(),
        "fast_line_tension_N": fast_N,
        "dead_line_tension_N": dead_N,
        "derrick_load_N": float(derrick_load_N(load_N, n, e, sheave, direction, extra)),
        "derrick_load_static_N": float(derrick_load_N(load_N, n, e, sheave, "held", extra)),
    }


def _ratings(
    hoist: Hoist, load_N: float, half_N: float, waves: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """Limits weakest first, each with what is left of it less the reading's half width."""
    in_use, depth_m = hoist.in_use(), hoist.present["depth_m"]
    if is_open_though_locked(hoist, waves):
        in_use = replace(in_use, compensator="open")
    reach_N = load_N + half_N
    return [
        {
            "name": limit.name,
            "printed": limit.printed,
            "rated_for": limit.acts,
            "limit_N": limit.limit_N,
            "margin_N": limit.limit_N - reach_N,
            "used_share": reach_N / limit.limit_N,
        }
        for limit in pull_limits(hoist.rig, in_use.lines_strung, in_use, depth_m)
    ]


def _greatest_pull_N(ratings: list[dict[str, Any]], half_N: float) -> float:
    """Greatest reading at which nothing passes its rating, its half width allowed for."""
    return float(ratings[0]["limit_N"]) - half_N if ratings else NAN


def _present_gear(hoist: Hoist) -> Gear | None:
    return next((each for each in hoist.rig.gear if each.name == hoist.gear), None)


def _gear(hoist: Hoist) -> dict[str, Any] | None:
    if not hoist.rig.gear:
        return None
    return {
        "name": hoist.gear,
        "weight_N": hoist.travelling_weight_N,
        "choices": [{"name": each.name, "weight_N": each.weight_N} for each in hoist.rig.gear],
    }


def _slip_and_cut(hoist: Hoist) -> dict[str, Any]:
    slip = hoist.slip
    return {
        "active": slip.mode == "cutting",
        "since_us": slip.since_us if slip.mode != "off" else None,
        "limit_s": slip.limit_s,
        "waiting_for": list(slip.waiting),
    }


def _preparation(hoist: Hoist) -> list[dict[str, Any]]:
    """What is looked at before a trip: state, and whether it is right (None: not said)."""
    found: list[dict[str, Any]] = []

    def add(name: str, state: str, is_right: bool) -> None:
        found.append({"name": name, "state": state or None, "ok": is_right if state else None})

    hook, gear = hoist.rig.hook, _present_gear(hoist)
    if hook is not None:
        lock, positioner = hoist.rotation_lock, hoist.positioner
        add("rotation lock", lock, lock == hook.rotation_lock_for_trips)
        add("positioner", positioner, positioner == hook.positioner_for_trips)
    if gear is not None:
        add("elevator for the tubular", gear.elevator, bool(gear.tubular) and not gear.mismatch)
    return found


def _warnings(hoist: Hoist, status: Mapping[str, Any]) -> list[str]:
    found = [*hoist.refusals, *hoist.slip.warnings(hoist.travelling_weight_N)]
    gear = _present_gear(hoist)
    if gear is not None and gear.mismatch:
        found.append(gear.mismatch)
    if gear is not None and abs(hoist.travelling_weight_N / gear.weight_N - 1.0) > 0.03:
        found.append(
            f"{gear.name} weighs {units.format_value(gear.weight_N, 'force')} by the rig file; "
            f"{units.format_value(hoist.travelling_weight_N, 'force')} is in use"
        )
    read_N = hoist.slips_N  # nothing since another gear or line count was said
    if gear is not None and math.isfinite(read_N):
        weight_N = hoist.travelling_weight_N
        if read_N < (1.0 - GEAR_DOUBT_SHARE) * weight_N:
            found.append(
                f"in slips the block reads {units.format_value(read_N, 'force')}, not the "
                f"{units.format_value(weight_N, 'force')} of {gear.name}: does that gear hang?"
            )
    drum, line = status["drum"], status["line"]
    if drum is not None and drum["wraps_left_lowest"] < drum["least_wraps"]:
        found.append(
            f"{drum['wraps_left_lowest']:.1f} wraps left at the lowest block; "
            f"at least {drum['least_wraps']:g} are wanted"
        )
    if line is not None and line["design_factor"] < line["least_design_factor"]:
        found.append(
            f"drilling line at design factor {line['design_factor']:.2f}; "
            f"{line['least_design_factor']:g} is the least, {line['duty']}"
        )
    work = status["line_work"]
    if work is not None and work["since_cut_J"] > (work["goal_J"] or math.inf):
        found.append("line work is over its goal: slip and cut is due")
    if work is not None and work["is_cut_whole_laps"]:
        found.append(
            "the last cut was whole laps: worn places meet the same crossovers again; "
            "half a lap more or less moves them"
        )
    compensator = status["compensator"]
    if compensator is not None:
        found += compensator_warnings(compensator)
    return found
