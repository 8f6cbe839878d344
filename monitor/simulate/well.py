"""A deviated well: what its wall carries of the string, and how it drags.

The string is a chain of short straight pieces, worked from the bit up: the wall takes what
the weight does across the piece and what the tension does in the bend between two of them
(inclination and azimuth each by itself, as the first torque-and-drag work wrote it).
Between stations both angles run straight against depth.
"""

from __future__ import annotations

import numpy as np

from monitor.model import Floats
from monitor.rig.rig import SurveyStation
from monitor.simulate.drill_string import DrillString

# Open-hole friction of an invented well, drawn evenly; casing is smoother.
FRICTION_RANGE = (0.16, 0.34)
CASED_SHARE = 0.8


class Well:
    """Tables over bit depth of one string in one surveyed well."""

    def __init__(
        self,
        string: DrillString,
        survey: tuple[SurveyStation, ...],
        shoe_m: float,
        friction: float,
        depths_m: Floats,
        rough: Floats,
    ) -> None:
        self.friction, self.cased_friction = friction, CASED_SHARE * friction
        factor = np.where(depths_m < shoe_m, self.cased_friction, friction) * rough
        stations = [(0.0, 0.0, survey[0].azimuth_rad)] if survey[0].depth_m > 0.0 else []
        stations += [(s.depth_m, s.inclination_rad, s.azimuth_rad) for s in survey]
        at, inclination, azimuth = (np.array(column) for column in zip(*stations, strict=True))
        self._inclination = np.interp(depths_m, at, inclination)
        # A vertical station points nowhere: the plane of the bend next to it goes on.
        pointing = inclination > 0.0
        if pointing.any():
            azimuth = np.interp(at, at[pointing], np.unwrap(azimuth[pointing]))
        self._azimuth = np.interp(depths_m, at, azimuth)
        self._string, self._depths = string, depths_m
        # Drag of each piece of hole (columns) with the bit at a depth (rows).
        self._pieces_up = np.zeros((len(depths_m), len(depths_m)))
        self._pieces_down = np.zeros_like(self._pieces_up)
        free = self._pull(np.zeros_like(factor))
        self.carried_N = string.weight_in_air_N(depths_m) * string.buoyancy - free
        self.drag_up_N = self._pull(factor, self._pieces_up) - free
        self.drag_down_N = free - self._pull(-factor, self._pieces_down)

    def swing_N(self, rung: int) -> Floats:
        """Drag up and down of each piece from the floor down, the bit at a rung."""
        return np.asarray(self._pieces_up[rung, :rung] + self._pieces_down[rung, :rung])

    def _pull(self, factor: Floats, pieces: Floats | None = None) -> Floats:
        """Tension at the floor for each bit depth; a negative factor lowers."""
        depths, inclination = self._depths, self._inclination
        tension = np.zeros_like(depths)
        for k in range(len(depths) - 2, -1, -1):
            bits, below = slice(k + 1, None), depths[k + 1] - depths[k]
            middle = 0.5 * (inclination[k] + inclination[k + 1])
            from_bit = depths[bits] - 0.5 * (depths[k] + depths[k + 1])
            weight = self._string.weight_at_N_m(from_bit) * self._string.buoyancy * below
            turned = (self._azimuth[k + 1] - self._azimuth[k]) * np.sin(middle)
            dropped = inclination[k] - inclination[k + 1]  # going up
            pulled = tension[bits]
            for _ in range(2):  # tension at the middle of the piece
                side = np.hypot(pulled * turned, pulled * dropped + weight * np.sin(middle))
                gain = weight * np.cos(middle) + factor[k] * side
                pulled = tension[bits] + 0.5 * gain
            tension[bits] += gain
            if pieces is not None:
                pieces[bits, k] = abs(factor[k]) * side
        return tension
