"""Strength, weakest point, volumes and thermal stretch: what no single printed value shows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.pipe import (
    section_lengths_m,
    steel_area_m2,
    string_weight_N,
    tensile_capacity_N,
    worn_outside_diameter_m,
)
from monitor.mechanics.pipe_strength import (
    left_by,
    margin_of_overpull_N,
    tensile_capacity_under_torque_N,
    torsional_capacity_Nm,
    torsional_capacity_under_tension_Nm,
    weakest_point,
)
from monitor.mechanics.pipe_volume import (
    pipe_capacity_m3_m,
    pipe_displacement_m3_m,
    string_displacement_m3,
    trip_fill_m3,
    unfilled_level_fall_m,
)
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.stretch import stretch_m
from monitor.mechanics.survey import well_path
from monitor.mechanics.thermal import (
    mean_temperature_change_K,
    thermal_load_N,
    thermal_stretch_m,
)
from monitor.rig.rig import Section, SurveyStation

COLLARS = Section("drill collars", 110.0, 0.2032, 0.07145, 2184.0)
SMALL = Section("3 1/2 in drill pipe", 1500.0, 0.0889, 0.0702, 230.0)
PIPE = Section("5 in drill pipe", None, 0.127, 0.1086, 343.0)
TAPERED = (COLLARS, SMALL, PIPE)
VERTICAL = Hole(well_path(()), 1200.0)
TUBE = (0.127, 0.1086, 517e6)


def test_wear_and_design_factor_take_from_both_capacities_alike():
    worn = worn_outside_diameter_m(0.127, 0.1086, "class 2")
    assert worn == pytest.approx(0.1086 + 0.7 * (0.127 - 0.1086))
    assert worn_outside_diameter_m(0.127, 0.1086, "new") == pytest.approx(0.127)
    for capacity in (tensile_capacity_N, torsional_capacity_Nm):
        assert capacity(*TUBE, "new") > capacity(*TUBE, "premium") > capacity(*TUBE, "class 2")
        assert capacity(*TUBE, "new", 1.25) == pytest.approx(capacity(*TUBE, "new") / 1.25)


def test_torsional_capacity_of_a_thin_tube():
    """All of a thin wall works at one radius: shear yield x area x radius."""
    radius, wall = 0.1, 1e-6
    found = torsional_capacity_Nm(2 * radius, 2 * (radius - wall), 500e6, "new")
    area = steel_area_m2(2 * radius, 2 * (radius - wall))
    assert found == pytest.approx(500e6 / math.sqrt(3) * area * radius, rel=1e-4)


@given(st.floats(-1.0, 1.0))
def test_pull_and_torque_at_yield_make_the_yield_stress(share):
    """Von Mises from the stresses themselves, at the outer fibre."""
    pull, torque = tensile_capacity_N(*TUBE, "new"), torsional_capacity_Nm(*TUBE, "new")
    pulled = float(tensile_capacity_under_torque_N(share * torque, pull, torque))
    area = steel_area_m2(TUBE[0], TUBE[1])
    polar = math.pi / 32 * (TUBE[0] ** 4 - TUBE[1] ** 4)
    shear = share * torque * TUBE[0] / 2 / polar
    assert math.sqrt((pulled / area) ** 2 + 3 * shear**2) == pytest.approx(TUBE[2])


@given(st.floats(0.0, 0.999))
def test_torque_from_pull_and_back(share):
    torque = share * 60e3
    pull = tensile_capacity_under_torque_N(torque, 2e6, 60e3)
    assert torsional_capacity_under_tension_Nm(pull, 2e6, 60e3) == pytest.approx(torque, abs=1e-3)


def test_nothing_is_left_beyond_the_other_capacity():
    found = left_by(np.array([0.0, 50e3, 60e3, math.nan]), 50e3, 1e6)
    assert found[:3].tolist() == [1e6, 0.0, 0.0]
    assert math.isnan(found[3])
    assert margin_of_overpull_N(1e6, np.array([0.5e6, 1.2e6]), 1.0).tolist() == [5e5, -2e5]


CAPACITY = [4e6, 1.4e6, 2.2e6]


def test_weakest_point_of_a_tapered_string_by_hand():
    """Each section's top: capacity and all that hangs above it."""
    bit = 4000.0
    buoyancy = 1 - 1200 / 7850
    pipe = (bit - 1610.0) * 343.0 * buoyancy
    by_hand = {
        "5 in drill pipe": 2.2e6,
        "3 1/2 in drill pipe": 1.4e6 + pipe,
        "drill collars": 4e6 + pipe + 1500.0 * 230.0 * buoyancy,
    }
    found = weakest_point(TAPERED, CAPACITY, VERTICAL, bit)
    assert found.section == min(by_hand, key=by_hand.__getitem__)
    assert found.section == "3 1/2 in drill pipe"
    assert found.pull_N == pytest.approx(min(by_hand.values()))
    assert found.depth_m == bit - 1610.0
    weight = float(string_weight_N(TAPERED, bit, 1200.0))
    assert found.margin_N == pytest.approx(found.pull_N - weight)
    assert found.not_searched == ()


