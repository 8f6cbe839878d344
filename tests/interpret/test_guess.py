"""Guessed loads against drag worked out by hand and a soft string in a curved hole."""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.interpret.guess import guessed_loads
from monitor.model import Floats

NAN = float("nan")
EMPTY = np.array([250e3])
LONG_M = np.array([3000.0])


def guess(up: float, down: float, neutral: float) -> tuple[float, ...]:
    columns: list[Floats] = [np.array([value]) for value in (up, down, neutral)]
    return tuple(float(v[0]) for v in guessed_loads(*columns, EMPTY, LONG_M))


def test_drag_seen_hoisting_tells_the_lowering_load() -> None:
    """By hand: neutral string 1000 kN, drag 120 kN up, so 0.8 x 120 kN down."""
    _, down, _, spread = guess(1370e3, NAN, 1250e3)
    assert down == pytest.approx(1250e3 - 96e3)
    # 15 % of the drag, 1 % of the weight counted 1.8 times, 30 m of 1000 kN / 3000 m.
    assert spread == pytest.approx(math.hypot(18e3, math.hypot(18e3, 10e3)), rel=1e-6)


def test_drag_seen_lowering_tells_the_hoisting_load() -> None:
    """The same string the other way: 96 kN down is 120 kN up."""
    up, _, spread, _ = guess(NAN, 1154e3, 1250e3)
    assert up == pytest.approx(1370e3)
    assert spread > 18e3


def test_without_a_described_string_the_weight_itself_tells() -> None:
    """By hand: drag of 18 % of neutral, so down / up = 0.82 / 1.18."""
    _, down, _, spread = guess(1370e3, NAN, NAN)
    assert down - 250e3 == pytest.approx(1120e3 * 0.82 / 1.18)
    # A straight hole lies within two standard deviations, and so does a long reach.
    assert down - 2.0 * spread - 250e3 < 1120e3 * 0.60 / 1.40
    assert down + 2.0 * spread - 250e3 > 1120e3 * 0.98 / 1.02


def test_with_nothing_learnt_the_described_string_tells_both() -> None:
    up, down, spread_up, spread_down = guess(NAN, NAN, 1250e3)
    assert down < 1250e3 < up
    assert spread_up == spread_down > 50e3


def test_a_deviated_hole_nobody_surveyed_lies_within_the_interval() -> None:
    """A straight hole at 60 degrees, friction 0.2: w L (cos 60 -+ 0.2 sin 60), soft string."""
    up, down, spread_up, spread_down = guess(NAN, NAN, 1250e3)
    assert abs(up - 250e3 - 1000e3 * (0.5 + 0.2 * 0.866)) < 2.0 * spread_up
    assert abs(down - 250e3 - 1000e3 * (0.5 - 0.2 * 0.866)) < 2.0 * spread_down


def test_a_weight_that_leaves_no_drag_is_not_believed() -> None:
    """A described string heavier than what hangs: its drag would be negative."""
    _, down, _, _ = guess(1200e3, NAN, 1250e3)
    assert down - 250e3 == pytest.approx(950e3 * 0.82 / 1.18)


def test_nothing_known_gives_nothing() -> None:
    assert all(math.isnan(value) for value in guess(NAN, NAN, NAN))


@pytest.mark.parametrize("friction", [0.15, 0.25, 0.35])
@pytest.mark.parametrize("bend_rad", [0.3, 0.8, 1.2])
def test_a_bend_lies_within_the_interval(friction: float, bend_rad: float) -> None:
    """Soft string round a bend (capstan): weight below it times exp(+-mu angle)."""
    below, above = 300e3, 700e3
    up = 250e3 + above + below * math.exp(friction * bend_rad)
    down = 250e3 + above + below * math.exp(-friction * bend_rad)
    _, guessed, _, spread = guess(up, NAN, 250e3 + above + below)
    assert abs(guessed - down) < 2.0 * spread
