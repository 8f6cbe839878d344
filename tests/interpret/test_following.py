"""Load that follows the block is no weight of a moving string."""

from __future__ import annotations

import pytest

from monitor.interpret.following import Following, held_stiffness_N_m
from monitor.interpret.lessons import Lesson
from monitor.mechanics.stretch import stretch_m
from monitor.rig.rig import Section
from tests.interpret.streams import EMPTY_N

PIPE = (Section("drill pipe", None, 0.127, 0.1086, 262.2),)
LENGTH_M = 3000.0


def lesson(along_m: float, load_N: float, speed_m_s: float = 0.2) -> Lesson:
    return Lesson(
        0, load_N, speed_m_s, 1.0, False, along_m, LENGTH_M, LENGTH_M, 0.0, 0.0, 0.0, 0.0, 0.0,
        True,
    )  # fmt: skip


def test_stiffness_from_weight_is_that_of_the_stretch_formula() -> None:
    """Of a plain tube, 262.2 N/m in air (its steel area times 7850 kg/m3 times g)."""
    by_stretch = 1.0 / stretch_m(1.0, PIPE, LENGTH_M)
    found = held_stiffness_N_m(262.2 * LENGTH_M, LENGTH_M)
    assert found == pytest.approx(by_stretch, rel=0.06)


@pytest.mark.parametrize(("share", "free"), [(1.0, False), (0.5, False), (0.1, True)])
def test_what_rises_with_the_block_is_held(share: float, free: bool) -> None:
    stiffness = held_stiffness_N_m(850e3, LENGTH_M)
    following = Following()
    told = [
        following.is_free(lesson(x, EMPTY_N + 850e3 + share * stiffness * x), EMPTY_N)
        for x in (0.0, 0.8, 1.6, 2.4)
    ]
    assert told == [False, free, free, free]


def test_the_first_second_after_a_reversal_tells_nothing() -> None:
    following = Following()
    told = [following.is_free(lesson(x, 1000e3, v), EMPTY_N) for x, v in ((0.0, 0.2), (0.8, 0.2))]
    told += [following.is_free(lesson(x, 900e3, -0.2), EMPTY_N) for x in (0.7, 0.4, -0.2)]
    assert told == [False, True, False, False, True]


def test_stands_a_light_pipe_apart_are_free() -> None:
    """From stand to stand a string loses some kilonewtons, over more than a metre."""
    following = Following()
    following.is_free(lesson(0.0, 1000e3), EMPTY_N)
    assert following.is_free(lesson(1.6, 992e3), EMPTY_N)
