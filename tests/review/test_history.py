"""What was normal before: trips against expected, and where the hole was tight."""

from __future__ import annotations

import math

import numpy as np

from monitor.model import Event, TripRow
from monitor.review.history import last_trips, seen_tight
from monitor.review.span import Span
from monitor.review.stands import stand_runs

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


def test_a_run_of_stands_is_told_with_how_the_string_was_worked() -> None:
    """Half of it at 90 rpm, the pumps on all along; noise of a meter is no flow."""
    rows = [stand(1, "in", 1000.0, 500.0, 499.0), stand(2, "in", 1028.0, 501.0, 500.0)]
    time_us = np.arange(rows[0].out_of_slips_us, rows[1].in_slips_us or 0, 1_000_000)
    count = len(time_us)
    columns = {
        "activity": np.full(count, 3.0),
        "flow_in": np.full(count, 0.03),
        "rotary_speed": np.where(np.arange(count) < count // 2, 9.42, 0.0),
    }
    (line,) = stand_runs(rows, (), Span(time_us, columns))
    assert "bit {from} to {to}" in line.text
    assert line.text.endswith(
        "circulating at {flow_in}, rotating at {rotary_speed} 50 % of the time out of slips."
    )
    assert line.figures["flow_in"] == (0.03, "flow")
    quiet = Span(time_us, {**columns, "flow_in": np.full(count, 1e-4)})
    assert "; pumps off, rotating" in stand_runs(rows, (), quiet)[0].text


def test_stands_of_unknown_depth_tell_none() -> None:
    (line,) = stand_runs([stand(1, "in", math.nan, 500.0, math.nan)])
    assert line.text.startswith("Stand 1 run in hole; lowering {weight}")
