"""How much this hole drags: drag as a share of the neutral weight, as the record has shown it.

Where both directions are known at one place, half their difference over half their sum is
the share. It stands in for the usual one when a direction is not known any more, because it
was last seen far from here, and fades into the usual one on the way.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.guess import USUAL_DRAG, WEIGHT_ALONE_SPREAD
from monitor.interpret.stage import Carried
from monitor.interpret.trend import REACH_M, Trend
from monitor.model import Floats

NAN = float("nan")

# A share seen is so far off at the same place (our choice: as the drag one way from the
# other), and by so much more for each metre on: over 1000 m a build or a shoe may have come
# between, as much as any hole differs from the usual one.
SEEN_SPREAD = 0.15
DRIFT_PER_M = WEIGHT_ALONE_SPREAD / 1000.0
LEAST_SEEN_SPREAD = 0.02
# Beyond this no string goes in by its own weight (derived: nothing would be left to lower).
GREATEST_SHARE = 0.9


class DragShare(Carried):
    """The share last seen, and the length of string that hung then."""

    STATE = ("share", "hung_m")

    def __init__(self) -> None:
        self.share = self.hung_m = NAN
        # From which row of the piece on each holds: what was known there, not later.
        self._held: list[tuple[int, float, float]] = []

    def begin(self) -> None:
        """Begin a piece: what is known holds from its first row on."""
        self._held = [(0, self.share, self.hung_m)]

    def learn(
        self, row: int, trends: tuple[Trend, Trend], bases_N: tuple[float, float], hung_m: float
    ) -> None:
        """Compare both directions where both are known; bases without the empty block."""
        if not all(t.known and abs(hung_m - t.centre_m) < REACH_M for t in trends):
            return
        up_N, down_N = (
            base_N + trend.middle_N(hung_m, trend.centre_speed)
            for trend, base_N in zip(trends, bases_N, strict=True)
        )
        if not up_N + down_N > 0.0:
            return
        share = (up_N - down_N) / (up_N + down_N)
        self.share, self.hung_m = min(max(share, 0.0), GREATEST_SHARE), hung_m
        self._held.append((row, self.share, self.hung_m))

    def at(self, where: NDArray[np.bool_], hung_m: Floats) -> tuple[Floats, Floats]:
        """Share and its standard deviation at the marked rows: seen and usual, by evidence."""
        rows_at, shares, places = (np.array(column) for column in zip(*self._held, strict=True))
        index = np.searchsorted(rows_at, np.flatnonzero(where), side="right") - 1
        seen = shares[index]
        far = DRIFT_PER_M * np.abs(hung_m - places[index])
        spread = np.hypot(np.maximum(SEEN_SPREAD * seen, LEAST_SEEN_SPREAD), far)
        known = np.isfinite(spread)
        trust = np.where(known, 1.0 / np.where(known, spread, 1.0) ** 2, 0.0)
        usual = 1.0 / WEIGHT_ALONE_SPREAD**2
        share = (trust * np.where(known, seen, 0.0) + usual * USUAL_DRAG) / (trust + usual)
        # Where nothing was seen, the usual one to the last bit.
        share = np.where(known, share, USUAL_DRAG)
        return share, np.where(known, np.sqrt(1.0 / (trust + usual)), WEIGHT_ALONE_SPREAD)
