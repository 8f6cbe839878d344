"""Hoisting formulas against the tables beside this file, in the units they are printed in."""

from __future__ import annotations

import pytest

from monitor.mechanics import (
    block_position,
    derrick,
    drum,
    lifting,
    line_work,
    slip_and_cut,
    wire_rope,
)
from monitor.units import from_si, to_si
from tests.published.table import rows


@pytest.mark.parametrize("row", rows("derrick_loads"))
def test_derrick_load(row):
    # Forces stay in lbf: every formula here is linear in them.
    legs = derrick.derrick_leg_loads_N(
        float(row["load_lbf"]),
        float(row["fast_line_lbf"]),
        float(row["dead_line_lbf"]),
        float(row["crown_lbf"]),
    )
    tolerance = float(row["tolerance_lbf"])
    assert legs.sum() == pytest.approx(float(row["derrick_load_lbf"]), abs=tolerance)
    equivalent = derrick.equivalent_derrick_load_N(legs)
    assert equivalent == pytest.approx(float(row["equivalent_lbf"]), abs=tolerance)
    if row["efficiency_factor"]:
        factor = derrick.derrick_efficiency_factor(legs)
        expected = float(row["efficiency_factor"])
        assert factor == pytest.approx(expected, abs=float(row["tolerance_factor"]))


@pytest.mark.parametrize("row", rows("lifting_speeds"))
def test_lifting_speed(row):
    horsepower_W = to_si("550 lbf", "force") * to_si("1 ft", "length")
    speed = lifting.lifting_speed_m_s(
        float(row["power_hp"]) * horsepower_W,
        to_si(f"{row['load_lbf']} lbf", "force"),
        int(row["lines"]),
        1 / float(row["sheave_friction_factor_K"]),
    )
    in_ft_min = from_si(speed, "ft/min", "speed")
    expected = float(row["block_speed_ft_min"])
    assert in_ft_min == pytest.approx(expected, abs=float(row["tolerance_ft_min"]))


@pytest.mark.parametrize("row", rows("drum_speeds"))
def test_drum_speed(row):
    speed = lifting.drum_speed_rad_s(
        to_si(f"{row['block_speed_ft_min']} ft/min", "speed"),
        int(row["lines"]),
        to_si(f"{row['pitch_diameter_ft']} ft", "length"),
    )
    in_rpm = from_si(speed, "rpm", "angular_speed")
    expected = float(row["drum_speed_rpm"])
    assert in_rpm == pytest.approx(expected, abs=float(row["tolerance_rpm"]))


@pytest.mark.parametrize("row", rows("trade_ratings"))
def test_rating_in_both_tons(row):
    """Catalogues round; a rating is kept as given and converted exactly."""
    tonnes = from_si(to_si(row["rating"], "force"), "tf", "force")
    tolerance = float(row["relative_tolerance"])
    assert tonnes == pytest.approx(float(row["tonnes"]), rel=tolerance)


@pytest.mark.parametrize("row", rows("trade_lengths"))
def test_length_in_both_units(row):
    length = from_si(to_si(row["length"], "length"), "cm", "length")
    tolerance = float(row["relative_tolerance"])
    assert length == pytest.approx(float(row["centimetres"]), rel=tolerance)


@pytest.mark.parametrize("row", rows("drum_lengths"))
def test_drum_length(row):
    n_wraps = float(row["wraps_per_layer"])
    length = drum.line_on_drum_m(
        n_wraps * float(row["layers"]),
        to_si(f"{row['barrel_in']} in", "length"),
        to_si(f"{row['line_diameter_in']} in", "length"),
        n_wraps,
        float(row["layer_rise"]),
    )
    in_ft = from_si(length, "ft", "length")
    tolerance = float(row["relative_tolerance"])
    assert in_ft == pytest.approx(float(row["length_ft"]), rel=tolerance)


@pytest.mark.parametrize("row", rows("turn_travels"))
def test_travel_of_a_turn(row):
    diameter = drum.pitch_diameter_m(
        float(row["layer"]),
        to_si(f"{row['barrel_in']} in", "length"),
        to_si(f"{row['line_diameter_in']} in", "length"),
        float(row["layer_rise"]),
    )
    travel = block_position.travel_of_turn_m(diameter, int(row["lines"]))
    in_ft = from_si(travel, "ft", "length")
    assert in_ft == pytest.approx(float(row["travel_ft"]), abs=float(row["tolerance_ft"]))


@pytest.mark.parametrize("row", rows("fibre_core_strengths"))
def test_fibre_core_strength(row):
    strength_N = wire_rope.nominal_strength_N(
        to_si(f"{row['diameter_in']} in", "length"), row["grade"], row["construction"]
    )
    assert from_si(strength_N, "lbf", "force") == pytest.approx(float(row["strength_lbf"]))
    in_kN = from_si(strength_N, "kN", "force")
    assert in_kN == pytest.approx(float(row["strength_kN"]), abs=float(row["tolerance_kN"]))


@pytest.mark.parametrize("row", rows("sheave_factors"))
def test_sheave_factor(row):
    long_life, least = float(row["condition_A"]), float(row["condition_B"])
    advice = [
        wire_rope.sheave_advice(ratio, row["construction"])
        for ratio in (long_life, long_life - 0.1, least, least - 0.1)
    ]
    assert advice == ["long life", "shorter life", "shorter life", "too small"]


@pytest.mark.parametrize("row", rows("cut_goals"))
def test_cut_goal(row):
    goal = slip_and_cut.goal_J_m(to_si(f"{row['diameter_in']} in", "length"))
    a_foot = goal * to_si("1 ft", "length")
    in_ton_miles = from_si(a_foot, "ton-miles", "work")
    assert in_ton_miles == pytest.approx(float(row["ton_miles_per_ft"]), rel=1e-12)
    tolerance = float(row["tolerance_MJ_per_m"])
    assert goal / 1e6 == pytest.approx(float(row["MJ_per_m"]), abs=tolerance)


@pytest.mark.parametrize("row", rows("section_work"))
def test_section_work(row):
    # Ton-miles throughout: the formulas are linear in work.
    before, after = float(row["trip_before_ton_miles"]), float(row["trip_after_ton_miles"])
    if row["kind"] == "drilling":
        work = line_work.drilling_work_J(before, after, n_reams=int(row["reams"]))
    elif row["kind"] == "coring":
        work = line_work.coring_work_J(before, after)
    else:
        work = line_work.short_trip_work_J(before, after)
    assert work == pytest.approx(float(row["ton_miles"]), abs=float(row["tolerance"]))
