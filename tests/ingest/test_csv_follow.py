"""A CSV file that grows, pauses, is cut, is replaced; and a recorder that was down meanwhile."""

from __future__ import annotations

import gzip
import json
import time
from pathlib import Path

import pytest

from monitor.ingest.csv_follow import CsvFollow
from monitor.ingest.errors import InputError
from monitor.ingest.source import Source, open_source
from monitor.model import Quality, Samples
from tests.ingest.records import HEADER, RIG, T0, joined, read, rig_with, same, stamp


def append(path: Path, text: str) -> None:
    with path.open("a", encoding="utf-8", newline="") as file:
        file.write(text)


def rows(start: int, stop: int) -> str:
    return "".join(f"{stamp(i * 0.1)},50,{i % 30}\n" for i in range(start, stop))


def taken(source: Source) -> list[Samples]:
    parts = []
    while (samples := source.read(0.03)) is not None:
        parts.append(samples)
    return parts


@pytest.fixture
def growing(tmp_path: Path) -> Path:
    path = tmp_path / "live.csv"
    path.write_text(HEADER + "\n")
    return path


def test_grown_in_pieces_is_the_same_as_read_at_once(growing: Path) -> None:
    source = open_source(f"csv-follow:{growing}", RIG)
    assert source.read(0.0) is None
    text = rows(0, 400)
    parts = []
    for start in range(0, len(text), 997):  # pieces that end anywhere in a line
        append(growing, text[start : start + 997])
        parts += taken(source)
    expected, _ = read(growing)
    assert same(joined(parts), expected)
    assert not source.finished
    source.close()


def test_partial_last_line_waits_for_its_end(growing: Path) -> None:
    source = open_source(f"csv-follow:{growing}", RIG)
    append(growing, f"{stamp(0)},50,1\n{stamp(1)},5")
    assert len(joined(taken(source))) == 1
    append(growing, "1,1\n")
    assert joined(taken(source)).values["deadline_tension"].tolist() == [51_000.0]
    source.close()


def test_header_that_is_not_there_yet_is_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "live.csv"
    path.write_text("")
    source = open_source(f"csv-follow:{path}", RIG)
    assert source.read(0.0) is None
    append(path, HEADER[:10])
    assert source.read(0.0) is None
    append(path, HEADER[10:] + "\n" + rows(0, 3))
    assert len(joined(taken(source))) == 3
    source.close()


def test_bad_header_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "live.csv"
    path.write_text("a,b\n")
    with pytest.raises(InputError, match=r"no time column"):
        open_source(f"csv-follow:{path}", RIG)
    path.write_bytes(gzip.compress(b"x"))
    with pytest.raises(InputError, match=r"packed with gzip and cannot be followed"):
        open_source(f"csv-follow:{path}", RIG)


def test_zone_lacking_in_a_growing_file_is_refused(growing: Path) -> None:
    source = open_source(f"csv-follow:{growing}", RIG)
    append(growing, "2026-03-01T00:00:00,50,1\n")
    with pytest.raises(InputError, match=r"no zone and none is declared"):
        source.read(0.1)
    source.close()


def test_goes_on_where_it_was_after_a_stop(growing: Path) -> None:
    append(growing, rows(0, 50) + "bad\n")
    source = open_source(f"csv-follow:{growing}", RIG)
    parts = taken(source)
    cursor = json.loads(json.dumps(source.cursor()))
    source.close()
    append(growing, rows(50, 100) + "bad\n")
    again = open_source(f"csv-follow:{growing}", RIG, cursor)
    parts += taken(again)
    expected, counts = read(growing)
    assert same(joined(parts), expected)
    assert again.counts.rejected == counts.rejected == {"wrong number of cells": 2}
    assert again.counts.samples == 100
    assert "line 103" in again.counts.examples[-1]
    again.close()


def test_resume_on_another_file_of_the_same_name_says_so(growing: Path) -> None:
    append(growing, rows(0, 50))
    source = open_source(f"csv-follow:{growing}", RIG)
    taken(source)
    cursor = source.cursor()
    source.close()
    growing.write_text(HEADER + "\n" + rows(50, 120))
    again = open_source(f"csv-follow:{growing}", RIG, cursor)
    samples = joined(taken(again))
    assert len(samples) == 70
    assert not samples.row.any()
    assert samples.seq[0] == 51
    assert any("not the file that was read before" in note for note in again.counts.notes)
    again.close()


