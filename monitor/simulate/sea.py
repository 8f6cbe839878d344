"""Heave of the vessel: a sum of waves from a seed, the same at any time step."""

from __future__ import annotations

import numpy as np

from monitor.model import Floats

WAVES = 9
SHORTEST_S, LONGEST_S = 7.0, 14.0
LOWEST_M, HIGHEST_M = 1.0, 3.0  # significant height of the heave


class Sea:
    """Irregular heave, rising positive, of a significant height and about one period."""

    def __init__(self, random: np.random.Generator) -> None:
        self.height_m = float(random.uniform(LOWEST_M, HIGHEST_M))
        self.period_s = float(random.uniform(8.5, 12.0))
        periods = np.linspace(SHORTEST_S, LONGEST_S, WAVES) + random.uniform(-0.3, 0.3, WAVES)
        periods = np.clip(periods, SHORTEST_S, LONGEST_S)
        size = np.exp(-0.5 * ((periods - self.period_s) / 1.6) ** 2) + 0.05
        size *= random.uniform(0.7, 1.3, WAVES)
        # Significant height is four times the standard deviation (narrow spectrum).
        self.amplitudes_m = size * (self.height_m / 4.0 / np.sqrt(np.sum(size**2) / 2.0))
        self.speeds_rad_s = 2.0 * np.pi / periods
        self.phases = random.uniform(0.0, 2.0 * np.pi, WAVES)

    def heave_m(self, time_s: Floats) -> Floats:
        """Heave at times from the start of the record."""
        angles = np.multiply.outer(np.asarray(time_s, dtype=float), self.speeds_rad_s)
        return np.asarray(np.cos(angles + self.phases) @ self.amplitudes_m)
