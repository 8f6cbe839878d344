"""What really happened, gathered leg by leg: stands, events, stuck spells."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from monitor.model import Floats
from monitor.simulate.hoist import Trace

CLEAR_BELOW_N = 10e3  # an event ends that much under its limit ...
CLEAR_FOR_S = 2.0  # ... for so long
JOIN_WITHIN_S = 10.0
LEAST_STAND_M = 3.0
MOVING_M_S = 0.05
STEADY_M_S2 = 0.03
FREE_WITHIN_N = 5e3  # less than this holds a string that counts as moving freely
ON_BOTTOM_N = 2e3


@dataclass
class TrueEvent:
    """One spell of true excess over a limit; steps count from the start of the record."""

    kind: str
    start: int
    last_high: int
    stand: int
    peak: int = 0
    peak_excess_N: float = 0.0
    peak_hook_load_N: float = 0.0
    depth_m: float = 0.0
    end: int | None = None


class EventTracker:
    """Spells of true excess over one limit, joined by the rules of the event span."""

    def __init__(self, limit_N: float, step_s: float) -> None:
        self.limit_N, self.step_s = limit_N, step_s
        self.events: list[TrueEvent] = []
        self._open: dict[str, TrueEvent] = {}

    def feed(self, first: int, trace: Trace, stand: int) -> None:
        """Take one leg, whose first step has the given number."""
        for kind, sign in (("overpull", 1.0), ("slack_off", -1.0)):
            size = sign * trace.excess_N
            if kind in self._open or np.any(size > self.limit_N):
                self._feed_kind(kind, first, size, trace, stand)
        if trace.in_slips:
            self.close(first)

    def close(self, step: int) -> None:
        """End what is open: slips set."""
        for event in self._open.values():
            event.end = min(step, event.last_high + 1)
        self._open.clear()

    def _feed_kind(self, kind: str, first: int, size: Floats, trace: Trace, stand: int) -> None:
        clear = round(CLEAR_FOR_S / self.step_s)
        high = size > self.limit_N - CLEAR_BELOW_N
        over = size > self.limit_N
        for i in np.flatnonzero(high):
            step, event = first + int(i), self._open.get(kind)
            if event is not None and step - event.last_high > clear:
                event.end = event.last_high + 1
                del self._open[kind]
                event = None
            if event is None:
                if not over[i]:
                    continue
                event = self._start(kind, step, stand)
            event.last_high = step
            if size[i] > event.peak_excess_N:
                event.peak, event.peak_excess_N = step, float(size[i])
                event.peak_hook_load_N = float(trace.hook_load_N[i])
                event.depth_m = float(trace.depth_m[i])
        event = self._open.get(kind)
        if event is not None and first + len(size) - event.last_high > clear:
            event.end = event.last_high + 1
            del self._open[kind]

    def _start(self, kind: str, step: int, stand: int) -> TrueEvent:
        for event in reversed(self.events):
            if event.kind != kind:
                continue
            gap_s = (step - event.last_high) * self.step_s
            if event.stand == stand and gap_s < JOIN_WITHIN_S:
                event.end = None
                self._open[kind] = event
                return event
            break
        event = TrueEvent(kind, step, step, stand)
        self.events.append(event)
        self._open[kind] = event
        return event


@dataclass
class TrueStand:
    """One out-of-slips interval."""

    out: int
    start_depth_m: float
    into: int | None = None
    depth_m: float = 0.0
    drilled: bool = False
    up_N: list[Floats] = field(default_factory=list)
    down_N: list[Floats] = field(default_factory=list)

    def row(self) -> dict[str, Any]:
        """Give length, direction and moving load; the record adds the times."""
        net = self.depth_m - self.start_depth_m
        up, down = _median_kN(self.up_N), _median_kN(self.down_N)
        direction = "drilled" if self.drilled and net > 0 else "in" if net > 0 else "out"
        return {
            "direction": direction,
            "bit_depth_m": round(self.depth_m, 3),
            "length_m": round(abs(net), 3),
            "moving_hook_load_kN": up if direction == "out" else down,
            "hoisting_hook_load_kN": up,
            "lowering_hook_load_kN": down,
        }


def _median_kN(parts: list[Floats]) -> float | None:
    return round(float(np.median(np.concatenate(parts))) / 1e3, 2) if parts else None


class StandTracker:
    """Out-of-slips intervals with net movement of a single or more."""

    def __init__(self, step_s: float, depth_m: float) -> None:
        self.step_s = step_s
        self.stands: list[TrueStand] = []
        self.number = 1
        self._open: TrueStand | None = None
        self._depth_m = depth_m
        self._last_speed_m_s = 0.0

    def feed(self, first: int, trace: Trace) -> None:
        """Take one leg, whose first step has the given number."""
        if trace.in_slips:
            if self._open is not None:
                self._close(first, trace)
            return
        if self._open is None:
            self._open = TrueStand(first, self._depth_m)
        stand = self._open
        stand.drilled = stand.drilled or trace.drilling
        self._depth_m = stand.depth_m = float(trace.depth_m[-1])
        speed = trace.step_m / self.step_s
        change = np.abs(np.diff(speed, prepend=speed[0])) / self.step_s
        steady = (change < STEADY_M_S2) & (np.abs(trace.excess_N) < FREE_WITHIN_N)
        for loads, moving in ((stand.up_N, speed), (stand.down_N, -speed)):
            chosen = steady & (moving >= MOVING_M_S)
            if chosen.any():
                loads.append(trace.hook_load_N[chosen])

    def _close(self, first: int, trace: Trace) -> None:
        stand = self._open
        if stand is None:
            return
        stand.into = first
        if abs(stand.depth_m - stand.start_depth_m) >= LEAST_STAND_M:
            self.stands.append(stand)
            self.number += 1
        self._open = None

    def all_stands(self) -> list[TrueStand]:
        """List the stands, the one the record ends in too if it has moved far enough."""
        last = self._open
        if last is None or abs(last.depth_m - last.start_depth_m) < LEAST_STAND_M:
            return self.stands
        return [*self.stands, last]


class BottomTracker:
    """Weight on bit and depth of the hole, once a minute while on bottom."""

    def __init__(self, step_s: float) -> None:
        self.every = round(60.0 / step_s)
        self.rows: list[tuple[int, float, float]] = []  # step, weight on bit, hole depth

    def feed(self, first: int, trace: Trace) -> None:
        """Take one leg, whose first step has the given number."""
        if not trace.drilling:
            return
        for step in range(
            -(-first // self.every) * self.every, first + len(trace.bit_m), self.every
        ):
            weight = -float(trace.excess_N[step - first])
            if weight > ON_BOTTOM_N:
                self.rows.append((step, weight, float(trace.bit_m[step - first])))
