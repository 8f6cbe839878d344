"""Weight, line work, stretch: checks that need more than one printed value."""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.mechanics.line_work import drilling_work_J, round_trip_work_J
from monitor.mechanics.pipe import (
    buoyancy_factor,
    section_lengths_m,
    steel_area_m2,
    string_weight_N,
    tensile_capacity_N,
)
from monitor.mechanics.stretch import STEEL_MODULUS_Pa, free_length_m, stretch_m
from monitor.mechanics.wire_rope import (
    allowed_fast_line_tension_N,
    design_factor,
    nominal_strength_N,
)
from monitor.rig.rig import Section

COLLARS = Section("drill collars", 110.0, 0.2032, 0.07145, 2184.0)
HEAVY = Section("heavy-weight drill pipe", 140.0, 0.127, 0.0762, 719.0)
PIPE = Section("drill pipe", None, 0.127, 0.1086, 343.0)
STRING = (COLLARS, HEAVY, PIPE)


def test_string_weight_by_depth():
    depth = np.array([-5.0, 0.0, 60.0, 110.0, 200.0, 1250.0, math.nan])
    expected = [0, 0, 60 * 2184, 110 * 2184, 110 * 2184 + 90 * 719]
    expected += [110 * 2184 + 140 * 719 + 1000 * 343, math.nan]
    np.testing.assert_allclose(string_weight_N(STRING, depth), expected, rtol=1e-12)
    in_mud = string_weight_N(STRING, depth, 1200.0)
    np.testing.assert_allclose(in_mud, np.array(expected) * (1 - 1200 / 7850), rtol=1e-12)


def test_string_weight_row_by_row_has_the_same_bits():
    depth = np.linspace(-10.0, 3000.0, 1001) * 1.000123
    whole = string_weight_N(STRING, depth, 1234.5)
    single = np.array([float(string_weight_N(STRING, d, 1234.5)) for d in depth])
    assert np.array_equal(whole, single)


def test_section_lengths_add_up():
    assert section_lengths_m(STRING, 1250.0) == [110.0, 140.0, 1000.0]
    assert section_lengths_m(STRING, 120.0) == [110.0, 10.0, 0.0]
    assert section_lengths_m((COLLARS, HEAVY), 300.0) == [110.0, 190.0]  # the top goes on


def test_line_work_is_the_sum_of_load_times_travel():
    """100 stands of 90 ft, every stroke of a round trip by hand: 302.93182 ton-miles."""
    stand, weight, travelling, excess = 90.0, 16.0, 40_000.0, 25_000.0  # ft, lb/ft, lb, lb
    total = 0.0
    for k in range(100):
        # While a stand comes up, what hangs from bit to elevators stays as long as it was.
        load = travelling + excess + weight * (9000.0 - stand * k)
        total += stand * (load + travelling)  # loaded up, empty down
    total *= 2  # running in: the same strokes the other way
    formula = round_trip_work_J(9000.0, stand, weight, travelling, excess)
    # In ft and lb both give ft-lbf.
    assert total / 10_560_000 == pytest.approx(302.93182, abs=1e-5)
    assert formula == pytest.approx(total, rel=1e-12)


def test_drilling_work():
    # T 626.93 and 858.45: printed 463, 695, 926 (spreadsheet citing RP 9B, looked up).
    for passes, printed in ((2, 463), (3, 695), (4, 926)):
        assert drilling_work_J(626.93, 858.45, passes) == pytest.approx(printed, abs=0.5)
    with pytest.raises(ValueError, match="passes is 5; must be 2, 3 or 4"):
        drilling_work_J(1.0, 2.0, 5)
    with pytest.raises(ValueError, match="round_trip_after_J is 1.0"):
        drilling_work_J(2.0, 1.0)
    with pytest.raises(ValueError, match="depth_m is -1.0; must be at least 0"):
        round_trip_work_J(-1.0, 30.0, 300.0, 1e5, 0.0)


@pytest.mark.parametrize("stuck_at", [20.0, 1000.0, 1990.0, 2100.0, 2200.0])
def test_free_length_of_a_mixed_string(stuck_at):
    """Stretch of the free part by hand, line, mast and pipe above the floor with it."""
    bit_depth, above, pull, compliance, stiff = 2250.0, 12.0, 300e3, 3e-8, 1.04
    downwards = ((2000.0 + above, PIPE), (140.0, HEAVY), (110.0, COLLARS))
    left, movement = stuck_at + above, pull * compliance
    for length, section in downwards:
        area = steel_area_m2(section.outside_diameter_m, section.inside_diameter_m)
        movement += pull * min(left, length) / (STEEL_MODULUS_Pa * area * stiff)
        left -= min(left, length)
    found = free_length_m(
        movement,
        pull,
        STRING,
        bit_depth,
        above_floor_m=above,
        hoist_compliance_m_N=compliance,
        stiffening=stiff,
    )
    assert found == pytest.approx(stuck_at, abs=1e-6)


def test_free_length_of_the_whole_stretch_is_the_bit():
    whole = stretch_m(200e3, STRING, 2250.0)
    assert free_length_m(whole, 200e3, STRING, 2250.0) == pytest.approx(2250.0)
    assert free_length_m(1.1 * whole, 200e3, STRING, 2250.0) > 2250.0
    assert free_length_m(0.0, 200e3, STRING, 2250.0, above_floor_m=10.0) == -10.0
    assert math.isnan(free_length_m(math.nan, 200e3, STRING, 2250.0))
    with pytest.raises(ValueError, match="pull_N is 0.0; must be above 0"):
        free_length_m(1.0, 0.0, STRING, 2250.0)
    with pytest.raises(ValueError, match="stiffening is 0.0"):
        stretch_m(1.0, STRING, 2250.0, stiffening=0.0)


def test_wire_rope_limits():
    assert design_factor(1e6, 0.0) == math.inf
    assert allowed_fast_line_tension_N(900e3) == 300e3
    assert allowed_fast_line_tension_N(900e3, "pulling on stuck pipe") == 450e3
    with pytest.raises(ValueError, match="work is 'fishing'"):
        allowed_fast_line_tension_N(900e3, "fishing")
    with pytest.raises(ValueError, match="strength_N is 0.0"):
        design_factor(0.0, 1.0)
    with pytest.raises(ValueError, match="not a size of the table"):
        nominal_strength_N(0.06)
    with pytest.raises(ValueError, match="grade is 'PS'"):
        nominal_strength_N(0.0254, "PS")


def test_refuses_what_is_no_pipe_and_no_mud():
    with pytest.raises(ValueError, match="mud_density_kg_m3 is -1.0"):
        buoyancy_factor(-1.0)
    with pytest.raises(ValueError, match="steel_density_kg_m3 is 1000.0"):
        buoyancy_factor(1200.0, 1000.0)
    with pytest.raises(ValueError, match="inside_diameter_m is 0.2"):
        steel_area_m2(0.1, 0.2)
    with pytest.raises(ValueError, match="pipe_class is 'class 3'"):
        tensile_capacity_N(0.127, 0.1086, 5e8, "class 3")
    with pytest.raises(ValueError, match="sections is empty"):
        string_weight_N((), 100.0)
