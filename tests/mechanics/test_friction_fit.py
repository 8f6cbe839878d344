"""Friction factors found again from weights that were made with known ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.mechanics.drag import moving_weight_N
from monitor.mechanics.friction_fit import fit_friction_factor
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.survey import well_path
from tests.mechanics.test_drag import HOLE, STRING

DEPTH = np.linspace(900.0, 3100.0, 80)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 0.6), st.sampled_from(["hoisting", "lowering"]))
def test_finds_the_factor_again(factor, direction):
    weight = moving_weight_N(STRING, HOLE, DEPTH, factor, direction)
    fit = fit_friction_factor(STRING, HOLE, DEPTH, weight, direction)
    assert fit.friction_factor == pytest.approx(factor, abs=1e-5)
    assert fit.standard_error < 1e-5
    assert fit.n_weights == len(DEPTH)
    assert math.isnan(fit.cased_friction_factor)


@pytest.mark.parametrize("direction", ["hoisting", "lowering"])
def test_finds_both_factors_again(direction):
    hole = Hole(HOLE.path, 1200.0, casing_shoe_m=1700.0)
    weight = moving_weight_N(STRING, hole, DEPTH, 0.35, direction, cased_friction_factor=0.18)
    fit = fit_friction_factor(STRING, hole, DEPTH, weight, direction, fit_cased=True)
    assert fit.friction_factor == pytest.approx(0.35, abs=1e-5)
    assert fit.cased_friction_factor == pytest.approx(0.18, abs=1e-5)
    known = fit_friction_factor(STRING, hole, DEPTH, weight, direction, cased_friction_factor=0.18)
    assert known.friction_factor == pytest.approx(0.35, abs=1e-5)
    assert known.cased_friction_factor == 0.18
    assert known.cased_standard_error == 0.0


def test_the_standard_error_is_the_scatter_of_many_fits():
    random = np.random.default_rng(3)
    weight = moving_weight_N(STRING, HOLE, DEPTH, 0.3, "hoisting")
    fits = [
        fit_friction_factor(
            STRING, HOLE, DEPTH, weight + random.normal(0.0, 15e3, len(DEPTH)), "hoisting"
        )
        for _ in range(60)
    ]
    scatter = np.std([fit.friction_factor for fit in fits])
    stated = np.mean([fit.standard_error for fit in fits])
    # 60 fits know their own scatter to about 10 %.
    assert stated == pytest.approx(scatter, rel=0.3)
    deviations = [fit.residual_standard_deviation_N for fit in fits]
    assert np.mean(deviations) == pytest.approx(15e3, rel=0.1)


def test_the_common_error_is_carried_through():
    """An error that all weights share shifts the factor by as much as it says."""
    weight = moving_weight_N(STRING, HOLE, DEPTH, 0.3, "hoisting")
    sure = fit_friction_factor(STRING, HOLE, DEPTH, weight, "hoisting")
    unsure = fit_friction_factor(STRING, HOLE, DEPTH, weight, "hoisting", common_error_N=10e3)
    shifted = fit_friction_factor(STRING, HOLE, DEPTH, weight + 10e3, "hoisting")
    shift = shifted.friction_factor - sure.friction_factor
    assert unsure.standard_error == pytest.approx(shift, rel=0.1)


def test_tight_spots_hardly_raise_it():
    random = np.random.default_rng(4)
    clean = moving_weight_N(STRING, HOLE, DEPTH, 0.3, "hoisting")
    weight = clean + random.normal(0.0, 5e3, len(DEPTH))
    weight[::10] += 250e3
    fit = fit_friction_factor(STRING, HOLE, DEPTH, weight, "hoisting")
    assert fit.friction_factor == pytest.approx(0.3, abs=0.01)
    assert fit.residual_standard_deviation_N < 10e3
    np.testing.assert_allclose(fit.residual_N[::10], 250e3, atol=25e3)


def test_a_factor_below_zero_is_told():
    weight = moving_weight_N(STRING, HOLE, DEPTH, 0.0, "rotating") - 20e3
    fit = fit_friction_factor(STRING, HOLE, DEPTH, weight, "hoisting")
    assert fit.friction_factor < -0.01


def test_rows_without_a_value_are_left_out():
    depth = DEPTH.copy()
    weight = moving_weight_N(STRING, HOLE, depth, 0.3, "hoisting")
    depth[3], weight[5] = math.nan, math.nan
    fit = fit_friction_factor(STRING, HOLE, depth, weight, "hoisting")
    assert fit.friction_factor == pytest.approx(0.3, abs=1e-5)
    assert fit.n_weights == len(DEPTH) - 2
    assert np.flatnonzero(np.isnan(fit.residual_N)).tolist() == [3, 5]


def test_what_says_nothing_of_friction_gives_no_factor():
    vertical = Hole(well_path(()), 1200.0)
    weight = moving_weight_N(STRING, vertical, DEPTH, 0.0, "rotating")
    for hole, depth, heavy in (
        (vertical, DEPTH, weight),
        (HOLE, DEPTH[:1], weight[:1]),
        (HOLE, DEPTH[:0], weight[:0]),
        (HOLE, np.linspace(50.0, 450.0, 80), weight),
    ):
        fit = fit_friction_factor(STRING, hole, depth, heavy, "hoisting")
        assert math.isnan(fit.friction_factor)
        assert math.isnan(fit.standard_error)


def test_two_factors_need_depths_that_tell_them_apart():
    hole = Hole(HOLE.path, 1200.0, casing_shoe_m=1700.0)
    depth = np.linspace(900.0, 1600.0, 30)  # all of it cased
    weight = moving_weight_N(STRING, hole, depth, 0.3, "hoisting")
    fit = fit_friction_factor(STRING, hole, depth, weight, "hoisting", fit_cased=True)
    assert math.isnan(fit.friction_factor)


def test_refuses_what_cannot_be_fitted():
    weight = moving_weight_N(STRING, HOLE, DEPTH, 0.3, "hoisting")
    with pytest.raises(ValueError, match="direction is 'rotating'; must be hoisting or lower"):
        fit_friction_factor(STRING, HOLE, DEPTH, weight, "rotating")
    with pytest.raises(ValueError, match=r"weight_N has shape \(79,\)"):
        fit_friction_factor(STRING, HOLE, DEPTH, weight[1:], "hoisting")
    with pytest.raises(ValueError, match="fit_cased is True; needs a casing shoe"):
        fit_friction_factor(STRING, HOLE, DEPTH, weight, "hoisting", fit_cased=True)
    with pytest.raises(ValueError, match="common_error_N is -1.0; must be at least 0"):
        fit_friction_factor(STRING, HOLE, DEPTH, weight, "hoisting", common_error_N=-1.0)
