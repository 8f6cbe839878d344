from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.model import Command, Quality, Samples
from monitor.store.columns import as_stored
from monitor.store.entry import Entry, Note, Settings, Taken
from monitor.store.errors import StoreError
from monitor.store.reader import Reader
from monitor.store.writer import Writer
from tests.store.invented import START_us, event, results, rows, trip_row

ANY_FLOAT = st.floats(allow_nan=True, allow_infinity=True, width=64)


def written(folder: Path, *chunks: Samples) -> None:
    with closing(Writer(folder)) as writer:
        for samples in chunks:
            writer.append(Entry(START_us, [(samples, results(samples))]))


def same(first: Samples, second: Samples) -> bool:
    return (
        np.array_equal(first.seq, second.seq)
        and np.array_equal(first.time_us, second.time_us)
        and np.array_equal(first.row, second.row)
        and list(first.values) == list(second.values)
        and all(
            np.array_equal(first.values[name], second.values[name], equal_nan=True)
            and np.array_equal(np.signbit(first.values[name]), np.signbit(second.values[name]))
            and np.array_equal(first.quality[name], second.quality[name])
            for name in first.values
        )
    )


@settings(deadline=None, max_examples=30)
@given(values=st.lists(ANY_FLOAT, min_size=1, max_size=20))
def test_rows_come_back_as_the_pipeline_got_them(tmp_path_factory, values):
    folder = tmp_path_factory.mktemp("record")
    bare = rows(len(values))
    column = np.array(values, dtype=np.float64)
    column[np.isnan(column)] = np.nan  # one NaN, as every source gives it
    given_rows = as_stored(
        Samples(
            bare.seq,
            bare.time_us,
            bare.row,
            {**bare.values, "deadline_tension": column},
            bare.quality,
        )
    )
    written(folder, given_rows)
    with closing(Reader(folder)) as reader:
        assert same(reader.raw_since(0, 100), given_rows)


def test_negative_zero_is_turned_before_the_pipeline_sees_it():
    bare = rows(3)
    bare.values["block_position"][:] = -0.0
    assert not np.signbit(as_stored(bare).values["block_position"]).any()


def test_a_channel_the_source_did_not_have_is_absent_not_missing(tmp_path):
    first, second = rows(4), rows(4, seq=5)
    more = Samples(
        second.seq,
        second.time_us,
        second.row,
        {**second.values, "torque": np.full(4, np.nan)},
        {**second.quality, "torque": np.full(4, int(Quality.MISSING), dtype=np.uint16)},
    )
    written(tmp_path, first, more)
    with closing(Reader(tmp_path)) as reader:
        assert same(reader.raw_since(0, 100), first)
        assert same(reader.raw_since(4, 100), more)


def test_a_second_recorder_is_refused_and_told_who_holds_the_record(tmp_path):
    with (
        closing(Writer(tmp_path)),
        pytest.raises(StoreError, match=rf"process {os.getpid()}\).*--data"),
    ):
        Writer(tmp_path)
    Writer(tmp_path).close()


def test_the_lock_dies_with_a_killed_process(tmp_path):
    code = (
        "import sys, os, pathlib; from monitor.store.writer import Writer; "
        "w = Writer(pathlib.Path(sys.argv[1])); print('held', flush=True); sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(StoreError, match=f"process {holder.pid}"):
            Writer(tmp_path)
        holder.kill()
        holder.wait()
    Writer(tmp_path).close()


def test_a_folder_that_cannot_be_written_is_said_with_the_mend(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match="cannot write the record here.*--data"):
        Writer(tmp_path / "file" / "data")


def test_a_file_that_is_no_record_is_said(tmp_path):
    (tmp_path / "record.sqlite").write_bytes(b"not a database at all " * 100)
    with pytest.raises(StoreError, match="cannot be opened for recording"):
        Writer(tmp_path)
    with (
        closing(Reader(tmp_path)) as reader,
        pytest.raises(StoreError, match="cannot be read as a record"),
    ):
        reader.last_seq()


def test_a_failed_transaction_leaves_nothing_and_the_next_one_works(tmp_path):
    first, second = rows(150), rows(150, seq=151, start_us=START_us + 15_000_000)
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(first, results(first))]))
        twice = rows(3, seq=150)
        with pytest.raises(StoreError, match="cannot be written"):
            writer.append(Entry(START_us, [(second, results(second)), (twice, results(twice))]))
        assert reader.last_seq() == 150
        writer.append(Entry(START_us, [(second, results(second))]))
        assert reader.last_seq() == 300
    with closing(sqlite3.connect(tmp_path / "record.sqlite")) as raw:
        counts = raw.execute("SELECT sum(n), count(*) FROM rollup_10s").fetchone()
    assert counts == (200, 2)


