"""Sheave friction from calibration points: the same known load, held after moving either way.

The ratio of the two readings above the zero does not depend on the sensor's gain, so the
points of a calibration tell the sheaves' efficiency and the drag of the rails besides.
Proposed, never applied.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.metrology.sheave_friction import LEAST_SPREAD, SheaveFriction, sheave_friction
from monitor.model import Floats
from monitor.rig.rig import Rig

# Known loads nearer than this share of the greatest are one load: our choice.
SAME_LOAD = 0.01
LEAST_LOADS = 2


@dataclass(frozen=True, slots=True)
class FrictionOfPoints:
    """What the points say. ``found`` is None where it is refused, with why."""

    found: SheaveFriction | None
    why: str
    n_loads: int
    in_use: float

    @property
    def is_other(self) -> bool:
        """Whether the efficiency in use lies outside the interval of the one found."""
        if self.found is None or not np.isfinite(self.found.efficiency_half_width):
            return False
        away = abs(self.found.sheave_efficiency - self.in_use)
        return away > self.found.efficiency_half_width


def friction_of_points(
    tensions_N: Floats,
    hook_loads_N: Floats,
    moved: tuple[str, ...],
    heights_m: Floats,
    rig: Rig,
    n_lines: int,
) -> FrictionOfPoints:
    """Efficiency and rail drag from points at known hook loads, or why there is none.

    ``tensions_N`` are the readings by the calibration fitted to the same points; the weight of
    the drilling line is put back where the rig file tells it.
    """
    in_use = rig.reeving.sheave_efficiency
    tension_N = tensions_N
    if rig.line is not None:
        height = np.where(np.isfinite(heights_m), heights_m, rig.line.anchor_height_m)
        tension_N = tensions_N + rig.line.weight_N_m * (height - rig.line.anchor_height_m)
    way = np.array(moved)
    up, down = [], []
    for members in _same_loads(hook_loads_N):
        sides = [tension_N[members & (way == name)] for name in ("hoisting", "lowering")]
        if all(len(side) for side in sides):
            up.append(float(sides[0].mean()))
            down.append(float(sides[1].mean()))
    if len(up) < LEAST_LOADS or max(up) < LEAST_SPREAD * min(up):
        why = (
            "it takes two loads that differ by a quarter, each held after hoisting and after "
            "lowering"
        )
        return FrictionOfPoints(None, why, len(up), in_use)
    try:
        found = sheave_friction(
            np.array(up), np.array(down), n_lines, rig.reeving.dead_line_sheave
        )
    except ValueError as error:
        return FrictionOfPoints(None, f"refused: {error}", len(up), in_use)
    return FrictionOfPoints(found, "", len(up), in_use)


def _same_loads(hook_loads_N: Floats) -> list[np.ndarray]:
    """Members of each load that was held."""
    known = np.unique(hook_loads_N[np.isfinite(hook_loads_N)])
    if not len(known):
        return []
    edges = np.flatnonzero(np.diff(known) > SAME_LOAD * known[-1]) + 1
    return [
        (hook_loads_N >= group[0]) & (hook_loads_N <= group[-1])
        for group in np.split(known, edges)
    ]
