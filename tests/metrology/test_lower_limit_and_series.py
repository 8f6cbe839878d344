"""Lower limit factor, repeatability and reversibility, against published rules."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest

from monitor.metrology import load_series, lower_limit
from monitor.metrology.calibration import fit_calibration
from monitor.metrology.load_series import (
    directions,
    level_scatter,
    relative_range_percent,
    reversibility_percent,
)
from monitor.metrology.lower_limit import average_ratio, least_load, lower_limit_factor
from tests.metrology.load_cell import load_cell
from tests.published.table import rows

LOADS, READINGS = load_cell()


def test_lower_limit_of_the_load_cell():
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    factor = lower_limit_factor(fit.residual_standard_deviation)
    assert factor == pytest.approx(4.92426e-4, rel=1e-6)
    ratio = average_ratio(LOADS, READINGS)
    assert ratio == pytest.approx(1_373_910.5, abs=0.05)
    assert factor * ratio == pytest.approx(676.55, abs=0.005)
    assert least_load(factor * ratio, "A", fit) == pytest.approx(270_620, abs=1)
    assert least_load(factor * ratio, "AA", fit) == pytest.approx(1_353_098, abs=1)


def test_lower_limit_rules():
    assert lower_limit_factor(1.0) == 2.4
    assert lower_limit_factor(1.0, resolution=5.0) == 5.0
    fit = fit_calibration(LOADS, READINGS)
    assert least_load(1.0, "A", fit) == 150_000.0  # never below what was applied
    assert math.isnan(least_load(2000.0, "AA", fit))
    assert math.isnan(average_ratio(np.zeros(2), np.zeros(2)))
    with pytest.raises(ValueError, match="class_name is 'B'"):
        least_load(1.0, "B", fit)
    with pytest.raises(ValueError, match="resolution is -1"):
        lower_limit_factor(1.0, -1.0)


@pytest.mark.parametrize("row", rows("force_calibration"))
def test_figures_of_the_force_standard(row):
    values = np.array([float(word) for word in row["inputs"].split()])
    if row["figure"] == "relative_range_percent":
        found = relative_range_percent(values[:, np.newaxis])
    else:
        rising, falling = values[:2, np.newaxis], values[2:, np.newaxis]
        found = reversibility_percent(rising, falling)
    assert found[0] == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize(
    ("loads", "series", "expected"),
    [
        ([0, 1, 2, 1, 0], "", "rrrff"),
        ([1, 2, 3, 1, 2, 3], "", "rrrrrr"),
        ([3, 2, 1], "", "fff"),
        ([0, 1, 1, 2, 2, 1, 1, 0], "", "rrrrrfff"),
        ([1, 2], "down", "ff"),
        ([2, 1], "run 1 up", "rr"),
        ([2, 1], "Unloading", "ff"),
        ([5], "", "r"),
    ],
)
def test_direction_is_read_from_the_label_else_from_the_order(loads, series, expected):
    found = directions(loads, [series] * len(loads))
    assert "".join(word[0] for word in found) == expected


def test_series_are_looked_at_one_by_one():
    found = directions([0, 1, 1, 0], ["1", "1", "2", "2"])
    assert found == ["rising", "rising", "falling", "falling"]


def test_repeatability_of_the_load_cell():
    fit = fit_calibration(LOADS, READINGS, "quadratic")
    found = level_scatter(fit, LOADS, READINGS, ["1"] * 20 + ["2"] * 20, 0.0)
    assert len(found) == 20
    assert found[0].repeatability_percent == pytest.approx(0.2990, abs=5e-5)
    assert max(level.repeatability_percent for level in found) == found[0].repeatability_percent
    assert all(math.isnan(level.reversibility_percent) for level in found)


def test_levels_that_differ_slightly_are_carried_to_one_load():
    loads = np.array([0.0, 50.0, 100.0, 50.4, 0.0])
    readings = 4.0 + 0.16 * loads + np.array([0.0, 0.0, 0.0, 0.04, 0.0])
    fit = fit_calibration(loads, readings)
    (level,) = level_scatter(fit, loads, readings, [""] * 5, 4.0)
    assert level.load == pytest.approx(50.2)
    assert level.reversibility_percent == pytest.approx(100 * 0.04 / (0.16 * 50.2), rel=1e-2)


def test_series_that_do_not_pair_are_refused():
    with pytest.raises(ValueError, match="must be pairs"):
        reversibility_percent(np.ones((2, 1)), np.ones((1, 1)))
    with pytest.raises(ValueError, match="1 series; must have at least 2"):
        relative_range_percent(np.ones((1, 3)))


@pytest.mark.parametrize("module", [lower_limit, load_series])
def test_examples(module):
    assert doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE).failed == 0
