"""What spoils a simulated record: more noise, faults of transmission, drift of the zero."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from monitor.model import Floats, Ints

Columns = dict[str, Floats]

# More noise: four times the simulator's own on the line, three digits of the block counter.
LINE_NOISE_N = 700.0
BLOCK_NOISE_M = 0.015
# Faults, by chance a minute or a cell; invented, a poor but usable link.
MISSING_SHARE = 0.01
SPIKE_CHANCE = 0.2
LATE_CHANCE = 0.1
GAP_CHANCE = 0.025
FROZEN_CHANCE = 0.01
JUMP_CHANCE = 0.008
JUMP_M = 8.0
GAP_S = (15.0, 55.0)
FROZEN_S = (10.0, 55.0)
# Zero drift: 1 % of this span of the dead-line sensor, grown within so long.
SPAN_N = 400e3
DRIFT_SHARE = 0.01
DRIFT_BEGINS_S = 1800.0
DRIFT_LASTS_S = 600.0


class Spoiler:
    """Changes a record minute by minute; ``lost_us`` tells the spells nobody could see."""

    def __init__(self, kind: str, seed: int, start_us: int) -> None:
        self._random = np.random.default_rng([seed, 11])
        self._start_us = start_us
        self._offset_m = 0.0
        self.lost_us: list[tuple[int, int]] = []
        kinds: dict[str, Callable[[Ints, Columns], tuple[Ints, Columns]]] = {
            "": lambda time_us, values: (time_us, values),
            "noise": self._noise,
            "faults": self._faults,
            "drift": self._drift,
        }
        self._spoil = kinds[kind]

    def __call__(self, time_us: Ints, values: Columns) -> tuple[Ints, Columns]:
        """Give one minute as it arrives."""
        copies = {name: np.array(column, np.float64) for name, column in values.items()}
        return self._spoil(time_us, copies)

    def _noise(self, time_us: Ints, values: Columns) -> tuple[Ints, Columns]:
        count = len(time_us)
        values["deadline_tension"] += LINE_NOISE_N * self._random.standard_normal(count)
        values["block_position"] += BLOCK_NOISE_M * self._random.standard_normal(count)
        return time_us, values

    def _drift(self, time_us: Ints, values: Columns) -> tuple[Ints, Columns]:
        seconds = (time_us - self._start_us) / 1e6
        grown = np.clip((seconds - DRIFT_BEGINS_S) / DRIFT_LASTS_S, 0.0, 1.0)
        values["deadline_tension"] += DRIFT_SHARE * SPAN_N * grown
        return time_us, values

    def _faults(self, time_us: Ints, values: Columns) -> tuple[Ints, Columns]:
        random, time_us = self._random, time_us.copy()
        count = len(time_us)
        if random.random() < JUMP_CHANCE:
            self._offset_m += JUMP_M if random.random() < 0.5 else -JUMP_M
        values["block_position"] += self._offset_m
        for column in values.values():
            column[random.random(count) < MISSING_SHARE] = np.nan
        if random.random() < SPIKE_CHANCE:
            values["deadline_tension"][random.integers(count)] *= random.choice([0.0, 3.0])
        if random.random() < SPIKE_CHANCE:
            values["block_position"][random.integers(count)] += random.choice([-5.0, 5.0])
        if random.random() < FROZEN_CHANCE:
            part = self._part(time_us, FROZEN_S)
            values["deadline_tension"][part] = values["deadline_tension"][part.start]
        if random.random() < LATE_CHANCE and count > 40:
            row = int(random.integers(30, count - 5))
            time_us[row : row + 3] = time_us[row - 20 : row - 17]
        if random.random() < GAP_CHANCE:
            part = self._part(time_us, GAP_S)
            kept = np.ones(count, dtype=bool)
            kept[part] = False
            time_us = time_us[kept]
            values = {name: column[kept] for name, column in values.items()}
        return time_us, values

    def _part(self, time_us: Ints, seconds: tuple[float, float]) -> slice:
        """Choose a piece of this minute, and note it as lost."""
        length_us = round(self._random.uniform(*seconds) * 1e6)
        first_us, last_us = int(time_us[0]), int(time_us[-1])
        begin_us = first_us + int(self._random.random() * max(last_us - first_us - length_us, 0))
        first, stop = np.searchsorted(time_us, [begin_us, begin_us + length_us])
        self.lost_us.append((begin_us, begin_us + length_us))
        return slice(int(first), max(int(stop), int(first) + 1))
