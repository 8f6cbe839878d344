"""Friction from calibration points, against the truth of the simulated sheaves and rails."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from monitor.review.friction_points import friction_of_points
from monitor.rig.rig import Reeving, Rig
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import demo_rig_with_signal
from tests.simulate.test_simulation import micros, record

RAILS_N = 3.5e3  # the simulator's, either way


def held_points() -> tuple[np.ndarray, np.ndarray, tuple[str, ...], np.ndarray]:
    """Tension by the true sensor, hook load, way and height of each hold of the simulated test."""
    simulation = Simulation("calibration", 11, 0.3)
    rows, truth = record(simulation), simulation.truth()
    c0, c1, c2 = truth["sensor"]["coefficients"]
    tensions, loads, ways, heights = [], [], [], []
    for step in truth["load_steps"]:
        first = int(np.searchsorted(rows["time_us"], micros(step["start"]))) + 30
        last = int(np.searchsorted(rows["time_us"], micros(step["end"])))
        signal = float(rows["deadline_signal"][first:last].mean())
        tensions.append((np.sqrt(c1**2 + 4.0 * c2 * (signal - c0)) - c1) / (2.0 * c2))
        loads.append(245e3 + step["reference_load_kN"] * 1e3)
        ways.append(step["moved"])
        heights.append(float(rows["block_position"][first:last].mean()))
    return np.array(tensions), np.array(loads), tuple(ways), np.array(heights)


def test_efficiency_and_rail_drag_are_those_of_the_simulated_rig() -> None:
    told = friction_of_points(*held_points(), demo_rig_with_signal(), 10)
    assert told.found is not None
    assert told.n_loads == 5
    # The half widths are those of the scatter. The simulated sheaves hold a little of the
    # block's slowing down, which is in no formula: a tenth of the drag, seen over ten seeds.
    assert abs(told.found.sheave_efficiency - 0.985) < 1e-4
    assert told.found.efficiency_half_width < 0.001
    assert abs(told.found.rail_drag_N - RAILS_N) < (
        told.found.rail_drag_half_width_N + 0.1 * RAILS_N
    )
    assert not told.is_other
    wrong = replace(demo_rig_with_signal(), reeving=Reeving(10, 0.975))
    assert friction_of_points(*held_points(), wrong, 10).is_other


def test_one_load_or_one_way_tells_nothing_and_says_what_it_takes() -> None:
    tensions, loads, ways, heights = held_points()
    rig = demo_rig_with_signal()
    one_way = friction_of_points(tensions, loads, ("hoisting",) * len(ways), heights, rig, 10)
    assert one_way.found is None
    assert "after hoisting and after lowering" in one_way.why
    same = friction_of_points(tensions, np.full(len(loads), 245e3), ways, heights, rig, 10)
    assert (same.found, same.n_loads) == (None, 1)


def test_what_cannot_be_is_refused_with_the_reason() -> None:
    rig = Rig("invented", 245e3, Reeving(10, 0.985))
    # Going down reads less than going up: no sheave does that.
    tensions = np.array([25e3, 24e3, 50e3, 48e3, 75e3, 72e3])
    loads = np.repeat([245e3, 490e3, 735e3], 2)
    told = friction_of_points(
        tensions, loads, ("hoisting", "lowering") * 3, np.full(6, np.nan), rig, 10
    )
    assert told.found is None
    assert told.why.startswith("refused: ")
