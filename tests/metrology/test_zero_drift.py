"""Control charts of a known load: the handbook's figures, and step told from drift."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest

from monitor.metrology import zero_drift as module
from monitor.metrology.zero_drift import (
    ZeroChange,
    control_chart,
    ewma,
    ewma_limits,
    standard_deviation_by_ranges,
    time_to_limit_s,
    zero_change,
)
from tests.published.table import rows

TABLE = [parameter.values[0] for parameter in rows("ewma_chart")]
CHECKS = np.array([float(row["value"]) for row in TABLE])
HOUR_US = 3_600_000_000


@pytest.mark.parametrize("row", rows("ewma_chart"))
def test_averages_of_the_handbook(row):
    found = ewma(CHECKS, 0.3, 50.0)[int(row["id"]) - 1]
    assert found == pytest.approx(float(row["ewma"]), abs=float(row["tolerance"]) * 1.001)


def test_limits_of_the_handbook():
    # Printed 52.5884 and 47.4115, with the factor 0.4201 rounded up in its fourth place.
    low, high = ewma_limits(50.0, 2.0539, 0.3)
    assert (low, high) == pytest.approx((47.4115, 52.5884), abs=0.001)
    chart = control_chart(CHECKS, 50.0, 2.0539, 0.3)
    assert not chart.is_out.any()  # "the process is in control"
    assert chart.upper_ewma[0] == pytest.approx(50.0 + 3 * 0.3 * 2.0539)
    assert chart.upper_ewma[-1] == pytest.approx(high, abs=1e-3)


def test_individuals_chart_of_the_handbook():
    # 6.3.2.2, the second half of the same data: mean 50.81, limits 45.8159 and 55.8041;
    # from memory.
    values = CHECKS[10:]
    chart = control_chart(values, values.mean(), standard_deviation_by_ranges(values))
    assert (chart.lower, chart.upper) == pytest.approx((45.8159, 55.8041), abs=1e-4)


def test_the_last_five_drift_and_only_the_average_sees_it():
    values = np.concatenate([np.zeros(10), np.full(12, 1.5)])
    chart = control_chart(values, 0.0, 1.0, 0.2)
    assert np.abs(values).max() < chart.upper
    assert chart.is_out[-1]
    assert not chart.is_out[:10].any()


def test_a_missing_check_changes_nothing_and_is_never_out():
    values = np.array([0.0, np.nan, 9.0, np.nan])
    chart = control_chart(values, 0.0, 1.0)
    assert chart.is_out.tolist() == [False, False, True, False]
    assert chart.ewma[1] == chart.ewma[0]
    assert math.isnan(standard_deviation_by_ranges(np.array([1.0, np.nan])))


def test_a_cut_stream_gives_the_same_chart():
    whole = control_chart(CHECKS, 50.0, 2.0539)
    part = control_chart(CHECKS[:9], 50.0, 2.0539)
    np.testing.assert_array_equal(part.ewma, whole.ewma[:9])
    np.testing.assert_array_equal(part.upper_ewma, whole.upper_ewma[:9])


def _kinds(shape, n_runs=300, n=24):
    rng = np.random.default_rng(12)
    times = np.arange(n) * HOUR_US
    found = [zero_change(times, shape + rng.normal(size=n)).kind for _ in range(n_runs)]
    return {kind: found.count(kind) / n_runs for kind in ("none", "step", "drift", "unclear")}


def test_step_and_drift_are_told_apart_and_quiet_stays_quiet():
    assert _kinds(np.zeros(24))["none"] > 0.98
    step = _kinds(np.where(np.arange(24) < 15, 0.0, 4.0))
    assert step["step"] > 0.9
    assert step["drift"] < 0.01
    drift = _kinds(np.linspace(0.0, 8.0, 24))
    assert drift["drift"] > 0.9
    assert drift["step"] < 0.01


def test_size_time_and_what_is_ahead():
    rng = np.random.default_rng(3)
    times = np.arange(30) * HOUR_US
    found = zero_change(times, np.where(np.arange(30) < 20, 0.0, 6e3) + rng.normal(0, 5e2, 30))
    assert (found.kind, found.step_time_us) == ("step", 20 * HOUR_US)
    assert found.step == pytest.approx(6e3, abs=500)
    assert math.isinf(time_to_limit_s(found, -1e4, 1e4))
    found = zero_change(times, np.arange(30) * 400.0 + rng.normal(0, 5e2, 30))
    assert found.kind == "drift"
    assert found.drift_per_s * 3600 == pytest.approx(400.0, rel=0.1)
    assert time_to_limit_s(found, -2e4, 2e4) / 3600 == pytest.approx(21.0, rel=0.15)
    assert time_to_limit_s(found, -5e3, 5e3) == 0.0


def test_few_checks_or_no_scatter():
    times = np.arange(5) * HOUR_US
    few = zero_change(times, np.array([0.0, 0.0, 9.0, 9.0, np.nan]))
    assert (few.kind, few.step_time_us) == ("none", None)
    assert zero_change(np.arange(8), np.full(8, 3.0)).kind == "none"
    assert zero_change(np.zeros(0, np.int64), np.zeros(0)).kind == "none"
    exact = zero_change(np.arange(8) * HOUR_US, np.arange(8.0))
    assert exact.kind == "drift"
    fall = ZeroChange("drift", 1.0, 0, -0.5, 0.0)
    assert time_to_limit_s(fall, -10.0, 10.0) == 20.0


@pytest.mark.parametrize("weight", [0.0, 1.1, math.nan])
def test_weights_outside_their_range_are_refused(weight):
    with pytest.raises(ValueError, match="weight is"):
        ewma(CHECKS, weight, 50.0)


def test_wrong_limits_and_times_are_refused():
    with pytest.raises(ValueError, match="standard_deviation is -1"):
        ewma_limits(0.0, -1.0, 0.3)
    with pytest.raises(ValueError, match="n_checks is 0"):
        ewma_limits(0.0, 1.0, 0.3, n_checks=0)
    with pytest.raises(ValueError, match="must be pairs"):
        zero_change(np.arange(3), np.zeros(2))


def test_examples():
    assert doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE).failed == 0
