"""What really happened, step by step, with what the sensor could show of it.

Listens to the simulator's noise-free legs; events by the same rules as its truth file.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.model import Floats, Ints
from monitor.score.matching import Span, Stand
from monitor.simulate.hoist import Trace
from monitor.simulate.simulation import Simulation
from monitor.simulate.truth import EventTracker, StandTracker, TrueEvent

NEAR_LIMIT = 0.2  # truths within that share of the limit count neither way
LEAST_OVER_S = 1.0  # a scored truth stays over the limit for so long
SETTLE_S = 5.0  # the lagged signal is followed from so long before an event


@dataclass(frozen=True, slots=True)
class Truth:
    """One true event at one limit."""

    span: Span
    peak_N: float
    over_s: float  # longest time over the limit without a break
    sensed_us: int | None  # when the noise-free sensor output passed the limit; None = never


class Watch:
    """Everything a simulation tells, kept until the record is over."""

    def __init__(self, simulation: Simulation, limits_N: tuple[float, ...]) -> None:
        self.step_s, self.start_us = simulation.step_s, simulation.start_us
        self._stands = StandTracker(self.step_s, simulation.bit_depth_m)
        both = {limit for base in limits_N for limit in (base, (1.0 - NEAR_LIMIT) * base)}
        self._events = {limit: EventTracker(limit, self.step_s) for limit in both}
        self._parts: dict[str, list[Floats]] = {
            name: [] for name in ("excess_N", "speed_m_s", "drilling", "in_slips")
        }
        self._column: dict[str, Floats] = {}
        simulation.listeners.append(self._listen)

    def _listen(self, first: int, trace: Trace) -> None:
        count = len(trace.step_m)
        self._stands.feed(first, trace)
        if not trace.drilling:
            for tracker in self._events.values():
                tracker.feed(first, trace, self._stands.number)
        self._parts["excess_N"].append(trace.excess_N)
        self._parts["speed_m_s"].append(trace.step_m / self.step_s)
        self._parts["drilling"].append(np.full(count, float(trace.drilling)))
        self._parts["in_slips"].append(np.full(count, float(trace.in_slips)))

    def column(self, name: str) -> Floats:
        """One column, a value a step of the physics."""
        if name not in self._column:
            self._column[name] = np.concatenate(self._parts[name])
        return self._column[name]

    def at(self, name: str, time_us: Ints) -> Floats:
        """Values at the steps next to some times."""
        steps = np.rint((time_us - self.start_us) / 1e6 / self.step_s).astype(np.int64)
        column = self.column(name)
        return np.asarray(column[np.clip(steps, 0, len(column) - 1)])

    def stands(self) -> list[Stand]:
        """Stands that ended before the record did."""
        found = []
        for stand in self._stands.all_stands():
            if stand.into is not None:
                row = stand.row()
                found.append(
                    Stand(
                        self._us(stand.out),
                        self._us(stand.into),
                        row["direction"],
                        row["length_m"],
                        row["bit_depth_m"],
                    )
                )
        return found

    def events(self, limit_N: float, lag_s: float) -> list[Truth]:
        """List true events at a limit, and those just below it that no event there holds."""
        over = [self._truth(event, limit_N, lag_s) for event in self._events[limit_N].events]
        below = (1.0 - NEAR_LIMIT) * limit_N
        near = [self._truth(event, below, lag_s) for event in self._events[below].events]
        near = [t for t in near if not any(t.span.reaches(other.span) for other in over)]
        return sorted(over + near, key=lambda truth: truth.span.start_us)

    def _truth(self, event: TrueEvent, limit_N: float, lag_s: float) -> Truth:
        end = event.last_high + 1 if event.end is None else event.end
        sign = 1.0 if event.kind == "overpull" else -1.0
        excess = sign * self.column("excess_N")
        free = np.where(self.column("drilling") > 0, 0.0, excess)
        sensed = passing(free, event.start, end, limit_N, lag_s, self.step_s)
        return Truth(
            Span(event.kind, self._us(event.start), self._us(end)),
            event.peak_excess_N,
            longest_run(free[event.start : end] > limit_N) * self.step_s,
            None if sensed is None else self._us(sensed),
        )

    def _us(self, step: int) -> int:
        return self.start_us + round(step * self.step_s * 1e6)


def longest_run(over: np.ndarray) -> int:
    """Length of the longest unbroken run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], over, [False])).astype(np.int8)))
    return int((edges[1::2] - edges[::2]).max()) if len(edges) else 0


def passing(
    excess_N: Floats, start: int, end: int, limit_N: float, lag_s: float, step_s: float
) -> int | None:
    """First step at or after ``start`` at which a sensor of first-order lag is over the limit."""
    share = 1.0 - float(np.exp(-step_s / lag_s))
    first = max(0, start - round(SETTLE_S / step_s))
    value = float(excess_N[first])
    for step in range(first, min(end + round(SETTLE_S / step_s), len(excess_N))):
        value += share * (float(excess_N[step]) - value)
        if step >= start and value > limit_N:
            return step
    return None
