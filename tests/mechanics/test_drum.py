"""Spooling, wraps left, fleet angle, block position from the encoder and its survey."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.block_position import (
    block_height_of_turns_m,
    lowest_block_height_m,
    surveyed_height_m,
    travel_of_turn_m,
    turns_of_block_height,
    wraps_at_block_height,
)
from monitor.mechanics.drum import (
    LEAST_WRAPS,
    NESTED_RISE,
    STACKED_RISE,
    GREATEST_FLEET_ANGLE_rad,
    fleet_angle_rad,
    layer_of_wraps,
    line_at_block_height_m,
    line_on_drum_m,
    pitch_diameter_m,
    wraps_of_width,
    wraps_on_drum,
)

DRUM = (0.762, 0.034925, 35.0)  # barrel, line, wraps in a layer
wraps = st.floats(min_value=0.0, max_value=200.0)
rises = st.sampled_from([NESTED_RISE, STACKED_RISE])


@given(wraps, rises)
def test_wraps_to_line_and_back(n, rise):
    assert wraps_on_drum(line_on_drum_m(n, *DRUM, rise), *DRUM, rise) == pytest.approx(n, abs=1e-9)


@given(st.integers(0, 8), st.integers(1, 40))
def test_full_layers_are_the_sum_written_out(n_layers, n_wraps):
    by_hand = sum(
        math.pi * n_wraps * (0.762 + 0.035 + 2 * k * 0.866 * 0.035) for k in range(n_layers)
    )
    line = line_on_drum_m(float(n_layers * n_wraps), 0.762, 0.035, n_wraps, 0.866)
    assert line == pytest.approx(by_hand, rel=1e-12, abs=1e-12)
    assert wraps_on_drum(by_hand, 0.762, 0.035, n_wraps, 0.866) == pytest.approx(
        n_layers * n_wraps, abs=1e-9
    )


def test_stacked_layers_fill_the_volume():
    """Continuous form (A + B) A C pi / d^2: exact where line lies on line."""
    depth, barrel, width, line = 5.0, 10.0, 12.0, 0.5
    volume = math.pi * (depth + barrel) * depth * width / line**2
    assert line_on_drum_m(240.0, barrel, line, 24, 1.0) == pytest.approx(volume, rel=1e-12)


@given(wraps, st.floats(0.001, 2.0))
def test_more_wraps_take_more_line_at_the_layers_circumference(n, step):
    grown = line_on_drum_m(n + step, *DRUM) - line_on_drum_m(n, *DRUM)
    layer = layer_of_wraps(n, DRUM[2])
    low = math.pi * pitch_diameter_m(layer, *DRUM[:2]) * step
    high = math.pi * pitch_diameter_m(layer + 1, *DRUM[:2]) * step
    assert low * (1 - 1e-9) <= grown <= high * (1 + 1e-9)


def test_a_record_of_wraps_with_missing_values():
    n = np.array([0.0, 6.0, 35.0, 70.5, math.nan])
    line = line_on_drum_m(n, *DRUM)
    assert line[0] == 0.0
    np.testing.assert_allclose(wraps_on_drum(line, *DRUM), n, atol=1e-9)
    np.testing.assert_array_equal(layer_of_wraps(n, 35), [1, 1, 2, 3, math.nan])
    assert [line_on_drum_m(float(k), *DRUM) for k in n[:4]] == line[:4].tolist()


def test_wraps_left_at_the_lowest_point():
    """60 wraps counted with the block at 30 m; ten lines; the block goes down to 0.5 m."""
    counted = line_on_drum_m(60.0, *DRUM)
    heights = np.array([30.0, 0.5, -30.0])
    line = line_at_block_height_m(heights, 10, counted, 30.0)
    left = wraps_on_drum(line, *DRUM)
    assert left[0] == pytest.approx(60.0)
    assert counted - line[1] == pytest.approx(295.0)
    assert left[1] < LEAST_WRAPS == 6.0  # of 155 m of line: too few here, to be warned of
    # Short of line by that much: wraps below zero, of the first layer.
    assert left[2] == pytest.approx(line[2] / (math.pi * (0.762 + 0.034925)))
    assert left[2] < 0.0


@given(st.floats(40.0, 200.0), st.integers(2, 16))
def test_the_lowest_height_leaves_six_wraps(counted, n):
    """At least six wraps: common practice."""
    lowest = lowest_block_height_m(n, *DRUM, counted, 30.0)
    assert wraps_at_block_height(lowest, n, *DRUM, counted, 30.0) == pytest.approx(6.0)
    assert wraps_at_block_height(lowest - 0.1, n, *DRUM, counted, 30.0) < 6.0
    assert wraps_at_block_height(30.0, n, *DRUM, counted, 30.0) == pytest.approx(counted)


def test_fleet_angle():
    """1.5 and 2 degrees: wire rope makers' pages, looked up; one in 28.6 is 2 degrees."""
    assert fleet_angle_rad(0.0, 30.0) == 0.0
    assert fleet_angle_rad(np.array([-1.0, 1.0]), 28.63625) == pytest.approx(math.radians(2.0))
    assert GREATEST_FLEET_ANGLE_rad["smooth"] < GREATEST_FLEET_ANGLE_rad["grooved"]


