"""The hole: drag by depth and direction, swab and surge, tight spots and ledges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.model import Floats
from monitor.rig.rig import SurveyStation
from monitor.simulate.drill_string import DrillString
from monitor.simulate.wall_friction import Turning
from monitor.simulate.well import FRICTION_RANGE, Well

GRID_M = 10.0
LEAST_GIVE_M_N = 1e-9  # of a metre of string and more: nothing turns over at once
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
        self._share_up = self._share(OPEN_DRAG_UP, rough)
        self._share_down = self._share(OPEN_DRAG_DOWN, rough)
        self._up, self._down = self._drag(self._share_up), self._drag(self._share_down)

    @staticmethod
    def _roughness(depths: Floats, random: np.random.Generator) -> Floats:
        total = np.ones_like(depths)
        for wave in (37.0, 91.0, 230.0, 610.0):
            phase, size = random.uniform(0.0, 2.0 * np.pi), random.uniform(0.05, 0.12)
            total += size * np.sin(2.0 * np.pi * depths / wave + phase)
        return total

    def _share(self, open_share: float, rough: Floats) -> Floats:
        return np.where(self._depths < self.shoe_m, CASED_DRAG, open_share) * rough

    def _drag(self, share: Floats) -> Floats:
        return np.array([np.sum(self._lying_N(i) * share[:i]) for i in range(len(share))])

    def _lying_N(self, rung: int) -> Floats:
        # Buoyed weight of each piece from the floor down, the bit at a rung of the tables.
        middle = self._depths[:rung] + GRID_M / 2.0
        weight = self.string.weight_at_N_m(self._depths[rung] - middle)
        return weight * GRID_M * self.string.buoyancy

    def turning(
        self, bit_m: float, length_m: float, grip_from_bit_m: float, give_m_N: float
    ) -> Turning:
        """Tell how drag turns over along a string of a length that is held at its grip.

        ``give_m_N`` is what the hoist above it gives. Drag below the grip is taken off there,
        where it can no longer be told from what holds the string.
        """
        rung = int(np.clip(round(bit_m / GRID_M), 1, len(self._depths) - 1))
        if self.well is None:
            swing = self._lying_N(rung) * (self._share_up[:rung] + self._share_down[:rung])
        else:
            swing = self.well.swing_N(rung)
        from_bit = self._depths[rung] - self._depths[:rung] - GRID_M / 2.0
        above = self.string.compliance_to_m_N(np.maximum(from_bit, grip_from_bit_m))
        whole = float(self.string.compliance_to_m_N(max(length_m, GRID_M)))
        return Turning.of(swing, np.maximum(whole - above, LEAST_GIVE_M_N) + give_m_N)

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
