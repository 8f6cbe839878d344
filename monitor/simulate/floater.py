"""A floating rig: drilling with the compensator open, connections and trips with it locked."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from monitor.simulate.crew import Crew
from monitor.simulate.drilling import REFERENCE_WEIGHT_N, Drilling
from monitor.simulate.floating import FloatingHoist
from monitor.simulate.hoist import Rock
from monitor.simulate.trips import Trips

LOWEST_HOOK_M = 1.0  # where a stand is drilled down
IN_SLIPS_M = 4.0  # elevators above the floor at a connection: the bit must clear bottom
FEED_S = 15.0  # the brake is set anew about so often
CENTRE_PER_S = 0.008  # of the stroke off its middle, taken out by feeding
PRESSURE_S = 25.0  # to let gas in or out
WIPER_STANDS = (5, 9)


class Floater:
    """Script: drill stands, then a short trip out and in, and again."""

    def __init__(self, hoist: FloatingHoist, crew: Crew, random: np.random.Generator) -> None:
        self.hoist, self.crew, self.random = hoist, crew, random
        self.trips = Trips(hoist, crew, random)
        self.drilling = Drilling(hoist, crew, random)

    def story(self) -> Iterator[None]:
        """Drill and trip for ever."""
        self.crew.pause(30.0)
        yield
        while True:
            stands = int(self.random.integers(1, 3))
            for k in range(stands):
                yield from self.to_bottom()
                yield from self.drill_down()
                yield from self.off_bottom()
                if k < stands - 1:
                    yield from self.drilling.connection()
            yield from self.wiper_trip()
            yield from self.drilling.connection()

    def to_bottom(self) -> Iterator[None]:
        """From slips: pumps, load, rotation, the compensator open, then weight on the bit."""
        hoist, crew, drilling = self.hoist, self.crew, self.drilling
        hoist.panel.pumps(drilling.flow_m3_s)
        crew.pause(14.0)
        yield
        hoist.rock = Rock(drilling.rate_m_s, REFERENCE_WEIGHT_N)
        crew.take_load()
        hoist.rotating = True
        hoist.panel.rotate(drilling.rotary_rad_s)
        crew.move(4.0, 0.2)
        crew.pause(12.0)
        yield
        # Gas let out until the string hangs at half stroke.
        hoist.unlock()
        hoist.set_pressure(self._free_N(), PRESSURE_S)
        hoist.wait(PRESSURE_S + 5.0)
        yield
        free = hoist.hole.depth_m - hoist.bit_m
        if free > 2.5:
            crew.move(-(free - 2.5), 0.12)
            # A wave or two to read the weight off bottom, friction in the sheaves turned.
            crew.pause(22.0)
            yield
        # Less pressure: the string comes down, and what the gas no longer carries is on
        # the bit. The block follows to bring the compensator back to its middle.
        hoist.set_pressure(self._free_N() - drilling.weight_N, PRESSURE_S)
        while hoist.spring_N > -0.5 * drilling.weight_N or hoist.stroke_m > 0.6 * self._whole:
            crew.move(-0.4, 0.06)
            crew.pause(1.0)
            yield

    def drill_down(self) -> Iterator[None]:
        """Feed the block until the stand is down, the stroke about its middle."""
        hoist, drilling = self.hoist, self.drilling
        while hoist.hook_m > LOWEST_HOOK_M:
            rate = drilling.rate_m_s * self.random.uniform(0.75, 1.25)
            hoist.rock = Rock(rate, REFERENCE_WEIGHT_N)
            feed = rate * drilling.weight_N / REFERENCE_WEIGHT_N
            feed += CENTRE_PER_S * (hoist.stroke_m - self._whole / 2.0)
            count = round(FEED_S / hoist.step_s)
            hoist.run(np.full(count, -max(feed, 0.1 * rate) * hoist.step_s))
            yield

    def off_bottom(self) -> Iterator[None]:
        """Gas in until the string is lifted and the stroke drawn in; lock, catch weights."""
        hoist, crew = self.hoist, self.crew
        crew.pause(8.0)
        drawn_in_N = self._free_N() + 1.2 * hoist.spring_N_m * self._whole
        hoist.set_pressure(drawn_in_N, PRESSURE_S)
        hoist.wait(PRESSURE_S)
        while hoist.stroke_m > 0.02:
            hoist.middle_N += 5e3
            hoist.set_pressure(hoist.middle_N, 0.0)
            hoist.wait(2.0)
            yield
        hoist.lock()
        crew.move(3.0, 0.18)
        hoist.rotating = False
        hoist.panel.rotate(0.0)
        crew.pause(10.0)
        yield
        crew.move(3.0, 0.18)
        crew.pause(12.0)
        crew.move(-3.0, 0.18)
        crew.pause(12.0)
        yield
        target = IN_SLIPS_M + 0.2 * self.random.uniform(-1.0, 1.0)
        target = max(target, hoist.block_m - (hoist.hole.depth_m - hoist.bit_m) + 2.5)
        crew.move(target - hoist.block_m, 0.15)
        hoist.panel.pumps(0.0)
        crew.pause(6.0)
        crew.give_load()
        hoist.rock = None
        yield

    def wiper_trip(self) -> Iterator[None]:
        """Pull some stands and run them in again, to where the connection was."""
        trips = self.trips
        trips.connect_at(IN_SLIPS_M)
        self.crew.pause(90.0)
        yield
        stands = int(self.random.integers(*WIPER_STANDS))
        yield from trips.trip_out(stands)
        self.crew.pause(60.0)
        yield
        while trips.racked_m:
            yield from trips.stand_in()

    @property
    def _whole(self) -> float:
        return self.hoist.stroke_limit_m

    def _free_N(self) -> float:
        # Load on the compensator off bottom, friction turned neither way.
        hoist = self.hoist
        weight = float(hoist.hole.hanging_N(hoist.depth_m, hoist.hook_m))
        return weight + hoist.gear_below_N
