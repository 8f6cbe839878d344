"""The simulated deviated well against closed forms and the soft string of the analysis."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from monitor.mechanics.drag import moving_weight_N
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.survey import well_path
from monitor.rig.file import parse_rig
from monitor.rig.rig import Section, SurveyStation
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import STRING, demo_rig, rig_text
from monitor.simulate.drill_string import DrillString
from monitor.simulate.well import Well

MUD = 1200.0
DEPTHS = np.arange(0.0, 4010.0, 10.0)
SMOOTH = np.ones_like(DEPTHS)
PIPE = Section("pipe", None, 0.127, 0.1086104, 343.0)


def survey(*stations: tuple[float, float, float]) -> tuple[SurveyStation, ...]:
    return tuple(
        SurveyStation(depth, math.radians(inclination), math.radians(azimuth))
        for depth, inclination, azimuth in stations
    )


def test_a_slant_drags_by_its_side_force() -> None:
    """Textbook statics: w L (cos I +- f sin I)."""
    string = DrillString((PIPE,), MUD)
    well = Well(string, survey((0, 60, 0), (4000, 60, 0)), 0.0, 0.25, DEPTHS, SMOOTH)
    weight = 343.0 * string.buoyancy * DEPTHS
    assert well.carried_N == pytest.approx(weight * (1.0 - math.cos(math.radians(60))))
    for drag in (well.drag_up_N, well.drag_down_N):
        assert drag == pytest.approx(0.25 * weight * math.sin(math.radians(60)))


def test_a_vertical_station_turns_nothing() -> None:
    """Its azimuth says nothing: a build in one plane, however that station is written."""
    string = DrillString(STRING, MUD)
    drags = [
        Well(string, survey((0, 0, 0), (500, 0, azimuth), (1100, 35, 120), (3000, 35, 120)),
             0.0, 0.3, DEPTHS, SMOOTH).drag_up_N
        for azimuth in (0, 77, 120)
    ]  # fmt: skip
    assert np.array_equal(drags[0], drags[1])
    assert drags[0] == pytest.approx(drags[2], rel=1e-9)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_turning_build_pulls_as_the_checked_soft_string_does(sign: float) -> None:
    """Angles straight between stations here, arcs there: 2 % of the weight apart at most."""
    path = survey((0, 0, 0), (600, 0, 0), (900, 12, 40), (1500, 55, 60), (2200, 80, 95),
                  (4000, 88, 100))  # fmt: skip
    well = Well(DrillString(STRING, MUD), path, 1450.0, 0.3, DEPTHS, SMOOTH)
    hole, depth = Hole(well_path(path), MUD, 1450.0), np.arange(500.0, 3600.0, 250.0)
    direction = "hoisting" if sign > 0 else "lowering"
    ours = moving_weight_N(STRING, hole, depth, 0.3, direction, cased_friction_factor=0.24)
    hanging = DrillString(STRING, MUD).hanging_N(depth, 0.0)
    table = well.drag_up_N if sign > 0 else -well.drag_down_N
    theirs = hanging + np.interp(depth, DEPTHS, table - well.carried_N)
    assert np.all(np.abs(theirs - ours) < 0.02 * ours)


def test_the_rig_file_of_a_simulated_well_says_its_survey() -> None:
    path = survey((0, 0, 0), (1000, 3.5, 10), (2000, 40.25, 350))
    read = parse_rig(rig_text(replace(demo_rig(), survey=path))).survey
    for ours, theirs in zip(path, read, strict=True):
        assert theirs.depth_m == ours.depth_m
        assert theirs.inclination_rad == pytest.approx(ours.inclination_rad, abs=1e-9)
        assert theirs.azimuth_rad == pytest.approx(ours.azimuth_rad, abs=1e-9)


def test_the_truth_says_the_friction_of_a_deviated_well_only() -> None:
    path = survey((0, 0, 0), (1000, 30, 0), (3000, 30, 0))
    truth = Simulation("trip_out", 1, hours=0.1, rig=replace(demo_rig(), survey=path)).truth()
    friction = truth["friction_factor"]
    assert 0.0 < friction["cased"] < friction["open"] < 0.5
    assert "friction_factor" not in Simulation("trip_out", 1, hours=0.1).truth()
