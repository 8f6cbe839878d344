"""Tripping: a stand out, a stand in, tight spots and ledges met on the way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from monitor.simulate.crew import STICK_UP_M, Crew
from monitor.simulate.hoist import Hoist
from monitor.simulate.hole import TightSpot

SHALLOWEST_M = 40.0  # bit depth at which a trip out ends and the assembly is changed
SPOT_CHANCE = 0.16  # a stand, in open hole
LEDGE_CHANCE = 0.11
CASED_SHARE = 0.15  # of those chances, in casing
REACTION_S = 1.2
CLEAR_M = 0.8  # beyond a spot before speeding up again


class Trips:
    """Scripts of trips over one hoist; each yields after every act so that it can stream."""

    def __init__(
        self, hoist: Hoist, crew: Crew, random: np.random.Generator, *, with_spots: bool = True
    ) -> None:
        self.hoist, self.crew, self.random = hoist, crew, random
        self.with_spots = with_spots
        self.racked_m: list[float] = []
        self._length_m = 0.0
        self.bottom_m = hoist.hole.depth_m - 25.0
        self._stick_up_m = hoist.block_m
        self.usual_stick_up_m = STICK_UP_M

    def connect_at(self, stick_up_m: float) -> None:
        """Leave so much pipe above the floor in slips from here on."""
        self._stick_up_m, self.usual_stick_up_m = self.hoist.block_m, stick_up_m

    def rounds(self, first: str) -> Iterator[None]:
        """Trip out and in for ever."""
        inward = first == "in"
        self.crew.pause(20.0)
        yield
        while True:
            yield from self.trip_in() if inward else self.trip_out()
            yield from self._between(surface=not inward)
            inward = not inward

    def trip_out(self, stands: int | None = None) -> Iterator[None]:
        """Pull stands until the assembly is near surface, or so many."""
        count = 0
        while self.hoist.bit_m - 28.6 > SHALLOWEST_M and (stands is None or count < stands):
            yield from self.stand_out()
            count += 1

    def trip_in(self) -> Iterator[None]:
        """Run stands in until near bottom."""
        while self.hoist.bit_m + 28.6 < self.bottom_m:
            yield from self.stand_in()

    def stand_out(self) -> Iterator[None]:
        """Pull one stand, from slips to slips, and rack it."""
        self.start_stand()
        yield
        yield from self.finish_stand()

    def start_stand(self) -> None:
        """Take a stand's load from the slips."""
        self._length_m = self.crew.stand_length_m()
        self.crew.take_load()

    def finish_stand(self) -> Iterator[None]:
        """Pull what is left of the stand, set slips, rack it, come down for the next."""
        hoist, crew, length = self.hoist, self.crew, self._length_m
        target = self._next_stick_up() + length
        yield from self._pull(target - hoist.block_m)
        weight = hoist.string.stand_weight_N(hoist.bit_m, length)
        if self.random.random() < 0.5:
            crew.pause(1.0)
            crew.move(-self.random.uniform(0.03, 0.15), 0.1)
        crew.give_load()
        yield
        self.racked_m.append(length)
        crew.pause(self._slow(30.0))
        yield
        hoist.latched, hoist.hanging_N = False, weight
        hoist.held_N -= weight  # broken out: no longer part of what the slips hold
        crew.move(self.random.uniform(0.3, 0.7), 0.15)
        crew.pause(9.0)
        crew.move(-self.random.uniform(0.4, 0.8), 0.2)
        hoist.hanging_N = 0.0
        crew.pause(4.0)
        yield
        crew.move(self._stick_up_m - hoist.block_m, crew.about(crew.empty_speed_m_s, 0.08))
        crew.pause(6.0)
        hoist.latched = True
        yield

    def stand_in(self) -> Iterator[None]:
        """Run one stand in, from slips to slips."""
        hoist, crew = self.hoist, self.crew
        length = self.racked_m.pop() if self.racked_m else crew.stand_length_m()
        weight = hoist.string.stand_weight_N(hoist.bit_m, length)
        hoist.latched = False
        top = self._stick_up_m + length
        crew.move(top - 0.3 - hoist.block_m, crew.about(crew.empty_speed_m_s, 0.08))
        crew.pause(7.0)
        yield
        hoist.hanging_N = weight
        crew.move(top + self.random.uniform(0.4, 0.8) - hoist.block_m, 0.2)
        crew.pause(6.0)
        crew.move(top - 0.02 - hoist.block_m, 0.15)
        hoist.hanging_N = 0.0
        yield
        crew.pause(self._slow(26.0))
        hoist.latched = True
        hoist.held_N += weight  # made up: the stand now belongs to what the slips hold
        yield
        crew.take_load()
        crew.pause(1.2)
        yield
        target = self._next_stick_up()
        yield from self._lower(hoist.block_m - target)
        crew.give_load()
        crew.pause(5.0)
        yield

    def _next_stick_up(self) -> float:
        self._stick_up_m = self.usual_stick_up_m + 0.08 * float(self.random.uniform(-1.0, 1.0))
        return self._stick_up_m

    def _slow(self, seconds: float) -> float:
        # Collars and heavy-weight pipe take longer to break and make up.
        return seconds * (1.8 if self.hoist.bit_m < 200.0 else 1.0)

    def _pull(self, distance_m: float) -> Iterator[None]:
        hoist, crew, speed = self.hoist, self.crew, self.crew.pull_speed_m_s()
        bit, start = hoist.bit_m, hoist.block_m
        self._meet_spots(bit - distance_m + 3.0, bit - 1.5, up=True)
        spots = [s for s in hoist.hole.spots_between(bit - distance_m, bit) if s.up_N > 25e3]
        for spot in sorted(spots, key=lambda s: -s.bottom_m):
            entry = hoist.play_m(1) + hoist.bit_m - spot.bottom_m + speed * REACTION_S * 0.5
            if 0.5 < entry < distance_m - 1.0 and spot.up_N > 110e3 and self.random.random() < 0.5:
                # Pulled into it, stopped, let down, tried again slowly.
                crew.move(entry, min(speed, 0.4))
                crew.pause(3.0)
                crew.move(-self.random.uniform(1.0, 2.5), 0.2)
                crew.pause(3.0)
                yield
        left = start + distance_m - hoist.block_m
        crew.move_by(self._stretches(left, speed, spots), left)
        yield

    def _lower(self, distance_m: float) -> Iterator[None]:
        hoist, crew = self.hoist, self.crew
        speed = crew.about(crew.in_speed_m_s, 0.08)
        bit = hoist.bit_m
        self._meet_spots(bit + 3.0, bit + distance_m - 2.0, up=False)
        spots = hoist.hole.spots_between(bit, bit + distance_m)
        spots = [spot for spot in spots if spot.down_N > 25e3]
        crew.move_by(self._stretches(-distance_m, speed, spots), -distance_m)
        yield

    def _stretches(
        self, travel_m: float, speed: float, spots: list[TightSpot]
    ) -> list[tuple[float, float]]:
        # Normal speed, slow from a moment after each spot begins until it is behind.
        direction = 1.0 if travel_m < 0.0 else -1.0  # of the bit
        start = self.hoist.bit_m + self.hoist.play_m(-int(direction))  # the bit stays at first
        rows, slow = [], max(0.08, speed * self.random.uniform(0.15, 0.5))
        for spot in sorted(spots, key=lambda s: direction * s.top_m):
            near, far = (
                (spot.top_m, spot.bottom_m) if direction > 0 else (spot.bottom_m, spot.top_m)
            )
            begin = (near - start) * direction + REACTION_S * speed
            # The bit hangs behind by the stretch of a held string.
            behind = max(spot.up_N, spot.down_N) / self.hoist.stiffness_N_m
            stop = (far - start) * direction + CLEAR_M + behind
            if stop > begin > 0.0:
                rows += [(begin, speed), (stop, slow)]
        rows.sort()
        return [*rows, (abs(travel_m), speed)]

    def _meet_spots(self, low_m: float, high_m: float, *, up: bool) -> None:
        if not self.with_spots or high_m - low_m < 8.0:
            return
        self._fade(low_m, high_m)
        chance = SPOT_CHANCE if up else LEDGE_CHANCE
        if low_m < self.hoist.hole.shoe_m:
            chance *= CASED_SHARE
        if self.random.random() >= chance:
            return
        length = float(np.exp(self.random.uniform(np.log(1.6), np.log(6.0))))
        middle = self.random.uniform(low_m + length / 2.0, high_m - length / 2.0)
        size = float(np.exp(self.random.uniform(np.log(12e3), np.log(200e3))))
        # A light string cannot push hard, and nobody pulls a short one by 200 kN.
        weight = float(self.hoist.hole.hanging_N(low_m, 0.0))
        size = min(size, 0.5 * weight)
        other = size * self.random.uniform(0.0, 0.6)
        force_up, force_down = (size, other) if up else (other, size)
        edge = self.random.uniform(0.15, 0.6)
        spot = TightSpot(middle - length / 2.0, middle + length / 2.0, force_up, force_down, edge)
        self.hoist.hole.spots.append(spot)

    def _fade(self, low_m: float, high_m: float) -> None:
        # The assembly wipes a spot as it passes: it is weaker or gone the next time.
        kept = []
        for spot in self.hoist.hole.spots:
            if spot.bottom_m > low_m and spot.top_m < high_m:
                share = self.random.uniform(0.0, 1.0)
                if share > 0.5:
                    kept.append(replace(spot, up_N=spot.up_N * share, down_N=spot.down_N * share))
            else:
                kept.append(spot)
        self.hoist.hole.spots[:] = kept

    def _between(self, *, surface: bool) -> Iterator[None]:
        # The assembly is changed at surface; on bottom somebody circulates in slips.
        for _ in range(20 if surface else 10):
            self.hoist.wait(60.0)
            yield