def test_what_is_below_the_stuck_point_does_not_count():
    bit, buoyancy = 4000.0, 1 - 1200 / 7850
    above = weakest_point(TAPERED, CAPACITY, VERTICAL, bit, stuck_depth_m=2000.0)
    assert (above.section, above.depth_m, above.pull_N) == ("5 in drill pipe", 0.0, 2.2e6)
    assert above.margin_N == pytest.approx(2.2e6 - 2000.0 * 343.0 * buoyancy)
    below = weakest_point(TAPERED, CAPACITY, VERTICAL, bit, stuck_depth_m=2400.0)
    assert below.section == "3 1/2 in drill pipe"


def test_stuck_just_below_a_section_top_is_not_rounded_to_an_element():
    exact = string_weight_N([PIPE], 2390.0, 1200.0)
    found = weakest_point(TAPERED, CAPACITY, VERTICAL, 4000.0, stuck_depth_m=2390.0)
    assert found.pull_N - found.margin_N == pytest.approx(float(exact))


def test_in_an_inclined_hole_less_hangs_above():
    slant = Hole(well_path([SurveyStation(0.0, math.pi / 3, 0.0)]), 1200.0)
    pulls = [
        weakest_point(TAPERED, [4e6, 1.4e6, 9e6], hole, 4000.0).pull_N
        for hole in (VERTICAL, slant)
    ]
    assert pulls[1] - 1.4e6 == pytest.approx((pulls[0] - 1.4e6) / 2)


def test_past_the_horizontal_the_lowest_point_is_not_the_top_of_the_section():
    """The hole climbs again: tension from the pull is greatest where it is highest."""
    climbing = Hole(
        well_path(
            [
                SurveyStation(0.0, 0.0, 0.0),
                SurveyStation(1000.0, 2.0, 0.0),
                SurveyStation(3000.0, 2.0, 0.0),
            ]
        )
    )
    sections = (Section("weak", 2200.0, 0.0889, 0.0702, 230.0), PIPE)
    found = weakest_point(sections, [1e6, 1e9], climbing, 3000.0)
    assert found.depth_m > 2900.0
    assert found.pull_N < 1e6 + 343.0 * 800.0


def test_torque_moves_the_weakest_point():
    """Torque runs down to the stuck point unchanged; the small pipe feels it most."""
    tubes = [(s.outside_diameter_m, s.inside_diameter_m, 931e6) for s in (SMALL, PIPE)]
    pulls = [tensile_capacity_N(*tube, design_factor=1.1) for tube in tubes]
    torques = [torsional_capacity_Nm(*tube, design_factor=1.1) for tube in tubes]
    sections, found = (SMALL, PIPE), []
    for torque in (0.0, 30e3):
        left = [
            float(tensile_capacity_under_torque_N(torque, pull, most))
            for pull, most in zip(pulls, torques, strict=True)
        ]
        found.append(weakest_point(sections, left, VERTICAL, 5000.0))
    assert [point.section for point in found] == ["5 in drill pipe", "3 1/2 in drill pipe"]
    assert found[1].pull_N < found[0].pull_N


