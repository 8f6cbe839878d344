"""Drilling line: design factor at each duty, sheave ratio, supply reel."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.drum import line_on_drum_m
from monitor.mechanics.supply_reel import reel_line_m, supply_line_m, whole_cuts
from monitor.mechanics.wire_rope import (
    LEAST_DESIGN_FACTOR,
    allowed_fast_line_tension_N,
    design_factor,
    duty_margins,
    nominal_strength_N,
    sheave_advice,
    sheave_ratio,
)


def test_design_factor_of_a_record():
    tension = np.array([0.0, 200e3, 400e3, math.nan])
    np.testing.assert_allclose(design_factor(800e3, tension), [math.inf, 4.0, 2.0, math.nan])
    assert math.isnan(design_factor(math.nan, 1.0))


@given(st.floats(1e5, 2e6), st.floats(0.0, 1e6))
def test_each_duty_is_met_up_to_its_allowed_tension(strength, tension):
    margins = duty_margins(strength, tension)
    assert [m.work for m in margins] == list(LEAST_DESIGN_FACTOR)
    for margin in margins:
        allowed = allowed_fast_line_tension_N(strength, margin.work)
        assert margin.tension_left_N == pytest.approx(allowed - tension, abs=1e-6)
        assert margin.is_met == (tension <= allowed)


def test_drilling_and_tripping_need_three_and_the_infrequent_two():
    """Michigan R 408.15732(3) and Wyoming 6-6(a), looked up."""
    least = {m.work: m.least_design_factor for m in duty_margins(900e3, 0.0)}
    assert (least["drilling"], least["tripping"], least["hoisting"]) == (3.0, 3.0, 3.0)
    assert (least["setting casing"], least["pulling on stuck pipe"]) == (2.0, 2.0)


@pytest.mark.parametrize("size_in", [1.0, 1.125, 1.25, 1.375, 1.5, 1.625, 1.75, 1.875, 2.0])
def test_strengths_by_core_and_grade_stay_in_order(size_in):
    """An independent wire rope core adds 7 to 7.5 % (ratio of two tables); grades rise."""
    diameter = size_in * 0.0254
    ips, eips, eeips = (nominal_strength_N(diameter, g) for g in ("IPS", "EIPS", "EEIPS"))
    assert ips < eips < eeips
    core = ips / nominal_strength_N(diameter, "IPS", "6x19 FC")
    assert 1.065 < core < 1.085
    assert nominal_strength_N(diameter, "EIPS", "6x37 IWRC") == eips


def test_sheave_ratio_as_in_the_standards_example():
    """33 3/4 in of 1 1/4 in: 27. API RP 9B 14th ed. Addendum 1, 2.3.3.5, looked up."""
    np.testing.assert_allclose(sheave_ratio(np.array([33.75, 60.0]), 1.25), [27.0, 48.0])
    assert sheave_advice(math.nan) == "unknown"


@given(st.integers(1, 12), st.integers(10, 60))
def test_reel_of_whole_layers_agrees_with_the_drum(n_layers, n_wraps):
    barrel, line = 0.6, 0.035
    by_layers = line_on_drum_m(float(n_layers * n_wraps), barrel, line, n_wraps, 1.0)
    by_volume = reel_line_m(n_layers * line, barrel, n_wraps * line, line)
    assert by_volume == pytest.approx(by_layers, rel=1e-12)


def test_book_of_the_supply_line():
    assert supply_line_m(1500.0, 320.0, 560.0) == 620.0
    assert whole_cuts(620.0, 30.5) == 20
    assert whole_cuts(-1.0, 30.5) == 0
    assert math.isnan(reel_line_m(math.nan, 0.6, 1.0, 0.035))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: design_factor(0.0, 1.0), "strength_N is 0.0; must be above 0"),
        (lambda: design_factor(1.0, -1.0), "fast_line_tension_N is -1.0; must be at least 0"),
        (lambda: nominal_strength_N(0.0254, "IPS", "7x7"), "construction is '7x7'"),
        (lambda: nominal_strength_N(0.0254, "EIPS", "6x19 FC"), "must be IPS with a fibre core"),
        (lambda: nominal_strength_N(0.03, "IPS", "6x19 FC"), "diameter_m is 0.03"),
        (lambda: sheave_ratio(0.0, 0.03), "tread_diameter_m is 0.0"),
        (lambda: sheave_advice(30.0, "rope"), "construction is 'rope'"),
        (lambda: reel_line_m(-1.0, 0.6, 1.0, 0.035), "wound_depth_m is -1.0"),
        (lambda: supply_line_m(-1.0, 0.0, 0.0), "delivered_m is -1.0"),
        (lambda: whole_cuts(math.nan, 30.0), "supply_m is nan; must be known"),
    ],
)
def test_refusals(call, match):
    with pytest.raises(ValueError, match=match):
        call()
