"""Peaks: no greater for noise, and not of a load that slips have taken."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.peaks import Peaks
from monitor.interpret.speeds import QUICKEST_M_S, Quickening
from monitor.interpret.stage import Rows, Turn
from tests.interpret.streams import EMPTY_N, Script

LOAD_N = 1000e3


def rows_of(count: int, step_s: float, **column: np.ndarray) -> Rows:
    """Rows with nothing but time and the columns given."""
    time_us = np.round(np.arange(count) * step_s * 1e6).astype(np.int64)
    flags = np.zeros(count, dtype=np.uint16)
    return Rows(np.arange(count), time_us, time_us / 1e6, flags, 0, {}, {}, column=dict(column))


def series(values: np.ndarray) -> dict[str, np.ndarray]:
    return {"up": values, "down": -values, "load": LOAD_N + values}


def test_a_peak_is_a_mean_of_half_a_second() -> None:
    """White noise: the standard deviation of five rows is that of one over root five."""
    noise = np.random.default_rng(5).normal(0.0, 7e3, 4000)
    means = Peaks().follow(rows_of(4000, 0.1), series(noise))
    assert float(np.std(means["up"][10:])) == pytest.approx(7e3 / np.sqrt(5.0), rel=0.1)
    by_hand = np.convolve(noise, np.full(5, 0.2), mode="valid")
    assert means["up"][5:] == pytest.approx(by_hand[1:], abs=1e-6)
    assert means["down"][5:] == pytest.approx(-by_hand[1:], abs=1e-6)


def test_slow_rows_are_their_own_mean() -> None:
    values = np.array([10e3, 60e3, 20e3])
    assert Peaks().follow(rows_of(3, 1.0), series(values))["up"] == pytest.approx(values)


def test_a_load_missing_for_a_row_is_left_out() -> None:
    values = np.full(12, 50e3)
    values[8] = np.nan
    means = Peaks().follow(rows_of(12, 0.1), series(values))
    assert means["up"] == pytest.approx(np.full(12, 50e3))


def test_slips_set_while_a_slack_off_is_open_make_no_peak() -> None:
    """60 kN short over the last metres, then 750 kN into the slips: 60 kN it was."""
    script = Script(hz=10.0)
    for _ in range(5):
        script.stand_in(LOAD_N)
    begins_s = script.seconds
    script.hold(10, EMPTY_N).move(29.0, EMPTY_N, 0.8).hold(20, EMPTY_N)
    script.ramp(29.2, LOAD_N).hold(2, LOAD_N).move(6.0, LOAD_N).move(1.2, LOAD_N - 60e3)
    script.ramp(1.0, EMPTY_N).hold(20, EMPTY_N)
    events = [e for e in script.run(2000.0).events if e.start_us / 1e6 > begins_s]
    found = [e for e in events if e.kind == "slack_off"]
    assert len(found) == 1
    assert found[0].end_us is not None
    assert found[0].peak_excess_N == pytest.approx(60e3, abs=10e3)
    assert found[0].peak_hook_load_N == pytest.approx(LOAD_N - 60e3, abs=10e3)


def test_a_pull_that_lasts_until_slips_are_set_keeps_its_peak() -> None:
    """Held over the last metres of a stand and set at its top: what was lower counts."""
    script = Script(hz=10.0)
    for _ in range(5):
        script.stand_out(LOAD_N)
    begins_s = script.seconds
    script.hold(10, EMPTY_N).move(1.0, EMPTY_N, 0.8).hold(20, EMPTY_N)
    script.ramp(1.2, LOAD_N).hold(2, LOAD_N).move(20.0, LOAD_N)
    for rise_N in (80e3, 160e3, 120e3):
        script.move(script.block[-1] + 3.0, LOAD_N + rise_N)
    script.ramp(script.block[-1] - 0.2, EMPTY_N).hold(20, EMPTY_N)
    events = [e for e in script.run(2000.0).events if e.start_us / 1e6 > begins_s]
    found = [e for e in events if e.kind == "overpull"]
    assert len(found) == 1
    assert found[0].end_us is not None
    assert found[0].peak_excess_N == pytest.approx(160e3, abs=10e3)


def quickened(speed: np.ndarray, step_s: float, sets: int = 0) -> tuple[np.ndarray, Quickening]:
    follower = Quickening()
    rows = rows_of(len(speed), step_s, phase=np.full(len(speed), 2))
    if sets:
        rows.turns.append(Turn(sets, "set", 0.0, 0))
    return follower.follow(rows, speed), follower


def test_what_a_block_may_have_gained_holds_what_it_has() -> None:
    """Even acceleration of 0.4 m/s2, told by the mean over half a second before."""
    step_s, window_s = 0.1, 0.5
    time_s = np.arange(0.0, 3.0, step_s)
    true = np.where(time_s > 1.0, 0.4 * (time_s - 1.0), 0.0)
    height = np.where(time_s > 1.0, 0.2 * (time_s - 1.0) ** 2, 0.0)
    told = (height - np.interp(time_s - window_s, time_s, height)) / window_s
    may, _ = quickened(told, step_s)
    early = (time_s > 1.0) & (time_s < 1.0 + window_s)
    assert np.all(may[early] >= (true - told)[early])
    assert np.all(may <= QUICKEST_M_S)


def test_the_crews_own_quickest_stand_counts() -> None:
    speed = np.concatenate((np.linspace(0.0, 0.3, 61), np.zeros(40)))
    may, follower = quickened(speed, 0.1, sets=70)
    # 0.3 m/s in 6 s is 25 mm/s in half a second.
    assert follower.stands == [pytest.approx(0.025)]
    assert may[-1] <= 0.026 < may[30]