def test_sections_without_a_known_capacity_are_named():
    found = weakest_point(TAPERED, [None, None, 2e6], VERTICAL, 4000.0)
    assert found.section == "5 in drill pipe"
    assert found.not_searched == ("drill collars", "3 1/2 in drill pipe")
    nothing = weakest_point(TAPERED, [None] * 3, VERTICAL, 4000.0)
    assert nothing.section == ""
    assert nothing.pull_N == math.inf
    short = weakest_point(TAPERED, [None, 1e6, 1e6], VERTICAL, 60.0)
    assert short.not_searched == ("drill collars",)
    unknown = weakest_point(TAPERED, CAPACITY, VERTICAL, math.nan)
    assert math.isnan(unknown.pull_N)
    assert math.isnan(weakest_point(TAPERED, [1e6, math.nan, 2e6], VERTICAL, 4e3).pull_N)


@given(st.floats(1700.0, 5000.0), st.floats(0.0, 1.0))
def test_a_higher_stuck_point_never_allows_less_pull(bit, share):
    whole = weakest_point(TAPERED, CAPACITY, VERTICAL, bit)
    part = weakest_point(TAPERED, CAPACITY, VERTICAL, bit, stuck_depth_m=share * bit)
    assert part.pull_N >= whole.pull_N


def test_displacement_by_hand_and_closed_ended():
    lengths = section_lengths_m(TAPERED, 2000.0)
    steel = sum(
        length * pipe_displacement_m3_m(section.weight_in_air_N_m)
        for length, section in zip(lengths, TAPERED, strict=True)
    )
    inside = sum(
        length * pipe_capacity_m3_m(section.inside_diameter_m)
        for length, section in zip(lengths, TAPERED, strict=True)
    )
    assert string_displacement_m3(TAPERED, 2000.0) == pytest.approx(steel)
    closed = string_displacement_m3(TAPERED, 2000.0, is_closed_ended=True)
    assert closed == pytest.approx(steel + inside)
    assert math.isnan(string_displacement_m3(TAPERED, math.nan))
    assert string_displacement_m3(TAPERED, np.array([-1.0, 0.0])).tolist() == [0.0, 0.0]


def test_displaced_steel_is_weight_lost_to_buoyancy():
    """Archimedes: the mud that the steel displaces weighs what buoyancy takes."""
    lost = string_weight_N(TAPERED, 3000.0) - string_weight_N(TAPERED, 3000.0, 1200.0)
    mud = string_displacement_m3(TAPERED, 3000.0) * 1200.0 * 9.80665
    assert mud == pytest.approx(lost)


@given(st.floats(0.0, 5000.0), st.floats(0.0, 5000.0), st.sampled_from(["dry", "wet"]))
def test_a_trip_out_and_in_again_is_even(one, other, pulled):
    out = trip_fill_m3(TAPERED, one, other, pulled=pulled)
    back = trip_fill_m3(TAPERED, other, one, pulled=pulled)
    assert out == pytest.approx(-back)
    assert (out >= 0.0) == (one >= other) or abs(out) < 1e-9


def test_constructed_trip_sheet():
    """5 stands of 92 ft of 5-in pipe, 0.00856207 and 0.01690476 bbl/ft: 3.939 and 11.715 bbl."""
    foot, barrel = 0.3048, 0.158987294928
    weight = 0.00856207 * barrel / foot * 7850 * 9.80665
    inside = math.sqrt(0.01690476 * barrel / foot * 4 / math.pi)
    pipe = Section("pipe", None, 0.127, inside, weight)
    for pulled, printed in (("dry", 3.939), ("wet", 11.715)):
        fill = trip_fill_m3([pipe], 3000.0, 3000.0 - 460.0 * foot, pulled=pulled)
        assert fill / barrel == pytest.approx(printed, abs=0.0005)


