"""The scenarios: what is set up and which story is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from monitor.rig.rig import Rig, Section
from monitor.simulate.calibration import CHANNELS as CALIBRATION_CHANNELS
from monitor.simulate.calibration import WORKING_HEIGHT_M, LoadTest, Transmitter
from monitor.simulate.crew import STAND_LENGTH_M, STICK_UP_M, Crew
from monitor.simulate.demo_rig import CASING_SHOE_M
from monitor.simulate.drill_string import DrillString
from monitor.simulate.drilling import Drilling
from monitor.simulate.floater import IN_SLIPS_M, Floater
from monitor.simulate.floating import FloatingHoist
from monitor.simulate.hoist import Hoist
from monitor.simulate.hole import Hole
from monitor.simulate.sea import Sea
from monitor.simulate.stuck import StuckPipe, StuckSpell
from monitor.simulate.trips import SHALLOWEST_M, Trips

SCENARIOS: tuple[str, ...] = (
    "trip_out",
    "trip_in",
    "drilling",
    "stuck_pipe",
    "floater",
    "calibration",
)
TRIP_CHANNELS = ("deadline_tension", "block_position", "trip_tank_volume")

DRILLING_CHANNELS = (
    "deadline_tension",
    "block_position",
    "rotary_speed",
    "torque",
    "flow_in",
    "standpipe_pressure",
)
FLOATER_CHANNELS = (*DRILLING_CHANNELS, "heave", "compensator_stroke")


@dataclass
class Story:
    """A hoist, the script that drives it, and what the script knows."""

    hoist: Hoist
    script: Iterator[None]
    channels: tuple[str, ...] = TRIP_CHANNELS
    stuck: list[StuckSpell] = field(default_factory=list)
    transmitter: Transmitter | None = None  # where the sensor gives its raw signal
    load_test: LoadTest | None = None


def _shoe_m(rig: Rig) -> float:
    # Casing down to the mark that is called a shoe, else to the demo rig's.
    for mark in rig.depth_marks:
        if "shoe" in mark.name:
            return mark.depth_m
    return CASING_SHOE_M


def open_story(
    scenario: str,
    seed: int,
    rig: Rig,
    sections: tuple[Section, ...],
    mud_density_kg_m3: float,
    step_s: float,
) -> Story:
    """Set up a scenario; nothing has moved yet."""
    random = np.random.default_rng([seed, SCENARIOS.index(scenario)])
    string = DrillString(sections, mud_density_kg_m3)
    depth = float(random.uniform(2500.0, 3300.0))
    hole = Hole(string, _shoe_m(rig), depth, random, rig.survey)
    bit = depth - float(random.uniform(8.0, 25.0))
    block = STICK_UP_M
    if scenario == "trip_in":
        # From surface, or the rest of a trip that began before the record.
        low, high = ((SHALLOWEST_M, 70.0), (1200.0, 2200.0))[int(random.integers(2))]
        bit = float(random.uniform(low, high))
    elif scenario == "drilling":
        bit, block = depth - float(random.uniform(0.6, 2.0)), STICK_UP_M + STAND_LENGTH_M
    elif scenario == "calibration":
        block = WORKING_HEIGHT_M
    elif scenario == "floater":
        return _floating(rig, hole, depth, random, step_s)
    hoist = Hoist(rig, string, hole, block_m=block, bit_depth_m=bit, step_s=step_s)
    crew = Crew(hoist, random)
    if scenario == "drilling":
        return Story(hoist, Drilling(hoist, crew, random).stands(), DRILLING_CHANNELS)
    if scenario == "calibration":
        load_test = LoadTest(hoist, crew)
        return Story(
            hoist,
            load_test.story(),
            CALIBRATION_CHANNELS,
            transmitter=Transmitter.of(rig, random),
            load_test=load_test,
        )
    trips = Trips(hoist, crew, random)
    if scenario == "stuck_pipe":
        stuck = StuckPipe(hoist, crew, trips, random)
        return Story(hoist, stuck.story(), stuck=stuck.spells)
    return Story(hoist, trips.rounds("in" if scenario == "trip_in" else "out"))


def _floating(
    rig: Rig, hole: Hole, depth_m: float, random: np.random.Generator, step_s: float
) -> Story:
    # In slips with the bit clear of bottom by more than the vessel heaves.
    block = IN_SLIPS_M + float(random.uniform(8.0, 14.0))
    bit = depth_m - float(random.uniform(3.0, 3.6))
    sea = Sea(random)
    hoist = FloatingHoist(
        rig, hole.string, hole, sea, block_m=block, bit_depth_m=bit, step_s=step_s
    )
    floater = Floater(hoist, Crew(hoist, random), random)
    return Story(hoist, floater.story(), FLOATER_CHANNELS)
