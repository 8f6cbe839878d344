"""The rope model against closed forms it does not contain."""

import numpy as np
import pytest

from monitor.simulate.rope import Rope

LOAD_N = 1.2e6
STEP_M = 0.0005


def moved(rope: Rope, travel_m: float, load_N: float = LOAD_N) -> np.ndarray:
    """Dead-line tension along a move at one load."""
    count = max(1, round(abs(travel_m) / STEP_M))
    steps = np.full(count, np.copysign(STEP_M, travel_m))
    return rope.dead_line_N(steps, np.full(count, load_N))


@pytest.mark.parametrize(
    ("lines", "ratio"), [(8, 1.04), (10, 1.04), (10, 1 / 0.985), (12, 1 / 0.98)]
)
def test_steady_motion_is_the_capstan_product(lines: int, ratio: float) -> None:
    rope = Rope(lines, 1 / ratio, LOAD_N)
    hoisting = LOAD_N / sum(ratio**k for k in range(lines))
    lowering = LOAD_N / sum(ratio**-k for k in range(lines))
    assert moved(rope, 0.3)[-1] == pytest.approx(hoisting, rel=1e-9)
    assert moved(rope, -0.3)[-1] == pytest.approx(lowering, rel=1e-9)


def test_published_multipliers() -> None:
    # Derived table, inactive dead-line sheave, e = 1/1.04, ten lines.
    rope = Rope(10, 1 / 1.04, LOAD_N)
    assert LOAD_N / moved(rope, 0.3)[-1] == pytest.approx(12.006107, abs=1e-6)
    assert LOAD_N / moved(rope, -0.3)[-1] == pytest.approx(8.435332, abs=1e-6)
    rope = Rope(10, 1 / 1.04, LOAD_N, dead_line_turns=True)
    assert LOAD_N / moved(rope, 0.3)[-1] == pytest.approx(12.486351, abs=1e-6)
    assert LOAD_N / moved(rope, -0.3)[-1] == pytest.approx(8.110896, abs=1e-6)


def test_efficiency_of_the_hoist_from_work_done() -> None:
    # Work on the load over work at the drum = RP 9B block-and-tackle efficiency, 0.8111.
    rope = Rope(10, 1 / 1.04, LOAD_N)
    moved(rope, 0.3)
    fast_line_N = 1.04 * rope.tensions_N[0]  # one turning sheave more to the drum
    assert LOAD_N / (fast_line_N * 10) == pytest.approx(0.8111, abs=5e-5)


def test_friction_stays_as_the_last_motion_left_it() -> None:
    rope = Rope(10, 0.985, LOAD_N)
    before = moved(rope, 0.3)[-1]
    held = rope.dead_line_N(np.zeros(50), np.full(50, LOAD_N))
    assert held == pytest.approx(np.full(50, before))


def test_held_after_hoisting_more_load_sticks_and_less_load_slides() -> None:
    # Derived for K = 1.02: slopes 1.000/n up and 0.9133/n down after a raising stop.
    rope = Rope(10, 1 / 1.02, LOAD_N)
    start = moved(rope, 0.3)[-1]
    more = rope.dead_line_N(np.zeros(1), np.array([LOAD_N + 1e4]))[-1]
    assert (more - start) / 1e4 == pytest.approx(0.1, rel=1e-3)
    rope = Rope(10, 1 / 1.02, LOAD_N)
    start = moved(rope, 0.3)[-1]
    less = rope.dead_line_N(np.zeros(1), np.array([LOAD_N - 1e4]))[-1]
    assert (start - less) / 1e4 == pytest.approx(0.09133, rel=1e-3)


def test_reversal_is_gradual_and_within_centimetres() -> None:
    rope = Rope(10, 0.985, LOAD_N)
    top = moved(rope, 0.3)[-1]
    back = moved(rope, -0.3)
    assert np.all(np.diff(back) >= -1e-4 * top)
    share = (back - top) / (back[-1] - top)
    assert share[1] < 0.2
    travel_m = float(np.argmax(share > 0.99)) * STEP_M
    assert 0.003 < travel_m < 0.04


def test_spans_always_carry_the_load_and_no_ratio_leaves_its_bounds() -> None:
    rope = Rope(8, 0.97, LOAD_N)
    random = np.random.default_rng(4)
    for _ in range(60):
        load = LOAD_N * random.uniform(0.2, 1.5)
        rope.dead_line_N(np.array([random.normal() * 0.003]), np.array([load]))
        spans = np.array(rope.tensions_N)
        assert spans.sum() == pytest.approx(load, rel=1e-5)
        ratios = spans[:-1] / spans[1:]
        assert ratios.max() < 1 / 0.97 * (1 + 1e-4)
        assert ratios.min() > 0.97 * (1 - 1e-4)


def test_size_of_the_steps_does_not_matter() -> None:
    fine, coarse = Rope(10, 0.985, LOAD_N), Rope(10, 0.985, LOAD_N)
    moved(fine, 0.1)
    moved(coarse, 0.1)
    a = fine.dead_line_N(np.full(8, -0.0005), np.full(8, LOAD_N))[-1]
    b = coarse.dead_line_N(np.full(2, -0.002), np.full(2, LOAD_N))[-1]
    assert a == pytest.approx(b, rel=1e-3)
