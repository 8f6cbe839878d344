"""How fast and how faithfully a sensor follows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal, stats

from monitor.metrology.response import (
    anchor_force_N,
    cell_pressure_Pa,
    fall_time_s,
    sag,
    slope_per_s,
)
from monitor.units import to_si


@pytest.mark.parametrize("lag_s", [0.5, 2.0, 5.0])
def test_the_fall_of_a_first_order_lag_is_its_time_constants_share(lag_s: float) -> None:
    """Step response by scipy.signal; ln(0.9 / 0.3) of the time constant."""
    time_s = np.arange(0.0, 60.0, 0.01)
    _, rise = signal.step(([1.0], [lag_s, 1.0]), T=time_s)
    found = fall_time_s(time_s, 900e3 - 650e3 * rise, 250e3)
    assert found == pytest.approx(lag_s * math.log(3.0), abs=0.03)


@pytest.mark.parametrize(
    "values", [[1.0], [5.0, 5.0, 5.0], [9.0, 8.0, 7.0], [math.nan] * 4, [1.0, 2.0, 9.0]]
)
def test_no_fall_has_no_time(values: list[float]) -> None:
    assert math.isnan(fall_time_s(np.arange(float(len(values))), np.array(values), 5.0))


def test_the_slope_is_the_regressions() -> None:
    random = np.random.default_rng(3)
    time_s = np.arange(40.0)
    values = 100.0 - 0.3 * time_s + random.normal(size=40)
    assert slope_per_s(time_s, values) == pytest.approx(stats.linregress(time_s, values).slope)
    assert math.isnan(slope_per_s(time_s[:2], values[:2]))
    assert math.isnan(slope_per_s(np.ones(5), np.ones(5)))


def test_nothing_at_rest_says_nothing() -> None:
    assert sag(np.array([math.nan])).spells == 0


def test_anchor_of_a_worked_figure() -> None:
    """40 000 lbf, radius 10 in, arm 25 in, 20 in2: 16 000 lbf and 800 psi (derived)."""
    tension_N = to_si("40 klbf", "force")
    assert anchor_force_N(tension_N, 10 / 25) == pytest.approx(to_si("16 klbf", "force"))
    pressure = cell_pressure_Pa(tension_N, 10 / 25, to_si("20 in2", "area"))
    assert pressure == pytest.approx(to_si("800 psi", "pressure"))
