"""Drilling ahead by stands: feed, drill-off, reaming, weights caught, connections."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from monitor.simulate.crew import STICK_UP_M, Crew
from monitor.simulate.hoist import Hoist, Rock

LOWEST_BLOCK_M = 0.75  # where a stand is drilled down
REFERENCE_WEIGHT_N = 100e3
FEED_S = 40.0  # the brake is set anew about so often
OFF_BOTTOM_M = 0.5
DRILL_OFF_CHANCE = 0.25  # a stand
REAM_CHANCE = 0.6


class Drilling:
    """Script of drilling with connections over one hoist."""

    def __init__(self, hoist: Hoist, crew: Crew, random: np.random.Generator) -> None:
        self.hoist, self.crew, self.random = hoist, crew, random
        self.rate_m_s = random.uniform(35.0, 75.0) / 3600.0
        self.weight_N = random.uniform(70e3, 120e3)
        self.flow_m3_s = random.uniform(0.030, 0.040)
        self.rotary_rad_s = random.uniform(9.0, 15.0)

    def stands(self) -> Iterator[None]:
        """Drill stand after stand for ever."""
        self.crew.pause(20.0)
        yield
        while True:
            yield from self.to_bottom()
            yield from self.drill_down()
            yield from self.before_connection()
            yield from self.connection()

    def to_bottom(self) -> Iterator[None]:
        """From slips: pumps, load, rotation, then down until the bit has weight."""
        hoist, crew = self.hoist, self.crew
        hoist.panel.pumps(self.flow_m3_s)
        crew.pause(14.0)
        yield
        hoist.rock = Rock(self.rate_m_s, REFERENCE_WEIGHT_N)
        crew.take_load()
        hoist.rotating = True
        hoist.panel.rotate(self.rotary_rad_s)
        crew.pause(10.0)
        yield
        free = hoist.hole.depth_m - hoist.bit_m
        if free > OFF_BOTTOM_M + 0.1:
            crew.move(-(free - OFF_BOTTOM_M), 0.15)
            crew.pause(2.0)
        crew.move(hoist.play_m(-1) - (hoist.hole.depth_m - hoist.bit_m), 0.03)
        yield
        crew.move(hoist.travel_to_m(-self.weight_N), 0.03)
        yield

    def drill_down(self) -> Iterator[None]:
        """Feed the block until the stand is down, keeping weight on the bit."""
        hoist = self.hoist
        wait_at = self.random.uniform(8.0, 20.0) if self._chance(DRILL_OFF_CHANCE) else -1.0
        while hoist.block_m > LOWEST_BLOCK_M:
            rate = self.rate_m_s * self.random.uniform(0.75, 1.25)
            hoist.rock = Rock(rate, REFERENCE_WEIGHT_N)
            wanted = self.weight_N * self.random.uniform(0.92, 1.08)
            now = -hoist.spring_N
            feed = rate * wanted / REFERENCE_WEIGHT_N
            feed += 0.5 * (wanted - now) / hoist.stiffness_N_m / FEED_S
            count = round(FEED_S / hoist.step_s)
            room = hoist.block_m - LOWEST_BLOCK_M
            jitter = 1.0 + 0.25 * self._slow_noise(count)
            steps = np.maximum(feed, 0.2 * rate) * hoist.step_s * jitter
            steps = steps[: int(np.searchsorted(np.cumsum(steps), room)) + 1]
            hoist.run(-steps)
            yield
            if hoist.block_m < wait_at:
                wait_at = -1.0
                self.crew.pause(60.0)
                yield

    def before_connection(self) -> Iterator[None]:
        """Off bottom, ream the stand's lower part, catch the weights, slips."""
        hoist, crew = self.hoist, self.crew
        crew.pause(8.0)
        height = self.random.uniform(4.0, 9.0)
        crew.move(height + hoist.travel_to_m(0.0), 0.16)
        crew.pause(3.0)
        yield
        if self._chance(REAM_CHANCE):
            crew.move(-(height - 1.2), 0.12)
            crew.move(height - 1.2, 0.16)
            crew.pause(3.0)
            yield
        hoist.rotating = False
        hoist.panel.rotate(0.0)
        crew.pause(8.0)
        crew.move(3.0, 0.18)
        crew.pause(2.0)
        yield
        crew.move(-3.0, 0.18)
        crew.pause(2.0)
        yield
        target = STICK_UP_M + 0.4 + 0.08 * self.random.uniform(-1.0, 1.0)
        crew.move(target - hoist.block_m, 0.15)
        yield
        hoist.panel.pumps(0.0)
        crew.pause(6.0)
        crew.give_load()
        hoist.rock = None
        yield

    def connection(self) -> Iterator[None]:
        """Break out, hoist empty, hang the next stand, stab and make up."""
        hoist, crew = self.hoist, self.crew
        length = crew.stand_length_m()
        weight = hoist.string.stand_weight_N(hoist.bit_m, length)
        base = hoist.block_m
        crew.pause(18.0)
        hoist.latched = False
        crew.move(length - 0.4, crew.empty_speed_m_s)
        crew.pause(15.0)
        yield
        hoist.hanging_N = weight
        crew.move(1.0, 0.2)
        crew.pause(8.0)
        yield
        crew.move(base + length - hoist.block_m, 0.12)
        hoist.hanging_N = 0.0
        crew.pause(30.0)
        yield
        hoist.latched = True
        hoist.held_N += weight

    def _slow_noise(self, count: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        clock = np.arange(count) * self.hoist.step_s
        total = np.zeros(count)
        for period in (3.0, 7.0, 17.0):
            total += np.sin(2.0 * np.pi * clock / period + self.random.uniform(0.0, 6.283)) / 2.0
        return total

    def _chance(self, share: float) -> bool:
        return bool(self.random.random() < share)
