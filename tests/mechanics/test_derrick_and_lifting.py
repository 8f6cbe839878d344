"""Leg loads of the derrick; lifting power, speed, drum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.derrick import (
    derrick_efficiency_factor,
    derrick_leg_loads_N,
    equivalent_derrick_load_N,
)
from monitor.mechanics.fast_line import derrick_load_N, fast_line_tension_N
from monitor.mechanics.lifting import (
    drum_speed_rad_s,
    drum_torque_Nm,
    lifting_power_W,
    lifting_speed_m_s,
)
from monitor.mechanics.reeving import dead_line_tension_N

lines = st.integers(min_value=1, max_value=8).map(lambda k: 2 * k)
efficiencies = st.floats(min_value=0.9, max_value=1.0)
loads = st.floats(min_value=1e4, max_value=1e7)


@given(lines, efficiencies, loads, st.sampled_from(["held", "hoisting", "lowering"]))
def test_legs_add_up_to_the_derrick_load(n, e, load, direction):
    fast = fast_line_tension_N(load, n, e, direction)
    dead = dead_line_tension_N(load, n, e, "fixed", direction)
    legs = derrick_leg_loads_N(load, fast, dead, 50e3)
    total = derrick_load_N(load, n, e, "fixed", direction) + 50e3
    assert legs.sum() == pytest.approx(total, rel=1e-12)
    assert equivalent_derrick_load_N(legs) >= total
    assert 0.25 < derrick_efficiency_factor(legs) <= 1.0


def test_legs_that_share_evenly_have_factor_one():
    even = (0.25, 0.25, 0.25, 0.25)
    legs = derrick_leg_loads_N(1e6, 1e5, 1e5, 0.0, even, even)
    assert derrick_efficiency_factor(legs) == pytest.approx(1.0, rel=1e-15)


def test_legs_of_a_record():
    load = np.array([1e6, math.nan])
    legs = derrick_leg_loads_N(load, load / 10, load / 10)
    assert legs.shape == (4, 2)
    np.testing.assert_allclose(equivalent_derrick_load_N(legs), [1.4e6, math.nan])
    np.testing.assert_allclose(derrick_efficiency_factor(legs), [1.2 / 1.4, math.nan])


@given(lines, efficiencies, loads, st.floats(0.01, 2.0))
def test_power_is_the_fast_lines_work_and_speed_its_inverse(n, e, load, speed):
    power = lifting_power_W(load, speed, n, e, 1)
    assert power == pytest.approx(fast_line_tension_N(load, n, e, "hoisting", 1) * n * speed)
    assert power >= load * speed * (1 - 1e-12)
    assert lifting_speed_m_s(power, load, n, e, 1) == pytest.approx(speed, rel=1e-12)
    torque = drum_torque_Nm(fast_line_tension_N(load, n, e, "hoisting", 1), 0.8)
    assert torque * drum_speed_rad_s(speed, n, 0.8) == pytest.approx(power, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: derrick_leg_loads_N(-1.0, 0.0, 0.0), "load_N is -1.0; must be at least 0"),
        (lambda: derrick_leg_loads_N(1.0, 0.0, 0.0, 0.0, (1.0, 0.5, 0, 0)), "fast_line_shares"),
        (lambda: equivalent_derrick_load_N(np.ones(3)), "has 3 legs; must be 4"),
        (lambda: lifting_speed_m_s(1e6, 0.0, 10, 0.98), "load_N is 0.0; must be above 0"),
        (lambda: lifting_power_W(1e6, -0.1, 10, 0.98), "block_speed_m_s is -0.1"),
        (lambda: drum_speed_rad_s(1.0, 10, 0.0), "drum_pitch_diameter_m is 0.0"),
        (lambda: drum_torque_Nm(-1.0, 1.0), "fast_line_tension_N is -1.0"),
    ],
)  # fmt: skip
def test_refusals(call, match):
    with pytest.raises(ValueError, match=match):
        call()
