"""Soft string against an integration of its own, closed forms, and what must always hold."""

from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from monitor.mechanics.drag import (
    FRICTION_SIGN,
    axial_friction_factor,
    moving_weight_N,
    tension_profile,
    weight_fan,
)
from monitor.mechanics.pipe import string_weight_N
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.survey import well_path
from monitor.rig.rig import Section, SurveyStation

COLLARS = Section("drill collars", 110.0, 0.2032, 0.07145, 2184.0)
HEAVY = Section("heavy-weight drill pipe", 140.0, 0.127, 0.0762, 719.0)
PIPE = Section("drill pipe", None, 0.127, 0.1086, 343.0)
STRING = (COLLARS, HEAVY, PIPE)

# Builds, turns, holds, drops, turns back and builds past the horizontal.
SURVEY = (
    SurveyStation(0.0, 0.0, 0.0),
    SurveyStation(500.0, 0.0, 0.3),
    SurveyStation(800.0, 0.5, 0.3),
    SurveyStation(1100.0, 1.0, 0.9),
    SurveyStation(1900.0, 1.0, 0.9),
    SurveyStation(2200.0, 0.6, 0.5),
    SurveyStation(2600.0, 1.2, 0.1),
    SurveyStation(2900.0, 1.65, 0.1),
)
HOLE = Hole(well_path(SURVEY), 1200.0)
BUOYANCY = 1 - 1200 / 7850


def _vector(station):
    i, a = station.inclination_rad, station.azimuth_rad
    return np.array([math.sin(i) * math.cos(a), math.sin(i) * math.sin(a), math.cos(i)])


def _integrated(bit_depth, factor, shoe=None, cased=None, bit_force=0.0):
    """Tension at the floor by Runge-Kutta, each arc turned about its axis (Rodrigues)."""
    down = np.array([0.0, 0.0, 1.0])
    corners = {s.depth_m for s in SURVEY} | {bit_depth, bit_depth - 110.0, bit_depth - 250.0}
    corners |= {shoe} if shoe else set()
    corners = sorted(c for c in corners if 0.0 <= c <= bit_depth)
    tension = bit_force
    for upper, lower in reversed(list(zip(corners, corners[1:], strict=False))):
        middle = (upper + lower) / 2
        k = max(n for n, s in enumerate(SURVEY) if s.depth_m < middle)
        start, turn, axis = _vector(SURVEY[k]), 0.0, down
        if k + 1 < len(SURVEY):
            cross = np.cross(start, _vector(SURVEY[k + 1]))
            angle = math.atan2(np.linalg.norm(cross), start @ _vector(SURVEY[k + 1]))
            if angle > 0.0:
                axis = cross / np.linalg.norm(cross)
                turn = angle / (SURVEY[k + 1].depth_m - SURVEY[k].depth_m)
        above_bit = bit_depth - middle
        weight = 2184.0 if above_bit < 110.0 else 719.0 if above_bit < 250.0 else 343.0
        friction = cased if shoe and middle < shoe else factor

        def slope(s, t, start=start, turn=turn, axis=axis, k=k, w=weight, f=friction):
            a = turn * (s - SURVEY[k].depth_m)
            tangent = (
                start * math.cos(a)
                + np.cross(axis, start) * math.sin(a)
                + axis * (axis @ start) * (1 - math.cos(a))
            )
            side = t[0] * turn * np.cross(axis, tangent)
            side = side + w * BUOYANCY * (down - (down @ tangent) * tangent)
            return [-(w * BUOYANCY * tangent[2]) - f * np.linalg.norm(side)]

        done = solve_ivp(slope, (lower, upper), [tension], rtol=1e-8, atol=1e-3)
        tension = float(done.y[0, -1])
    return tension


@pytest.mark.parametrize("factor", [0.3, -0.3, 0.0])
@pytest.mark.parametrize("bit_depth", [333.0, 1234.5, 2040.0, 3100.0])
def test_against_an_integration_of_its_own(bit_depth, factor):
    direction = {0.3: "hoisting", -0.3: "lowering", 0.0: "rotating"}[factor]
    found = moving_weight_N(STRING, HOLE, bit_depth, abs(factor), direction)
    # 30 m elements: the weight that changes inside one is spread over it.
    assert found == pytest.approx(_integrated(bit_depth, factor), rel=5e-4)


def test_against_an_integration_of_its_own_with_casing_and_weight_on_bit():
    hole = Hole(HOLE.path, 1200.0, casing_shoe_m=1517.0)
    found = moving_weight_N(
        STRING, hole, 2500.0, 0.35, "lowering", cased_friction_factor=0.2, weight_on_bit_N=50e3
    )
    expected = _integrated(2500.0, -0.35, 1517.0, -0.2, -50e3)
    assert found == pytest.approx(expected, rel=5e-4)


