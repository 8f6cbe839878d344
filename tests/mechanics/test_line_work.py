"""Line work by formula and by integral; the slip-and-cut programme."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.lifted_work import compared_work, lifted_work_J
from monitor.mechanics.line_work import (
    casing_work_J,
    coring_work_J,
    drilling_passes,
    drilling_work_J,
    round_trip_work_J,
    short_trip_work_J,
)
from monitor.mechanics.slip_and_cut import (
    Cut,
    cut_due,
    cut_length_m,
    goal_J_m,
    is_lap_multiple,
    programme_balance_m,
    work_rate_W,
    work_since_cut_J,
)

DAY_us = 86_400_000_000


def _trip(stand, n_stands, weight, travelling, excess):
    """Hook load and block position of an ideal trip out and in, a row at each end of a stroke."""
    load, block = [], []
    hanging = [travelling + excess + weight * stand * (n_stands - k) for k in range(n_stands)]
    for on in hanging:  # out: up loaded, down empty
        block += [0.0, stand, stand, 0.0]
        load += [on, on, travelling, travelling]
    for on in reversed(hanging):  # in: up empty, down loaded
        block += [0.0, stand, stand, 0.0]
        load += [travelling, travelling, on, on]
    return np.array(load), np.array(block)


@given(
    st.floats(9.0, 40.0), st.integers(1, 30), st.floats(50.0, 500.0),
    st.floats(5e4, 1e6), st.floats(0.0, 5e5),
)  # fmt: skip
def test_integral_of_an_ideal_round_trip_is_the_formula(stand, n, weight, travelling, excess):
    """Derived: API RP 9B's formula is the sum of load times travel over the trip."""
    load, block = _trip(stand, n, weight, travelling, excess)
    lifted = lifted_work_J(load, block)[-1]
    formula = round_trip_work_J(n * stand, stand, weight, travelling, excess)
    compared = compared_work(lifted, formula)
    assert compared.ratio == pytest.approx(1.0, rel=1e-9)
    assert compared.difference_J == pytest.approx(0.0, abs=1e-9 * formula)


def test_drilling_by_strokes_stays_below_the_standards_count():
    """One length drilled with kelly and once reamed, or with a top drive: stroke by stroke."""
    stand, depth, weight, travelling = 28.0, 3000.0, 280.0, 300e3
    below = travelling + weight * depth
    trips = [round_trip_work_J(d, stand, weight, travelling, 0.0) for d in (depth, depth + stand)]
    single = 2 * travelling  # kelly set back, single picked up, kelly picked up: empty strokes
    by_strokes = {
        (0, "kelly"): stand * (2 * below + single + below + travelling),
        (1, "kelly"): stand * (4 * below + single + below + travelling),
        (0, "top drive"): stand * (below + travelling),
        (1, "top drive"): stand * (3 * below + travelling),
    }
    for (reams, connection), strokes_J in by_strokes.items():
        formula = drilling_work_J(*trips, n_reams=reams, connection=connection)
        assert strokes_J < formula
        assert strokes_J > formula * 0.45


def test_reams_give_the_standards_passes():
    assert [drilling_passes(k) for k in (0, 1, 2)] == [2, 3, 4]
    for passes in (2, 3, 4):
        assert drilling_work_J(1.0, 2.0, passes) == drilling_work_J(1.0, 2.0, n_reams=passes - 2)
    assert coring_work_J(1.0, 2.0) == drilling_work_J(1.0, 2.0, n_reams=0)
    assert short_trip_work_J(1.0, 2.0) == 1.0


def test_casing_is_half_a_round_trip_by_strokes():
    """Each joint: block up empty, then down with what hangs; summed."""
    joint, n, weight, travelling = 12.0, 50, 500.0, 250e3
    by_hand = sum(joint * (travelling + travelling + weight * joint * (k + 1)) for k in range(n))
    assert casing_work_J(n * joint, joint, weight, travelling) == pytest.approx(by_hand)


@given(st.lists(st.tuples(st.floats(0, 3e6), st.floats(-5, 45)), min_size=1, max_size=40))
def test_running_work_never_falls_and_cuts_anywhere_to_the_same_bits(rows):
    load, block = (np.array(column) for column in zip(*rows, strict=True))
    whole = lifted_work_J(load, block, 7.0)
    assert np.all(np.diff(whole) >= 0.0)
    cut = len(load) // 2
    head = lifted_work_J(load[: cut + 1], block[: cut + 1], 7.0)
    tail = lifted_work_J(load[cut:], block[cut:], float(head[-1]))
    assert np.array_equal(np.concatenate((head, tail[1:])), whole)