def test_thermal_stretch_of_a_held_string_pulls_as_much_as_it_stretches():
    """Warm it, then pull it back to its old length: the two loads cancel."""
    growth = thermal_stretch_m(2000.0, 30.0)
    per_pull = stretch_m(1.0, [PIPE], 2000.0)
    load = thermal_load_N(growth, per_pull)
    assert growth > 0.0 > load
    assert growth + stretch_m(float(load), [PIPE], 2000.0) == pytest.approx(0.0, abs=1e-12)
    assert thermal_load_N(growth, per_pull, per_pull) == pytest.approx(load / 2)


def test_mean_temperature_change_of_a_bent_profile():
    profile = [100.0, 1100.0, 2100.0], [10.0, 30.0, 20.0]
    # 100 m at 10, then means of 20 and 25 over 1000 m each, then 400 m at 20.
    expected = (100 * 10 + 1000 * 20 + 1000 * 25 + 400 * 20) / 2500
    assert mean_temperature_change_K(*profile, 2500.0) == pytest.approx(expected)
    assert mean_temperature_change_K([50.0], [7.0], 900.0) == pytest.approx(7.0)
    assert math.isnan(mean_temperature_change_K([0.0, 9.0], [1.0, math.nan], 9.0))
    assert math.isnan(mean_temperature_change_K([0.0, 9.0], [1.0, 2.0], math.nan))


def test_refuses_what_cannot_be():
    with pytest.raises(ValueError, match=r"design_factor is 0.9; must be at least 1"):
        tensile_capacity_N(*TUBE, "new", 0.9)
    with pytest.raises(ValueError, match=r"design_factor is 0.9; must be at least 1"):
        torsional_capacity_Nm(*TUBE, "new", 0.9)
    with pytest.raises(ValueError, match=r"design_factor is 0.9; must be at least 1"):
        margin_of_overpull_N(1e6, 1e5, 0.9)
    with pytest.raises(ValueError, match="pipe_class is 'old'; must be one of: new"):
        torsional_capacity_Nm(*TUBE, "old")
    with pytest.raises(ValueError, match="other_capacity is 0.0; must be above 0"):
        left_by(1.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="capacity_N has 1 values; must have one for each of 3"):
        weakest_point(TAPERED, [1e6], VERTICAL, 100.0)
    with pytest.raises(ValueError, match=r"stuck_depth_m is 101.0; must be 0 to the bit depth"):
        weakest_point(TAPERED, CAPACITY, VERTICAL, 100.0, stuck_depth_m=101.0)
    with pytest.raises(ValueError, match=r"inside_diameter_m is -0.1; must be at least 0"):
        pipe_capacity_m3_m(-0.1)
    with pytest.raises(ValueError, match=r"weight_in_air_N_m is -1.0; must be at least 0"):
        pipe_displacement_m3_m(-1.0)
    with pytest.raises(ValueError, match="sections is empty"):
        string_displacement_m3((), 100.0)
    with pytest.raises(ValueError, match="pulled is 'damp'; must be dry or wet"):
        trip_fill_m3(TAPERED, 100.0, 50.0, pulled="damp")
    with pytest.raises(ValueError, match=r"casing_capacity_m3_m is 0.01; must be above"):
        unfilled_level_fall_m(100.0, 0.01, 0.005, 0.006)
    with pytest.raises(ValueError, match="depth_m does not increase"):
        mean_temperature_change_K([1.0, 1.0], [0.0, 0.0], 9.0)
    with pytest.raises(ValueError, match=r"length_m is 0.0; must be above 0"):
        mean_temperature_change_K([1.0], [0.0], 0.0)
    with pytest.raises(ValueError, match=r"change_K \(1,\); must be the same"):
        mean_temperature_change_K([1.0, 2.0], [0.0], 9.0)
    with pytest.raises(ValueError, match=r"stretch_per_pull_m_N is 0.0; must be above 0"):
        thermal_load_N(1.0, 0.0)
    with pytest.raises(ValueError, match=r"hoist_compliance_m_N is -1.0; must be at least 0"):
        thermal_load_N(1.0, 1e-6, -1.0)
