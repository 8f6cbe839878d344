"""Where the line ends, sheaves needed, line in use, hook load from a tension, line weight."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.dead_line import (
    hook_load_bounds_N,
    hook_load_N,
    line_weight_load_N,
    mud_hose_change_N,
    mud_hose_load_N,
)
from monitor.mechanics.fast_line import derrick_load_N, fast_line_tension_N
from monitor.mechanics.reeving import (
    DIRECTIONS,
    dead_line_tension_N,
    line_tensions_N,
    load_factor,
    sizing_sheave_efficiency,
)
from monitor.mechanics.string_up import (
    crown_sheaves,
    line_end,
    line_in_use_m,
    lines_of_passes,
    travelling_sheaves,
)
from monitor.simulate.rope import Rope

lines = st.integers(min_value=2, max_value=16)
even_lines = st.integers(min_value=1, max_value=8).map(lambda k: 2 * k)
efficiencies = st.floats(min_value=0.9, max_value=0.9999)
heights = st.floats(min_value=0.0, max_value=40.0)


def test_five_passes_make_ten_lines():
    """Common practice; and ten lines cannot be strung on a crown of five sheaves."""
    assert lines_of_passes(5) == 10
    assert (crown_sheaves(10), travelling_sheaves(10)) == (6, 5)


@given(lines)
def test_each_line_joins_a_sheave_to_the_next(n):
    """The fast line's sheave and the n lines between n + 1 ends; an even count turns back down."""
    assert crown_sheaves(n) + travelling_sheaves(n) == n + (n % 2 == 0)
    assert lines_of_passes(travelling_sheaves(n), line_end(n)) == n


def test_sizing_efficiencies():
    """Standard K 1.04 and 1.09; the pipeline handbook's 96.2 and 91.7 % agree."""
    assert sizing_sheave_efficiency("rolling") == pytest.approx(0.962, abs=0.0005)
    assert sizing_sheave_efficiency("plain") == pytest.approx(0.917, abs=0.0005)
    with pytest.raises(ValueError, match="bearings is 'worn'"):
        sizing_sheave_efficiency("worn")


@given(lines, heights, st.floats(-5.0, 5.0))
def test_line_in_use_stays_when_the_drum_takes_what_the_block_gives(n, height, step):
    before = line_in_use_m(200.0, height, n, 45.0, 2.0, 1.0, 1.5)
    after = line_in_use_m(200.0 + n * step, height + step, n, 45.0, 2.0, 1.0, 1.5)
    assert after == pytest.approx(before, rel=1e-12)


def test_line_in_use_of_a_small_string_up():
    """Two lines, counted by hand: drum, fast line, two lines, dead line, three half turns."""
    by_hand = 50 + (30 - 1) + 2 * (30 - 10) + (30 - 2) + 3 * math.pi * 1.0 / 2
    assert line_in_use_m(50.0, 10.0, 2, 30.0, 2.0, 1.0, 1.0) == pytest.approx(by_hand)


@given(lines, efficiencies, st.sampled_from([("hoisting", 1.0), ("lowering", -1.0)]))
def test_hook_load_is_the_inverse_of_the_tension(n, e, case):
    direction, state = case
    load = np.array([0.0, 1e5, 3e6, math.nan])
    tension = dead_line_tension_N(load, n, e, "fixed", direction)
    np.testing.assert_allclose(hook_load_N(tension, state, n, e), load, rtol=1e-12)


@given(lines, efficiencies, st.floats(-1.0, 1.0), st.floats(0.0, 0.5))
def test_hook_load_grows_with_the_friction_state_within_its_bounds(n, e, state, step):
    low, high = hook_load_bounds_N(1e5, n, e)
    one = hook_load_N(1e5, state, n, e)
    other = hook_load_N(1e5, min(state + step, 1.0), n, e)
    assert low * (1 - 1e-12) <= one <= other * (1 + 1e-12) <= high * (1 + 1e-11)
    assert low < n * 1e5 < high


def test_hook_load_without_friction_is_the_plain_product():
    assert hook_load_N(1e5, 0.3, 10, 1.0) == pytest.approx(1e6, rel=1e-15)
    assert math.isnan(hook_load_N(1e5, math.nan, 10, 0.98))


@given(lines, efficiencies)
def test_an_odd_count_ends_at_the_block(n, e):
    """Its crown carries the load and the fast line only."""
    crown = derrick_load_N(1e6, n, e, "fixed", "hoisting")
    fast = fast_line_tension_N(1e6, n, e, "hoisting")
    dead = dead_line_tension_N(1e6, n, e, "fixed", "hoisting") if n % 2 == 0 else 0.0
    assert crown == pytest.approx(1e6 + fast + dead, rel=1e-12)
    with pytest.raises(ValueError, match="no dead-line sheave that could be turning"):
        hook_load_N(1e5, 1.0, n - 1 + n % 2 if n > 2 else 3, e, "turning")


def test_line_tensions_of_many_loads():
    load = np.array([1e5, 2e6, math.nan])
    tensions = line_tensions_N(load, 10, 0.98, "lowering")
    assert tensions.shape == (10, 3)
    np.testing.assert_allclose(tensions.sum(axis=0), load, rtol=1e-12)


@pytest.mark.parametrize("n", [4, 9, 10, 12])
def test_against_an_elastic_rope_over_sheaves_that_stick_and_slip(n):
    """Independent truth: no load factor in it. Up, down, and the turning over between."""
    e, load, step = 0.97, 1e6, 0.002
    rope = Rope(n, e, load)
    steps = np.concatenate((np.full(60, step), np.full(60, -step)))
    tension = rope.dead_line_N(steps, np.full(120, load))
    assert hook_load_N(tension[59], 1.0, n, e) == pytest.approx(load, rel=1e-4)
    assert hook_load_N(tension[-1], -1.0, n, e) == pytest.approx(load, rel=1e-4)
    low, high = hook_load_bounds_N(tension, n, e)
    assert np.all(low <= load * (1 + 1e-4))
    assert np.all(high >= load * (1 - 1e-4))