def test_missing_values_add_nothing():
    load = np.array([1e5, math.nan, 1e5, 1e5])
    work = lifted_work_J(load, np.array([0.0, 1.0, 2.0, 4.0]))
    np.testing.assert_allclose(work, [0.0, 0.0, 0.0, 2e5])
    assert lifted_work_J(np.array([]), np.array([])).tolist() == []
    assert math.isnan(compared_work(1.0, 0.0).ratio)


# Slip and cut

LOG = [Cut(0, 30.0, 11e9), Cut(10 * DAY_us, 31.0, 24e9)]


def test_programme_over_a_log():
    """400 MJ/m and 30 m: 12 GJ; 8 done; 4 left at 1 GJ a day are due in four days."""
    now = 18 * DAY_us
    due = cut_due(LOG, 32e9, 400e6, 30.0, now, 1e9 / 86_400)
    assert (due.done_J, due.goal_J, due.left_J) == (8e9, 12e9, 4e9)
    assert due.share == pytest.approx(2 / 3)
    assert due.due_us == pytest.approx(now + 4 * DAY_us, abs=1)
    assert not due.is_overdue
    assert programme_balance_m(LOG, 400e6) == pytest.approx(61.0 - 60.0)
    assert programme_balance_m([], 400e6) == 0.0


def test_overdue_unknown_rate_and_far_away():
    now = 18 * DAY_us
    over = cut_due(LOG, 38e9, 400e6, 30.0, now, 1e9 / 86_400)
    assert over.is_overdue
    assert over.due_us is not None
    assert over.due_us < now
    for rate in (0.0, math.nan, 1e-3):
        assert cut_due(LOG, 32e9, 400e6, 30.0, now, rate).due_us is None


def test_rate_of_the_record_with_gaps():
    time = np.array([0, DAY_us, 2 * DAY_us, 3 * DAY_us])
    work = np.array([math.nan, 1e9, math.nan, 3e9])
    assert work_rate_W(time, work) == pytest.approx(1e9 / 86_400)
    assert math.isnan(work_rate_W(time[:2], work[:2]))


@given(st.floats(0.0, 1e11), st.floats(1e8, 3e9), st.floats(1.0, 6.0))
def test_cut_is_long_enough_and_half_a_lap_off(work, goal, lap):
    length = cut_length_m(work, goal, lap)
    assert length >= work / goal - 1e-6
    assert length <= max(work / goal + lap, lap / 2) * (1 + 1e-9)
    assert not is_lap_multiple(length, lap)
    assert length / lap - math.floor(length / lap) == pytest.approx(0.5, abs=1e-6)


def test_whole_laps_are_found():
    assert is_lap_multiple(25.2, 2.5)
    assert is_lap_multiple(24.8, 2.5)
    assert not is_lap_multiple(24.0, 2.5)
    assert math.isnan(cut_length_m(math.nan, 1e8, 2.5))


def test_goal_for_a_new_line_is_a_share():
    assert goal_J_m(0.034925, 0.8) == pytest.approx(0.8 * goal_J_m(0.034925))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: drilling_passes(-1), "n_reams is -1; must be at least 0"),
        (lambda: drilling_passes(1, "rotary"), "connection is 'rotary'"),
        (lambda: coring_work_J(2.0, 1.0), "round_trip_after_J is 1.0; must be at least"),
        (lambda: short_trip_work_J(2.0, 1.0), "round_trip_after_J is 1.0"),
        (lambda: lifted_work_J(np.ones(2), np.ones(3)), "hook_load_N has 2 rows"),
        (lambda: compared_work(-1.0, 1.0), "lifted_J is -1.0"),
        (lambda: goal_J_m(0.03), "diameter_m is 0.03; not a size of the table"),
        (lambda: goal_J_m(0.0254, 0.0), "share is 0.0"),
        (lambda: work_since_cut_J(LOG, 1e9), "line_work_J is .*; must be at least the last cut's"),
        (lambda: work_since_cut_J(LOG[::-1], 1e11), "time_us of cut 2 is 0; must be after"),
        (lambda: work_since_cut_J([Cut(0, 0.0, 1.0)], 2.0), "length_m of cut 1 is 0.0"),
        (lambda: work_since_cut_J([Cut(0, 1.0, 2.0), Cut(1, 1.0, 1.0)], 2.0), "of cut 2 is 1.0"),
        (lambda: work_rate_W(np.array([0, 1]), np.array([2.0, 1.0])), "goes back by 1.0"),
        (lambda: is_lap_multiple(1.0, 0.0), "lap_m is 0.0; must be above 0"),
        (lambda: is_lap_multiple(1.0, 1.0, 0.6), "tolerance is 0.6"),
        (lambda: cut_due([], 1.0, 1.0, 0.0, 0, 1.0), "cut_length_m is 0.0"),
    ],
)
def test_refusals(call, match):
    with pytest.raises(ValueError, match=match):
        call()
