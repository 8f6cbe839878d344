"""Loads of the stepped hoist against closed forms: springs, drag, slips, inertia."""

import numpy as np
import pytest

from monitor.simulate.demo_rig import demo_rig
from monitor.simulate.drill_string import DrillString
from monitor.simulate.hoist import RAIL_FRICTION_N, Hoist, Rock
from monitor.simulate.hole import Hole, TightSpot
from monitor.simulate.motion import travel_steps

STEP_S = 0.05


def hoist_at(bit_m: float = 2500.0) -> Hoist:
    """A hoist with its string free on the elevators, moved up a little."""
    rig = demo_rig()
    string = DrillString(rig.string, 1200.0)
    hole = Hole(string, 1450.0, 3000.0, np.random.default_rng(1))
    hoist = Hoist(rig, string, hole, block_m=1.2, bit_depth_m=bit_m, step_s=STEP_S)
    move(hoist, hoist.release_travel_m() + 3.0)
    # Stretch by friction changes a little along the way.
    assert hoist.bit_m == pytest.approx(bit_m - 3.0, abs=2e-3)
    return hoist


def move(hoist: Hoist, distance_m: float, speed_m_s: float = 0.1) -> None:
    """One move at one speed with nothing random in it."""
    random = np.random.default_rng(0)
    steps = travel_steps(distance_m, [(abs(distance_m), speed_m_s)], 0.2, STEP_S, random, 0.0)
    hoist.run(steps)


