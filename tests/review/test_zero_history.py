"""Control charts of weighings: limits after the handbook, step against drift, temperature."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.metrology.zero_drift import ewma_limits
from monitor.model import TripRow
from monitor.review.block_consistency import block_consistency
from monitor.review.span import Span
from monitor.review.zero_history import zero_history, zero_words
from tests.interpret.streams import plain_rig
from tests.review.test_friction_runs import EMPTY_N, LINES, checks

NAN = float("nan")


def weighings(levels_N: np.ndarray, temperature_K: np.ndarray | None = None):
    found = [c for c in checks(len(levels_N), 25e3, 25e3) if c.direction == "down"]
    temps = np.full(len(levels_N), NAN) if temperature_K is None else temperature_K
    return [
        replace(c, level_N=float(level), temperature_K=float(t))
        for c, level, t in zip(found, levels_N, temps, strict=True)
    ]


def scatter(count: int) -> np.ndarray:
    return EMPTY_N + np.random.default_rng(6).normal(0.0, 1500.0, count)


# NIST/SEMATECH e-Handbook, 6.3.2.4: EWMA with weight 0.3 and width 3 (looked up as quoted).
def test_the_charts_limits_are_the_handbooks_for_its_centre_and_scatter() -> None:
    found = zero_history(weighings(scatter(40)), "down", plain_rig())
    assert found is not None
    assert found.chart is not None
    low, high = ewma_limits(found.centre_N, found.spread_N, 0.3, 3.0)
    assert found.chart.lower_ewma[-1] == pytest.approx(low)
    assert found.chart.upper_ewma[-1] == pytest.approx(high)
    assert found.chart.upper == pytest.approx(found.centre_N + 3 * found.spread_N)
    assert found.limit_N == pytest.approx(0.01 * 450e3 * LINES)
    assert "no change" in zero_words(found)


def test_a_drift_has_a_time_to_its_limit_and_a_step_has_not() -> None:
    count = 40
    drifting = scatter(count) + np.linspace(0.0, 20e3, count)
    found = zero_history(weighings(drifting), "down", plain_rig())
    assert found is not None
    assert found.change.kind == "drift"
    # 20 kN in 39 periods of 300 s; from the first five's middle on to 45 kN.
    assert found.time_to_limit_s == pytest.approx(25e3 / (20e3 / (39 * 300)), rel=0.35)
    assert "1 % of span in" in zero_words(found)
    stepped = scatter(count) + np.where(np.arange(count) < 25, 0.0, 15e3)
    step = zero_history(weighings(stepped), "down", plain_rig())
    assert step is not None
    assert step.change.kind == "step"
    assert "a step of +1" in zero_words(step)


def test_a_zero_that_follows_the_temperature_says_so() -> None:
    temperature = 280.0 + 10.0 * np.sin(np.arange(40) / 5.0)
    levels = scatter(40) + 800.0 * (temperature - 280.0)
    found = zero_history(weighings(levels, temperature), "down", plain_rig())
    assert found is not None
    assert found.temperature is not None
    assert found.temperature.is_told
    assert abs(found.temperature.slope_N_K - 800.0) < 2 * found.temperature.half_width_N_K
    assert zero_history(weighings(scatter(40)), "down", plain_rig()).temperature is None


def test_weighings_before_a_change_of_lines_or_gear_are_another_chart() -> None:
    before = [replace(c, height_m=10.0) for c in weighings(scatter(20))]
    found = zero_history([*before, *weighings(scatter(3))], "down", plain_rig())
    assert found is not None
    assert len(found.time_us) == 3
    assert "3 weighings, 6 are needed" in zero_words(found)
    assert zero_history([], "down", plain_rig()) is None


def stand(number: int, length_m: float) -> TripRow:
    start = number * 300_000_000
    return TripRow(
        number + 1, "in", start, start + 100_000_000, 1000.0 + 28.5 * number, length_m,
        NAN, NAN, 0.0, 0.0, NAN,
    )  # fmt: skip


def test_the_counter_is_held_against_stands_slips_and_tally() -> None:
    random = np.random.default_rng(3)
    known = random.uniform(28.2, 28.8, 30)
    rows = [stand(n, length * 1.005) for n, length in enumerate(known.tolist())]
    times = np.arange(0, 31 * 300_000_000, 10_000_000)
    heights = 1.2 + 0.2 * np.clip((times - 4.5e9) / 4.5e9, 0.0, 1.0)
    found = block_consistency(rows, Span(times, {"block_position": heights}), known.tolist())
    assert found.tally is not None
    assert found.tally.scale == pytest.approx(1 / 1.005, abs=1e-6)
    assert found.slips is not None
    assert found.slips.change.kind != "none"
    assert found.lengths is not None
    assert found.lengths.n == 30
    assert block_consistency(rows[:3]).lengths is None
