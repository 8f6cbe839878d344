"""True heave of a record: its waves, and the swing of the load in each state of the hook."""

from __future__ import annotations

from typing import Any

import numpy as np

from monitor.model import Floats
from monitor.simulate.hoist import Trace

STATES = ("in_slips", "locked", "open")


class WaveTracker:
    """Waves from one upward crossing of the mean height to the next."""

    def __init__(self, step_s: float) -> None:
        self.step_s = step_s
        self.waves: list[tuple[float, float, float, int]] = []  # height, period, swing, state
        self.spells: list[tuple[int, int]] = []  # first step, state of the compensator
        self._parts: list[tuple[Floats, Floats]] = []
        self._last_m: float | None = None
        self._state = -1
        self._mixed = True

    def feed(self, first: int, trace: Trace) -> None:
        """Take one leg, whose first step has the given number."""
        heave = trace.channels["heave"]
        is_open = bool(trace.channels["compensator_open"][0])
        state = 0 if trace.in_slips else 2 if is_open else 1
        if not self.spells or self.spells[-1][1] != int(is_open):
            self.spells.append((first, int(is_open)))
        self._mixed = self._mixed or state != self._state
        self._state = state
        before = heave[0] if self._last_m is None else self._last_m
        joined = np.concatenate(([before], heave))
        self._last_m = float(heave[-1])
        start = 0
        for up in np.flatnonzero((joined[:-1] < 0.0) & (joined[1:] >= 0.0)).tolist():
            self._parts.append((heave[start:up], trace.hook_load_N[start:up]))
            self._close()
            start = up
        self._parts.append((heave[start:], trace.hook_load_N[start:]))

    def _close(self) -> None:
        height, load = (np.concatenate(column) for column in zip(*self._parts, strict=True))
        self._parts = []
        # The first part of the record is no whole wave.
        if self.waves or not self._mixed:
            state = -1 if self._mixed else self._state
            period = len(height) * self.step_s
            self.waves.append((float(np.ptp(height)), period, float(np.ptp(load)), state))
        self._mixed = False

    def truth(self) -> dict[str, Any]:
        """Heights and period of the whole waves, swing of hook load by state."""
        heights = np.sort([wave[0] for wave in self.waves])[::-1]
        if not len(heights):
            return {"n_waves": 0}
        third = heights[: max(-(-len(heights) // 3), 1)]
        swings = {}
        for number, state in enumerate(STATES):
            own = [wave[2] for wave in self.waves if wave[3] == number]
            swings[state] = round(float(np.mean(own)) / 1e3, 2) if own else None
        return {
            "n_waves": len(heights),
            "amplitude_m": round(float(heights.mean()) / 2.0, 3),
            "significant_height_m": round(float(third.mean()), 3),
            "period_s": round(float(np.mean([wave[1] for wave in self.waves])), 3),
            "hook_load_swing_kN": swings,
        }
