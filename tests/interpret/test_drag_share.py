"""The share of drag remembered of a hole, by hand and in a record that turns round."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.drag_share import DragShare
from monitor.interpret.guess import USUAL_DRAG, WEIGHT_ALONE_SPREAD, guessed_loads
from monitor.interpret.trend import Second, Trend

NAN = float("nan")
HERE = np.array([True])


def known(load_N: float, hung_m: float) -> Trend:
    """A direction that has seen one stand of an even load."""
    trend = Trend()
    for k in range(30):
        second = Second(0.8 * k, hung_m, load_N, 0.5, 0.0, is_calm=True)
        trend.add(second, (0.0, 60.0, load_N))
    assert trend.known
    return trend


def at(share: DragShare, hung_m: float) -> tuple[float, float]:
    seen, spread = share.at(HERE, np.array([hung_m]))
    return float(seen[0]), float(spread[0])


def test_a_reach_that_drags_by_half_is_remembered() -> None:
    """By hand: 800 kN up, 300 kN down: drag 250 kN of 550 kN neutral."""
    share = DragShare()
    share.begin()
    assert at(share, 3000.0) == (USUAL_DRAG, WEIGHT_ALONE_SPREAD)
    share.learn(0, (known(800e3, 3000.0), known(300e3, 3000.0)), (0.0, 0.0), 3000.0)
    seen, spread = at(share, 3000.0)
    assert seen == pytest.approx(250 / 550, abs=0.06)
    assert spread < 0.08
    # A thousand metres on it says half as much as nothing, far off it says nothing.
    assert spread < at(share, 2000.0)[1] < at(share, 500.0)[1] < WEIGHT_ALONE_SPREAD
    assert USUAL_DRAG < at(share, 500.0)[0] < at(share, 2000.0)[0] < seen


def test_it_foretells_the_way_that_is_out_of_reach() -> None:
    """Down 330 kN where 800 up and 300 down were: 880 kN up, not 475 kN."""
    share = DragShare()
    share.begin()
    share.learn(0, (known(800e3, 3000.0), known(300e3, 3000.0)), (0.0, 0.0), 3000.0)
    seen, spread = share.at(HERE, np.array([3300.0]))
    nothing, down = np.array([NAN]), np.array([330e3])
    up, _, spread_up, _ = guessed_loads(
        nothing, down, nothing, np.zeros(1), np.array([3300.0]), seen, spread
    )
    assert abs(float(up[0]) - 880e3) < 2.0 * float(spread_up[0])
    usual = guessed_loads(nothing, down, nothing, np.zeros(1), np.array([3300.0]))
    assert abs(float(up[0]) - 880e3) < abs(float(usual[0][0]) - 880e3)


def test_one_direction_alone_or_far_from_the_other_says_nothing() -> None:
    for down in (Trend(), known(300e3, 2700.0)):
        share = DragShare()
        share.begin()
        share.learn(0, (known(800e3, 3000.0), down), (0.0, 0.0), 3000.0)
        assert at(share, 3000.0) == (USUAL_DRAG, WEIGHT_ALONE_SPREAD)


def test_a_row_is_told_only_what_was_known_at_it() -> None:
    share = DragShare()
    share.begin()
    share.learn(2, (known(800e3, 3000.0), known(300e3, 3000.0)), (0.0, 0.0), 3000.0)
    seen, _ = share.at(np.ones(4, dtype=bool), np.full(4, 3000.0))
    assert seen[0] == seen[1] == USUAL_DRAG
    assert seen[2] == seen[3] > 0.35
