"""Weight of the string by the soft string, as tables over bit depth: quick, row by row.

Between the factors worked out it goes straight: the contact force bends it where the string
leaves one side of the hole for the other, which no polynomial follows.
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
GREATEST_FACTOR, FACTOR_STEP = 0.6, 0.05
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
        self.factors = np.linspace(0.0, GREATEST_FACTOR, round(GREATEST_FACTOR / FACTOR_STEP) + 1)
        weights = [
            floor_tension_N(sections, hole, depth, sign * self.factors, 1.0) for sign in SIGNS
        ]
        # Straight on to where no bit goes, so that a depth beyond needs no word.
        reach = (FARTHEST_M - depth[-1]) / GRID_M
        self.depth_m = np.append(depth, FARTHEST_M)
        self._by_factor = [_lengthened(weight, reach) for weight in weights]
        self.buoyed_N = _lengthened(
            string_weight_N(sections, depth, mud_density_kg_m3)[None], reach
        )[0]

    def weight_N(self, side: int, depth_m: Floats, factor: float) -> Floats:
        """Weight at bit depths for one friction factor; side 0 hoists, 1 lowers."""
        return np.asarray(np.interp(depth_m, self.depth_m, self._table(side, factor)))

    def slope_N(self, side: int, depth_m: Floats, factor: float) -> Floats:
        """How much the weight changes with the factor."""
        ends = np.clip([factor - FACTOR_STEP, factor + FACTOR_STEP], 0.0, GREATEST_FACTOR)
        low, high = (self._table(side, float(end)) for end in ends)
        return np.asarray(np.interp(depth_m, self.depth_m, (high - low) / (ends[1] - ends[0])))

    def _table(self, side: int, factor: float) -> Floats:
        """Weights over the depths for one factor."""
        place = min(max(factor, 0.0), GREATEST_FACTOR) / FACTOR_STEP
        low = min(int(place), len(self.factors) - 2)
        share, rows = place - low, self._by_factor[side]
        return np.asarray(rows[low] + share * (rows[low + 1] - rows[low]))

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
