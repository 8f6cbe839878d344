"""Time over a limit: by the event that was open, the way the block went, the limit in force."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Event
from monitor.review.limits import time_over
from monitor.review.span import Span

T = 1_772_000_000_000_000
S = 1_000_000


def event(kind: str, from_s: int, to_s: int) -> Event:
    start = T + from_s * S
    return Event(1, kind, start, start, T + to_s * S, start, 2000.0, 1e6, 1e6, 2e5, 0.9)


def span(excess_kN: list[float], friction: list[float]) -> Span:
    count = len(excess_kN)
    columns = {
        "excess_N": np.array(excess_kN) * 1e3,
        "friction_state": np.array(friction),
        "state": np.zeros(count),
    }
    return Span(T + np.arange(count) * S, columns)


def test_a_load_still_high_while_slacking_off_is_no_overpull() -> None:
    """Ten seconds: three over the limit pulling, one while friction turns, three slacking off."""
    part = span([0, 200, 210, 220, 205, 200, 190, 180, 0, 0], [1, 1, 1, 1, 0, -1, -1, -1, -1, -1])
    found = time_over(part, [event("stuck", 0, 9)], "agreed", "overpull", 150e3)
    assert found is not None
    assert (found.seconds, found.times, found.greatest_N) == (3.0, 1, 220e3)
    assert found.first_us == T + S


def test_slack_off_counts_going_down_only() -> None:
    part = span([-200, -200, -200, -200], [1, 0, -1, -1])
    found = time_over(part, [event("slack_off", 0, 9)], "agreed", "slack_off", 150e3)
    assert found is not None
    assert found.seconds == 1.0  # the last row stands for no time
    assert found.times == 1


def test_without_an_event_nothing_is_over() -> None:
    part = span([200, 200, 200], [1, 1, 1])
    found = time_over(part, [event("overpull", 5, 9)], "agreed", "overpull", 150e3)
    assert found is not None
    assert (found.seconds, found.times, found.first_us) == (0.0, 0, None)
    assert time_over(part, [], "agreed", "overpull", None) is None


def test_a_limit_raised_meanwhile_counts_from_then() -> None:
    part = span([200, 200, 200, 200], [1, 1, 1, 1])
    limits = np.array([150e3, 150e3, 300e3, 300e3])
    found = time_over(part, [event("stuck", 0, 9)], "agreed", "overpull", limits)
    assert found is not None
    assert (found.seconds, found.limit_N, found.is_changed) == (2.0, 150e3, True)


def test_a_reported_load_has_no_friction_and_counts_as_it_is() -> None:
    part = span([200, 200, 0], [np.nan] * 3)
    found = time_over(part, [event("stuck", 0, 9)], "event", "overpull", 40e3)
    assert found is not None
    assert found.seconds == pytest.approx(2.0)
