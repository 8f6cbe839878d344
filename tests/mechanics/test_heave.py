"""Heave in a record, loads over whole waves, and what a compensator leaves at the bit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import cumulative_simpson

from monitor.mechanics.compensator import (
    compensator_room_N,
    gas_spring_load_N,
    gas_spring_stiffness_N_m,
    load_swing_at_bit_N,
    stroke_use,
)
from monitor.mechanics.heave import heave_waves, load_over_waves, position_above_sea_bed_m

TIME = np.arange(0.0, 300.0, 0.5)


def _sine(period, amplitude=1.0, phase=0.0):
    return amplitude * np.sin(2 * math.pi * TIME / period + phase)


@given(st.floats(6.0, 20.0), st.floats(0.1, 5.0), st.floats(0.0, 6.2), st.floats(-3.0, 3.0))
def test_a_sine_is_found_again(period, amplitude, phase, tide):
    waves = heave_waves(TIME, tide + _sine(period, amplitude, phase))
    # The record's mean is off by what a part of a wave adds, and rows miss the crests.
    assert waves.period_s == pytest.approx(period, rel=0.01)
    assert waves.amplitude_m == pytest.approx(amplitude, rel=0.04)
    assert waves.greatest_height_m <= 2 * amplitude * (1 + 1e-12)
    assert waves.mean_m == pytest.approx(tide, abs=0.03 * amplitude)
    assert 0 <= 300.0 / period - waves.n_waves <= 3.0  # cut off at both ends


def test_significant_height_is_the_mean_of_the_highest_third():
    heights = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    heave = np.concatenate([h / 2 * np.sin(np.linspace(0, 2 * math.pi, 21)[:-1]) for h in heights])
    heave = np.concatenate([[-0.1], heave, [0.1]])
    heave -= heave.mean()
    waves = heave_waves(np.arange(len(heave)) * 0.5, heave)
    assert waves.n_waves == 6
    assert waves.significant_height_m == pytest.approx(5.5, rel=1e-9)
    assert waves.greatest_height_m == pytest.approx(6.0)
    assert waves.amplitude_m == pytest.approx(1.75)
    assert waves.period_s == pytest.approx(10.0, abs=0.1)


def test_noise_about_the_mean_is_no_wave():
    noisy = _sine(12.0) + np.random.default_rng(2).normal(0.0, 0.2, len(TIME))
    assert heave_waves(TIME, noisy).n_waves > 25
    held = heave_waves(TIME, noisy, least_height_m=1.0)
    assert held.n_waves in (23, 24)  # 25 waves, the first and last cut off
    assert held.period_s == pytest.approx(12.0, rel=0.01)
    quiet = heave_waves(TIME, _sine(12.0, 0.1), least_height_m=0.4)
    assert quiet.n_waves == 0
    assert math.isnan(quiet.period_s)


def test_a_missing_row_or_a_gap_breaks_the_record():
    heave = _sine(10.0, phase=-0.3)
    whole = heave_waves(TIME, heave).n_waves
    broken = heave.copy()
    broken[305] = math.nan
    assert heave_waves(TIME, broken).n_waves == whole - 1
    late = np.where(TIME > 152.0, TIME + 3.0, TIME)
    found = heave_waves(late, heave)
    assert found.n_waves == whole - 1
    assert found.period_s == pytest.approx(10.0, rel=0.01)
    assert heave_waves(late, heave, longest_gap_s=5.0).n_waves == whole


def test_a_record_without_waves():
    for heave in (np.full(len(TIME), math.nan), np.zeros(len(TIME)), TIME):
        waves = heave_waves(TIME, heave)
        assert waves.n_waves == 0
        assert math.isnan(waves.amplitude_m)
        over = load_over_waves(TIME, heave, heave)
        assert over.n_waves == 0
        assert math.isnan(over.mean_N)
    assert heave_waves([], []).n_waves == 0


@given(st.floats(6.0, 20.0), st.floats(0.0, 6.2))
def test_the_mean_load_has_no_heave_in_it(period, phase):
    heave = _sine(period, 2.0, phase)
    load = 1.2e6 + 40e3 * np.sin(2 * math.pi * TIME / period + phase + 0.7)
    found = load_over_waves(TIME, load, heave)
    assert found.mean_N == pytest.approx(1.2e6, abs=400.0)  # 1 % of the amplitude
    assert found.swing_N == pytest.approx(80e3, rel=0.04)
    assert found.swing_N <= found.greatest_swing_N <= 80e3 * (1 + 1e-12)


def test_the_mean_load_against_an_integration_of_its_own():
    heave = _sine(11.0, 1.5) + _sine(7.3, 0.4)
    load = 1e6 + 30e3 * heave + 5e3 * heave**2 + 20.0 * TIME
    found = load_over_waves(TIME, load, heave)
    centred = heave - heave.mean()
    rising = np.flatnonzero((centred[1:] > 0) & (centred[:-1] <= 0))
    ends = []
    for row in (rising[0], rising[-1]):
        share = -centred[row] / (centred[row + 1] - centred[row])
        ends.append(TIME[row] + 0.5 * share)
    integral = np.interp(ends, TIME, cumulative_simpson(load, x=TIME, initial=0.0))
    expected = (integral[1] - integral[0]) / (ends[1] - ends[0])
    assert found.duration_s == pytest.approx(ends[1] - ends[0])
    assert found.mean_N == pytest.approx(expected, abs=50.0)  # trapezes against parabolas


def test_a_working_compensator_stands_still_over_the_sea_bed():
    heave = _sine(10.0, 2.0)
    height = position_above_sea_bed_m(20.0, heave, 425.0, 3.0 + heave)
    np.testing.assert_allclose(height, 442.0)
    assert position_above_sea_bed_m(20.0, 1.0, 425.0) == 446.0
    assert math.isnan(position_above_sea_bed_m(20.0, math.nan, 425.0))


def test_stroke_use_leaves_out_missing_rows():
    use = stroke_use([math.nan, 1.0, 6.5], 7.5)
    assert (use.used_m, use.middle_m) == (5.5, 3.75)
    assert use.room_drawn_in_m + use.used_m + use.room_extended_m == pytest.approx(7.5)
    assert stroke_use([8.0], 7.5).room_extended_m == -0.5
    assert math.isnan(stroke_use([math.nan], 7.5).share)
    assert math.isnan(stroke_use([], 7.5).used_m)


def test_room_by_state():
    load = np.array([1.0e6, 2.0e6, math.nan])
    opened = compensator_room_N(load, "open", 1.78e6, 2.67e6)
    np.testing.assert_allclose(opened, [0.78e6, -0.22e6, math.nan])
    locked = compensator_room_N(load, "locked", 1.78e6, 2.67e6)
    np.testing.assert_allclose(locked, [1.67e6, 0.67e6, math.nan])


@given(st.floats(1e5, 3e6), st.floats(20.0, 200.0), st.floats(1.0, 1.6))
def test_stiffness_is_the_slope_of_the_gas_spring(load, length, exponent):
    step = 1e-4
    ends = gas_spring_load_N(load, np.array([-step, step]), length, exponent)
    slope = (ends[1] - ends[0]) / (2 * step)
    assert gas_spring_stiffness_N_m(load, length, exponent) == pytest.approx(slope, rel=1e-5)
    assert gas_spring_load_N(load, 0.0, length, exponent) == load


def _slide_swing(height, k_c, k_s, friction):
    """Friction between block and hook: the hook goes along until the slide gives."""
    hook, before, loads = 0.0, 0.0, []
    for h in height / 2 * np.sin(np.linspace(0.0, 6 * math.pi, 6001)):
        carried = hook + (h - before)  # stuck to the block
        needed = k_s * carried - k_c * (h - carried)
        if abs(needed) > friction:
            carried = (k_c * h + math.copysign(friction, needed)) / (k_c + k_s)
        hook, before = carried, h
        loads.append(k_s * hook)
    return max(loads[2000:]) - min(loads[2000:])


@pytest.mark.parametrize("friction", [0.0, 5e3, 20e3, 500e3])
def test_the_swing_with_friction_between_block_and_hook(friction):
    found = float(load_swing_at_bit_N(4.0, 20e3, 100e3, friction))
    assert found == pytest.approx(_slide_swing(4.0, 20e3, 100e3, friction), rel=1e-4)


@given(st.floats(0.0, 8.0), st.floats(0.0, 1e5), st.floats(1e4, 1e6), st.floats(0.0, 1e5))
def test_an_open_compensator_never_swings_more_than_a_locked_one(height, k_c, k_s, friction):
    opened = load_swing_at_bit_N(height, k_c, k_s, friction)
    locked = load_swing_at_bit_N(height, math.inf, k_s)
    assert 0.0 <= opened <= locked * (1 + 1e-12)
    assert opened <= load_swing_at_bit_N(height, k_c, math.inf, friction) * (1 + 1e-12)
    assert load_swing_at_bit_N(height, 1e15, k_s) == pytest.approx(float(locked), rel=1e-6)


def test_refuses_what_cannot_be():
    with pytest.raises(ValueError, match=r"stroke_limit_m is 0.0; must be above 0"):
        stroke_use([1.0], 0.0)
    with pytest.raises(ValueError, match="state is 'half'; must be open or locked"):
        compensator_room_N(1.0, "half", 1.0, 1.0)
    with pytest.raises(ValueError, match=r"locked_limit_N is 0.0; must be above 0"):
        compensator_room_N(1.0, "open", 1.0, 0.0)
    with pytest.raises(ValueError, match=r"gas_length_m is 0.0; must be above 0"):
        gas_spring_stiffness_N_m(1e6, 0.0)
    with pytest.raises(ValueError, match=r"exponent is 0.9; must be at least 1"):
        gas_spring_load_N(1e6, 0.0, 50.0, 0.9)
    with pytest.raises(ValueError, match=r"stroke_from_middle_m is 50.0; must be less"):
        gas_spring_load_N(1e6, 50.0, 50.0)
    with pytest.raises(ValueError, match=r"heave_height_m is -1.0; must be at least 0"):
        load_swing_at_bit_N(-1.0, 1e4)
    with pytest.raises(ValueError, match="must not be negative, and that of the string above 0"):
        load_swing_at_bit_N(1.0, 1e4, friction_N=-1.0)
    with pytest.raises(ValueError, match="must be finite with a locked one"):
        load_swing_at_bit_N(1.0, math.inf)
    with pytest.raises(ValueError, match="time_s does not increase; must increase"):
        heave_waves([1.0, 1.0], [0.0, 0.0])
    with pytest.raises(ValueError, match=r"shapes \[\(2,\), \(1,\)\]; must be the same"):
        heave_waves([1.0, 2.0], [0.0])
    with pytest.raises(ValueError, match=r"least_height_m is -1.0; must be at least 0"):
        heave_waves([1.0], [0.0], least_height_m=-1.0)
    with pytest.raises(ValueError, match=r"least_height_m is -1.0; must be at least 0"):
        load_over_waves([1.0], [0.0], [0.0], least_height_m=-1.0)
    with pytest.raises(ValueError, match=r"longest_gap_s is 0.0; must be above 0"):
        heave_waves([1.0], [0.0], longest_gap_s=0.0)