@given(st.floats(-50.0, 100.0), st.integers(2, 16), rises)
def test_encoder_turns_and_back(turns, n, rise):
    z = block_height_of_turns_m(turns, n, *DRUM, 60.0, 30.0, rise)
    back = turns_of_block_height(z, n, *DRUM, 60.0, 30.0, rise)
    assert back == pytest.approx(turns, abs=1e-8)


def test_encoder_through_a_layer_change():
    """Travel of a turn just below and above the change is that of the two layers."""
    turns = np.array([8.0, 9.0, 10.0, 11.0, 12.0])  # wraps 33 to 37: the layer is full at 35
    z = block_height_of_turns_m(turns, 10, *DRUM, 25.0, 1.0)
    first, second = (travel_of_turn_m(pitch_diameter_m(k, *DRUM[:2]), 10) for k in (1.0, 2.0))
    np.testing.assert_allclose(np.diff(z), [first, first, second, second], rtol=1e-12)
    assert second / first - 1 == pytest.approx(0.0759, abs=0.0001)  # 7.6 %, derived


def test_survey_corrects_and_keeps_its_ends():
    shown, taped = (0.0, 10.0, 30.0), (0.1, 10.0, 30.4)
    z = np.array([-5.0, 0.0, 5.0, 10.0, 20.0, 30.0, 35.0, math.nan])
    expected = [-4.9, 0.1, 5.05, 10.0, 20.2, 30.4, 35.4, math.nan]
    np.testing.assert_allclose(surveyed_height_m(z, shown, taped), expected, rtol=1e-12)


def test_survey_takes_up_a_barrel_measured_wrong():
    """Surveyed at ten heights, a drum taken 2 % too large is corrected to a centimetre."""
    turns = np.linspace(0.0, 40.0, 401)
    true = block_height_of_turns_m(turns, 10, *DRUM, 20.0, 1.0)
    shown = block_height_of_turns_m(turns, 10, 0.762 * 1.02, *DRUM[1:], 20.0, 1.0)
    points = slice(0, None, 40)
    corrected = surveyed_height_m(shown, shown[points], true[points])
    assert np.abs(shown - true).max() > 0.15
    assert np.abs(corrected - true).max() < 0.01


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: wraps_of_width(0.03, 0.035), "width_m is 0.03; must hold one line"),
        (lambda: pitch_diameter_m(0.0, 0.7, 0.035), "layer_above_the_first is -1.0"),
        (lambda: line_on_drum_m(-1.0, *DRUM), "wraps is -1.0; must be at least 0"),
        (lambda: line_on_drum_m(1.0, 0.0, 0.035, 35), "barrel_diameter_m is 0.0; must be above 0"),
        (lambda: line_on_drum_m(1.0, *DRUM, 2.0), "layer_rise is 2.0; must be 0.5 to 1.1"),
        (lambda: wraps_on_drum(1.0, 0.7, 0.035, 0), "n_wraps_per_layer is 0"),
        (lambda: line_at_block_height_m(1.0, 1, 10.0, 1.0), "n_lines is 1"),
        (lambda: block_height_of_turns_m(-61.0, 10, *DRUM, 60.0, 1.0), "wraps is -1.0"),
        (lambda: turns_of_block_height(1.0, 1, *DRUM, 60.0, 1.0), "n_lines is 1"),
        (lambda: travel_of_turn_m(0.0, 10), "pitch_diameter_m is 0.0"),
        (lambda: fleet_angle_rad(1.0, 0.0), "distance_m is 0.0; must be above 0"),
        (lambda: surveyed_height_m(1.0, (0.0,), (0.0,)), "must be at least 2 and as many"),
        (lambda: surveyed_height_m(1.0, (0.0, 0.0), (0.0, 1.0)), "shown_m is .*must rise"),
    ],
)
def test_refusals(call, match):
    with pytest.raises(ValueError, match=match):
        call()
