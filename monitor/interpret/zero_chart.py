"""The control chart of the empty block going one way: whether its reading has moved."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.stage import Carried
from monitor.metrology.zero_drift import RANGE_OF_TWO

NAN = float("nan")

# A chart compares with the median of so many first checks.
REFERENCE_CHECKS = 5
CHECKS_KEPT = 20
# A chart that begins where the other way's leaves off is judged after so many.
LINKED_CHECKS = 2
# EWMA weight and width: with 5 standard deviations chance alone is out less than once in
# 100 000 checks; a step of 1 % of span is past the limit at the third check.
EWMA_WEIGHT = 0.4
CHART_WIDTH = 5.0
# Share of span at which the zero has drifted: 1 %, less what the average lags behind.
DRIFT_SHARE = 0.0075
# Out in so many checks in a row. A check this far from the last one, the greater of the two,
# is not charted until so many in a row are: pipe may hang in the elevators (9 to 61 kN).
OUT_IN_A_ROW = 2
ODD_N, ODD_SHARE = 12e3, 0.05
ODD_IN_A_ROW = 3


class ZeroChart(Carried):
    """EWMA of the checks of one direction against the middle of the first ones."""

    STATE = (
        "levels",
        "count",
        "last_N",
        "odd",
        "height_m",
        "reference_N",
        "average_N",
        "limit_N",
        "out",
        "offset_N",
    )

    def __init__(self) -> None:
        self.clear()

    def clear(self) -> None:
        """Begin anew: lines, gear or zero are no longer what they were."""
        self.levels: list[float] = []
        self.count = 0
        self.last_N = NAN
        self.odd = 0  # checks in a row far from the last one charted
        self.height_m = NAN  # all levels are told at this block height
        self.reference_N = NAN
        self.average_N = NAN
        self.limit_N = NAN
        self.out = 0
        self.offset_N = NAN  # moved already when it began, as the other way's chart says

    @property
    def spread_N(self) -> float:
        """Standard deviation of single checks; a slow drift hardly widens it."""
        if len(self.levels) < 2:
            return NAN
        return float(np.mean(np.abs(np.diff(self.levels)))) / RANGE_OF_TWO

    @property
    def moved_N(self) -> float:
        """How far the average has moved from where it began."""
        return self.average_N - self.reference_N

    @property
    def is_out(self) -> bool:
        """Whether it has moved, and that in more than one check."""
        return self.out >= OUT_IN_A_ROW

    def check(self, level_N: float, least_N: float) -> bool:
        """Take one check at the chart's height; whether it was charted, not put aside."""
        odd = max(ODD_N, ODD_SHARE * abs(level_N))
        self.odd = self.odd + 1 if abs(level_N - self.last_N) > odd else 0
        if 0 < self.odd < ODD_IN_A_ROW:
            return False
        self.odd, self.last_N = 0, level_N
        self.levels = [*self.levels, level_N][-CHECKS_KEPT:]
        self.count += 1
        linked = math.isfinite(self.offset_N)
        if self.count <= REFERENCE_CHECKS:
            self.average_N = float(np.median(self.levels))
            self.reference_N = self.average_N - (self.offset_N if linked else 0.0)
        else:
            self.average_N = EWMA_WEIGHT * level_N + (1.0 - EWMA_WEIGHT) * self.average_N
        if self.count <= (LINKED_CHECKS if linked else REFERENCE_CHECKS):
            return True
        chance = CHART_WIDTH * self.spread_N * math.sqrt(EWMA_WEIGHT / (2.0 - EWMA_WEIGHT))
        self.limit_N = max(chance, least_N)
        self.out = self.out + 1 if abs(self.moved_N) > self.limit_N else 0
        return True

    def shown(self) -> dict[str, Any]:
        """Figures as a check keeps them."""
        return {
            "average_N": self.average_N,
            "reference_N": self.reference_N,
            "limit_N": self.limit_N,
        }
