"""Pulls, set-downs, movement and jar blows of a held string."""

import numpy as np
import pytest

from monitor.review.jar_blows import can_show_blows, find_blows
from monitor.review.pulls import block_legs, find_pulls
from tests.review.held_string import HELD, loops, span_of


def test_block_noise_makes_no_legs() -> None:
    block = 10.0 + 0.01 * (np.arange(500) % 2)
    assert block_legs(block) == []


def test_each_pull_and_set_down_is_one() -> None:
    pulls = find_pulls(span_of(*loops([1300e3, 1350e3, 1280e3])), HELD)
    kinds = [(pull.kind, pull.number) for pull in pulls]
    assert [number for kind, number in kinds if kind == "pull"] == [1, 2, 3]
    assert [number for kind, number in kinds if kind == "set-down"] == [1, 2, 3]
    assert [pull.load_N for pull in pulls if pull.kind == "pull"] == [1300e3, 1350e3, 1280e3]


def test_load_travel_and_slope_of_a_pull() -> None:
    pull = find_pulls(span_of(*loops([1300e3])), HELD)[0]
    assert pull.excess_N == pytest.approx(300e3)
    assert pull.travel_m == pytest.approx(3e-6 * 500e3, abs=0.01)
    # The slope is fitted: within 1 % of the stiffness the record was made with.
    assert pull.compliance_m_N == pytest.approx(3e-6, rel=0.01)
    assert pull.slack_compliance_m_N == pytest.approx(3e-6, rel=0.01)


def test_held_string_did_not_move() -> None:
    pulls = find_pulls(span_of(*loops([1300e3, 1350e3])), HELD)
    assert [pull.moved for pull in pulls] == [False] * 4
    assert not any(pull.came_loose for pull in pulls)


def test_string_that_creeps_has_moved() -> None:
    block, load = loops([1300e3, 1300e3, 1300e3])
    # The last third of the record 0.4 m higher: the held place gave way while it was pulled.
    block[len(block) * 2 // 3 :] += 0.4
    shifts = [p.shift_m for p in find_pulls(span_of(block, load), HELD) if p.kind == "pull"]
    assert np.isnan(shifts[0])
    assert shifts[1] == pytest.approx(0.0, abs=0.02)
    assert shifts[2] == pytest.approx(0.4, abs=0.02)


def test_string_that_lets_go_while_the_block_stands() -> None:
    block, load = loops([1300e3])
    top = int(np.argmax(load))
    block, load = block[: top + 1], load[: top + 1]
    fall = 1000e3 + 300e3 * np.exp(-np.arange(200) / 40.0)
    block = np.concatenate((block, np.full(200, block[-1]), block[-1] + np.arange(60) * 0.05))
    load = np.concatenate((load, fall, np.full(60, 1000e3)))
    pull = find_pulls(span_of(block, load), HELD)[0]
    assert pull.came_loose
    assert pull.moved
    # It ends where it let go, not where the free string was hoisted to.
    assert pull.travel_m < 1.6


def _jarred(hz: float, *, moved_m: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Two pulls; the first gives 220 kN back at its top, the block standing."""
    block, load = loops([1300e3, 1300e3])
    tops = np.flatnonzero(load == 1300e3)
    first = tops[: len(tops) // 2]
    load[first[20:]] = 1080e3
    block[first[-1] :] += moved_m
    step = round(10.0 / hz)
    return block[::step], load[::step]


@pytest.mark.parametrize("hz", [10.0, 2.0, 1.0])
def test_jar_blow_is_found_while_the_block_stands(hz: float) -> None:
    (blow,) = find_blows(span_of(*_jarred(hz), hz=hz), HELD)
    assert blow.direction == "up"
    assert blow.cocked_N == pytest.approx(1300e3)
    assert blow.after_N == pytest.approx(1080e3)


def test_a_string_that_jumped_up_the_hole_is_no_blow() -> None:
    """The load is as high again only with the block further on: the string moved."""
    assert find_blows(span_of(*_jarred(10.0, moved_m=0.5)), HELD) == []


def test_a_blow_down_is_found_in_a_set_down() -> None:
    block, load = loops([500e3, 500e3])
    ends = np.flatnonzero(load == 500e3)
    load[ends[: len(ends) // 2][20:]] = 640e3
    (blow,) = find_blows(span_of(block, load), HELD)
    assert blow.direction == "down"
    assert blow.cocked_N == pytest.approx(500e3)
    assert blow.after_N == pytest.approx(640e3)


def test_a_load_that_does_not_come_back_is_no_blow() -> None:
    """A string that let go gives the load back as well, and is free."""
    block, load = loops([1300e3])
    tops = np.flatnonzero(load == 1300e3)
    load[tops[20] :] = np.minimum(load[tops[20] :], 1010e3)
    assert find_blows(span_of(block, load), HELD) == []


def test_slow_record_shows_no_blows() -> None:
    span = span_of(*_jarred(0.5), hz=0.5)
    assert not can_show_blows(span)
    assert find_blows(span, HELD) == []


def test_a_pull_and_its_slacking_off_are_no_blow() -> None:
    assert find_blows(span_of(*loops([1300e3, 1350e3])), HELD) == []
