"""Braking: distance and speed, room to crown and floor, deceleration, energy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.braking import (
    braking_deceleration_m_s2,
    braking_energy_J,
    greatest_speed_m_s,
    room_to_stop_m,
    stopping_distance_m,
)
from monitor.mechanics.reeving import line_tensions_N
from monitor.units import STANDARD_GRAVITY_m_s2

speeds = st.floats(min_value=0.01, max_value=5.0)
slowings = st.floats(min_value=0.1, max_value=10.0)
delays = st.floats(min_value=0.0, max_value=2.0)


@given(speeds, slowings, delays)
def test_greatest_speed_is_the_inverse_of_the_distance(v, a, t):
    distance = stopping_distance_m(v, a, t)
    assert greatest_speed_m_s(distance, a, t) == pytest.approx(v, rel=1e-9)
    assert stopping_distance_m(-v, a, t) == distance


@given(speeds, slowings, delays, st.floats(1.01, 3.0))
def test_distance_grows_with_speed_and_delay_and_falls_with_the_brake(v, a, t, more):
    distance = stopping_distance_m(v, a, t)
    assert stopping_distance_m(v * more, a, t) > distance
    assert stopping_distance_m(v, a, t + more) > distance
    assert stopping_distance_m(v, a * more, t) < distance


def test_stopping_by_small_steps():
    """Integrated in steps of a millisecond: 0.4 s of reaction, then 1.7 m/s2."""
    v, z, time, step = 2.3, 0.0, 0.0, 1e-3
    while v > 0.0:
        v -= 1.7 * step if time >= 0.4 else 0.0
        z, time = z + max(v, 0.0) * step, time + step
    assert stopping_distance_m(2.3, 1.7, 0.4) == pytest.approx(z, abs=0.005)


def test_edges_of_stopping():
    a = np.array([1.0, 0.0, -1.0, math.nan, 1.0])
    v = np.array([0.0, 1.0, -1.0, 1.0, math.nan])
    expected = [0.0, math.inf, math.inf, math.nan, math.nan]
    np.testing.assert_array_equal(stopping_distance_m(v, a), expected)
    assert greatest_speed_m_s(-1.0, 2.0, 0.5) == 0.0
    assert greatest_speed_m_s(5.0, 0.0) == 0.0
    assert math.isnan(greatest_speed_m_s(math.nan, 2.0))


def test_room_by_direction():
    z, v = np.array([30.0, 30.0, 30.0, 2.0]), np.array([2.0, -2.0, 0.0, 0.0])
    room = room_to_stop_m(z, v, 1.0, 0.5, 0.5, 38.0)
    np.testing.assert_allclose(room, [8 - 3, 29.5 - 3, 8.0, 1.5])


@given(st.floats(1e5, 5e6), st.floats(0.0, 4e5), st.floats(0.9, 1.0), st.floats(0.0, 2e4))
def test_motion_obeys_the_tensions_of_the_lines(load, torque, e, inertia):
    """From the deceleration back: line tensions, drum and brake must balance."""
    n, diameter = 10, 0.9
    mass = load / STANDARD_GRAVITY_m_s2
    for direction, turned in (("lowering", 1 / e), ("hoisting", e)):
        a = braking_deceleration_m_s2(load, torque, diameter, n, e, direction, inertia)
        on_lines = load + mass * a if direction == "lowering" else load - mass * a
        # The fast line lies one turning sheave before the first line.
        fast = line_tensions_N(on_lines, n, e, direction)[0] / turned
        alpha = a * n / (diameter / 2)
        if direction == "lowering":
            assert torque == pytest.approx(fast * diameter / 2 + inertia * alpha, abs=1e-3)
        elif a < STANDARD_GRAVITY_m_s2 * (1 - 1e-12):
            assert inertia * alpha == pytest.approx(fast * diameter / 2 + torque, abs=1e-3)
        else:  # slack: the drum is stopped sooner than the block
            assert inertia * alpha <= torque + 1e-3


@given(st.floats(1e5, 3e6), speeds)
def test_energy_balance_without_friction(load, v):
    """Drum work over the stopping distance is the energy taken off."""
    torque, n, diameter = 200e3, 10, 0.9
    a = braking_deceleration_m_s2(load, torque, diameter, n, 1.0, "lowering")
    assert a > 0.0
    distance = stopping_distance_m(v, a)
    turned = distance * n / (diameter / 2)
    assert braking_energy_J(load, v, distance) == pytest.approx(torque * turned, rel=1e-9)


def test_brake_that_cannot_hold():
    """Just held, the load goes on at its speed; less, it runs away."""
    assert braking_deceleration_m_s2(1e6, 40e3, 0.8, 10, 1.0, "lowering") == pytest.approx(0.0)
    assert braking_deceleration_m_s2(1e6, 30e3, 0.8, 10, 1.0, "lowering") < 0.0
    heavier = braking_deceleration_m_s2(
        1e6, 80e3, 0.8, 10, 1.0, "lowering", moving_mass_kg=1e6 / 9.80665 / 0.85
    )
    assert heavier == pytest.approx(0.85 * 9.80665)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: stopping_distance_m(1.0, 1.0, -0.1), "reaction_time_s is -0.1"),
        (lambda: greatest_speed_m_s(1.0, 1.0, -0.1), "reaction_time_s is -0.1"),
        (lambda: room_to_stop_m(1.0, 1.0, 1.0, 0.5, 38.0, 0.5), "crown_m is 0.5; must be above"),
        (lambda: braking_deceleration_m_s2(1e6, 1.0, 0.8, 10, 1.0, "held"), "direction is 'held'"),
        (lambda: braking_deceleration_m_s2(0.0, 1.0, 0.8, 10, 1.0, "lowering"), "load_N is 0.0"),
        (lambda: braking_energy_J(1e6, 1.0, -1.0), "distance_m is -1.0"),
    ],
)
def test_refusals(call, match):
    with pytest.raises(ValueError, match=match):
        call()
