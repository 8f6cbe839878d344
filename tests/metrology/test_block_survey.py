"""The block's counter against a tape, against pipe, and against itself."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from monitor.mechanics.block_position import block_height_of_turns_m
from monitor.metrology.block_survey import against_lengths, block_survey, repeated_heights


def test_scale_and_zero_are_the_regressions() -> None:
    """scipy.stats.linregress as second opinion, with its own interval."""
    random = np.random.default_rng(1)
    shown = np.linspace(0.0, 32.0, 12)
    taped = 1.012 * shown - 0.3 + random.normal(0.0, 0.02, 12)
    found, other = block_survey(shown, taped), stats.linregress(shown, taped)
    assert found.scale == pytest.approx(other.slope, rel=1e-12)
    assert found.zero_m == pytest.approx(other.intercept, rel=1e-9)
    assert found.scale_half_width == pytest.approx(stats.t.ppf(0.975, 10) * other.stderr, rel=1e-3)
    assert np.isnan(found.layer_at_m)


def test_a_change_of_layer_is_found_where_the_drum_changes_it() -> None:
    """A drum of 0.762 m with 34.9 mm line on ten lines: the next layer has 7.9 % more pitch.

    True heights by the drum's turns (its own module, checked elsewhere); the counter takes
    the first layer's pitch for all of them.
    """
    turns = np.linspace(0.0, 30.0, 25)
    pitch = np.pi * (0.762 + 0.0349) / 10
    taped = pitch * np.minimum(turns, 16.0)
    taped = taped + np.pi * (0.762 + 3 * 0.0349 * 0.9) / 10 * np.maximum(turns - 16.0, 0.0)
    shown = pitch * turns
    noise = np.random.default_rng(3).normal(0.0, 0.005, 25)
    found = block_survey(shown, taped + noise)
    assert found.layer_at_m == pytest.approx(pitch * 16.0, abs=0.5)
    assert found.scale_change == pytest.approx((0.762 + 2.7 * 0.0349) / (0.762 + 0.0349), rel=0.01)
    assert block_height_of_turns_m is not None


def test_the_two_ways_are_told_apart() -> None:
    shown = np.tile(np.linspace(1.0, 30.0, 6), 2)
    going_up = np.repeat([True, False], 6)
    taped = shown - np.where(going_up, 0.02, -0.02)
    assert block_survey(shown, taped, going_up).reversal_m == pytest.approx(0.04)


@pytest.mark.parametrize(
    ("shown", "taped", "told"),
    [
        ([1.0, 2.0, 3.0], [1.0, 2.0, 3.0], "at least 4"),
        ([1.0] * 5, [1.0, 2.0, 3.0, 4.0, 5.0], "one height"),
        ([1.0, 2.0], [1.0], "pairs"),
        ([1.0, 2.0, 3.0, np.nan], [1.0, 2.0, 3.0, 4.0], "all be known"),
    ],
)
def test_a_survey_that_cannot_be_one_is_refused(
    shown: list[float], taped: list[float], told: str
) -> None:
    with pytest.raises(ValueError, match=told):
        block_survey(np.array(shown), np.array(taped))


def test_heights_of_slips_that_wander_are_drift_and_one_that_jumps_a_step() -> None:
    random = np.random.default_rng(8)
    hours = np.arange(40) * 3_600_000_000
    scatter = 1.2 + random.normal(0.0, 0.02, 40)
    assert repeated_heights(hours, scatter).change.kind == "none"
    assert repeated_heights(hours, scatter + np.linspace(0.0, 0.4, 40)).change.kind == "drift"
    stepped = repeated_heights(hours, scatter + np.where(np.arange(40) < 25, 0.0, 0.6))
    assert stepped.change.kind == "step"
    assert stepped.change.step == pytest.approx(0.6, abs=0.03)
    other = scatter.copy()
    other[7] = 14.0
    assert repeated_heights(hours, other).put_aside == 1


def test_the_scale_by_stand_lengths_holds_its_interval() -> None:
    """Coverage by simulation: 95 % intervals hold about 95 % of the time."""
    random, inside = np.random.default_rng(9), 0
    for _ in range(600):
        known = random.uniform(28.0, 29.5, 20)
        shown = known * 1.004 + random.normal(0.0, 0.05, 20)
        found = against_lengths(shown, known)
        inside += abs(found.scale - 1 / 1.004) <= found.scale_half_width
    assert 0.93 <= inside / 600 <= 0.97
    with pytest.raises(ValueError, match="at least 2"):
        against_lengths(np.array([28.0, np.nan]), np.array([28.0, 28.0]))
