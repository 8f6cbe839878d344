"""Uncertainty of hook load and weight on bit: law of propagation against Monte Carlo.

JCGM 101:2008 ("Propagation of distributions using a Monte Carlo method", from memory) is the
outside check of JCGM 100: the inputs are drawn from their distributions, the load is worked
out by the formula that makes it, and the spread of the results is compared.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.mechanics.dead_line import hook_load_N
from monitor.mechanics.reeving import dead_line_tension_N
from monitor.metrology.uncertainty import (
    COVERAGE_FACTOR,
    MEDIAN_OF_3,
    RECTANGLE,
    Doubts,
    Reeved,
    budget,
    efficiency_share,
    half_width_N,
    hook_load_terms,
    turning_N,
    weight_on_bit_terms,
)

DRAWS = 200_000
N_LINES, E, U_E = 10, 0.985, 0.002
TENSION_N = 150e3


def uniform(random: np.random.Generator, half_width: float, size: int = DRAWS) -> np.ndarray:
    return random.uniform(-half_width, half_width, size)


def loads(
    state: np.ndarray | float, tension_N: np.ndarray, efficiency: np.ndarray, sheave: str = "fixed"
) -> np.ndarray:
    """Hook load with an efficiency of its own for each draw, the sums written out."""
    k = np.arange(N_LINES)[:, np.newaxis]
    up, down = np.sum(efficiency**-k, axis=0), np.sum(efficiency**k, axis=0)
    if sheave == "turning":
        up, down = up / efficiency, down * efficiency
    return tension_N / (0.5 * ((1.0 + state) / up + (1.0 - state) / down))


@pytest.mark.parametrize("state", [1.0, -1.0])
@pytest.mark.parametrize("sheave", ["fixed", "turning"])
def test_hook_load_by_propagation_is_as_wide_as_by_monte_carlo(state: float, sheave: str) -> None:
    random = np.random.default_rng(6)
    doubts = Doubts(tension_N=400.0, zero_N=600.0 / RECTANGLE, noise_N=300.0, step_N=500.0)
    noise = np.median(random.normal(0.0, 300.0, (3, DRAWS)), axis=0)
    read = TENSION_N + random.normal(0.0, 400.0, DRAWS) + uniform(random, 600.0) + noise
    read = read + uniform(random, 250.0)
    drawn = loads(state, read, random.normal(E, U_E, DRAWS), sheave)
    terms = hook_load_terms(Reeved(N_LINES, E, sheave, U_E), state, TENSION_N, doubts)
    half = half_width_N(terms)
    centre = loads(state, np.array([TENSION_N]), np.array([E]), sheave)[0]
    assert math.sqrt(sum(u**2 for u in terms.values())) == pytest.approx(drawn.std(), rel=0.01)
    assert np.mean(np.abs(drawn - centre) <= half) == pytest.approx(0.95, abs=0.004)
    assert centre == pytest.approx(hook_load_N(TENSION_N, state, N_LINES, E, sheave))


def test_while_the_friction_turns_over_the_interval_holds_at_least_95_percent() -> None:
    """Any true friction state is as likely as another: the rectangle is the worst of shapes."""
    random = np.random.default_rng(7)
    reeved = Reeved(N_LINES, E, "fixed", U_E)
    doubts = Doubts(tension_N=400.0, noise_N=200.0)
    true = 1.5e6
    state = random.uniform(-1.0, 1.0, DRAWS)
    tension = dead_line_tension_N(true, N_LINES, E, direction="hoisting") * (1 + state) / 2
    tension = (
        tension + dead_line_tension_N(true, N_LINES, E, direction="lowering") * (1 - state) / 2
    )
    read = tension + random.normal(0.0, 400.0, DRAWS) + random.normal(0.0, 134.0, DRAWS)
    # The tool believes it is in the middle of turning over.
    shown = hook_load_N(read, 0.0, N_LINES, E)
    half = half_width_N(hook_load_terms(reeved, 0.0, read, doubts))
    inside = float(np.mean(np.abs(shown - true) <= half))
    assert 0.95 <= inside <= 1.0
    swing = hook_load_N(100e3, 1.0, N_LINES, E) - hook_load_N(100e3, -1.0, N_LINES, E)
    assert turning_N(reeved, 0.0, 100e3) == pytest.approx(swing / 2.0)


def test_weight_on_bit_by_propagation_is_as_wide_as_by_monte_carlo() -> None:
    """One sensor, one string-up: zero and gain are drawn once for tare and load alike."""
    random = np.random.default_rng(8)
    true_weight, tare_load = 90e3, 1.5e6
    gain = random.normal(1.0, 0.0025, DRAWS)
    zero = uniform(random, 1500.0)
    efficiency = random.normal(E, U_E, DRAWS)
    tare_error = random.uniform(-5e3, 5e3, DRAWS)
    noise = np.median(random.normal(0.0, 300.0, (3, DRAWS)), axis=0)
    read = [
        dead_line_tension_N(load, N_LINES, E, direction="lowering") * gain + zero
        for load in (tare_load, tare_load - true_weight)
    ]
    shown = loads(-1.0, read[0], efficiency) + tare_error
    shown = shown - loads(-1.0, read[1] + noise, efficiency)
    tension = float(read[1].mean())
    doubts = Doubts(tension_N=0.0025 * tension, zero_N=1500.0 / RECTANGLE, noise_N=300.0)
    reeved = Reeved(N_LINES, E, "fixed", U_E)
    terms = weight_on_bit_terms(reeved, -1.0, tension, true_weight, doubts)
    assert math.sqrt(sum(u**2 for u in terms.values())) == pytest.approx(shown.std(), rel=0.01)
    inside = np.mean(np.abs(shown - true_weight) <= half_width_N(terms))
    assert 0.95 <= inside <= 0.97  # the tare's rectangle has no tails


def test_the_median_of_three_leaves_this_much_noise() -> None:
    rows = np.random.default_rng(9).normal(size=(3, 1_000_000))
    assert np.median(rows, axis=0).std() == pytest.approx(MEDIAN_OF_3, rel=0.003)


def test_the_efficiencys_share_is_the_slope_of_the_load() -> None:
    """By a difference of two loads at two efficiencies (derived)."""
    for state in (-1.0, 0.0, 1.0):
        one, other = (
            hook_load_N(TENSION_N, state, N_LINES, E + step) for step in (0.0001, -0.0001)
        )
        slope = abs(one - other) / 0.0002 / hook_load_N(TENSION_N, state, N_LINES, E)
        share = efficiency_share(Reeved(N_LINES, E, "fixed", 1.0), state)
        assert share == pytest.approx(slope, rel=1e-4)


def test_a_budget_lists_the_greatest_first_and_adds_up() -> None:
    terms = hook_load_terms(Reeved(N_LINES, E), 1.0, TENSION_N, Doubts(375.0, 900.0, 200.0, 50.0))
    rows = budget(terms)
    shares = [row["share"] for row in rows]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)
    assert rows[0]["name"] == "sheave efficiency"
    assert all(row["less"] for row in rows)
    squares = sum(row["standard_N"] ** 2 for row in rows)
    assert COVERAGE_FACTOR * math.sqrt(squares) == pytest.approx(half_width_N(terms))
