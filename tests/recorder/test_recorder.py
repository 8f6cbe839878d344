from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from monitor.store.errors import StoreError
from monitor.store.inbox import Inbox
from monitor.store.reader import Reader
from monitor.store.rows import Rows
from tests.recorder.invented import RIG, InventedPipeline, recorder

N_ROWS = 6000


def everything(folder: Path) -> tuple[Rows, str, str]:
    with closing(Reader(folder)) as reader:
        rows = reader.results_since(0, 10**6)
        return rows, repr(reader.events(limit=10**6)), repr(reader.trip_rows())


def assert_equal(folder: Path, whole: Path) -> None:
    (rows, events, stands), (expected, *findings) = everything(folder), everything(whole)
    assert np.array_equal(rows.seq, expected.seq)
    assert np.array_equal(rows.time_us, expected.time_us)
    assert set(rows.columns) == set(expected.columns)
    for name, column in expected.columns.items():
        assert np.array_equal(rows.columns[name], column, equal_nan=True), name
    assert [events, stands] == findings


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The record of a recorder that was never interrupted."""
    folder = tmp_path_factory.mktemp("whole")
    recorder(folder, f"rows:{N_ROWS}").run(threading.Event())
    return folder


def test_an_uninterrupted_record_holds_every_row_and_ends_properly(whole):
    rows, events, stands = everything(whole)
    assert rows.seq.tolist() == list(range(1, N_ROWS + 1))
    assert "overpull" in events
    assert "stand=1" in stands
    with closing(Reader(whole)) as reader:
        pulse, status = reader.pulse(), reader.status()
        whats = [entry.what for entry in reader.journal()]
    assert pulse.finished
    assert pulse.stopped
    assert status["counts"] == {"samples": N_ROWS}
    assert status["bit_depth_m"] == rows.columns["bit_depth_m"][-1]
    assert status["source"] == f"rows:{N_ROWS}"
    assert whats == ["stopped", "source finished", "new record"]


def started(folder: Path, spec: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-m", "tests.recorder.invented", folder, spec])


def wait_for(folder: Path, last_seq: int, process: subprocess.Popen[bytes]) -> None:
    with closing(Reader(folder)) as reader:
        until_s = time.monotonic() + 30.0
        while reader.last_seq() < last_seq and time.monotonic() < until_s:
            if process.poll() is not None:
                return
            time.sleep(0.005)


@pytest.mark.parametrize("seed", [1, 2])
def test_killed_at_random_moments_and_gone_on_with_it_equals_the_uninterrupted_record(
    tmp_path, whole, seed
):
    """SIGKILL, for real; paced so that kills fall before, between and within commits."""
    chance = random.Random(seed)
    spec = f"rows:{N_ROWS}?pace=2500"
    kills = 0
    while kills < 8:
        with closing(Reader(tmp_path)) as reader:
            reached = reader.last_seq()
        process = started(tmp_path, spec)
        wait_for(tmp_path, reached + 1, process)
        time.sleep(chance.uniform(0.0, 0.35))
        if process.poll() is not None:
            break
        process.kill()
        process.wait()
        kills += 1
        with closing(sqlite3.connect(tmp_path / "record.sqlite")) as raw:
            assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert (
                raw.execute("SELECT count(*) FROM samples").fetchone()
                == raw.execute("SELECT count(*) FROM results").fetchone()
            )
    assert kills >= 3
    recorder(tmp_path, spec).run(threading.Event())
    assert_equal(tmp_path, whole)
    with closing(Reader(tmp_path)) as reader:
        abrupt = [e for e in reader.journal(1000) if e.before == "ended abruptly"]
    assert abrupt


def test_a_kill_loses_at_most_the_last_second(tmp_path):
    """What a paced source had given until the kill is in the record but for its last rows."""
    process = started(tmp_path, "rows:100000?pace=100")
    wait_for(tmp_path, 1, process)
    time.sleep(1.5)
    with closing(Reader(tmp_path)) as reader:
        before = reader.pulse()
        process.kill()
        killed_us = time.time_ns() // 1000
        process.wait()
        after = reader.pulse()
    assert after.last_seq >= before.last_seq >= 100
    assert after.arrival_us is not None
    assert killed_us - after.arrival_us < 1_000_000


def test_sigterm_ends_it_with_a_last_commit(tmp_path, whole):
    spec = f"rows:{N_ROWS}?pace=1000"
    process = started(tmp_path, spec)
    wait_for(tmp_path, 100, process)
    process.send_signal(signal.SIGTERM)
    assert process.wait(10) == 0
    with closing(Reader(tmp_path)) as reader:
        assert reader.pulse().stopped
        assert not reader.pulse().finished
        assert reader.journal(1)[0].what == "stopped"
    recorder(tmp_path, f"rows:{N_ROWS}?pace=1000000").run(threading.Event())


def running(folder: Path, spec: str) -> tuple[threading.Thread, threading.Event]:
    stop = threading.Event()
    thread = threading.Thread(target=recorder(folder, spec).run, args=(stop,))
    thread.start()
    return thread, stop


def until(reader: Reader, is_so: str, reached) -> None:
    until_s = time.monotonic() + 10.0
    while not reached(reader):
        assert time.monotonic() < until_s, is_so
        time.sleep(0.01)


def test_acts_are_numbered_with_the_rows_fed_and_noted(tmp_path):
    thread, stop = running(tmp_path, "rows:100000?pace=500")
    with closing(Reader(tmp_path)) as reader, closing(Inbox(tmp_path)) as inbox:
        until(reader, "rows", lambda r: r.last_seq() > 50)
        number = inbox.put("lines_strung", number=8.0, who="toolpusher", wall_us=1)
        until(reader, "taken", lambda r: r.status()["inbox_taken"] == number)
        command = reader.commands()[0]
        until(reader, "more rows", lambda r: r.last_seq() > command.seq + 20)
        stop.set()
        thread.join()
        rows = reader.results_since(0, 10**6)
        note = next(e for e in reader.journal() if e.what == "lines_strung")
    assert command.seq not in rows.seq
    assert sorted([*rows.seq.tolist(), command.seq]) == list(range(1, len(rows) + 2))
    ratio = rows.columns["hook_load_N"] / rows.columns["deadline_tension_N"]
    known = ~np.isnan(ratio)
    lines = np.where(rows.seq > command.seq, 8.0, 10.0)
    assert np.allclose(ratio[known], lines[known], rtol=1e-12)
    assert (note.who, note.before, note.after) == ("toolpusher", "10", "8.0")


def test_a_refused_act_is_noted_with_its_reason(tmp_path):
    thread, stop = running(tmp_path, "rows:100000?pace=500")
    with closing(Reader(tmp_path)) as reader, closing(Inbox(tmp_path)) as inbox:
        until(reader, "rows", lambda r: r.last_seq() > 20)
        number = inbox.put("lines_strung", number=99.0, text="why", who="driller", wall_us=7)
        until(reader, "taken", lambda r: r.status()["inbox_taken"] == number)
        stop.set()
        thread.join()
        notes = [entry for entry in reader.journal() if entry.time_us == 7]
    assert {(note.what, note.after) for note in notes} == {
        ("lines_strung", "99.0 why"),
        ("lines_strung refused", "99 lines refused: invented"),
    }


def test_an_event_is_acknowledged_although_the_source_has_ended(tmp_path):
    stop = threading.Event()
    kept = recorder(tmp_path, "rows:60")
    kept._until_finished = False
    thread = threading.Thread(target=kept.run, args=(stop,))
    thread.start()
    with closing(Reader(tmp_path)) as reader, closing(Inbox(tmp_path)) as inbox:
        until(reader, "finished", lambda r: r.pulse().finished)
        event = reader.events()[0]
        assert event.end_us is None
        inbox.put("acknowledge", text=event.id, who="driller", wall_us=1)
        until(reader, "seen", lambda r: r.events()[0].acknowledged_by == "driller")
        beat_us = reader.pulse().heartbeat_us or 0
        until(reader, "life", lambda r: (r.pulse().heartbeat_us or 0) > beat_us)
        stop.set()
        thread.join()
        assert reader.pulse().stopped


def test_commands_are_part_of_what_is_gone_on_with(tmp_path):
    """Stopped without a snapshot after the act: the act is fed again, in its place."""
    thread, stop = running(tmp_path, "rows:3000?pace=1000")
    with closing(Reader(tmp_path)) as reader, closing(Inbox(tmp_path)) as inbox:
        until(reader, "rows", lambda r: r.last_seq() > 50)
        inbox.put("lines_strung", number=8.0, who="toolpusher", wall_us=1)
        until(reader, "taken", lambda r: r.status()["inbox_taken"] == 1)
        stop.set()
        thread.join()
        with closing(sqlite3.connect(tmp_path / "record.sqlite")) as raw, raw:
            raw.execute("DELETE FROM snapshot")
        recorder(tmp_path, "rows:3000?pace=1000").run(threading.Event())
        rows = reader.results_since(0, 10**6)
        command = reader.commands()[0]
    fold = InventedPipeline(RIG)
    with closing(Reader(tmp_path)) as reader:
        expected = fold.feed(reader.raw_since(0, 10**6), [command])
    assert np.array_equal(
        rows.columns["bit_depth_m"], expected.columns["bit_depth_m"], equal_nan=True
    )
    assert np.array_equal(
        rows.columns["hook_load_N"], expected.columns["hook_load_N"], equal_nan=True
    )


def test_another_code_version_rebuilds_from_the_rows_and_says_so(tmp_path, whole):
    stop = threading.Event()
    spec = f"rows:{N_ROWS}"
    recorder(tmp_path, "rows:2500").run(stop)
    with closing(sqlite3.connect(tmp_path / "record.sqlite")) as raw, raw:
        raw.execute("UPDATE settings SET source = ?", (spec,))
        raw.execute("UPDATE events SET id = 'gone' WHERE rowid = 1")
    recorder(tmp_path, spec, code="2").run(stop)
    assert_equal(tmp_path, whole)
    with closing(Reader(tmp_path)) as reader:
        note = next(e for e in reader.journal(100) if e.what.startswith("rebuilt"))
    assert "snapshot of code 1, this is 2" in note.before
    assert "no longer found: gone" in note.before
    assert "-overpull" in note.after


def test_a_source_that_changed_starts_at_its_beginning_and_is_noted(tmp_path):
    recorder(tmp_path, "rows:50").run(threading.Event())
    recorder(tmp_path, "rows:70").run(threading.Event())
    with closing(Reader(tmp_path)) as reader:
        rows = reader.results_since(0, 1000)
        note = next(e for e in reader.journal() if e.what == "source")
    assert len(rows) == 120
    assert (note.before, note.after) == ("rows:50", "rows:70")
    assert np.flatnonzero(rows.columns["row"]).tolist() == [50]  # a new epoch: time steps back


def test_a_depth_given_again_is_not_applied_twice_and_another_one_is_an_act(tmp_path):
    recorder(tmp_path, "rows:50", bit_depth_m=1000.0).run(threading.Event())
    recorder(tmp_path, "rows:50", bit_depth_m=1000.0).run(threading.Event())
    with closing(Reader(tmp_path)) as reader:
        assert reader.commands() == []
    recorder(tmp_path, "rows:50", bit_depth_m=900.0).run(threading.Event())
    with closing(Reader(tmp_path)) as reader:
        assert [(c.act, c.number) for c in reader.commands()] == [("bit_depth", 900.0)]
        assert reader.status()["bit_depth_m"] == 900.0


def test_a_second_recorder_on_one_record_is_refused(tmp_path):
    first = recorder(tmp_path, "rows:50")
    with pytest.raises(StoreError, match="another recorder"):
        recorder(tmp_path, "rows:50")
    first.run(threading.Event())


class Broken(InventedPipeline):
    def feed(self, samples, commands=()):
        if len(samples):
            raise ZeroDivisionError("a fault of ours")
        return super().feed(samples, commands)


def test_a_fault_stops_it_visibly_and_lets_go_of_the_record(tmp_path):
    from dataclasses import replace

    broken = recorder(tmp_path, "rows:50")
    broken._parts = replace(broken._parts, fresh=lambda rig, depth_m: Broken(rig))
    with pytest.raises(ZeroDivisionError, match="a fault of ours"):
        broken.run(threading.Event())
    with closing(Reader(tmp_path)) as reader:
        note = reader.journal(1)[0]
    assert (note.what, note.after) == (
        "stopped by a fault", "ZeroDivisionError: a fault of ours",
    )  # fmt: skip
    recorder(tmp_path, "rows:50").run(threading.Event())
    with closing(Reader(tmp_path)) as reader:
        assert reader.last_seq() == 50
