"""Looking at one moment of a record: the row that was newest then, steps and jumps."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from monitor.model import Command, Output, Quality
from monitor.store.entry import Entry, Taken
from monitor.store.moments import MOST_FRAMES, Moments
from monitor.store.writer import Writer
from tests.store.invented import START_us, event, results, rows, trip_row

LATE = 50


@pytest.fixture(scope="module")
def moments(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Moments]:
    """A thousand rows at 10 Hz, one of them late; three events and three stands, one void."""
    folder: Path = tmp_path_factory.mktemp("moments")
    samples = rows(1000)
    samples.time_us[LATE] = samples.time_us[LATE - 5]
    samples.row[LATE] = int(Quality.LATE)
    output = results(samples)
    events = [replace(event(seq, end_us=None), raised_us=START_us + 100_000 * seq + 300_000)
              for seq in (100, 300, 800)]  # fmt: skip
    events[0] = replace(events[0], end_us=START_us + 20_000_000)
    stands = [
        replace(trip_row(number), out_of_slips_us=START_us + at * 1_000_000,
                in_slips_us=START_us + (at + 8) * 1_000_000, void=number == 2)
        for number, at in ((1, 10), (2, 30), (3, 60))
    ]  # fmt: skip
    found = Output(output.seq, output.time_us, output.columns, events, stands)
    seen = Command(2000, START_us + 15_000_000, "acknowledge", float("nan"), "100-overpull", "A")
    with closing(Writer(folder)) as writer:
        writer.append(Entry(START_us, [(samples, found)], commands=[Taken(seen, 1, START_us)]))
    with closing(Moments(folder)) as reader:
        yield reader


def test_the_newest_row_of_a_moment_is_found_between_rows_and_past_the_end(
    moments: Moments,
) -> None:
    for offset, seq in ((0, 1), (99_999, 1), (100_000, 2), (10_050_000, 101), (10**12, 1000)):
        assert moments.row_at(START_us + offset).seq.tolist() == [seq]
    assert len(moments.row_at(START_us - 1)) == 0


def test_a_late_row_is_never_the_moment(moments: Moments) -> None:
    around = [START_us + 100_000 * at for at in range(LATE - 6, LATE + 3)]
    assert LATE + 1 not in moments.frames(around).seq.tolist()


def test_frames_are_the_rows_of_so_many_moments_and_bounded(moments: Moments) -> None:
    found = moments.frames([START_us + 250_000 * at for at in range(19)])
    assert found.seq.tolist() == sorted({1 + (250 * at) // 100 for at in range(19)})
    everything = moments.frames([START_us + 1000 * at for at in range(100_000)])
    assert len(everything) <= MOST_FRAMES


def test_steps_go_from_row_to_row(moments: Moments) -> None:
    assert moments.step_from(START_us, 1) == START_us + 100_000
    assert moments.step_from(START_us + 150_000, -1) == START_us + 100_000
    assert moments.step_from(START_us, -1) is None
    assert moments.step_from(START_us + 99_900_000, 1) is None


def test_jumps_lead_to_events_and_stands_but_not_to_void_ones(moments: Moments) -> None:
    assert moments.jump_from(START_us, "event", 1) == START_us + 10_000_000
    assert moments.jump_from(START_us + 10_000_000, "event", 1) == START_us + 30_000_000
    assert moments.jump_from(START_us + 10_000_000, "event", -1) is None
    assert moments.jump_from(START_us + 10_000_000, "stand", 1) == START_us + 60_000_000
    assert moments.jump_from(START_us + 60_000_000, "stand", -1) == START_us + 10_000_000


def test_events_of_a_moment_by_what_was_known_and_by_what_is(moments: Moments) -> None:
    at = START_us + 30_100_000  # the second has begun and is not raised yet
    assert [each.seq for each in moments.events_known_at(at, 9)] == [100]
    assert [each.seq for each in moments.events_open_at(at, 9)] == [300]
    touching = moments.events_touching(START_us + 19_000_000, START_us + 31_000_000, 9)
    assert [each.seq for each in touching] == [300, 100]
    assert moments.events_known_at(at, 9)[0].acknowledged_us == START_us + 15_000_000
    assert moments.events_of("stuck", 0, 2 * START_us, 9) == []


def test_stands_of_a_span_and_of_a_moment(moments: Moments) -> None:
    span = moments.stands_touching(START_us, START_us + 61_000_000, 9)
    assert [row.stand for row in span] == [1, 3]
    begun = moments.stand_begun_by(START_us + 45_000_000)
    assert begun is not None
    assert begun.stand == 1
    assert moments.stand_begun_by(START_us) is None


def test_a_record_that_is_not_there_has_no_moments(tmp_path: Path) -> None:
    with closing(Moments(tmp_path)) as nothing:
        assert len(nothing.row_at(START_us)) == 0
        assert nothing.step_from(START_us, 1) is None
        assert nothing.events_known_at(START_us, 9) == []
        assert nothing.rows_between(0, START_us) == 0


def test_rows_of_a_span_are_counted_without_reading_them(moments: Moments) -> None:
    assert moments.rows_between(START_us, START_us + 10_000_000) == pytest.approx(100, abs=10)
    assert np.isfinite(moments.rows_between(0, 1))
