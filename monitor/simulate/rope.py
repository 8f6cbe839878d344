"""The drilling line as an elastic rope over sheaves that stick and slip.

Each span of line between the blocks is a spring; each sheave between two spans holds
while the ratio of their tensions lies within 1/K .. K and slips when it would leave it
(belt and bearing friction, quasi-static). Steady motion, held friction and the gradual
turning over at a reversal all come out of that one rule; no load factor is used here.
"""

from __future__ import annotations

import numpy as np

from monitor.model import Floats

# Modulus times area of the rope: 1-3/8 in six-strand wire rope, about 58 % metal at
# 90 GPa effective (order of magnitude from memory; sets only how long a reversal takes).
ROPE_STIFFNESS_N = 5.0e7
SPAN_LENGTH_M = 40.0
SLIP_TOLERANCE = 1e-7  # relative imbalance at which a sheave counts as at rest
MAX_SWEEPS = 400
DEAD_SHEAVE_TRAVEL_M = 0.01  # block travel to half of its turning over


class Rope:
    """Tensions of the spans, first next to the fast line, last next to the dead line."""

    def __init__(
        self,
        lines_strung: int,
        sheave_efficiency: float,
        hook_load_N: float,
        *,
        dead_line_turns: bool = False,
    ) -> None:
        self.lines_strung = lines_strung
        self.dead_line_turns = dead_line_turns
        self._dead_sheave = 0.0  # how far its friction has turned over, -1 lowering .. +1
        self.ratio = 1.0 / sheave_efficiency
        self.stiffness_N_m = ROPE_STIFFNESS_N / SPAN_LENGTH_M
        self.tensions_N = [hook_load_N / lines_strung] * lines_strung
        self.sliding = 0  # +1 when every sheave slips hoisting, -1 lowering, 0 otherwise

    @property
    def hook_load_N(self) -> float:
        """Sum of the tensions of the spans."""
        return sum(self.tensions_N)

    def dead_line_N(self, block_steps_m: Floats, hook_load_N: Floats) -> Floats:
        """Dead-line tension after each step of block travel, for the load after that step."""
        result = np.empty(len(hook_load_N))
        travel = (block_steps_m * self.lines_strung).tolist()
        loads = hook_load_N.tolist()
        i, count = 0, len(loads)
        while i < count:
            direction = (travel[i] > 0.0) - (travel[i] < 0.0)
            if direction and direction == self.sliding:
                stop = i + self._run_length(block_steps_m[i:], direction)
                result[i:stop] = self._slide(hook_load_N[i:stop], direction)
                i = stop
                continue
            self._step(travel[i], loads[i])
            result[i] = self.tensions_N[-1]
            i += 1
        return result * self._dead_sheave_ratio(block_steps_m) if self.dead_line_turns else result

    def _dead_sheave_ratio(self, steps: Floats) -> Floats:
        # A dead line that gives: its sheave rocks with the block. An anchored elastic line
        # would not do that, so the friction is made to follow the block's direction.
        turned = np.clip(self._dead_sheave + np.cumsum(steps) / DEAD_SHEAVE_TRAVEL_M, -1.0, 1.0)
        self._dead_sheave = float(turned[-1])
        return np.asarray(np.exp(-turned * np.log(self.ratio)))

    @staticmethod
    def _run_length(steps: Floats, direction: int) -> int:
        against = np.flatnonzero(steps * direction <= 0.0)
        return int(against[0]) if len(against) else len(steps)

    def _slide(self, loads: Floats, direction: int) -> Floats:
        # Every sheave slips: march one unit of tension from the dead line to the fast
        # line and scale the whole so that the spans carry the load.
        ratio = self.ratio if direction > 0 else 1.0 / self.ratio
        shares = [1.0]
        for _ in range(self.lines_strung - 1):
            shares.append(shares[-1] * ratio)
        total = sum(shares)
        last = loads / total
        self.tensions_N = [share * float(last[-1]) for share in reversed(shares)]
        return last

    def _step(self, drum_m: float, hook_load_N: float) -> None:
        # With all sheaves held, the rope taken in at the fast line loads the first span;
        # the block, free to move, then shares load out equally until the spans carry it.
        pull = self.stiffness_N_m * drum_m
        if not pull and hook_load_N == self.hook_load_N:
            return
        self.tensions_N[0] += pull
        self._settle(self.tensions_N, hook_load_N)
        self.sliding = self._direction()

    def _settle(self, tensions: list[float], hook_load_N: float) -> None:
        ratio, n = self.ratio, self.lines_strung
        tolerance = SLIP_TOLERANCE * (abs(hook_load_N) + 1.0)
        pairs = range(self.lines_strung - 1)
        for _ in range(MAX_SWEEPS):
            share = (hook_load_N - sum(tensions)) / n
            for j in range(n):
                tensions[j] += share
            worst = abs(share)
            for j in pairs:
                a, b = tensions[j], tensions[j + 1]
                if a > ratio * b:
                    slip = (a - ratio * b) / (1.0 + ratio)
                elif b > ratio * a:
                    slip = -(b - ratio * a) / (1.0 + ratio)
                else:
                    continue
                tensions[j] = a - slip
                tensions[j + 1] = b + slip
                worst = max(worst, abs(slip))
            if worst < tolerance:
                break

    def _direction(self) -> int:
        low, high = 1e-5 - 1.0, 1.0 - 1e-5
        swing = self.ratio - 1.0
        states = [
            (self.tensions_N[j] / self.tensions_N[j + 1] - 1.0) / swing
            for j in range(self.lines_strung - 1)
        ]
        if min(states) > high * 0.999:
            return 1
        # Lowering, the ratio is 1/K, whose distance from one is swing / K.
        return -1 if max(states) < low / self.ratio * 0.999 else 0
