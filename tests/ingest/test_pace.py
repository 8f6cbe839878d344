"""A source that changes how often it sends: few gaps until its new pace is known."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.ingest.clock import Numbering
from monitor.ingest.intervals import Intervals
from monitor.ingest.rows import rows_of
from monitor.model import Quality

SECOND_us = 1_000_000


def _gaps(steps_s: list[float], cut: int = 0) -> list[int]:
    """Stamps of the gap markers of rows so far apart [s]."""
    times = np.cumsum(np.array([0.0, *steps_s]) * SECOND_us).astype(np.int64)
    numbering = Numbering(("hook_load",))
    found: list[int] = []
    for part in (times[:cut], times[cut:]):
        if len(part):
            samples = numbering.feed(rows_of(part, {"hook_load": np.ones(len(part))}))
            marked = (samples.row & Quality.GAP) > 0
            found += (samples.time_us[marked] // SECOND_us).tolist()
    return found


@pytest.mark.parametrize("slow_s", [6.0, 10.0, 30.0])
def test_slower_pace_is_two_gaps_and_no_more(slow_s: float) -> None:
    """By definition the first wait is a gap, and one more row is needed to tell a pace."""
    assert len(_gaps([1.0] * 60 + [slow_s] * 60 + [1.0] * 60)) == 2


def test_quick_pace_is_known_again_at_once() -> None:
    """After a slow spell a hole of 6 s among rows a second apart is one once more."""
    found = _gaps([1.0] * 60 + [10.0] * 20 + [1.0] * 12 + [6.0] + [1.0] * 5)
    assert found[2:] == [60 + 200 + 12 + 5]


def test_two_holes_running_do_not_hide_the_next_long_one() -> None:
    """Of holes of ten minutes no pace longer than a row a minute is learnt at once."""
    assert len(_gaps([1.0] * 60 + [600.0, 600.0, 600.0] + [1.0] * 9)) == 3


@pytest.mark.parametrize("cut", range(55, 75))
def test_same_gaps_wherever_the_stream_is_cut(cut: int) -> None:
    steps = [1.0] * 60 + [10.0] * 12 + [1.0] * 20
    assert _gaps(steps, cut) == _gaps(steps)


def test_many_at_once_as_one_by_one() -> None:
    random = np.random.default_rng(5)
    steps = random.choice([SECOND_us, 4 * SECOND_us, 30 * SECOND_us], 200).astype(np.int64)
    one = Intervals()
    expected = []
    for step in steps.tolist():
        expected.append(one.gap_us())
        one.add(step)
    assert Intervals().gaps_before(steps, np.arange(200)).tolist() == expected
