from __future__ import annotations

import threading
from contextlib import closing

import numpy as np
import pytest

from monitor.model import RESULT_COLUMNS, Command
from monitor.store.entry import Entry, Taken
from monitor.store.errors import StoreError
from monitor.store.inbox import Inbox
from monitor.store.pace import CommitPace
from monitor.store.reader import Reader
from monitor.store.rows import Pulse
from monitor.store.writer import Writer
from tests.store.invented import START_us, event, results, rows


def test_a_record_that_does_not_exist_yet_reads_as_an_empty_one(tmp_path):
    with closing(Reader(tmp_path)) as reader:
        assert not reader.is_ready()
        assert reader.pulse() == Pulse()
        assert len(reader.results_since(0, 10)) == 0
        assert len(reader.raw_since(0, 10)) == 0
        assert reader.window(0, 10, ["hook_load_N"], 10)["hook_load_N_max"] == []
        assert (reader.events(), reader.trip_rows(), reader.journal()) == ([], [], [])
        assert (reader.status(), reader.rig_text(), reader.span_us()) == ({}, "", None)
        with closing(Writer(tmp_path)) as writer:
            writer.append(Entry(START_us, [(rows(3), results(rows(3)))]))
            assert reader.is_ready()
            assert reader.last_seq() == 3


def test_rows_hold_raw_channels_and_results_side_by_side(tmp_path):
    samples = rows(50)
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(samples, results(samples))], arrival_us=START_us + 5))
        found = reader.results_since(10, 20)
        newest = reader.newest(5)
        between = reader.between(START_us + 1_000_000, START_us + 2_000_000, 100)
        pulse = reader.pulse()
    assert found.seq.tolist() == list(range(11, 31))
    assert newest.seq.tolist() == [46, 47, 48, 49, 50]
    assert between.seq.tolist() == list(range(11, 21))
    assert set(found.columns) == {
        "row", "deadline_tension_N", "block_position_m", *RESULT_COLUMNS,
    }  # fmt: skip
    tension = samples.values["deadline_tension"][10:30]
    assert np.array_equal(found.columns["deadline_tension_N"], tension, equal_nan=True)
    assert np.array_equal(found.columns["hook_load_N"], 0.5 * tension, equal_nan=True)
    assert found.columns["activity"].dtype == np.int64
    assert (pulse.last_time_us, pulse.arrival_us) == (samples.time_us[-1], START_us + 5)


def test_events_newest_first_and_open_ones_always(tmp_path):
    output = results(rows(3))
    output.events.extend([event(1), event(2, end_us=START_us + 300_000), event(3, end_us=None)])
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(rows(3), output)]))
        assert [found.seq for found in reader.events()] == [3, 2, 1]
        assert [found.seq for found in reader.events(limit=1)] == [3]
        late_us = START_us + 10_000_000
        assert [found.seq for found in reader.events(since_us=late_us)] == [3, 1]
        assert reader.events()[0].alarm is True
        assert reader.events()[0].bit_depth_m != reader.events()[0].bit_depth_m


def test_the_first_who_acknowledged_an_event_is_named_also_after_it_changed(tmp_path):
    output, later = results(rows(3)), results(rows(0, seq=6))
    output.events.append(event(2))
    later.events.append(event(2, end_us=START_us + 900_000))
    seen = [
        Taken(Command(seq, START_us + seq, "acknowledge", np.nan, "2-overpull", who), seq, 1)
        for seq, who in ((4, "driller"), (5, "toolpusher"))
    ]
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(rows(3), output)]))
        before = reader.pulse().events_revision
        writer.append(Entry(START_us, commands=seen))
        assert reader.pulse().events_revision > before
        writer.append(Entry(START_us, [(rows(0, seq=6), later)]))
        found = reader.events()[0]
    assert (found.acknowledged_by, found.acknowledged_us) == ("driller", START_us + 4)
    assert found.end_us == START_us + 900_000


