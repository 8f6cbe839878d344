"""Sheave efficiency and rail drag from runs: recovered, with intervals, or refused."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.metrology import sheave_friction as module
from monitor.metrology.sheave_friction import sheave_friction, steady_mean, student_t_975

efficiencies = st.floats(min_value=0.955, max_value=0.998)
drags = st.floats(min_value=0.0, max_value=10e3)
lines = st.sampled_from([4, 6, 8, 10, 12, 14])
sheaves = st.sampled_from(["fixed", "turning"])


def _runs(loads, e, drag, n, sheave="fixed"):
    loads = np.asarray(loads, dtype=float)
    up = (loads + drag) / load_factor_hoisting(n, e, sheave)
    return up, (loads - drag) / load_factor_lowering(n, e, sheave)


@given(efficiencies, drags, lines, sheaves, st.integers(2, 5))
def test_runs_without_noise_give_back_what_made_them(e, drag, n, sheave, n_loads):
    loads = np.linspace(300e3, 1500e3, n_loads)
    up, down = _runs(loads, e, drag, n, sheave)
    assume(down[0] > up[0])  # else so much drag that even one run is odd
    found = sheave_friction(up, down, n, sheave, 100.0, 100.0)
    assert found.sheave_efficiency == pytest.approx(e, abs=1e-9)
    assert found.rail_drag_N == pytest.approx(drag, abs=0.05)
    np.testing.assert_allclose(found.loads_N, loads, rtol=1e-6)
    assert not found.is_combined


def test_drag_looks_like_efficiency_at_one_load():
    """5 kN of drag turn 0.985 into 0.9895 with 245 kN on ten lines: the combined figure."""
    up, down = _runs([245e3], 0.985, 5e3, 10)
    one = sheave_friction(up, down, 10)
    assert one.is_combined
    assert one.sheave_efficiency == pytest.approx(0.9895, abs=0.0001)
    assert math.isnan(one.rail_drag_N)
    assert math.isnan(one.efficiency_half_width)
    up, down = _runs([245e3, 1200e3], 0.985, 5e3, 10)
    both = sheave_friction(up, down, 10)
    assert both.sheave_efficiency == pytest.approx(0.985, abs=1e-6)
    assert both.rail_drag_N == pytest.approx(5e3, rel=1e-4)
    assert math.isnan(both.efficiency_half_width)  # two loads, nothing said of their noise


@pytest.mark.parametrize("told", [True, False], ids=["uncertainty told", "from scatter"])
def test_intervals_hold_nineteen_times_of_twenty(told):
    random = np.random.default_rng(5)
    loads = np.array([245e3, 600e3, 1000e3, 1400e3])
    clean_up, clean_down = _runs(loads, 0.985, 4e3, 10)
    noise = 150.0
    n_trials, hits_e, hits_drag = 400, 0, 0
    for _ in range(n_trials):
        up = clean_up + random.normal(0.0, noise, 4)
        down = clean_down + random.normal(0.0, noise, 4)
        found = sheave_friction(up, down, 10, "fixed", *((noise, noise) if told else ()))
        hits_e += abs(found.sheave_efficiency - 0.985) <= found.efficiency_half_width
        hits_drag += abs(found.rail_drag_N - 4e3) <= found.rail_drag_half_width_N
    # 95 %, and 400 trials scatter by about 1.1 %; told intervals are widened now and then.
    assert 0.91 < hits_e / n_trials <= 0.99
    assert 0.91 < hits_drag / n_trials <= 0.99


def test_line_fit_against_another_implementation():
    """scipy's linear orthogonal fit with weights: same slope, intercept and errors."""
    odr = pytest.importorskip("scipy.optimize")
    random = np.random.default_rng(1)
    up, down = _runs(np.linspace(250e3, 1500e3, 6), 0.985, 4e3, 10)
    up, down = up + random.normal(0, 200, 6), down + random.normal(0, 300, 6)

    def residuals(parameters):
        slope, intercept = parameters[:2]
        x = parameters[2:]
        return np.concatenate(((x - up) / 200.0, (slope * x + intercept - down) / 300.0))

    start = np.concatenate(([1.1, 0.0], up))
    fit = odr.least_squares(residuals, start, x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    covariance = np.linalg.inv(fit.jac.T @ fit.jac)
    found = sheave_friction(up, down, 10, "fixed", 200.0, 300.0)
    assert found.sheave_efficiency == pytest.approx(fit.x[0] ** (-1 / 9), rel=1e-7)
    assert found.rail_drag_N == pytest.approx(
        -fit.x[1] / 2 * load_factor_lowering(10, found.sheave_efficiency), abs=1.0
    )
    half = 1.96 * math.sqrt(covariance[0, 0]) * found.sheave_efficiency / (9 * fit.x[0])
    scatter = 2 * fit.cost / 4
    assert found.efficiency_half_width == pytest.approx(
        half * math.sqrt(max(1, scatter)), rel=0.01
    )


def test_combined_half_width_follows_the_noise():
    up, down = _runs([245e3], 0.985, 0.0, 10)
    found = sheave_friction(up, down, 10, "fixed", 100.0, 100.0)
    by_hand = 1.96 / 9 * 0.985 * math.hypot(100 / up[0], 100 / down[0])
    assert found.efficiency_half_width == pytest.approx(by_hand, rel=1e-9)
    assert found.loads_N[0] == pytest.approx(245e3)


@pytest.mark.parametrize("n_free", [1, 2, 5, 10, 11, 15, 30, 100])
def test_student_t(n_free):
    stats = pytest.importorskip("scipy.stats")
    assert student_t_975(n_free) == pytest.approx(stats.t.ppf(0.975, n_free), abs=0.003)


def test_steady_mean_of_correlated_noise():
    """Noise correlated over ten samples: the scatter of samples alone would be three times low."""
    random = np.random.default_rng(2)
    means, told = [], []
    for _ in range(200):
        noise = np.repeat(random.normal(0.0, 300.0, 60), 10)
        mean = steady_mean(25e3 + noise)
        means.append(mean.tension_N)
        told.append(mean.standard_uncertainty_N)
    assert np.std(means) == pytest.approx(300 / math.sqrt(60), rel=0.15)
    assert np.sqrt(np.mean(np.square(told))) == pytest.approx(np.std(means), rel=0.15)
    with_gap = steady_mean(np.array([math.nan, *np.full(20, 5.0)]))
    assert (with_gap.tension_N, with_gap.n_samples) == (5.0, 20)


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        (([27e3], [24e3], 10), "comes out as 0.8889; sheaves with friction .*exchanged"),
        (([24e3], [24e3], 10), "comes out as 1.0000; sheaves with friction"),
        (([20e3], [35e3], 10), "efficiency comes out as 0.93.*; below 0.95"),
        (([20e3, 21e3], [23e3, 24e3], 10), "must differ by 1.25 times"),
        (([20e3, 100e3], [25e3, 115e3], 10), "rail drag comes out as -.*cannot push"),
        (([20e3], [23e3, 100e3], 10), "has 1 runs and tension_down_N 2; each load needs both"),
        (([], [], 10), "has 0 runs"),
        (([0.0], [23e3], 10), "tension_up_N is .*every run must be known, above 0"),
        (([math.nan], [23e3], 10), "tension_up_N is .*every run must be known"),
        (([20e3], [23e3], 1), "n_lines is 1"),
        (([20e3], [23e3], 10, "loose"), "dead_line_sheave is 'loose'"),
        (([20e3], [23e3], 10, "fixed", 0.0, 1.0), "up_uncertainty_N is .*above 0"),
    ],
)
def test_refuses_impossible_results_with_the_reason(arguments, match):
    up, down, *rest = arguments
    with pytest.raises(ValueError, match=match):
        sheave_friction(np.array(up), np.array(down), *rest)


def test_examples():
    outcome = doctest.testmod(module)
    assert outcome.attempted >= 4
    assert outcome.failed == 0


def test_refuses_short_runs():
    with pytest.raises(ValueError, match="has 15 known samples; must have 16"):
        steady_mean(np.ones(15))
    with pytest.raises(ValueError, match="n_blocks is 3"):
        steady_mean(np.ones(100), 3)
    with pytest.raises(ValueError, match="n_free is 0"):
        student_t_975(0)