def mid_load_N(hoist: Hoist) -> float:
    """Hook load in the steady middle of the last leg."""
    trace = hoist.traces[-1]
    return float(trace.hook_load_N[3 * len(trace.hook_load_N) // 4])


def test_up_less_down_is_twice_the_friction() -> None:
    hoist = hoist_at()
    move(hoist, 4.0)
    up = mid_load_N(hoist)
    move(hoist, -4.0)
    down = mid_load_N(hoist)
    drag = float(hoist.hole.drag_N(2495.0, 1) + hoist.hole.drag_N(2495.0, -1))
    swab = 2.0 * float(hoist.hole.swab_N(2495.0, 0.1))
    assert up - down == pytest.approx(drag + swab + 2.0 * RAIL_FRICTION_N, rel=0.02)


def test_mean_of_up_and_down_rotating_is_the_buoyed_weight() -> None:
    hoist = hoist_at()
    hoist.rotating = True
    hoist.wait(10.0)
    move(hoist, 3.0)
    up = mid_load_N(hoist)
    move(hoist, -3.0)
    down = mid_load_N(hoist)
    weight = float(hoist.string.hanging_N(hoist.bit_m, hoist.block_m))
    assert (up + down) / 2.0 == pytest.approx(weight + 245e3, rel=0.005)


def test_stuck_string_is_a_spring_of_its_free_length() -> None:
    hoist = hoist_at()
    hoist.grip_N, hoist.grip_from_bit_m = 1e9, 300.0
    move(hoist, 1.0)
    before = hoist.elevator_N
    move(hoist, 0.5)
    upper = hoist.bit_m + hoist.block_m
    compliance = hoist.string.compliance_m_N(300.0, upper) + hoist.rig.hoist_compliance_m_N
    # Weight in air comes out of the mud as the block rises: under 0.2 kN here.
    assert hoist.elevator_N - before == pytest.approx(0.5 / compliance, rel=0.01)
    assert hoist.bit_m == pytest.approx(2497.0, abs=0.05)
    assert hoist.depth_m == pytest.approx(hoist.bit_m - 1.5, abs=0.05)


def test_pulls_on_a_stuck_string_enclose_work() -> None:
    # A loop of pull and set-down loses friction times travel: never gains.
    hoist = hoist_at()
    hoist.grip_N = 1e9
    move(hoist, 1.0)
    hoist.traces.clear()
    for distance in (1.0, -2.0, 1.0):
        move(hoist, distance)
    load = np.concatenate([t.hook_load_N for t in hoist.traces])
    steps = np.concatenate([t.step_m for t in hoist.traces])
    assert 0.0 < np.sum(load * steps) < 4.0 * 2.0 * 200e3


def test_tight_spot_holds_as_much_as_it_can_and_lets_go() -> None:
    hoist = hoist_at()
    bit = hoist.bit_m
    hoist.hole.spots.append(TightSpot(bit - 6.0, bit - 2.0, 80e3, 20e3))
    move(hoist, 14.0)
    excess = hoist.traces[-1].excess_N
    assert excess.max() == pytest.approx(80e3, rel=0.01)
    assert excess[-1] == pytest.approx(0.0, abs=1.0)
    # Less drag higher up, less stretch by it: millimetres.
    assert hoist.bit_m == pytest.approx(bit - 14.0, abs=5e-3)


def test_slips_take_the_load_over_centimetres_and_give_it_back() -> None:
    hoist = hoist_at()
    before, bit = hoist.elevator_N, hoist.bit_m
    hoist.wait(5.0)
    hoist.set_slips()
    move(hoist, -0.2)
    assert hoist.elevator_N == 0.0
    assert 0.01 < hoist.slack_travel_m() < 0.10
    assert hoist.bit_m == bit
    assert hoist.held_N == pytest.approx(before, rel=0.01)
    hoist.run(np.full(200, 0.2 / 200))
    move(hoist, hoist.release_travel_m())
    assert hoist.elevator_N == pytest.approx(hoist.held_N, rel=0.05)


def test_stand_hanging_while_the_string_is_in_slips() -> None:
    hoist = hoist_at()
    bit = hoist.bit_m
    hoist.set_slips()
    move(hoist, -0.2)
    move_empty = mid_load_N(hoist)
    hoist.latched, hoist.hanging_N = False, 9.7e3
    move(hoist, 0.5)
    assert hoist.in_slips
    assert mid_load_N(hoist) == pytest.approx(move_empty + 9.7e3 + 2 * RAIL_FRICTION_N, abs=500)
    assert hoist.bit_m == bit


def test_static_friction_breaks_over_after_a_stop() -> None:
    hoist = hoist_at()
    hoist.wait(60.0)
    move(hoist, 4.0)
    load = hoist.traces[-1].hook_load_N
    assert load.max() > mid_load_N(hoist) + 10e3
    assert abs(hoist.traces[-1].excess_N).max() == 0.0


def test_inertia_of_the_empty_block() -> None:
    hoist = hoist_at()
    hoist.set_slips()
    move(hoist, -0.2)
    hoist.latched = False
    random = np.random.default_rng(0)
    hoist.run(travel_steps(30.0, [(30.0, 1.5)], 0.5, STEP_S, random, 0.0))
    load = hoist.traces[-1].hook_load_N
    # Force is mass times acceleration, 245 kN / g at 0.5 m/s2, on top of rail friction.
    assert load[20] - mid_load_N(hoist) == pytest.approx(245e3 / 9.80665 * 0.5, rel=0.15)


def test_weight_on_bit_drills_off_when_the_block_stops() -> None:
    hoist = hoist_at(2999.0)
    hoist.rotating = True
    hoist.rock = Rock(0.015, 100e3)
    move(hoist, hoist.play_m(-1) - (3000.0 - hoist.bit_m))
    move(hoist, -0.5, 0.03)
    start, depth = -hoist.spring_N, hoist.hole.depth_m
    assert start > 50e3
    stiffness = hoist.stiffness_N_m
    hoist.wait(30.0)
    # First-order drill-off: time constant = reference weight / (stiffness * rate).
    constant_s = 100e3 / (stiffness * 0.015)
    assert -hoist.spring_N == pytest.approx(start * np.exp(-30.0 / constant_s), rel=0.01)
    drilled = hoist.hole.depth_m - depth
    assert drilled == pytest.approx((start + hoist.spring_N) / stiffness, rel=0.01)


def test_travel_profile_keeps_distance_speed_and_acceleration() -> None:
    random = np.random.default_rng(3)
    steps = travel_steps(-20.0, [(8.0, 0.8), (12.0, 0.2), (20.0, 0.8)], 0.25, STEP_S, random, 0.0)
    assert steps.sum() == pytest.approx(-20.0)
    speed = -steps / STEP_S
    assert speed.max() <= 0.82
    done = np.cumsum(-steps)
    slow = (done > 8.3) & (done < 11.8)
    assert speed[slow].max() < 0.22
    assert np.abs(np.diff(speed)).max() / STEP_S < 0.5