def test_every_thread_has_its_own_connection_and_ended_threads_leave_none(tmp_path):
    seen: list[int] = []
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(rows(100), results(rows(100)))]))
        for _ in range(20):
            thread = threading.Thread(target=lambda: seen.append(len(reader.newest(100))))
            thread.start()
            thread.join()
        reader.pulse()
        assert seen == [100] * 20
        assert len(reader._opened) <= 2


def test_a_reader_cannot_write_and_a_closed_one_says_so(tmp_path):
    Writer(tmp_path).close()
    reader = Reader(tmp_path)
    with pytest.raises(StoreError, match="readonly"):
        reader._all("DELETE FROM samples", ())
    reader.close()
    reader.close()
    with pytest.raises(StoreError, match="was closed"):
        reader.pulse()


def test_a_reader_sees_only_whole_transactions(tmp_path):
    """Readers and a busy writer: raw and results never differ in length, seq only grows."""
    stop = threading.Event()
    faults: list[str] = []

    def watch() -> None:
        with closing(Reader(tmp_path)) as reader:
            newest = 0
            while not stop.is_set():
                found = reader.results_since(0, 10_000)
                pulse = reader.pulse()
                if np.isnan(found.columns.get("tare_N", np.zeros(0))).any():
                    faults.append("a row without its result")
                if pulse.last_seq < newest or pulse.last_seq % 7:
                    faults.append(f"last seq {pulse.last_seq} after {newest}")
                newest = pulse.last_seq

    watchers = [threading.Thread(target=watch) for _ in range(2)]
    with closing(Writer(tmp_path)) as writer:
        for watcher in watchers:
            watcher.start()
        for chunk in range(100):
            samples = rows(7, seq=1 + 7 * chunk, start_us=START_us + 700_000 * chunk)
            filled = results(samples, tare_N=np.ones(7))
            writer.append(Entry(START_us, [(samples, filled)]))
        stop.set()
        for watcher in watchers:
            watcher.join()
    assert faults == []


def test_acts_wait_in_the_inbox_in_order(tmp_path):
    with closing(Inbox(tmp_path)) as inbox, closing(Inbox(tmp_path)) as other:
        first = inbox.put("acknowledge", text="7-overpull", who="driller", wall_us=START_us)
        second = other.put("lines_strung", number=8.0, who="toolpusher", wall_us=START_us + 1)
        acts = inbox.after(0)
        assert [act.id for act in acts] == [first, second]
        assert acts[0].number != acts[0].number
        assert (acts[1].act, acts[1].number, acts[1].who) == ("lines_strung", 8.0, "toolpusher")
        assert [act.id for act in inbox.after(first)] == [second]
        with pytest.raises(StoreError, match="unknown act 'dance'"):
            inbox.put("dance", who="driller", wall_us=START_us)
    with pytest.raises(StoreError, match="was closed"):
        inbox.after(0)


def test_somebody_stuck_while_writing_an_act_never_holds_up_the_recorder(tmp_path):
    import sqlite3

    with (
        closing(Inbox(tmp_path)) as inbox,
        closing(sqlite3.connect(inbox.path, isolation_level=None)) as stuck,
        closing(Writer(tmp_path)) as writer,
    ):
        inbox.put("tare", who="driller", wall_us=START_us)
        stuck.execute("BEGIN EXCLUSIVE")
        assert inbox.after(0) == []
        writer.append(Entry(START_us, [(rows(3), results(rows(3)))]))
        stuck.execute("ROLLBACK")
        assert len(inbox.after(0)) == 1


def test_a_quick_disk_gets_durable_commits_and_a_slow_one_a_durable_commit_a_second():
    pace = CommitPace()
    for tenth in range(100):
        assert pace.is_durable(tenth / 10)
        pace.committed(tenth / 10, 0.001, durable=True)
    durable = 0
    for tenth in range(100, 400):
        is_durable = pace.is_durable(tenth / 10)
        durable += is_durable
        pace.committed(tenth / 10, 0.050 if is_durable else 0.001, durable=is_durable)
    assert pace.is_slow
    assert 30 <= durable <= 45
    for tenth in range(400, 700):
        pace.committed(tenth / 10, 0.001, durable=pace.is_durable(tenth / 10))
    assert not pace.is_slow
