"""Laws of the block and tackle that hold for any string-up."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.fast_line import (
    block_and_tackle_efficiency,
    derrick_load_N,
    fast_line_tension_N,
)
from monitor.mechanics.reeving import (
    DIRECTIONS,
    dead_line_tension_N,
    line_tensions_N,
    load_factor,
    load_factor_hoisting,
    load_factor_lowering,
)

lines = st.integers(min_value=2, max_value=16)
efficiencies = st.floats(min_value=0.9, max_value=0.9999)
sheaves = st.sampled_from(["fixed", "turning"])


@given(lines, efficiencies, sheaves)
def test_hoisting_above_lines_above_lowering(n, e, sheave):
    assert load_factor_hoisting(n, e, sheave) > n > load_factor_lowering(n, e, sheave)


@given(lines, efficiencies)
def test_closed_forms(n, e):
    up, down = (1 - e**-n) / (1 - 1 / e), (1 - e**n) / (1 - e)
    # The closed forms lose digits as e nears 1; the sums do not.
    assert load_factor_hoisting(n, e) == pytest.approx(up, rel=1e-9)
    assert load_factor_lowering(n, e) == pytest.approx(down, rel=1e-9)
    assert load_factor_hoisting(n, e, "turning") == pytest.approx(up / e, rel=1e-9)
    assert load_factor_lowering(n, e, "turning") == pytest.approx(down * e, rel=1e-9)


@given(lines, efficiencies)
def test_tension_up_over_down_gives_the_efficiency(n, e):
    """The same empty block both ways: the ratio of the factors is e^(n-1), turning e^(n+1)."""
    fixed = load_factor_lowering(n, e) / load_factor_hoisting(n, e)
    turning = load_factor_lowering(n, e, "turning") / load_factor_hoisting(n, e, "turning")
    assert fixed == pytest.approx(e ** (n - 1), rel=1e-9)
    assert turning == pytest.approx(e ** (n + 1), rel=1e-9)


@pytest.mark.parametrize("sheave", ["fixed", "turning"])
def test_no_friction_is_exact(sheave):
    assert load_factor_hoisting(10, 1.0, sheave) == 10.0
    assert load_factor_lowering(10, 1.0, sheave) == 10.0


@given(lines, efficiencies, sheaves, st.sampled_from(DIRECTIONS))
def test_load_to_tension_and_back(n, e, sheave, direction):
    load = np.array([0.0, 1e5, 3e6, math.nan])
    back = dead_line_tension_N(load, n, e, sheave, direction) * load_factor(
        n, e, sheave, direction
    )
    np.testing.assert_allclose(back, load, rtol=1e-12)


@given(lines, efficiencies, st.sampled_from(DIRECTIONS))
def test_lines_carry_the_load_and_end_at_both_ends(n, e, direction):
    load = 1e6
    tensions = line_tensions_N(load, n, e, direction)
    assert len(tensions) == n
    assert tensions.sum() == pytest.approx(load, rel=1e-12)
    dead = dead_line_tension_N(load, n, e, "fixed", direction)
    assert tensions[-1] == pytest.approx(dead, rel=1e-12)
    # The fast line comes one turning sheave before the first line.
    turned = {"held": 1.0, "hoisting": e, "lowering": 1 / e}[direction]
    fast = fast_line_tension_N(load, n, e, direction)
    assert tensions[0] == pytest.approx(fast * turned, rel=1e-12)


@given(lines, efficiencies)
def test_efficiency_is_a_share_of_work(n, e):
    assert block_and_tackle_efficiency(n, e, "held") == 1.0
    for direction in ("hoisting", "lowering"):
        assert e**n < block_and_tackle_efficiency(n, e, direction) < 1.0


def test_derrick_load_adds_both_ends():
    assert derrick_load_N(1000.0, 10, 0.98) == pytest.approx(1200.0)
    up = derrick_load_N(1000.0, 10, 0.98, "fixed", "hoisting")
    fast = fast_line_tension_N(1000.0, 10, 0.98, "hoisting")
    dead = dead_line_tension_N(1000.0, 10, 0.98, "fixed", "hoisting")
    assert up == pytest.approx(1000.0 + fast + dead)


def test_not_a_number_efficiency_gives_not_a_number():
    assert math.isnan(load_factor_hoisting(10, math.nan))


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        ((1, 0.98), "n_lines is 1; must be at least 2"),
        ((10, 0.0), "sheave_efficiency is 0.0"),
        ((10, 1.01), "sheave_efficiency is 1.01; must be above 0 and at most 1"),
        ((10, 0.98, "loose"), "dead_line_sheave is 'loose'"),
    ],
)
def test_refuses_string_ups_that_cannot_be(arguments, match):
    with pytest.raises(ValueError, match=match):
        load_factor_hoisting(*arguments)


def test_refuses_other_directions():
    with pytest.raises(ValueError, match="direction is 'sideways'"):
        load_factor(10, 0.98, "fixed", "sideways")
    with pytest.raises(ValueError, match="extra_fast_line_sheaves is -1"):
        fast_line_tension_N(1.0, 10, 0.98, "hoisting", -1)