def test_results_must_belong_to_their_rows(tmp_path):
    with (
        closing(Writer(tmp_path)) as writer,
        pytest.raises(ValueError, match="must have the same seq"),
    ):
        writer.append(Entry(START_us, [(rows(3), results(rows(4)))]))


def test_a_rerun_overwrites_findings_by_their_identity(tmp_path):
    samples = rows(20)
    output = results(samples)
    output.events.append(event(7, peak_N=50e3))
    output.trip_rows.append(trip_row(1))
    closed = results(rows(0, seq=21))
    closed.events.append(event(7, end_us=START_us + 5, peak_N=60e3))
    closed.trip_rows.append(trip_row(1, in_slips_us=START_us + 9))
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(samples, output)]))
        before = reader.pulse()
        writer.append(Entry(START_us, [(rows(0, seq=21), closed)]))
        after = reader.pulse()
        assert repr(reader.events()) == repr(closed.events)
        assert repr(reader.trip_rows()) == repr(closed.trip_rows)
    assert after.events_revision > before.events_revision
    assert after.trip_revision > before.trip_revision


def test_acts_and_journal_are_kept(tmp_path):
    command = Command(5, START_us, "lines_strung", 8.0, "", "toolpusher")
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        note = Note(START_us, "toolpusher", "lines_strung", "10", "8")
        writer.append(Entry(START_us, commands=[Taken(command, 3, START_us)], notes=[note]))
        assert reader.commands() == [command]
        assert reader.last_seq() == 5
        assert reader.status()["inbox_taken"] == 3
        entry = reader.journal()[0]
    assert (entry.who, entry.what, entry.before, entry.after) == (
        "toolpusher", "lines_strung", "10", "8",
    )  # fmt: skip


def test_settings_are_noted_once_and_again_when_they_change(tmp_path):
    with closing(Writer(tmp_path)) as writer:
        first = Settings("csv:a.csv", "[rig]", 3000.0)
        writer.start(first, START_us)
        writer.start(first, START_us + 1)
        writer.start(Settings("csv:b.csv", "[rig] # two", None), START_us + 2)
        left = writer.resumed()
    assert left.settings == Settings("csv:b.csv", "[rig] # two", None)
    assert left.first_bit_depth_m == 3000.0
    with closing(sqlite3.connect(tmp_path / "record.sqlite")) as raw:
        assert raw.execute("SELECT count(*) FROM settings").fetchone() == (2,)
    with closing(Reader(tmp_path)) as reader:
        assert reader.rig_text() == "[rig] # two"


def test_a_closed_writer_says_so_and_closes_twice(tmp_path):
    writer = Writer(tmp_path)
    writer.close()
    writer.close()
    with pytest.raises(StoreError, match="was closed"):
        writer.append(Entry(START_us))


def test_a_record_closed_while_a_screen_reads_it_can_be_copied_alone(tmp_path):
    with closing(Reader(tmp_path)) as reader:
        writer = Writer(tmp_path)
        writer.append(Entry(START_us, [(rows(30), results(rows(30)))]))
        assert reader.last_seq() == 30
        writer.close()
        (tmp_path / "copy").mkdir()
        copy = tmp_path / "copy" / "record.sqlite"
        copy.write_bytes((tmp_path / "record.sqlite").read_bytes())
        with closing(Reader(copy)) as copied:
            assert copied.last_seq() == 30
            assert len(copied.results_since(0, 100)) == 30
