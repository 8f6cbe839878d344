"""What the rig's sensors make of the truth: lag, noise, steps of the digits, sampling."""

from __future__ import annotations

from typing import Any

import numpy as np

from monitor.model import Floats
from monitor.simulate.hoist import Trace
from monitor.simulate.scenarios import Story

TENSION_LAG_S = 0.2
TENSION_STEP_N = 50.0
TENSION_NOISE_N = 180.0
MOVING_NOISE_N = 260.0  # vibration of the line while the block moves
BLOCK_STEP_M = 0.01
# Of a raw signal, as shares of its range: 6 and 2 microamperes of 16 mA.
SIGNAL_NOISE_SHARE, SIGNAL_STEP_SHARE = 4e-4, 1.25e-4
# Noise (standard deviation) and digit of the further channels, SI.
FURTHER = {
    "rotary_speed": (0.05, 0.01),
    "torque": (150.0, 10.0),
    "flow_in": (1.5e-4, 1e-5),
    "standpipe_pressure": (3.0e4, 1.0e4),
    "trip_tank_volume": (0.01, 0.01),
    "reference_load": (150.0, 100.0),
    "heave": (0.015, 0.01),  # double integration of acceleration, filtered
    "compensator_stroke": (0.004, 0.01),
}


class Sensors:
    """Noise-free signals at the physics step in, sampled and noisy columns out."""

    def __init__(self, story: Story, seed: int, hz: float, step_s: float) -> None:
        self.hz, self.step_s = hz, step_s
        self.channels = story.channels
        self.transmitter = story.transmitter
        self._random = np.random.default_rng([seed, 7])
        self._lagged_N: float | None = None
        self._first = 0  # number of the first step kept
        self._kept: dict[str, Floats] = {}
        self._parts: dict[str, list[Floats]] = {}
        self._length = 0

    def truth(self) -> dict[str, Any]:
        """State the sensor's own faults, for the record's truth."""
        truth = {
            "tension_lag_s": TENSION_LAG_S,
            "tension_noise_N": TENSION_NOISE_N,
            "tension_noise_moving_N": round(float(np.hypot(TENSION_NOISE_N, MOVING_NOISE_N)), 1),
            "tension_step_N": TENSION_STEP_N,
            "block_step_m": BLOCK_STEP_M,
        }
        return truth if self.transmitter is None else {**truth, **self.transmitter.truth()}

    def feed(self, trace: Trace) -> None:
        """Take one leg of truth."""
        columns = {
            "deadline_tension": self._lag(trace.tension_N),
            "block_position": trace.block_m,
            "speed": np.abs(trace.step_m) / self.step_s,
        }
        for name in self.channels:
            if name not in columns and name != "deadline_signal":
                columns[name] = trace.channels[name]
        for name, column in columns.items():
            self._parts.setdefault(name, []).append(column)
        self._length += len(trace.block_m)

    def _lag(self, tension: Floats) -> Floats:
        share = 1.0 - float(np.exp(-self.step_s / TENSION_LAG_S))
        value = float(tension[0]) if self._lagged_N is None else self._lagged_N
        result = []
        for target in tension.tolist():
            value += share * (target - value)
            result.append(value)
        self._lagged_N = value
        return np.array(result)

    def ready(self, given: int) -> int:
        """Count the rows that can be read after the first ``given``."""
        last = (self._first + self._length - 1) * self.step_s
        return max(0, int(np.floor(last * self.hz + 1e-9)) + 1 - given)

    def read(self, given: int, count: int) -> dict[str, Floats]:
        """Give the next rows, and forget what lies before them."""
        for name, parts in self._parts.items():
            old = self._kept.get(name)
            self._kept[name] = np.concatenate(parts if old is None else [old, *parts])
        self._parts = {}
        at = np.arange(given, given + count) / self.hz / self.step_s - self._first
        steps = np.arange(self._length, dtype=float)
        values = {name: np.interp(at, steps, column) for name, column in self._kept.items()}
        done = int(at[-1])
        self._kept = {name: column[done:] for name, column in self._kept.items()}
        self._first += done
        self._length -= done
        if self.transmitter is not None:
            values["deadline_signal"] = self.transmitter.signal(values["deadline_tension"])
        return {name: self._digits(name, values) for name in self.channels}

    def _digits(self, name: str, values: dict[str, Floats]) -> Floats:
        value = values[name]
        noise = self._random.standard_normal(len(value))
        if name == "block_position":
            return np.asarray(np.rint(value / BLOCK_STEP_M) * BLOCK_STEP_M)
        if name == "deadline_tension":
            moving = values["speed"] / (values["speed"] + 0.1)
            size = np.hypot(TENSION_NOISE_N, MOVING_NOISE_N * moving)
            return np.asarray(np.rint((value + size * noise) / TENSION_STEP_N) * TENSION_STEP_N)
        spread, step = self._spread(name)
        return np.asarray(np.rint((value + spread * noise) / step) * step)

    def _spread(self, name: str) -> tuple[float, float]:
        """Noise and digit of a channel that is no tension and no block."""
        if name == "deadline_signal" and self.transmitter is not None:
            reach = self.transmitter.high - self.transmitter.low
            return SIGNAL_NOISE_SHARE * reach, SIGNAL_STEP_SHARE * reach
        return FURTHER[name]
