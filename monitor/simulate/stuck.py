"""An invented stuck pipe: trip out, drag rising, stuck, worked, free in the end or not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.simulate.crew import Crew
from monitor.simulate.hoist import Hoist, Trap
from monitor.simulate.hole import TightSpot
from monitor.simulate.trips import Trips

GRIP_N = 6.0e6  # more than anybody pulls
FREE_CHANCE = 0.7
RELEASE_S = 4.0  # the grip weakens by 1/e in so long once it lets go
FREED_N = 8e3
REST_S = 420.0  # between rounds of pulls
MOST_MOVES = 3  # to a load wished
NEAR_N = 5e3  # the crew reads it so well


@dataclass
class StuckSpell:
    """One spell of a stuck string; steps count from the start of the record."""

    start: int
    bit_depth_m: float
    free_length_m: float
    end: int | None = None
    greatest_pull_N: float = 0.0
    pulls: int = 0

    def row(self) -> dict[str, Any]:
        """Give the part of the truth that has no time in it."""
        return {
            "bit_depth_m": round(self.bit_depth_m, 3),
            "free_length_m": round(self.free_length_m, 2),
            "pulls": self.pulls,
            "greatest_pull_over_free_weight_kN": round(self.greatest_pull_N / 1e3, 1),
        }


class StuckPipe:
    """Script of the story over one hoist and its trips."""

    def __init__(
        self, hoist: Hoist, crew: Crew, trips: Trips, random: np.random.Generator
    ) -> None:
        self.hoist, self.crew, self.trips, self.random = hoist, crew, trips, random
        self.spells: list[StuckSpell] = []

    def story(self) -> Iterator[None]:
        """Tell it all; after it the trip goes on, if it can."""
        random, trips = self.random, self.trips
        self.crew.pause(20.0)
        yield
        trips.with_spots = False
        yield from trips.trip_out(int(random.integers(4, 8)))
        size = random.uniform(30e3, 45e3)
        for _ in range(int(random.integers(3, 6))):
            self._tight_spot(size)
            yield from trips.stand_out()
            size *= random.uniform(1.15, 1.45)
        yield from self._get_stuck()
        yield from self._work()
        self.hoist.trap = None
        yield from trips.finish_stand()
        trips.with_spots = True
        yield from trips.rounds("out")

    def _tight_spot(self, size_N: float) -> None:
        bit = self.hoist.bit_m
        bottom = bit - self.random.uniform(4.0, 18.0)
        top = bottom - self.random.uniform(1.5, 6.0)
        self.hoist.hole.spots.append(TightSpot(top, bottom, size_N, 0.4 * size_N, 0.8))

    def _get_stuck(self) -> Iterator[None]:
        hoist, crew, random = self.hoist, self.crew, self.random
        grip_from_bit = random.uniform(15.0, 320.0)
        trips = self.trips
        trips.start_stand()
        yield
        way = random.uniform(6.0, 16.0)
        trap = Trap(hoist.bit_m - way, GRIP_N, grip_from_bit)
        hoist.trap = trap
        bit = trap.bit_m
        rise = random.uniform(120e3, 220e3) / hoist.stiffness_to_N_m(grip_from_bit)
        crew.move(hoist.play_m(1) + way + rise, min(crew.pull_speed_m_s(), 0.45))
        if trap.step is None:
            raise RuntimeError("the story's string did not stick")
        spell = StuckSpell(trap.step, hoist.depth_m, bit - grip_from_bit)
        self.spells.append(spell)
        crew.pause(15.0)
        yield

    def _work(self) -> Iterator[None]:
        random, spell = self.random, self.spells[-1]
        will_free = bool(random.random() < FREE_CHANCE)
        while True:
            pulls = int(random.integers(5, 9))
            for k in range(pulls):
                yield from self._loop(releases=will_free and k == pulls - 1)
                if spell.end is not None:
                    return
            self._load_to(0.0, 0.1)
            for _ in range(int(REST_S / 30.0)):
                self.hoist.wait(30.0)
                yield

    def _loop(self, *, releases: bool) -> Iterator[None]:
        # One set-down and one pull; the last pull lets go.
        random, crew, spell = self.random, self.crew, self.spells[-1]
        self._load_to(-random.uniform(40e3, 160e3), random.uniform(0.08, 0.2))
        crew.pause(8.0)
        yield
        pull = random.uniform(230e3, 400e3)
        spell.pulls += 1
        self._load_to(pull, random.uniform(0.05, 0.15))
        spell.greatest_pull_N = max(spell.greatest_pull_N, self.hoist.spring_N)
        crew.pause(12.0)
        yield
        if releases:
            yield from self._let_go()

    def _let_go(self) -> Iterator[None]:
        hoist, spell = self.hoist, self.spells[-1]
        hoist.grip_N = 1.3 * abs(hoist.spring_N)
        hoist.grip_decay = float(np.exp(-hoist.step_s / RELEASE_S))
        while hoist.spring_N > FREED_N:
            hoist.wait(0.5)
        spell.end = hoist.steps
        hoist.grip_N, hoist.grip_decay, hoist.grip_from_bit_m = 0.0, 1.0, 0.0
        self.crew.pause(20.0)
        yield

    def _load_to(self, spring_N: float, speed_m_s: float) -> None:
        # Where friction turns over is told by the load alone: moved again until it is there.
        rising = spring_N > self.hoist.spring_N
        for _ in range(MOST_MOVES):
            distance = self.hoist.travel_to_m(spring_N)
            short_N = abs(spring_N - self.hoist.spring_N)
            if short_N < NEAR_N or (distance > 0.0) != rising:
                return
            self.crew.move(distance, speed_m_s)
