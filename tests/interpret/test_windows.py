"""Windows over rows against their definitions, gone through row by row in Python.

The quick ways that long pieces of evenly spaced rows take must give the same as the slow ones.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.alarm_state import SLACK_S, Delay
from monitor.interpret.windows import (
    FEW_ROWS,
    forward_fill,
    oldest_since,
    play,
    root_sum,
    running_sum,
    sliding_high,
    window_start,
)
from monitor.model import Floats

ROWS = 4 * FEW_ROWS


def times(kind: str) -> Floats:
    """Even, with a row missing here and there, or never even."""
    random = np.random.default_rng(4)
    even = np.arange(ROWS) / 10.0
    if kind == "even":
        return even
    if kind == "missing rows":
        return np.delete(even, random.integers(0, ROWS, 9))
    return np.cumsum(random.uniform(0.02, 0.3, ROWS))


@pytest.mark.parametrize("kind", ["even", "missing rows", "uneven"])
@pytest.mark.parametrize("first", [0, 3, 40])
@pytest.mark.parametrize("span_s", [0.05, 1.0, 5.0, 1e4])
def test_oldest_row_of_a_window_is_the_one_a_search_finds(
    kind: str, first: int, span_s: float
) -> None:
    at = times(kind)
    since = at[first:] - (span_s + 5e-4)
    found = oldest_since(at, since, first)
    assert np.array_equal(found, np.searchsorted(at, since))


@pytest.mark.parametrize("kind", ["even", "missing rows", "uneven"])
@pytest.mark.parametrize("first", [0, 3, 40])
def test_sliding_high_is_the_greatest_of_each_window(kind: str, first: int) -> None:
    at = times(kind)
    values = np.random.default_rng(5).normal(size=len(at))
    start = window_start(at, first, 2.5)
    expected = [values[begin : first + k + 1].max() for k, begin in enumerate(start.tolist())]
    assert np.array_equal(sliding_high(values, start, first), expected)


@pytest.mark.parametrize("rows", [1, FEW_ROWS - 1, FEW_ROWS, ROWS - 7])
def test_play_goes_step_by_step(rows: int) -> None:
    values = np.cumsum(np.random.default_rng(6).normal(size=rows)) * 0.01
    held, expected = 0.02, []
    for value in values.tolist():
        held = min(max(held, value - 0.015), value + 0.015)
        expected.append(held)
    assert np.array_equal(play(0.02, values, 0.015), expected)


@pytest.mark.parametrize("share", [0.0, 0.01, 0.5, 1.0])
def test_forward_fill_holds_the_last_value_kept(share: float) -> None:
    random = np.random.default_rng(7)
    values, keep = random.normal(size=ROWS), random.random(ROWS) < share
    held, expected = 9.0, []
    for value, is_kept in zip(values.tolist(), keep.tolist(), strict=True):
        held = value if is_kept else held
        expected.append(held)
    assert np.array_equal(forward_fill(9.0, values, keep), expected)


def test_running_sum_has_its_carry_in_front() -> None:
    values = np.random.default_rng(8).normal(size=ROWS)
    values[::17] = np.nan
    total, expected = 0.1, []
    for value in values.tolist():
        total += value if value == value else 0.0
        expected.append(total)
    assert np.array_equal(running_sum(0.1, values), expected)


def test_root_sum_is_the_hypotenuse() -> None:
    random = np.random.default_rng(9)
    width, other = (
        random.random(ROWS),
        np.where(random.random(ROWS) < 0.3, random.random(ROWS), 0.0),
    )
    other[3], width[5] = np.nan, np.nan
    assert np.array_equal(root_sum(width, other), np.hypot(width, other), equal_nan=True)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("gated", [False, True])
def test_delay_judges_as_it_would_row_by_row(seed: int, gated: bool) -> None:
    """Conditions that flicker, in pieces: the same rows as one row after another gives."""
    random = np.random.default_rng(seed)
    at_s = np.arange(ROWS) / 10.0
    on = np.repeat(random.random(ROWS // 4) < 0.5, 4)
    off = ~on & (random.random(ROWS) < 0.9)
    gate = random.random(ROWS) < 0.3 if gated else None
    expected, active, since_s = [], False, None
    for row in range(ROWS):
        wanted = off[row] if active else on[row]
        since_s = (at_s[row] if since_s is None else since_s) if wanted else None
        if since_s is None or at_s[row] - since_s < (0.7 if active else 0.5) - SLACK_S:
            continue
        if gate is None or active or gate[row]:
            active, since_s = not active, None
            expected.append((row, active))
    assert len(expected) > 4
    delay, found = Delay(0.5, 0.7), []
    for start in range(0, ROWS, 150):
        part = slice(start, start + 150)
        gate_part = None if gate is None else gate[part]
        edges = delay.follow(at_s[part], on[part], off[part], gate_part)
        found += [(start + row, is_active) for row, is_active in edges]
    assert found == expected
