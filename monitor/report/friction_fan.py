"""Weights by the soft string against depth, as a fan of friction factors, and in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from monitor.mechanics.drag import WeightFan, weight_fan
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.survey import well_path
from monitor.model import Floats
from monitor.report.depth_sheet import FRICTION_FACTORS, STAND_M
from monitor.rig.rig import Rig

DEPTHS_DRAWN = 31
DIRECTIONS = ("hoisting", "lowering")


def friction_fan(
    rig: Rig, told: Mapping[str, Any] | None, travelling_N: float, low_m: float, high_m: float
) -> dict[str, Any] | None:
    """Hook loads with the bit at depths of a span, half a stand out; None without a survey.

    ``told`` is what the record says of friction (``friction`` of the status): where a factor
    is known, its own curve comes with the fan.
    """
    if told is None or not rig.string or not high_m > low_m:
        return None
    hole = Hole(well_path(rig.survey), told["mud_density_kg_m3"])
    depth = np.linspace(low_m, high_m, DEPTHS_DRAWN)
    found = [told[way]["friction_factor"] for way in DIRECTIONS]
    fan: WeightFan = weight_fan(
        rig.string,
        hole,
        depth,
        np.array([*FRICTION_FACTORS, *found]),
        above_floor_m=STAND_M / 2,
    )
    rows = {"hoisting": fan.hoisting_N, "lowering": fan.lowering_N}
    usual = len(FRICTION_FACTORS)

    def load_N(weight: Floats) -> list[float]:
        return [float(load) for load in weight + travelling_N]

    return {
        "depth_m": depth.tolist(),
        "turning_N": load_N(fan.rotating_N),
        "usual": [
            {"friction_factor": factor, **{way: load_N(rows[way][k]) for way in DIRECTIONS}}
            for k, factor in enumerate(FRICTION_FACTORS)
        ],
        "found": {
            way: load_N(rows[way][usual + k])
            for k, way in enumerate(DIRECTIONS)
            if not told[way]["learning"]
        },
    }


def friction_words(told: Mapping[str, Any] | None) -> str:
    """What the record says of friction, in one line; empty without a surveyed hole."""
    if told is None:
        return ""
    parts = [f"{way} {_factor(told[way])}" for way in DIRECTIONS]
    if not told["fits"]:
        parts.append("weights do not fit string, survey and mud of the rig file: check them")
    return f"Friction factor {', '.join(parts)}"


def _factor(own: Mapping[str, Any]) -> str:
    stands = own["stands"]
    behind = f"{stands} stand{'' if stands == 1 else 's'}"
    if own["learning"]:
        return f"learning ({behind})" if stands else "learning"
    return f"{own['friction_factor']:.2f} ± {own['half_width']:.2f} ({behind})"
