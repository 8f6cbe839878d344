"""What was normal before: trips against expected, and where the hole was tight."""

from __future__ import annotations

import math

from monitor.model import Event, TripRow
from monitor.review.history import last_trips, seen_tight

T = 1_772_000_000_000_000
MINUTE = 60_000_000


def stand(number: int, way: str, depth_m: float, moving_kN: float, expected_kN: float) -> TripRow:
    start = T + number * 5 * MINUTE
    return TripRow(
        number, way, start, start + MINUTE, depth_m, 28.0, moving_kN * 1e3, expected_kN * 1e3,
        10e3 * number, 0.0, 0.5,
    )  # fmt: skip


def tight(number: int, depth_m: float, kind: str = "overpull") -> Event:
    at = T + number * MINUTE
    return Event(number, kind, at, at, at + MINUTE, at, depth_m, 1.1e6, 1e6, 90e3, 0.99)


def test_trips_are_runs_of_stands_one_way_each_with_its_own_weights() -> None:
    rows = [stand(n, "out", 3000.0 - 28.0 * n, 1000.0 + n, 1000.0) for n in range(1, 6)]
    rows += [stand(6, "in", 2888.0, 900.0, math.nan)]  # one stand down is no trip
    rows += [stand(n, "out", 3000.0 - 28.0 * n, 990.0, 1000.0) for n in range(7, 11)]
    first, second = last_trips(rows)
    assert (first.first_stand, first.last_stand, first.stands, first.judged) == (1, 5, 5, 5)
    assert (first.from_m, first.to_m) == (3000.0, 2860.0)
    assert (first.median_off_N, first.greatest_off_N) == (3e3, 5e3)
    assert (first.greatest_off_depth_m, first.greatest_overpull_N) == (2860.0, 50e3)
    assert (second.median_off_N, second.greatest_off_N) == (-10e3, -10e3)
    assert [trip.first_stand for trip in last_trips(rows, most=1)] == [7]


def test_a_trip_without_expected_weights_says_so() -> None:
    (trip,) = last_trips([stand(n, "in", 28.0 * n, 500.0, math.nan) for n in range(1, 5)])
    assert trip.judged == 0
    assert math.isnan(trip.median_off_N)
    assert math.isnan(trip.greatest_off_depth_m)
    assert last_trips([]) == []


def test_tight_spots_near_a_depth_and_before_a_moment() -> None:
    events = [
        tight(5, 2012.0), tight(1, 1990.0, "slack_off"), tight(2, 2030.0),
        tight(3, 2000.0, "stuck"), tight(9, 2001.0),
    ]  # fmt: skip
    spots = seen_tight(events, 2000.0, T + 9 * MINUTE)
    assert [(spot.event.kind, spot.away_m) for spot in spots] == [
        ("slack_off", -10.0),
        ("overpull", 12.0),
    ]
