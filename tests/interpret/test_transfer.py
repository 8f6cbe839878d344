"""Block position at full load, from rows in which slips give or take the string."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.transfer import came_off_m, fully_on_m, passing_line_m, without_lag
from monitor.model import Floats

LAG_S = 0.2
LIFT_M_S = 0.1


def _picked_up(hz: float, give_m: float, first_s: float) -> tuple[Floats, Floats, Floats]:
    """Rows of a block at rest, then lifted evenly, the load on at once, a lagging sensor."""
    fine_s = np.arange(0.0, 12.0, 0.001)
    block = 1.0 + LIFT_M_S * np.maximum(fine_s - 2.0, 0.0)
    part = np.clip((block - 1.0) / give_m, 0.0, 1.0)
    seen = np.zeros(len(part))
    share = 1.0 - np.exp(-0.001 / LAG_S)
    for i in range(1, len(part)):
        seen[i] = seen[i - 1] + share * (part[i] - seen[i - 1])
    rows = np.arange(first_s, 12.0, 1.0 / hz)
    part = np.interp(rows, fine_s, seen)
    first = int(np.flatnonzero(part < 0.08)[-1])
    stop = int(np.flatnonzero(part > 0.93)[0]) + 1
    return rows[first:stop], part[first:stop], np.interp(rows, fine_s, block)[first:stop]


@pytest.mark.parametrize("hz", [5.0, 10.0, 20.0])
@pytest.mark.parametrize("give_m", [0.06, 0.12, 0.3])
def test_full_load_is_found_behind_a_lagging_sensor(hz: float, give_m: float) -> None:
    for first_s in (0.0, 0.37 / hz, 0.81 / hz):
        times, part, block = _picked_up(hz, give_m, first_s)
        full_m, _ = fully_on_m(times, part, block, LAG_S, give_m)
        assert full_m == pytest.approx(1.0 + give_m, abs=0.015)


def test_once_a_second_it_is_right_on_average() -> None:
    # One row says little of when within its second the load came on; many are not biased.
    found = []
    for first_s in np.linspace(0.0, 0.95, 20):
        times, part, block = _picked_up(1.0, 0.10, float(first_s))
        found.append(fully_on_m(times, part, block, LAG_S, 0.10)[0])
    assert np.mean(found) == pytest.approx(1.10, abs=0.02)


def test_five_second_rows_give_the_empty_position_at_both_ends() -> None:
    # Latched at 1.0 and empty at 28.7 after slips took the load: the pipe moved 27.7 m,
    # whatever slips and line gave.
    times, part = np.array([0.0, 5.0]), np.array([0.0, 1.0])
    up_m, _ = fully_on_m(times, part, np.array([1.0, 2.6]), LAG_S, 0.0)
    down_m, _ = came_off_m(times, part[::-1], np.array([29.1, 28.7]), LAG_S)
    assert (up_m, down_m) == (1.0, 28.7)


def test_the_line_is_that_of_a_general_fit() -> None:
    # numpy.polyfit of block on part of the load.
    random = np.random.default_rng(4)
    part = np.linspace(0.2, 0.7, 12)
    block = 5.0 + 0.2 * part + 0.004 * random.standard_normal(12)
    slope, start = np.polyfit(part, block, 1)
    assert passing_line_m(part, block) == pytest.approx((start + slope, slope), rel=1e-9)


def test_load_against_the_travel_is_no_transfer() -> None:
    part, block = np.linspace(0.2, 0.7, 6), np.linspace(5.0, 4.0, 6)
    assert np.isnan(passing_line_m(part, block)).all()


def test_came_off_is_never_above_the_last_full_row() -> None:
    times = np.arange(0.0, 2.0, 0.2)
    part = np.clip(1.0 - np.linspace(0.0, 2.0, 10), 0.0, 1.0) ** 2
    block = 9.0 - 0.02 * np.arange(10)
    assert came_off_m(times, part, block, LAG_S)[0] <= 9.0


def test_lag_is_taken_off() -> None:
    times = np.arange(0.0, 3.0, 0.05)
    seen = times - LAG_S * (1.0 - np.exp(-times / LAG_S))  # a ramp behind a first-order lag
    assert without_lag(times, seen, LAG_S)[2:-2] == pytest.approx(times[2:-2], abs=5e-3)


@pytest.mark.parametrize("hz", [2.0, 5.0])
def test_a_string_lowered_a_little_before_slips_are_set_lets_go_where_they_take_it(
    hz: float,
) -> None:
    # Lowered 0.3 m at 0.1 m/s the hole takes 15 % of it; slips have the rest within 0.05 m.
    times = np.arange(0.0, 5.0, 1.0 / hz)
    block = 29.0 - 0.1 * times
    part = np.interp(block, [28.65, 28.7, 29.0], [0.0, 0.85, 1.0])
    stop = int(np.flatnonzero(part < 0.08)[0]) + 1
    full_m, _ = came_off_m(times[:stop], part[:stop], block[:stop], 0.0, 0.05)
    # The string stood at 28.7 when slips took it, within the travel of a row and the give.
    assert full_m == pytest.approx(28.7, abs=0.1 / hz + 0.05)
