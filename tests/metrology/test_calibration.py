"""Calibration fits: certified digits, a second opinion, the right root, honest intervals."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from monitor.metrology import calibration as module
from monitor.metrology.calibration import (
    fit_calibration,
    load_of,
    reading_at,
    reading_slope,
)
from monitor.metrology.load_interval import load_half_width
from tests.metrology.load_cell import load_cell
from tests.published.table import rows

LOADS, READINGS = load_cell()


@pytest.mark.parametrize("row", rows("load_cell_certified"))
def test_certified_figures_of_the_load_cell(row):
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    values = {f"B{k}": value for k, value in enumerate(fit.coefficients)}
    errors = {f"B{k}": value for k, value in enumerate(fit.standard_errors)}
    values["s"] = fit.residual_standard_deviation
    tolerance = float(row["relative_tolerance"])
    assert values[row["id"]] == pytest.approx(float(row["value"]), rel=tolerance)
    if row["standard_error"]:
        expected = float(row["standard_error"])
        assert errors[row["id"]] == pytest.approx(expected, rel=tolerance)


def test_certified_sum_of_squares_and_freedom():
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    assert (fit.n_points, fit.n_free) == (40, 37)
    rss = fit.n_free * fit.residual_standard_deviation**2
    assert rss == pytest.approx(0.155761768796992e-05, rel=1e-12)


def test_a_straight_line_through_the_load_cell_is_ten_times_worse():
    line = fit_calibration(LOADS, READINGS, "linear")
    other = stats.linregress(LOADS, READINGS)
    assert line.coefficients == pytest.approx((other.intercept, other.slope), rel=1e-11)
    assert line.standard_errors == pytest.approx((other.intercept_stderr, other.stderr), rel=1e-9)
    assert line.residual_standard_deviation == pytest.approx(2.17127e-3, rel=1e-5)
    assert np.abs(READINGS - reading_at(line, LOADS)).max() == pytest.approx(0.00428, abs=5e-6)
    origin = fit_calibration(LOADS, READINGS, "linear", through_zero=True)
    assert origin.coefficients == (0.0, pytest.approx(7.25102427e-07, rel=1e-9))
    assert origin.standard_errors[0] == 0.0
    assert origin.n_free == 39


@pytest.mark.parametrize("through_zero", [False, True])
@pytest.mark.parametrize("model", ["linear", "quadratic"])
def test_scipy_agrees(model, through_zero):
    loads, readings = LOADS / 3e6, READINGS  # what a general fitter can digest
    first = 1 if through_zero else 0
    degree = {"linear": 1, "quadratic": 2}[model]

    def curve(x, *coefficients):
        return sum(c * x ** (first + k) for k, c in enumerate(coefficients))

    found, covariance = optimize.curve_fit(
        curve, loads, readings, p0=[1.0] * (degree + 1 - first), xtol=1e-15, ftol=1e-15
    )
    fit = fit_calibration(loads, readings, model, through_zero=through_zero)
    assert fit.coefficients[first:] == pytest.approx(found, rel=1e-6, abs=1e-7)  # its own stop
    assert fit.standard_errors[first:] == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-4)


def test_of_two_roots_the_one_in_range_is_taken():
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    loads, outside = load_of(fit, np.array([1.08, 0.0, 2.5, 1e9]))
    assert loads[0] == pytest.approx(1_483_877.6, abs=0.05)  # the other root: 2.30e8
    assert outside.tolist() == [False, True, True, True]
    assert math.isnan(loads[3])  # beyond the turning point no load gives it


@given(
    st.floats(-5.0, 5.0),
    st.floats(0.5, 4.0),
    st.floats(-0.9, 0.9),
    st.sampled_from([1.0, -1.0]),
    st.floats(0.0, 1.0),
)
def test_the_load_of_the_reading_of_a_load_is_that_load(zero, gain, bend, sign, place):
    loads = np.linspace(0.0, 400.0, 9)
    share = loads / 400.0
    readings = zero + sign * gain * (share + bend * share * (1.0 - share))
    fit = fit_calibration(loads, readings, "quadratic")
    load = np.array([400.0 * place])
    found, outside = load_of(fit, reading_at(fit, load))
    assert found == pytest.approx(load, abs=1e-6)
    assert not outside.any()


def test_the_ends_of_the_range_are_not_outside():
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    ends = reading_at(fit, np.array(fit.load_range))
    assert not load_of(fit, ends)[1].any()
    assert load_of(fit, ends * np.array([0.99, 1.01]))[1].all()


def test_a_fit_that_turns_over_is_not_inverted():
    loads = np.array([0.0, 10.0, 20.0, 30.0])
    fit = fit_calibration(loads, np.array([0.0, 5.0, 6.0, 4.0]), "quadratic")
    assert not fit.is_monotonic
    with pytest.raises(ValueError, match=r"turns over within its range"):
        load_of(fit, np.array([5.0]))
    flat = fit_calibration(loads, np.full(4, 4.0))
    with pytest.raises(ValueError, match=r"flat or turns over"):
        load_of(flat, np.array([4.0]))


@pytest.mark.parametrize(("model", "gain"), [("linear", 0.0), ("quadratic", -2e-5)])
def test_the_interval_covers_the_true_load_as_often_as_it_says(model, gain):
    rng = np.random.default_rng(6)
    loads = np.tile(np.linspace(0.0, 200.0, 5), 2)
    true_load, n, hits = 130.0, 3000, 0
    for _ in range(n):
        noise = rng.normal(scale=0.02, size=len(loads) + 1)
        readings = 4.0 + 0.08 * loads + gain * loads**2
        fit = fit_calibration(loads, readings + noise[1:], model)
        reading = np.array([4.0 + 0.08 * true_load + gain * true_load**2 + noise[0]])
        error = abs(float(load_of(fit, reading)[0][0]) - true_load)
        hits += error <= float(load_half_width(fit, reading)[0])
    assert hits / n == pytest.approx(0.95, abs=0.012)  # three standard deviations of the share


def test_resolution_reference_and_repeats_count():
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    reading = np.array([1.08])
    plain = load_half_width(fit, reading)[0]
    assert load_half_width(fit, reading, n_readings=4)[0] < plain
    coarse = load_half_width(fit, reading, resolution=0.01)[0]
    slope = reading_slope(fit, load_of(fit, reading)[0])[0]
    by_step = 1.96 * 0.01 / math.sqrt(12.0) / slope
    assert coarse == pytest.approx(math.hypot(plain, by_step), rel=1e-9)
    given_by = load_half_width(fit, reading, reference_uncertainty=500.0)[0]
    assert given_by == pytest.approx(math.hypot(plain, 980.0), rel=1e-9)
    outside = load_half_width(fit, np.array([1.08, 3.0]))
    assert outside[1] > outside[0]


@pytest.mark.parametrize(
    ("loads", "readings", "words", "message"),
    [
        ([1.0, 2.0], [1.0, 2.0], {}, r"loads has 2 points; 2 coefficients .* at least 3"),
        ([1.0, 2.0, 3.0], [1.0, 2.0], {}, r"3 points and readings 2"),
        ([1.0, 2.0, np.nan], [1.0, 2.0, 3.0], {}, r"must all be known"),
        ([1.0, 1.0, 1.0], [1.0, 2.0, 3.0], {}, r"1 different loads; 2 coefficients"),
        ([0.0, 0.0], [1.0, 2.0], {"through_zero": True}, r"0 different loads besides zero"),
        ([1.0, 2.0, 3.0], [1.0, 2.0, 3.0], {"model": "cubic"}, r"model is 'cubic'"),
        ([1.0, 2.0, 3.0], [1.0, 2.0, 3.0], {"model": "quadratic"}, r"at least 4"),
    ],
)
def test_points_that_cannot_be_fitted_are_refused(loads, readings, words, message):
    with pytest.raises(ValueError, match=message):
        fit_calibration(np.array(loads), np.array(readings), **words)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ({"n_readings": 0}, "n_readings is 0"),
        ({"resolution": -1.0}, "resolution is -1"),
        ({"reference_uncertainty": math.nan}, "reference_uncertainty is nan"),
    ],
)
def test_wrong_uncertainties_are_refused(words, message):
    fit = fit_calibration(LOADS, READINGS)
    with pytest.raises(ValueError, match=message):
        load_half_width(fit, np.array([1.0]), **words)


def test_examples():
    assert doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE).failed == 0
