"""The real command, source and pipeline: killed while recording, the record is the same."""

from __future__ import annotations

import json
import random
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from monitor.recorder import record
from monitor.report.simulation_file import write_simulation
from monitor.simulate import Simulation
from monitor.store.reader import Reader
from tests.recorder.test_recorder import assert_equal, wait_for

HOURS = 0.75
HZ = 5.0
N_ROWS = int(HOURS * 3600 * HZ)
DEPTH_m = 3000.0


@pytest.fixture(scope="module")
def trip(tmp_path_factory) -> Path:
    """An invented trip in a file, its rig beside it."""
    path = tmp_path_factory.mktemp("trip") / "trip.csv"
    write_simulation(Simulation("stuck_pipe", 5, hours=HOURS, hz=HZ), path)
    return path


def recorded(trip: Path, folder: Path, spec: str) -> None:
    rig_text = trip.with_name("trip.rig.toml").read_text(encoding="utf-8")
    record(
        rig_text, spec, folder, bit_depth_m=DEPTH_m, until_finished=True, stop=threading.Event()
    )


@pytest.fixture(scope="module")
def whole(trip, tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("whole")
    recorded(trip, folder, f"csv:{trip}")
    return folder


def carried(folder: Path) -> dict:
    """Everything the pipeline carries on: depth, trends, open events."""
    with closing(sqlite3.connect(folder / "record.sqlite")) as raw:
        return json.loads(raw.execute("SELECT state FROM snapshot").fetchone()[0])


def same_state(one: dict, other: dict) -> bool:
    # As text: a NaN that is carried on is not equal to itself.
    return json.dumps(one) == json.dumps(other)


def test_the_record_holds_the_trip(whole):
    with closing(Reader(whole)) as reader:
        pulse = reader.pulse()
        assert pulse.last_seq >= N_ROWS
        assert pulse.finished
        assert len(reader.trip_rows()) > 3
        assert reader.status()["counts"]["samples"] == N_ROWS


def test_killed_at_random_moments_the_record_is_the_same_in_the_end(trip, whole, tmp_path):
    chance = random.Random(11)
    spec = f"csv:{trip}?speed=1500"
    command = [sys.executable, "-m", "monitor.cli", "record", "--source", spec]
    command += ["--rig", str(trip.with_name("trip.rig.toml")), "--data", str(tmp_path)]
    command += ["--bit-depth", f"{DEPTH_m} m"]
    reached: list[int] = []
    for _ in range(4):
        with closing(Reader(tmp_path)) as reader:
            before = reader.last_seq()
        process = subprocess.Popen(command)
        wait_for(tmp_path, before + 1, process)
        time.sleep(chance.uniform(0.05, 0.6))
        process.kill()
        process.wait()
        with closing(Reader(tmp_path)) as reader:
            reached.append(reader.last_seq())
    assert reached == sorted(set(reached))
    assert reached[0] < N_ROWS
    recorded(trip, tmp_path, spec)
    assert_equal(tmp_path, whole)
    assert same_state(carried(tmp_path), carried(whole))


def test_a_rebuild_from_the_rows_carries_the_same_on(trip, whole, tmp_path):
    spec = f"csv:{trip}"
    recorded(trip, tmp_path, spec)
    with closing(sqlite3.connect(tmp_path / "record.sqlite")) as raw, raw:
        raw.execute("UPDATE snapshot SET state = json_set(state, '$.code', 'older')")
    recorded(trip, tmp_path, spec)
    assert_equal(tmp_path, whole)
    assert same_state(carried(tmp_path), carried(whole))
    with closing(Reader(tmp_path)) as reader:
        notes = [entry for entry in reader.journal() if entry.what.startswith("rebuilt")]
    assert len(notes) == 1
    assert notes[0].before.endswith("events no longer found: none")
    assert notes[0].after == "events newly found: none"
