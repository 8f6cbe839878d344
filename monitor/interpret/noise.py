"""Noise and smallest step of the tension as they are now, from its differences row by row."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.stage import Array, Carried
from monitor.interpret.windows import held_from
from monitor.metrology.uncertainty import MEDIAN_OF_3
from monitor.model import Floats

NAN = float("nan")

# Rows that make one figure, and figures that the one in force is the middle of: 10 s and
# 2.5 min of 10 Hz data, so that slips, bumps and a change of load are outvoted.
BLOCK_ROWS = 100
BLOCKS_KEPT = 15
# Differences below this are rounding of the arithmetic, no step of a converter.
LEAST_STEP_N = 0.01
# Mean of the second differences of normal noise, without sign, in its standard deviations:
# sqrt 6 times the mean of a half normal.
MEAN_OF_SECOND = math.sqrt(6.0) * math.sqrt(2.0 / math.pi)


class Noise(Carried):
    """Standard deviation of a single reading, and the smallest change between two."""

    STATE = ("last", "second", "first", "noises", "steps", "noise_N", "step_N")

    def __init__(self) -> None:
        self.last = np.empty(0)  # the last two readings
        self.second = np.empty(0)  # differences of differences, not yet a block
        self.first = np.empty(0)
        self.noises: list[float] = []
        self.steps: list[float] = []
        self.noise_N = NAN
        self.step_N = NAN

    def gap(self) -> None:
        """No difference is taken across a gap."""
        self.last = np.empty(0)

    def step(self, values: Floats) -> Floats:
        """Variance of a row in force: of noise, after a median of three, and of the step.

        Zero before they are known.
        """
        place = np.flatnonzero(np.isfinite(values))
        joined = np.concatenate((self.last, values[place]))
        self.last = joined[-2:].copy()
        first = np.diff(joined)
        second = np.abs(np.diff(first))
        place = place[len(place) - len(second) :]
        carried = len(self.second)
        second = np.concatenate((self.second, second))
        first = np.concatenate((self.first, first[len(first) - len(place) :]))
        closed = len(second) // BLOCK_ROWS * BLOCK_ROWS
        self.second, self.first = second[closed:].copy(), first[closed:].copy()
        ends = np.arange(BLOCK_ROWS - 1, closed, BLOCK_ROWS) - carried
        return self._in_force(
            len(values),
            place[ends],
            second[:closed].reshape(-1, BLOCK_ROWS),
            np.abs(first[:closed]).reshape(-1, BLOCK_ROWS),
        )

    def _in_force(self, length: int, known_at: Array, second: Array, first: Array) -> Floats:
        variances = np.array([_variance(self.noise_N, self.step_N)])
        if len(known_at):
            spread = np.mean(second, axis=1) / MEAN_OF_SECOND
            least = np.min(np.where(first > LEAST_STEP_N, first, np.inf), axis=1)
            noises, self.noises = _last(self.noises, spread)
            steps, self.steps = _last(self.steps, least)
            # Before so many are known, infinite ones stand in: they are no middle of the others.
            known = BLOCKS_KEPT - np.count_nonzero(np.isinf(noises), axis=1)
            noise = np.sort(noises, axis=1)[np.arange(len(noises)), known // 2]
            step = np.min(steps, axis=1)
            self.noise_N, self.step_N = float(noise[-1]), float(step[-1])
            variances = np.concatenate((variances, _variance(noise, step)))
        return held_from([0, *known_at.tolist()], variances, length)


def _last(kept: list[float], new: Floats) -> tuple[Array, list[float]]:
    """The last ``BLOCKS_KEPT`` figures at each new one, a line each, and those at the end."""
    joined = np.concatenate((np.full(BLOCKS_KEPT, np.inf), kept, new))
    windows = np.lib.stride_tricks.sliding_window_view(joined, BLOCKS_KEPT)[-len(new) :]
    return windows, [*kept, *new.tolist()][-BLOCKS_KEPT:]


def _variance(noise_N: Any, step_N: Any) -> Any:
    """Variance of what is known of both; zero of what is not."""
    noise = np.where(np.isfinite(noise_N), noise_N, 0.0) * MEDIAN_OF_3
    step = np.where(np.isfinite(step_N), step_N, 0.0)
    return noise * noise + step * step / 12.0
