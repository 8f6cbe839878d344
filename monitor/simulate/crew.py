"""The crew: how fast, how smoothly, how long each act takes, drawn from a seed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.simulate.hoist import Hoist
from monitor.simulate.motion import travel_steps

HOIST_POWER_W = 1.15e6  # at the hook
STAND_LENGTH_M = 28.4
STAND_SPREAD_M = 0.12
STICK_UP_M = 1.15  # tool joint, and with it the elevators, above the floor in slips


class Crew:
    """Habits of one crew, and small acts made of waits and moves."""

    def __init__(self, hoist: Hoist, random: np.random.Generator) -> None:
        self.hoist, self.random = hoist, random
        self.out_speed_m_s = random.uniform(0.55, 0.95)
        self.in_speed_m_s = random.uniform(0.55, 0.90)
        self.empty_speed_m_s = random.uniform(0.9, 1.5)
        self.acceleration_m_s2 = random.uniform(0.12, 0.32)
        self.pace = random.uniform(0.85, 1.3)  # multiplies all times at rest

    def about(self, middle: float, spread: float = 0.15) -> float:
        """Draw a value near the middle, never below a third of it."""
        return float(max(middle * (1.0 + spread * self.random.standard_normal()), middle / 3.0))

    def pause(self, seconds: float) -> None:
        """Stand still for about so long."""
        self.hoist.wait(self.about(seconds * self.pace, 0.25))

    def move(self, distance_m: float, speed_m_s: float) -> None:
        """Move the block at one speed, as far as given."""
        self.move_by([(abs(distance_m), speed_m_s)], distance_m)

    def move_by(self, stretches: Sequence[tuple[float, float]], distance_m: float) -> None:
        """Move the block with the speeds given by stretch."""
        steps = travel_steps(
            distance_m,
            stretches,
            self.about(self.acceleration_m_s2),
            self.hoist.step_s,
            self.random,
        )
        self.hoist.run(steps)

    def pull_speed_m_s(self) -> float:
        """Choose the hoisting speed for the load: habit, or what the power allows."""
        load = self.hoist.moving_load_N(1, 0.5)
        return min(self.about(self.out_speed_m_s, 0.06), HOIST_POWER_W / load)

    def stand_length_m(self) -> float:
        """Draw the length of one stand."""
        return float(STAND_LENGTH_M + STAND_SPREAD_M * self.random.standard_normal())

    def take_load(self) -> None:
        """Take it from the slips: creep until the load is on, lift a little, slips out."""
        lift = self.random.uniform(0.10, 0.30)
        self.move(self.hoist.release_travel_m() + lift, self.random.uniform(0.05, 0.14))

    def give_load(self) -> None:
        """Set the slips and slack off until the elevators hang empty."""
        self.pause(2.5)
        self.hoist.set_slips()
        clearance = self.random.uniform(0.01, 0.03)
        self.move(-(self.hoist.slack_travel_m() + clearance), self.random.uniform(0.04, 0.1))
