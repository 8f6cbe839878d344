"""The hoist's part of the status, made up, in the states the Hoist page must show."""

from __future__ import annotations

from typing import Any

LOAD_N = 1.012e6

LAND_HOIST: dict[str, Any] = {
    "string_up": {
        "lines_strung": 10,
        "sheave_efficiency": 0.985,
        "dead_line_sheave": "fixed",
        "extra_fast_line_sheaves": 0,
        "direction": "hoisting",
        "load_N": LOAD_N,
        "tensions_N": [108.2e3 - 1.6e3 * number for number in range(10)],
        "fast_line_tension_N": 109.9e3,
        "dead_line_tension_N": 93.8e3,
        "derrick_load_N": 1.2157e6,
        "derrick_load_static_N": 1.2144e6,
        "derrick_worst_leg_N": 347e3,
        "derrick_equivalent_N": 1.388e6,
        "efficiency": 0.921,
    },
    "ratings": [
        {
            "name": name, "printed": printed, "rated_for": where, "limit_N": limit_N,
            "margin_N": limit_N - LOAD_N - 9e3, "used_share": (LOAD_N + 9e3) / limit_N,
        }
        for name, printed, where, limit_N in (
            ("drill pipe", "S135 5 in", "pipe body", 1.64e6),
            ("drilling line", "96.0 short tons", "fast line", 1.93e6),
            ("elevators", "250 short tons", "below hook", 2.22e6),
            ("dead line anchor", "250 kN", "dead line", 2.41e6),
            ("mast", "400 short tons", "crown total", 2.86e6),
            ("crown block", "400 short tons", "crown total", 2.9e6),
            ("links", "350 short tons", "below hook", 3.11e6),
            ("combined hook block", "350 short tons", "hook load", 3.114e6),
        )
    ],
    "weakest": "drill pipe",
    "greatest_pull_N": 1.64e6,
    "line": {
        "diameter_m": 0.034925, "strength_N": 854e3, "design_factor": 7.8,
        "least_design_factor": 3.0, "duty": "tripping", "sheave_ratio": 43.6,
        "sheave_advice": "as large as advised, 6x19 Seale",
        "duties": [
            {"duty": duty, "least_design_factor": least, "limit_N": 7.9e6 / least,
             "room_N": 7.9e6 / least - LOAD_N}
            for duty, least in (
                ("drilling", 3.0), ("tripping", 3.0), ("setting casing", 2.0),
                ("pulling on stuck pipe", 2.0),
            )
        ],
        "on_reel_m": 861.0, "cuts_on_reel": 27,
    },
    "line_work": {
        "since_cut_J": 1.63e10, "goal_J": 2.15e10,
        "due_text": "2026-11-27 14:10 UTC, in about 2 days",
        "due_s": 172_000.0, "per_hour_J": 1.1e8, "lifted_J": 2.5e9, "standard_J": 2.4e9,
        "cuts": [{"when": "2026-02-14", "length_m": 31.0, "work_J": 1.9e10}],
    },
    "drum": {
        "layers": 2.0, "wraps_left_now": 31.4, "wraps_left_lowest": 14.2, "least_wraps": 6.0,
        "line_on_drum_m": 402.0, "fleet_angle_rad": 0.0212,
    },
    "braking": {
        "stopping_distance_m": 1.2, "room_to_crown_m": 21.4, "room_to_floor_m": 13.6,
        "lifting_power_W": 4.1e5, "power_W": 1.1e6, "allowed_speed_m_s": 1.02,
    },
    "compensator": None,
    "gear": {
        "name": "drill_pipe", "weight_N": 245e3,
        "choices": [
            {"name": "drill_pipe", "weight_N": 245e3},
            {"name": "drill_collars", "weight_N": 246e3},
            {"name": "kelly", "weight_N": 291e3},
            {"name": "casing_tools", "weight_N": 302e3},
        ],
    },
    "slip_and_cut": {"active": False, "since_us": None, "limit_s": 10_800.0, "waiting_for": []},
    "preparation": [
        {"name": "rotation lock", "state": "free", "ok": True},
        {"name": "positioner", "state": "engaged", "ok": True},
        {"name": "elevator for the tubular", "state": "bottleneck", "ok": True},
    ],
    "warnings": [],
}  # fmt: skip

FLOATING_HOIST: dict[str, Any] = {
    **LAND_HOIST,
    "string_up": {
        **LAND_HOIST["string_up"], "lines_strung": 14, "extra_fast_line_sheaves": 1,
        "tensions_N": [79.0e3 - 0.9e3 * number for number in range(14)],
        "load_mean_N": 0.81e6, "load_swing_N": 42e3,
    },
    "compensator": {
        "state": "open", "stroke_m": 3.1, "stroke_limit_m": 7.62, "load_N": 0.8e6,
        "load_limit_N": 2.669e6, "heave_amplitude_m": 1.2, "heave_period_s": 11.4,
        "heave_height_m": 3.1, "heave_limit_m": 4.0, "load_mean_N": 0.81e6,
        "load_swing_N": 42e3, "stroke_used_m": 2.6, "swing_at_bit_N": 44e3,
        "above_sea_bed_m": 402.6,
    },
}  # fmt: skip

# A rig file with nothing but what must be in it.
BARE_HOIST: dict[str, Any] = {
    **LAND_HOIST, "ratings": [], "weakest": None, "greatest_pull_N": None, "line": None,
    "line_work": None, "drum": None, "braking": None, "gear": None, "preparation": [],
}  # fmt: skip


def troubled_hoist(since_us: int) -> dict[str, Any]:
    """Everything that can ask for action at once."""
    ratings = [dict(one) for one in LAND_HOIST["ratings"]]
    ratings[0] |= {"margin_N": -21e3, "used_share": 1.02}
    return {
        **LAND_HOIST,
        "ratings": ratings,
        "line": {**LAND_HOIST["line"], "design_factor": 2.8},
        "line_work": {**LAND_HOIST["line_work"], "since_cut_J": 2.3e10, "due_text": "now"},
        "drum": {**LAND_HOIST["drum"], "wraps_left_lowest": 4.6},
        "braking": {**LAND_HOIST["braking"], "room_to_crown_m": -0.3},
        "slip_and_cut": {
            "active": False, "since_us": since_us, "limit_s": 10_800.0,
            "waiting_for": ["zero", "wraps", "first lift with empty gear"],
        },
        "preparation": [
            {"name": "rotation lock", "state": "locked", "ok": False},
            {"name": "positioner", "state": None, "ok": None},
        ],
        "warnings": ["casing_tools: a collar elevator is made for drill collars"],
    }  # fmt: skip


def without_load(hoist: dict[str, Any]) -> dict[str, Any]:
    """The same with a load that is not known."""
    unknown = dict.fromkeys(
        ("load_N", "tensions_N", "fast_line_tension_N", "dead_line_tension_N", "derrick_load_N",
         "derrick_load_static_N", "efficiency")
    )  # fmt: skip
    return {
        **hoist,
        "greatest_pull_N": None,
        "string_up": {**hoist["string_up"], **unknown, "direction": "unknown"},
        "ratings": [{**one, "margin_N": None, "used_share": None} for one in hoist["ratings"]],
        "line": {**hoist["line"], "design_factor": None},
    }
