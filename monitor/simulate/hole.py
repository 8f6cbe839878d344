"""The hole: drag by depth and direction, swab and surge, tight spots and ledges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.model import Floats
from monitor.rig.rig import SurveyStation
from monitor.simulate.drill_string import DrillString
from monitor.simulate.well import FRICTION_RANGE, Well

GRID_M = 10.0
DEEPEST_M = 7000.0
CASED_DRAG = 0.035  # side force times friction over weight, in casing (invented well)
OPEN_DRAG_UP = 0.125
OPEN_DRAG_DOWN = 0.105
SWAB_N_S_M2 = 4.2  # viscous resistance per metre of string and m/s
BREAK_OVER = 0.32  # static friction over sliding friction after a long stop, less one


@dataclass(frozen=True, slots=True)
class TightSpot:
    """A resistance met at the bit: between two depths, up and down, with soft edges."""

    top_m: float
    bottom_m: float
    up_N: float
    down_N: float
    edge_m: float = 0.4

    def share(self, depth_m: float) -> float:
        """Tell how far into it the bit is, 0 to 1."""
        if depth_m <= self.top_m or depth_m >= self.bottom_m:
            return 0.0
        inside = min(depth_m - self.top_m, self.bottom_m - depth_m)
        return min(1.0, inside / self.edge_m)


class Hole:
    """Drag tables of one well for one string; spots are added as the story needs them."""

    def __init__(
        self,
        string: DrillString,
        shoe_m: float,
        depth_m: float,
        random: np.random.Generator,
        survey: tuple[SurveyStation, ...] = (),
    ) -> None:
        self.string = string
        self.shoe_m = shoe_m
        self.depth_m = depth_m
        self.spots: list[TightSpot] = []
        depths = np.arange(0.0, DEEPEST_M + GRID_M, GRID_M)
        self._depths = depths
        rough = self._roughness(depths, random)
        self.well: Well | None = None
        if survey:
            friction = float(random.uniform(*FRICTION_RANGE))
            self.well = Well(string, survey, shoe_m, friction, depths, rough)
            self._up, self._down = self.well.drag_up_N, self.well.drag_down_N
            return
        self._up = self._drag(depths, OPEN_DRAG_UP, rough)
        self._down = self._drag(depths, OPEN_DRAG_DOWN, rough)

    @staticmethod
    def _roughness(depths: Floats, random: np.random.Generator) -> Floats:
        total = np.ones_like(depths)
        for wave in (37.0, 91.0, 230.0, 610.0):
            phase, size = random.uniform(0.0, 2.0 * np.pi), random.uniform(0.05, 0.12)
            total += size * np.sin(2.0 * np.pi * depths / wave + phase)
        return total

    def _drag(self, depths: Floats, open_share: float, rough: Floats) -> Floats:
        share = np.where(depths < self.shoe_m, CASED_DRAG, open_share) * rough
        middle = depths + GRID_M / 2.0
        drag = np.zeros_like(depths)
        for i, bit in enumerate(depths):
            inside = middle[:i]
            weight = self.string.weight_at_N_m(bit - inside)
            drag[i] = np.sum(weight * share[:i]) * GRID_M * self.string.buoyancy
        return drag

    def hanging_N(self, bit_depth_m: Floats | float, above_floor_m: Floats | float) -> Floats:
        """Weight on the elevators without friction: what the wall carries is taken off."""
        weight = self.string.hanging_N(bit_depth_m, above_floor_m)
        if self.well is None:
            return weight
        carried = np.interp(bit_depth_m, self._depths, self.well.carried_N)
        return np.asarray(weight - carried)

    def drag_N(self, depth_m: Floats | float, direction: int) -> Floats:
        """Give the sliding friction of the whole string with the bit at a depth."""
        table = self._up if direction > 0 else self._down
        return np.asarray(np.interp(depth_m, self._depths, table))

    def swab_N(self, depth_m: Floats | float, speed_m_s: Floats | float) -> Floats:
        """Give the viscous resistance of the mud, signed like the speed it acts against."""
        return np.asarray(SWAB_N_S_M2 * np.maximum(depth_m, 0.0) * speed_m_s)

    def spots_between(self, low_m: float, high_m: float) -> list[TightSpot]:
        """List the spots that a move between two depths may touch."""
        return [spot for spot in self.spots if spot.bottom_m > low_m and spot.top_m < high_m]