def test_file_cut_and_begun_again(growing: Path) -> None:
    append(growing, rows(0, 50))
    source = open_source(f"csv-follow:{growing}", RIG)
    taken(source)
    growing.write_text(HEADER + "\n" + rows(50, 60))
    samples = joined(taken(source) or taken(source))
    assert len(samples) == 10
    assert any("has become shorter" in note for note in source.counts.notes)
    source.close()


def test_file_replaced_by_a_new_one(growing: Path) -> None:
    append(growing, rows(0, 50))
    source = open_source(f"csv-follow:{growing}", RIG)
    taken(source)
    growing.rename(growing.with_suffix(".old"))
    append(growing.with_suffix(".old"), rows(50, 60))  # the writer finishes the old file
    assert len(joined(taken(source))) == 10
    growing.write_text(HEADER + "\n" + rows(60, 75))
    samples = joined(taken(source) or taken(source))
    assert len(samples) == 15
    assert not samples.row.any()
    assert any("was replaced by a new file" in note for note in source.counts.notes)
    source.close()


def test_rows_repeated_by_a_new_file_are_late_not_a_clock_step(growing: Path) -> None:
    append(growing, rows(0, 300))
    source = open_source(f"csv-follow:{growing}", RIG)
    taken(source)
    growing.write_text(HEADER + "\n" + rows(100, 290))
    taken(source)
    append(growing, rows(290, 320))
    taken(source)
    assert source.counts.rejected == {"time not newer": 200}
    assert source.counts.clock_steps == 0
    source.close()


def test_gap_marker_when_nothing_comes(growing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = open_source(f"csv-follow:{growing}", RIG)
    assert isinstance(source, CsvFollow)
    append(growing, rows(0, 20))
    taken(source)
    real = time.monotonic
    monkeypatch.setattr(time, "monotonic", lambda: real() + 6.0)
    marker = source.read(0.0)
    assert marker is not None
    assert marker.row.tolist() == [Quality.GAP]
    append(growing, rows(100, 110))
    batch, _ = read(growing)
    at = batch.row.tolist().index(int(Quality.GAP))
    assert marker.time_us[0] == batch.time_us[at]
    assert marker.seq[0] == batch.seq[at]
    assert not joined(taken(source)).row.any()
    assert source.counts.gaps == 1
    source.close()


def test_counted_time_says_its_origin(tmp_path: Path) -> None:
    path = tmp_path / "live.csv"
    path.write_text(HEADER.replace("time", "time [s]") + "\n0,1,1\n")
    source = open_source(f"csv-follow:{path}?start=2026-03-01T00:00:00Z", rig_with())
    assert len(joined(taken(source))) == 1
    assert source.counts.notes == ["time is counted from 2026-03-01T00:00:00.000Z"]
    source.close()


def test_one_odd_row_alone_does_not_stop_a_live_source(growing: Path) -> None:
    source = open_source(f"csv-follow:{growing}", RIG)
    parts = []
    for line in (
        f"{stamp(0)},50,1,",  # a separator too many, in the very first row
        f"{stamp(1)},50,1",
        f'{stamp(2)},"50,5",1',  # a decimal comma
        "2026-03-01T00:00:03,50,1",  # no zone
        f"{stamp(4)},50,1,",
        f"{stamp(5)},50,1",
    ):
        append(growing, line + "\n")
        parts += taken(source)
    assert [round((t - T0) / 1e6) for t in joined(parts).time_us.tolist()] == [0, 1, 2, 5]
    assert source.counts.rejected == {
        "unreadable cell": 1,
        "unreadable time": 1,
        "wrong number of cells": 1,
    }
    assert any("no zone and none is declared" in text for text in source.counts.examples)
    source.close()


def test_unclosed_quotation_mark_does_not_hold_back_what_follows(growing: Path) -> None:
    source = open_source(f"csv-follow:{growing}", RIG)
    append(growing, rows(0, 5) + f'{stamp(0.5)},"50,1\n' + rows(6, 200))
    assert len(joined(taken(source))) == 200
    assert source.counts.rejected == {"unreadable cell": 1}
    source.close()