# Weight of the line: each piece and each sheave written out, and solved as one system.


def _loads_by_system(n, e, turning, direction, weight, block, crown, anchor, tension):
    """Unknown: tension of each line at its upper end and at the block; solved together."""
    ratio = {"held": 1.0, "hoisting": 1 / e, "lowering": e}[direction]
    matrix, right = np.zeros((2 * n, 2 * n)), np.zeros(2 * n)
    row = 0
    for i in range(n):  # T_top(i) - T_block(i) = w h
        matrix[row, i], matrix[row, n + i], right[row] = 1.0, -1.0, weight * (crown - block)
        row += 1
    for i in range(1, n):  # across a sheave, towards the drum: lines i + 1 to i, from 1
        at = n if i % 2 == 1 else 0  # lines 1 and 2 share a sheave of the block
        matrix[row, at + i - 1], matrix[row, at + i] = 1.0, -ratio
        row += 1
    if n % 2:
        matrix[row, 2 * n - 1], right[row] = 1.0, tension
    else:
        passed = ratio if turning else 1.0
        matrix[row, n - 1], right[row] = 1.0, passed * (tension + weight * (crown - anchor))
    return np.linalg.solve(matrix, right)[n:].sum()


@given(lines, efficiencies, st.sampled_from(DIRECTIONS), st.booleans(), heights)
def test_line_weight_against_the_whole_system(n, e, direction, turning, block):
    turning = turning and n % 2 == 0
    sheave = "turning" if turning else "fixed"
    weight, crown, anchor, tension = 51.1, 45.0, 2.0, 1e5
    expected = _loads_by_system(n, e, turning, direction, weight, block, crown, anchor, tension)
    added = line_weight_load_N(block, weight, n, anchor, e, sheave, direction, crown)
    factor = load_factor(n, e, sheave, direction)
    assert factor * tension + added == pytest.approx(expected, rel=1e-9)


def test_line_weight_held_needs_no_crown_and_an_odd_count_no_weight():
    """300 000 lbf on ten lines of 3.50 lb/ft, 30 to 120 ft: 3150 lbf; derived."""
    drift = line_weight_load_N(120.0, 3.5, 10) - line_weight_load_N(30.0, 3.5, 10)
    assert drift == pytest.approx(3150.0)  # ft and lb throughout: the formula is linear
    assert line_weight_load_N(30.0, 51.1, 9) == 0.0
    for direction in DIRECTIONS:  # the limit e -> 1 is exact
        free = line_weight_load_N(30.0, 51.1, 10, 2.0, 1.0, "fixed", direction)
        assert free == pytest.approx(10 * 51.1 * 28.0, rel=1e-12)
    with pytest.raises(ValueError, match="crown_height_m is None; must be given"):
        line_weight_load_N(30.0, 51.1, 10, 0.0, 0.98, "fixed", "hoisting")


@pytest.mark.parametrize(
    ("n", "weight", "low_kN", "high_kN"), [(10, 51.1, 14, 15), (14, 107.8, 41, 43)]
)
def test_line_weight_over_a_stand(n, weight, low_kN, high_kN):
    """15 to 43 kN over a stand of 28 m, from 1 3/8 in on ten lines to 2 in on fourteen."""
    drift = line_weight_load_N(30.0, weight, n) - line_weight_load_N(2.0, weight, n)
    assert low_kN * 1e3 < drift < high_kN * 1e3


def test_mud_hose():
    """30 lb/ft, 75 ft, gooseneck 20 ft above the standpipe's end: 1425 lbf; derived."""
    assert mud_hose_load_N(20.0, 75.0, 30.0, 0.0) == pytest.approx(1425.0)
    slope = mud_hose_load_N(np.array([21.0, math.nan]), 75.0, 30.0, 0.0) - 1425.0
    np.testing.assert_allclose(slope, [15.0, math.nan])
    more = mud_hose_change_N(np.array([20.0, 21.0]), 0.0, 30.0)
    both = mud_hose_load_N(np.array([20.0, 21.0]), 75.0, 30.0, 0.0)
    np.testing.assert_allclose(more, both - mud_hose_load_N(0.0, 75.0, 30.0, 0.0))
    with pytest.raises(ValueError, match="gooseneck_above_standpipe_m is 80.0; must be -75 to 75"):
        mud_hose_load_N(80.0, 75.0, 30.0, 0.0)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: line_end(1), "n_lines is 1; must be 2 to 16"),
        (lambda: lines_of_passes(9), "n_lines is 18; must be 2 to 16"),
        (lambda: lines_of_passes(0), "n_travelling_sheaves is 0"),
        (lambda: lines_of_passes(5, "crown"), "end is 'crown'"),
        (lambda: line_in_use_m(-1.0, 10.0, 10, 45.0), "line_on_drum_m is -1.0; must be"),
        (lambda: hook_load_N(1e5, 1.5, 10, 0.98), "friction_state is 1.5; must be -1 to 1"),
        (lambda: hook_load_N(1e5, np.array([0.0, -2.0]), 10, 0.98), "friction_state is -2.0"),
        (lambda: line_weight_load_N(1.0, -1.0, 10), "line_weight_N_m is -1.0"),
    ],
)  # fmt: skip
def test_refusals(call, match):
    with pytest.raises(ValueError, match=match):
        call()
