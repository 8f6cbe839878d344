from __future__ import annotations

import time
from pathlib import Path

import pytest

from monitor.web.feed import LEAST_STALE_S, Feed
from monitor.web.live_columns import LIVE_COLUMNS
from tests.web.synthetic import Recorder


def test_the_ring_holds_every_row_of_the_record(tmp_path: Path, recorder: Recorder) -> None:
    feed = Feed.of(tmp_path)
    feed.poll()
    first = feed.ring.floor
    end = time.monotonic() + 1.5
    while time.monotonic() < end:
        feed.poll()
        time.sleep(0.02)
    batch = feed.ring.after(first, 100_000)
    assert batch is not None
    got = {row[0]: row[1] for row in batch.rows}
    assert got == {
        seq: at for seq, at in dict(recorder.written).items() if first < seq <= max(got)
    }
    assert max(got) > 7000 + 10
    assert len(batch.rows[-1]) == 2 + len(LIVE_COLUMNS)
    assert feed.status["lines_strung"] == 10


def test_age_grows_when_rows_stop_although_the_recorder_lives(
    tmp_path: Path, recorder: Recorder
) -> None:
    feed = Feed.of(tmp_path)
    time.sleep(0.3)
    feed.poll()
    age = feed.age_s()
    assert age is not None
    assert age < 0.5
    recorder.silent = True
    time.sleep(0.3)
    feed.poll()
    time.sleep(1.0)
    feed.poll()
    later = feed.age_s()
    assert later is not None
    assert later > 0.9
    assert feed.stale_after_s() == LEAST_STALE_S


def test_a_record_that_does_not_exist_yet_is_waited_for(tmp_path: Path) -> None:
    feed = Feed.of(tmp_path / "not yet")
    feed.poll()
    assert feed.age_s() is None
    assert feed.ring.newest is None
    with Recorder(tmp_path / "not yet", history_s=5.0):
        feed.poll()
        assert feed.ring.newest is not None


@pytest.mark.parametrize(("hz", "stale_s"), [(10.0, LEAST_STALE_S), (0.5, 5.0)])
def test_a_slow_source_is_not_stale_between_its_rows(
    tmp_path: Path, hz: float, stale_s: float
) -> None:
    with Recorder(tmp_path, history_s=60.0, hz=hz):
        feed = Feed.of(tmp_path)
        feed.poll()
        assert feed.stale_after_s() == pytest.approx(stale_s, rel=0.05)


def test_a_late_row_neither_freshens_nor_moves_the_window(tmp_path: Path) -> None:
    with Recorder(tmp_path, history_s=5.0) as recorder:
        feed = Feed.of(tmp_path)
        feed.poll()
        newest = feed.newest_us
        assert newest is not None
        recorder.silent = True
        time.sleep(0.25)
        feed.poll()
        recorder.late_row(newest - 3_000_000)
        time.sleep(0.5)
        feed.poll()
        assert feed.ring.newest is not None
        assert feed.ring.newest[1] == newest - 3_000_000
        assert feed.newest_us is not None
        assert feed.newest_us >= newest
        age = feed.age_s()
        assert age is not None
        assert age >= 0.4
