"""Truth of the scorecard: the same events as the truth file, and when a sensor shows them."""

import math

import numpy as np
import pytest

from monitor.score.faults import DRIFT_SHARE, SPAN_N, Spoiler
from monitor.score.truth import Watch, longest_run, passing
from monitor.simulate import Simulation
from monitor.units import parse_iso


def test_longest_run() -> None:
    assert longest_run(np.array([0, 1, 1, 0, 1, 1, 1, 0, 1], dtype=bool)) == 3
    assert longest_run(np.ones(4, dtype=bool)) == 4
    assert longest_run(np.zeros(4, dtype=bool)) == 0
    assert longest_run(np.zeros(0, dtype=bool)) == 0


def test_a_lagged_sensor_passes_the_limit_when_a_step_answer_does() -> None:
    """A step from 0 to 100 kN shows 50 kN after the lag times ln 2."""
    step_s, lag_s = 0.001, 0.2
    excess = np.concatenate((np.zeros(1000), np.full(5000, 100e3)))
    at = passing(excess, 1000, 6000, 50e3, lag_s, step_s)
    assert at is not None
    assert (at - 1000) * step_s == pytest.approx(lag_s * math.log(2.0), abs=0.002)


def test_a_ramp_is_shown_later_by_the_lag() -> None:
    step_s, lag_s = 0.001, 0.2
    excess = 20e3 * np.arange(10_000) * step_s
    at = passing(excess, 2500, 9999, 50e3, lag_s, step_s)
    assert at is not None
    assert (at - 2500) * step_s == pytest.approx(lag_s, abs=0.003)


def test_what_never_shows_has_no_time() -> None:
    excess = np.zeros(400)
    excess[200] = 60e3
    assert passing(excess, 200, 201, 50e3, 0.2, 0.05) is None


def test_events_are_those_of_the_truth_file() -> None:
    simulation = Simulation("stuck_pipe", 1001, hours=1.0, hz=1.0)
    watch = Watch(simulation, (50e3, 25e3))
    for _ in simulation.chunks():
        pass
    truth = simulation.truth()
    for limit_kN in (25, 50):
        rows = [
            row
            for row in truth["events_by_limit_kN"][str(limit_kN)]
            if row["kind"] in ("overpull", "slack_off")
        ]
        over = [t for t in watch.events(limit_kN * 1e3, 0.2) if t.peak_N > limit_kN * 1e3]
        assert len(rows) >= 5
        assert [(t.span.kind, t.span.start_us) for t in over] == [
            (row["kind"], parse_iso(row["start"])) for row in rows
        ]
        for one, row in zip(over, rows, strict=True):
            assert one.peak_N / 1e3 == pytest.approx(row["peak_excess_kN"], abs=0.01)
            length_s = (one.span.end_us - one.span.start_us) / 1e6
            assert 0.0 < one.over_s <= length_s + 1e-6
    ended = [stand for stand in truth["stands"] if stand["in_slips"] is not None]
    assert len(watch.stands()) == len(ended)


def test_truths_just_below_the_limit_are_known_once() -> None:
    simulation = Simulation("stuck_pipe", 1001, hours=1.0, hz=1.0)
    watch = Watch(simulation, (50e3,))
    for _ in simulation.chunks():
        pass
    events = watch.events(50e3, 0.2)
    near = [t for t in events if t.peak_N <= 50e3]
    assert all(t.peak_N > 40e3 for t in near)
    assert not any(
        one.span.reaches(other.span) for one in near for other in events if other.peak_N > 50e3
    )


def minutes(kind: str, n_minutes: int) -> tuple[Spoiler, list[tuple[np.ndarray, np.ndarray]]]:
    spoiler, parts = Spoiler(kind, 5, 0), []
    for minute in range(n_minutes):
        time_us = (minute * 600 + np.arange(600, dtype=np.int64)) * 100_000
        values = {"deadline_tension": np.full(600, 1e5), "block_position": np.full(600, 10.0)}
        times, spoilt = spoiler(time_us, values)
        assert np.all(values["deadline_tension"] == 1e5)  # the source is left alone
        parts.append((times, spoilt["deadline_tension"]))
    return spoiler, parts


def test_drift_grows_to_one_percent_of_span() -> None:
    _, parts = minutes("drift", 60)
    assert np.all(parts[0][1] == 1e5)
    assert parts[-1][1][-1] == pytest.approx(1e5 + DRIFT_SHARE * SPAN_N)


def test_faults_come_and_what_is_lost_is_told() -> None:
    spoiler, parts = minutes("faults", 400)
    tension = np.concatenate([part[1] for part in parts])
    assert 0.005 < np.mean(np.isnan(tension)) < 0.02
    assert np.nanmax(tension) > 2e5
    assert np.any(np.diff(np.concatenate([part[0] for part in parts])) < 0)
    short = [len(part[0]) for part in parts if len(part[0]) < 600]
    assert short
    assert len(spoiler.lost_us) >= len(short)
    assert all(a < b for a, b in spoiler.lost_us)
