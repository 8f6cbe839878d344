"""Signal health: each fault is found, a healthy signal has none."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest

from monitor.metrology import signal_health as module
from monitor.metrology.signal_health import (
    CurrentState,
    current_states,
    frozen_spells,
    noise_standard_deviation,
    share_at,
    signal_health,
    signal_step,
)

TIME_US = np.arange(6000) * 100_000


@pytest.mark.parametrize(
    ("current_mA", "state"),
    [
        (0.0, "FAILED_LOW"),
        (3.59, "FAILED_LOW"),
        (3.6, "FAILED_LOW"),
        (3.7, "DOUBTFUL_LOW"),
        (3.8, "MEASURING"),
        (4.0, "MEASURING"),
        (20.5, "MEASURING"),
        (20.7, "DOUBTFUL_HIGH"),
        (21.0, "FAILED_HIGH"),
        (21.01, "FAILED_HIGH"),
        (math.nan, "MISSING"),
    ],
)
def test_levels_of_the_recommendation(current_mA, state):
    assert CurrentState(current_states(np.array([current_mA / 1e3]))[0]).name == state


def _signal(scale=2e-5):
    """Invented: a 4-20 mA signal with a slow load change and noise."""
    rng = np.random.default_rng(4)
    return 0.012 + 0.002 * np.sin(np.arange(6000) / 900.0) + rng.normal(0.0, scale, 6000)


def _findings(values):
    health = signal_health(TIME_US, values, 0.004, 0.020, is_current=True)
    assert all(check for _, check in health.findings)
    return [what for what, _ in health.findings]


def test_a_healthy_signal_has_no_finding():
    assert _findings(_signal()) == []
    assert _findings(np.round(_signal() / 1e-5) * 1e-5) == []


@pytest.mark.parametrize("n_frozen", [400, 5000])
def test_a_frozen_signal_is_found_however_long(n_frozen):
    values = np.round(_signal() / 1e-5) * 1e-5
    values[500 : 500 + n_frozen] = values[500]
    assert _findings(values) == ["frozen"]


def test_a_signal_that_never_moves_is_frozen():
    assert _findings(np.full(6000, 0.012)) == ["frozen"]


@pytest.mark.parametrize(
    ("level_A", "finding"),
    [
        (0.0, "failed low"),
        (0.022, "failed high"),
        (0.0205, "at the top of its scale"),
        (0.0039, "at the bottom of its scale"),
    ],
)
def test_ends_and_failures_are_named(level_A, finding):
    values = _signal()
    values[1000:1200] = level_A + np.random.default_rng(5).normal(0.0, 1e-7, 200)
    assert finding in _findings(values)


def test_coarse_steps_are_named_and_standing_still_is_then_no_fault():
    assert _findings(np.round(_signal() / 5e-4) * 5e-4) == ["coarse steps"]


def test_noise_is_what_it_is_under_trend_and_steps():
    rng = np.random.default_rng(8)
    values = rng.normal(0.0, 2.0, 5000) + 0.05 * np.arange(5000)
    values[2500:] += 500.0
    assert noise_standard_deviation(values) == pytest.approx(2.0, rel=0.05)
    assert math.isnan(noise_standard_deviation(values[:10]))


@pytest.mark.parametrize("step", [0.25, 1e-5, 0.1])
def test_step_of_a_quantised_signal(step):
    rng = np.random.default_rng(9)
    values = np.round(rng.normal(1.0, 20.0 * step, 4000) / step) * step
    assert signal_step(values) == pytest.approx(step, rel=1e-6)


def test_no_step_where_none_is():
    assert math.isnan(signal_step(np.random.default_rng(1).normal(size=500)))
    assert math.isnan(signal_step(np.full(500, 3.0)))
    assert math.isnan(signal_step(np.zeros(3)))


def test_frozen_spells_end_at_gaps():
    values = np.array([1.0, 1.0, np.nan, np.nan, 1.0, 1.0, 1.0])
    times = np.arange(7) * 20_000_000
    assert frozen_spells(times, values) == [(80_000_000, 120_000_000)]
    assert frozen_spells(times[:0], values[:0]) == []


def test_nothing_known_gives_nothing_away():
    health = signal_health(TIME_US[:50], np.full(50, np.nan), 0.004, 0.020)
    assert health.n_samples == 0
    assert health.findings == ()
    assert math.isnan(share_at(np.array([np.nan]), 1.0, 0.1))
    with pytest.raises(ValueError, match="must be below high_end"):
        signal_health(TIME_US, _signal(), 0.02, 0.004)


def test_examples():
    assert doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE).failed == 0
