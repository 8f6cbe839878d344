"""Weight of the string by the soft string, as tables over bit depth: quick, row by row.

Between the factors worked out the weight is a polynomial of the friction factor: it goes
with the exponential of factor times bend, which a fourth degree follows to 0.1 %.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.mechanics.pipe import string_weight_N
from monitor.mechanics.soft_string import Hole, floor_tension_N
from monitor.mechanics.survey import well_path
from monitor.model import Floats
from monitor.rig.rig import Section, SurveyStation

# Factors worked out; none found greater is believed (common practice: up to 0.5).
FACTORS = (0.0, 0.15, 0.30, 0.45, 0.60)
GREATEST_FACTOR = FACTORS[-1]
# Half a stand: the weight bends little over it.
GRID_M = 15.0
# Deeper than the last station by more than this the last slope goes on.
BEYOND_M = 1000.0
FARTHEST_M = 20_000.0
# Hoisting, lowering.
SIGNS = (1.0, -1.0)


class SoftTables:
    """Weights of one string in one surveyed hole full of one mud, travelling gear left out."""

    def __init__(
        self,
        sections: Sequence[Section],
        survey: Sequence[SurveyStation],
        mud_density_kg_m3: float,
    ) -> None:
        deepest_m = survey[-1].depth_m + BEYOND_M
        depth = np.arange(0.0, deepest_m + GRID_M, GRID_M)
        hole = Hole(well_path(survey), mud_density_kg_m3)
        factors = np.array(FACTORS)
        powers = np.linalg.inv(np.vander(factors, increasing=True))
        weights = [floor_tension_N(sections, hole, depth, sign * factors, 1.0) for sign in SIGNS]
        # Straight on to where no bit goes, so that a depth beyond needs no word.
        reach = (FARTHEST_M - depth[-1]) / GRID_M
        self.depth_m = np.append(depth, FARTHEST_M)
        self._by_power = [
            _lengthened(np.einsum("pf,fd->pd", powers, weight), reach) for weight in weights
        ]
        self.buoyed_N = _lengthened(
            string_weight_N(sections, depth, mud_density_kg_m3)[None], reach
        )[0]

    def weight_N(self, side: int, depth_m: Floats, factor: float) -> Floats:
        """Weight at bit depths for one friction factor; side 0 hoists, 1 lowers."""
        table = np.polynomial.polynomial.polyval(factor, self._by_power[side])
        return np.asarray(np.interp(depth_m, self.depth_m, table))

    def slope_N(self, side: int, depth_m: Floats, factor: float) -> Floats:
        """How much the weight changes with the factor."""
        powers = np.arange(1, len(FACTORS))[:, None]
        table = np.polynomial.polynomial.polyval(factor, powers * self._by_power[side][1:])
        return np.asarray(np.interp(depth_m, self.depth_m, table))

    def buoyed_weight_N(self, depth_m: Floats) -> Floats:
        """Weight of the string in mud, whichever way the hole goes."""
        return np.asarray(np.interp(depth_m, self.depth_m, self.buoyed_N))


def _lengthened(table: Floats, steps: float) -> Floats:
    """Add a last column, as many steps on along the last slope."""
    last = table[:, -1] + steps * (table[:, -1] - table[:, -2])
    return np.column_stack((table, last))


def has_bends(survey: Sequence[SurveyStation]) -> bool:
    """Whether there is a survey and the hole leaves the vertical: without, nothing drags."""
    return any(station.inclination_rad > 0.0 for station in survey)