def test_shorter_elements_change_little():
    coarse = moving_weight_N(STRING, HOLE, 3000.0, 0.3, "hoisting")
    fine = moving_weight_N(STRING, HOLE, 3000.0, 0.3, "hoisting", longest_element_m=0.5)
    assert coarse == pytest.approx(fine, rel=2e-4)


@pytest.mark.parametrize("direction", FRICTION_SIGN)
def test_a_vertical_hole_has_no_drag(direction):
    depth = np.array([-5.0, 0.0, 60.0, 110.0, 200.0, 1250.0, math.nan, 4000.0])
    for hole in (Hole(well_path(()), 1200.0), Hole(well_path(()), 1200.0, 900.0)):
        found = moving_weight_N(STRING, hole, depth, 0.4, direction)
        np.testing.assert_allclose(found, string_weight_N(STRING, depth, 1200.0), rtol=1e-12)


def test_above_the_kick_off_there_is_no_drag():
    depth = np.linspace(0.0, 500.0, 51)
    found = moving_weight_N(STRING, HOLE, depth, 0.4, "hoisting")
    np.testing.assert_allclose(found, string_weight_N(STRING, depth, 1200.0), rtol=1e-12)


def test_pipe_above_the_floor_hangs_in_air():
    depth = np.array([0.0, 50.0, 100.0, 2000.0])
    bare = moving_weight_N(STRING, HOLE, depth, 0.3, "hoisting")
    found = moving_weight_N(STRING, HOLE, depth, 0.3, "hoisting", above_floor_m=20.0)
    expected = [20 * 2184.0, 20 * 2184.0, 10 * 2184.0 + 10 * 719.0, 20 * 343.0]
    np.testing.assert_allclose(found - bare, expected, rtol=1e-9)
    fan = weight_fan(STRING, HOLE, depth, [0.3], above_floor_m=20.0)
    assert np.array_equal(fan.hoisting_N[0], found)


def test_the_fan_is_the_same_as_one_curve_at_a_time():
    hole = Hole(HOLE.path, 1200.0, 1000.0)
    depth, factors = np.linspace(0.0, 3000.0, 101), np.array([0.15, 0.25, 0.35])
    fan = weight_fan(STRING, hole, depth, factors, cased_friction_factor=0.2)
    for direction in ("hoisting", "lowering"):
        for k, factor in enumerate(factors):
            one = moving_weight_N(
                STRING, hole, depth, factor, direction, cased_friction_factor=0.2
            )
            assert np.array_equal(getattr(fan, f"{direction}_N")[k], one)
    rotating = moving_weight_N(STRING, hole, depth, 0.0, "rotating")
    assert np.array_equal(fan.rotating_N, rotating)


def test_row_by_row_has_the_same_bits():
    depth = np.random.default_rng(5).permutation(np.linspace(-3.0, 3200.0, 67))
    depth[7] = math.nan
    whole = moving_weight_N(STRING, HOLE, depth, 0.3, "hoisting")
    single = [float(moving_weight_N(STRING, HOLE, d, 0.3, "hoisting")) for d in depth]
    assert np.array_equal(whole, single, equal_nan=True)


def test_shapes():
    depth = np.full((2, 3), 1000.0)
    assert moving_weight_N(STRING, HOLE, depth, 0.3, "hoisting").shape == (2, 3)
    assert moving_weight_N(STRING, HOLE, 1e3, [0.2, 0.3], "hoisting").shape == (2,)
    assert moving_weight_N(STRING, HOLE, depth, [0.2, 0.3], "hoisting").shape == (2, 2, 3)
    assert moving_weight_N(STRING, HOLE, np.zeros(0), 0.3, "hoisting").shape == (0,)
    unknown = moving_weight_N(STRING, HOLE, 2000.0, math.nan, "hoisting")
    assert math.isnan(unknown)


@pytest.mark.parametrize("bit_depth", [0.0, 20.0, 1100.0, 3011.0])
def test_profile_ends_in_the_weight_and_begins_at_the_bit(bit_depth):
    profile = tension_profile(STRING, HOLE, bit_depth, 0.3, "lowering", weight_on_bit_N=80e3)
    weight = moving_weight_N(STRING, HOLE, bit_depth, 0.3, "lowering", weight_on_bit_N=80e3)
    assert profile.depth_m[0] == bit_depth
    assert profile.depth_m[-1] == 0.0
    assert profile.tension_N[0] == -80e3
    assert profile.tension_N[-1] == weight
    assert np.all(np.diff(profile.depth_m) <= 0.0)
    assert profile.depth_m.shape == profile.tension_N.shape


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 8), st.integers(1, 8), st.integers(0, 30), st.booleans())
def test_a_section_cut_in_two_weighs_the_same(collars, heavy, shoe, hoisting):
    """Ends of sections fall on bits, stations, shoe and cuts of the hole alike."""
    hole = Hole(HOLE.path, 1200.0, casing_shoe_m=100.0 * shoe)
    long, short = 30.0 * collars, 30.0 * heavy
    whole = (replace(COLLARS, length_m=long), replace(HEAVY, length_m=short), PIPE)
    parts = (
        replace(COLLARS, length_m=long / 3),
        replace(COLLARS, length_m=long - long / 3),
        replace(HEAVY, length_m=short),
        replace(PIPE, length_m=50.0),
        PIPE,
    )
    direction, depth = "hoisting" if hoisting else "lowering", np.arange(0.0, 3000.0, 30.0)
    one, other = (
        moving_weight_N(s, hole, depth, 0.3, direction, cased_friction_factor=0.2)
        for s in (whole, parts)
    )
    np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-6)


