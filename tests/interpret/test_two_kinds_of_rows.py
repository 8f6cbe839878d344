"""Rows that hold some channels only: two logs in one, or channels sent at their own pace.

What comes out must be what the same rig gives where every row holds everything.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Event, Quality, Samples, TripRow
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, NAN, Script, plain_rig

LOAD_N = 1200e3
PULL_N = 110e3
PULL_S = 6.0
STAND_M = 27.8  # 1.2 to 29.0 m, as Script pulls a stand


def _stands_with_a_pull(hz: float = 5.0) -> tuple[Samples, float]:
    """Five stands out, a tight spot in the last; and when that begins [s]."""
    script = Script(hz=hz)
    for _ in range(4):
        script.stand_out(LOAD_N)
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(14.0, LOAD_N)
    begins_s = script.seconds
    script.move(14.0 + 0.5 * PULL_S, LOAD_N + PULL_N).move(29.0, LOAD_N)
    script.hold(3, LOAD_N).ramp(28.8, EMPTY_N)
    return script.hold(20, EMPTY_N).samples(), begins_s


def _only(samples: Samples, name: str, rows: np.ndarray) -> Samples:
    """Without a channel but in some rows."""
    column = np.where(rows, samples.values[name], NAN)
    quality = {k: v.copy() for k, v in samples.quality.items()}
    quality[name] = np.where(rows, 0, Quality.MISSING).astype(np.uint16)
    return Samples(
        samples.seq, samples.time_us, samples.row, {**samples.values, name: column}, quality
    )


def _found(samples: Samples) -> tuple[list[TripRow], list[Event]]:
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    pulls = [e for e in output.events if e.kind in ("overpull", "slack_off")]
    return [row for row in output.trip_rows if not row.void], pulls


def _spoilt(kind: str) -> tuple[Samples, float]:
    samples, begins_s = _stands_with_a_pull()
    rows = np.arange(len(samples))
    if kind == "in turn":
        return _only(
            _only(samples, "deadline_tension", rows % 2 == 0), "block_position", rows % 2 == 1
        ), begins_s
    if kind == "load once a second":
        return _only(samples, "deadline_tension", rows % 5 == 0), begins_s
    return _only(samples, "block_position", rows % 5 == 0), begins_s


@pytest.mark.parametrize("kind", ["in turn", "load once a second", "block once a second"])
def test_stands_are_those_of_full_rows(kind: str) -> None:
    stands, _ = _found(_spoilt(kind)[0])
    assert [row.direction for row in stands] == ["out"] * 5
    # A second of the stand's 0.5 m/s, at either end.
    assert [row.length_m for row in stands] == pytest.approx([STAND_M] * 5, abs=0.5)


@pytest.mark.parametrize("kind", ["in turn", "load once a second", "block once a second"])
def test_pull_is_found_and_no_other(kind: str) -> None:
    samples, begins_s = _spoilt(kind)
    _, events = _found(samples)
    assert [event.kind for event in events] == ["overpull"]
    # Two loads of their own are needed, a second apart at the slowest here.
    assert 0.0 <= events[0].raised_us / 1e6 - begins_s <= 2.5
    assert events[0].peak_excess_N == pytest.approx(PULL_N, abs=10e3)


def test_load_held_over_rows_without_one_is_no_second_reading() -> None:
    """One row of a load that is far too high, held over four more rows, raises nothing."""
    samples, begins_s = _stands_with_a_pull()
    rows = np.arange(len(samples))
    load = samples.values["deadline_tension"]
    late = samples.time_us >= round((begins_s - 0.1) * 1e6)
    load[late & (load > 1.05 * LOAD_N / 10)] = LOAD_N / 10
    once = int(np.flatnonzero(late & (rows % 5 == 0) & (load > 0.9 * LOAD_N / 10))[3])
    load[once] += PULL_N / 10
    _, events = _found(_only(samples, "deadline_tension", rows % 5 == 0))
    assert events == []


def test_one_missing_load_is_still_missing() -> None:
    """Where every row has one, a row without is shown as it came."""
    samples, _ = _stands_with_a_pull()
    rows = np.arange(len(samples))
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(
        _only(samples, "deadline_tension", rows != 700)
    )
    assert np.flatnonzero(np.isnan(output.columns["hook_load_N"])).tolist() == [700]


def test_load_that_stays_away_is_not_held() -> None:
    """A load a second holds for less than a second, not through a spell of none."""
    samples, _ = _stands_with_a_pull()
    rows = np.arange(len(samples))
    there = (rows % 5 == 0) & ~((rows >= 500) & (rows < 550))
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(
        _only(samples, "deadline_tension", there)
    )
    assert np.isfinite(output.columns["hook_load_N"][100:500]).all()
    assert np.isnan(output.columns["hook_load_N"][500:550]).all()


def test_counter_that_comes_back_after_a_row_leaves_nothing() -> None:
    """A row a second: 30 m too high for one row, on the way up and on the way down."""
    samples, _ = _stands_with_a_pull(hz=1.0)
    block = samples.values["block_position"]
    up = np.flatnonzero((np.diff(block) > 0.3) & (block[1:] > 10.0) & (block[1:] < 20.0))
    down = np.flatnonzero((np.diff(block) < -0.3) & (block[1:] > 10.0) & (block[1:] < 20.0))
    spoilt = block.copy()
    for row, by_m in ((up[5], 30.0), (up[40], -4.8), (down[5], 4.8), (down[25], -30.0)):
        spoilt[row + 1] += by_m
    values = {**samples.values, "block_position": spoilt}
    plain, _ = _found(samples)
    stands, _ = _found(Samples(samples.seq, samples.time_us, samples.row, values, samples.quality))
    assert [row.bit_depth_m for row in stands] == pytest.approx(
        [row.bit_depth_m for row in plain], abs=1e-6
    )
