"""Travel from empty to full while slips give or take the string, as it usually is."""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.stage import Carried

# Travel from empty to full is known from so many of the last settings.
GIVES_KEPT = 9


class Give(Carried):
    """The last travels seen."""

    STATE = ("gives_m",)

    def __init__(self) -> None:
        self.gives_m: list[float] = []

    def usual_m(self) -> float:
        """Travel as it usually is, 0 where that is not known."""
        return float(np.median(np.array(self.gives_m))) if self.gives_m else 0.0

    def learn(self, give_m: float) -> None:
        """Remember a travel seen; not-a-number: none was."""
        if math.isfinite(give_m):
            self.gives_m = [*self.gives_m, give_m][-GIVES_KEPT:]