factors = st.floats(0.0, 0.6)
depths = st.floats(0.0, 3500.0)


@settings(max_examples=40, deadline=None)
@given(depths, factors, factors)
def test_more_friction_never_makes_hoisting_lighter_or_lowering_heavier(depth, one, other):
    less, more = sorted((one, other))
    fan = weight_fan(STRING, HOLE, [depth], [less, more])
    slack = 1e-6
    assert fan.hoisting_N[1, 0] >= fan.hoisting_N[0, 0] - slack
    assert fan.hoisting_N[0, 0] >= fan.rotating_N[0] - slack
    assert fan.rotating_N[0] >= fan.lowering_N[0, 0] - slack
    assert fan.lowering_N[0, 0] >= fan.lowering_N[1, 0] - slack


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 3000.0), st.floats(1e-6, 3000.0))
def test_turned_about_the_vertical_the_hole_weighs_the_same(depth, turn):
    turned = [SurveyStation(s.depth_m, s.inclination_rad, s.azimuth_rad + turn) for s in SURVEY]
    one = moving_weight_N(STRING, HOLE, depth, 0.3, "hoisting")
    other = moving_weight_N(STRING, Hole(well_path(turned), 1200.0), depth, 0.3, "hoisting")
    assert one == pytest.approx(other, rel=1e-6, abs=1e-3)


def test_a_whole_table_in_less_than_20_ms():
    survey = [SurveyStation(30.0 * k, min(0.01 * k, 1.3), 0.01 * k) for k in range(167)]
    hole = Hole(well_path(survey), 1200.0)
    depth, three = np.arange(0.0, 5001.0, 10.0), np.array([0.2, 0.25, 0.3])
    spent = []
    for _ in range(7):
        start = time.process_time()  # not the wall clock: others may be at work here
        weight_fan(STRING, hole, depth, three)
        spent.append(time.process_time() - start)
    assert min(spent) < 0.020


def test_axial_share_of_friction():
    assert axial_friction_factor(0.3, 0.5, 0.0, 0.17) == 0.3
    assert axial_friction_factor(0.3, 0.0, 0.0, 0.17) == 0.3
    assert axial_friction_factor(0.3, 0.0, 5.0, 0.17) == 0.0
    same = axial_friction_factor(0.3, -0.5, 0.5 / 0.085, 0.17)
    assert same == pytest.approx(0.3 / math.sqrt(2))
    found = axial_friction_factor(0.3, np.array([math.nan, 0.1]), np.array([0.0, math.nan]), 0.2)
    assert np.isnan(found).all()


def test_refuses_what_cannot_be():
    with pytest.raises(ValueError, match="direction is 'up'; must be hoisting, lowering or"):
        moving_weight_N(STRING, HOLE, 100.0, 0.3, "up")
    with pytest.raises(ValueError, match="friction_factor is -0.1; must be at least 0"):
        moving_weight_N(STRING, HOLE, 100.0, -0.1, "hoisting")
    with pytest.raises(ValueError, match="cased_friction_factor is -0.1"):
        weight_fan(STRING, HOLE, [100.0], [0.1], cased_friction_factor=-0.1)
    with pytest.raises(ValueError, match="sections is empty"):
        moving_weight_N((), HOLE, 100.0, 0.3, "hoisting")
    with pytest.raises(ValueError, match="bit_depth_m is infinite"):
        moving_weight_N(STRING, HOLE, math.inf, 0.3, "hoisting")
    with pytest.raises(ValueError, match="bit_depth_m is -1.0; must be at least 0"):
        tension_profile(STRING, HOLE, -1.0, 0.3, "hoisting")
    with pytest.raises(ValueError, match="longest_element_m is 0.0; must be above 0"):
        moving_weight_N(STRING, HOLE, 100.0, 0.3, "hoisting", longest_element_m=0.0)
    with pytest.raises(ValueError, match="weight_on_bit_N is inf; must be finite"):
        moving_weight_N(STRING, HOLE, 100.0, 0.3, "hoisting", weight_on_bit_N=math.inf)
    with pytest.raises(ValueError, match="outside_diameter_m is 0.0; must be above 0"):
        axial_friction_factor(0.3, 0.5, 1.0, 0.0)
