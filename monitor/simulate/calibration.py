"""A rig on which known loads are hung: a raw dead-line signal and the truth behind it.

A pulling device anchored below the rotary table pulls at the hook through a load cell whose
reading is recorded too. Loads are stepped up and down; at each the block is raised, held,
lowered and held, so that the sheaves' friction stands both ways. All invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.model import Floats
from monitor.rig.rig import Rig
from monitor.simulate.crew import Crew
from monitor.simulate.hoist import Hoist

LOADS_N = (0.0, 200e3, 400e3, 600e3, 800e3)
DEFAULT_SPAN_N = 400e3
WORKING_HEIGHT_M = 12.0
TRAVEL_M = 0.6  # far more than the sheaves need to turn over
TRAVEL_SPEED_M_S = 0.12
HOLD_S = 18.0
RAMP_S = 6.0
RAMP_STEPS = 24
CHANNELS = ("deadline_signal", "block_position", "reference_load")


@dataclass(frozen=True, slots=True)
class Transmitter:
    """What the sensor really does, which is not what its label says; shares of the span."""

    low: float
    high: float
    span_N: float
    zero_share: float
    gain: float
    curve_share: float

    @classmethod
    def of(cls, rig: Rig, random: np.random.Generator) -> Transmitter:
        """Draw a sensor that is out by an amount worth finding."""
        sensor = rig.sensor
        side = float(random.choice((-1.0, 1.0)))
        return cls(
            sensor.signal_low,
            sensor.signal_high,
            sensor.span_N or DEFAULT_SPAN_N,
            zero_share=float(random.uniform(-0.008, 0.008)),
            gain=1.0 + side * float(random.uniform(0.01, 0.03)),
            curve_share=float(random.uniform(-0.002, 0.002)),
        )

    def signal(self, tension_N: Floats) -> Floats:
        """Signal for a tension, without noise; kept within what a transmitter can give."""
        share = tension_N / self.span_N
        out = self.zero_share + self.gain * share + self.curve_share * share**2
        return self.low + (self.high - self.low) * np.clip(out, -0.0125, 1.03125)

    def truth(self) -> dict[str, Any]:
        """Coefficients of signal = c0 + c1 tension + c2 tension^2, SI."""
        reach = self.high - self.low
        return {
            "label_span_N": self.span_N,
            "coefficients": [
                self.low + reach * self.zero_share,
                reach * self.gain / self.span_N,
                reach * self.curve_share / self.span_N**2,
            ],
            "zero_share_of_span": self.zero_share,
            "gain": self.gain,
            "curve_share_of_span": self.curve_share,
        }


@dataclass(frozen=True, slots=True)
class Step:
    """One hold of one load; ``first`` and ``last`` count simulation steps."""

    first: int
    last: int
    load_N: float
    series: str  # "rising" or "falling"
    moved: str  # "hoisting" or "lowering"


class LoadTest:
    """Script of the load steps over one hoist, for ever."""

    def __init__(self, hoist: Hoist, crew: Crew) -> None:
        self.hoist, self.crew = hoist, crew
        self.steps: list[Step] = []
        hoist.latched = False  # the string stands in the slips, the elevators are open

    def story(self) -> Iterator[None]:
        """Empty block, loads rising, loads falling, empty block; again and again."""
        self.crew.pause(5.0)
        yield
        while True:
            for load_N in LOADS_N:
                yield from self._hold(load_N, "rising")
            for load_N in reversed(LOADS_N[:-1]):
                yield from self._hold(load_N, "falling")

    def _hold(self, load_N: float, series: str) -> Iterator[None]:
        self._change(load_N)
        yield
        for travel_m, moved in ((TRAVEL_M, "hoisting"), (-TRAVEL_M, "lowering")):
            self.crew.move(travel_m, TRAVEL_SPEED_M_S)
            first = self.hoist.steps
            self.hoist.wait(HOLD_S)
            self.steps.append(Step(first, self.hoist.steps, load_N, series, moved))
            yield

    def _change(self, load_N: float) -> None:
        before = self.hoist.hanging_N
        for share in np.linspace(0.0, 1.0, RAMP_STEPS + 1)[1:].tolist():
            self.hoist.hanging_N = before + share * (load_N - before)
            self.hoist.wait(RAMP_S / RAMP_STEPS)
