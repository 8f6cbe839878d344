"""A record in parts with a list of acts: recorded as `analyse` reads it, killed or not."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from monitor.recorder import record
from monitor.report.analysis import analyse
from monitor.report.simulation_file import write_simulation
from monitor.rig.file import parse_rig
from monitor.simulate import Simulation
from monitor.store.reader import Reader
from monitor.units import iso_utc, parse_iso
from tests.recorder.test_recorder import assert_equal, wait_for

DEPTH_m = 3000.0
HOURS = 0.5


class Trip:
    """An invented trip cut into two files, its rig and what people did, beside it."""

    def __init__(self, folder: Path) -> None:
        whole = folder / "whole.csv"
        write_simulation(Simulation("trip_out", 5, hours=HOURS, hz=5.0), whole)
        header, *rows = whole.read_text(encoding="utf-8").splitlines(keepends=True)
        half = len(rows) // 2
        self.parts = [folder / "a part.csv", folder / "b.csv"]
        for path, part in zip(self.parts, (rows[:half], rows[half:]), strict=True):
            path.write_text("".join([header, *part]), encoding="utf-8")
        self.rig_text = whole.with_name("whole.rig.toml").read_text(encoding="utf-8")
        self.begin_us = parse_iso(rows[0].split(",")[0])
        self.acts = folder / "acts.csv"
        listed = [
            (300, "bit_depth", "2990 m"),
            (900, "shelve", "overpull 5 min: reaming"),
            (1500, "run", "second half"),
            (9000, "tare", ""),
        ]
        lines = [f"{self.at(s)},{act},{value},toolpusher" for s, act, value in listed]
        self.acts.write_text("\n".join(["time,act,value,who", *lines]) + "\n", encoding="utf-8")
        self.source = f"csv:{self.parts[0]}?then={self.parts[1]}"

    def at(self, seconds: float) -> str:
        return iso_utc(self.begin_us + round(seconds * 1e6))


@pytest.fixture(scope="module")
def trip(tmp_path_factory: pytest.TempPathFactory) -> Trip:
    return Trip(tmp_path_factory.mktemp("parts"))


def recorded(trip: Trip, folder: Path, source: str) -> None:
    record(
        trip.rig_text,
        source,
        folder,
        bit_depth_m=DEPTH_m,
        until_finished=True,
        acts=trip.acts,
        stop=threading.Event(),
    )


@pytest.fixture(scope="module")
def kept(trip: Trip, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kept")
    recorded(trip, folder, trip.source)
    return folder


def test_the_record_is_what_analyse_makes_of_the_same_files(
    trip: Trip, kept: Path, tmp_path: Path
) -> None:
    rig = parse_rig(trip.rig_text)
    summary: dict[str, Any] = analyse(
        trip.parts, rig, tmp_path, bit_depth_m=DEPTH_m, acts=trip.acts
    )
    with closing(Reader(kept)) as reader:
        acts = [(command.act, iso_utc(command.time_us)) for command in reader.commands()]
        assert acts == [
            ("bit_depth", trip.at(300)),
            ("shelve", trip.at(900)),
            ("run", trip.at(1500)),
        ]
        stands = [row for row in reader.trip_rows() if not row.void]
        assert len(stands) == summary["stands"]
        sheet = (tmp_path / "trip_sheet.csv").read_text(encoding="utf-8").splitlines()
        assert [f"{row.bit_depth_m:.3f}" for row in stands] == [
            line.split(",")[4] for line in sheet[1:]
        ]
        assert reader.status()["run"] == "second half"
        journal_file = (tmp_path / "alarm_journal.csv").read_text(encoding="utf-8").splitlines()
        changes = [line.split(",") for line in journal_file[1:]]
        assert [(int(c[1]), c[2], c[4], c[6]) for c in changes] == [
            (change.seq, change.kind, change.after, change.who)
            for change in reversed(reader.alarm_journal())
        ]
        assert ["shelve" in c[4] for c in changes if c[6] == "toolpusher"] == [True]
        journal = {entry.what: entry for entry in reader.journal()}
        assert (journal["bit_depth"].who, journal["bit_depth"].after) == (
            "toolpusher",
            "2990.0 2990 m",
        )
        late = "acts later than the last row, not taken: tare"
        assert journal["stopped"].after == late
    assert late in summary["notes"]


def test_another_source_has_its_acts_from_the_first_on(
    trip: Trip, kept: Path, tmp_path: Path
) -> None:
    recorded(trip, tmp_path, trip.source)
    recorded(trip, tmp_path, f"csv:{trip.parts[0]}")
    with closing(Reader(tmp_path)) as reader:
        acts = [command.act for command in reader.commands()]
    assert acts == ["bit_depth", "shelve", "run", "bit_depth"]  # the part ends before the shelf


def test_killed_and_gone_on_with_no_act_is_taken_twice(
    trip: Trip, kept: Path, tmp_path: Path
) -> None:
    source = f"{trip.source}&speed=2000"
    (tmp_path / "rig.toml").write_text(trip.rig_text, encoding="utf-8")
    command = [sys.executable, "-m", "monitor.cli", "record", "--source", source]
    command += ["--rig", str(tmp_path / "rig.toml"), "--data", str(tmp_path / "data")]
    command += ["--bit-depth", f"{DEPTH_m} m", "--acts", str(trip.acts)]
    process = subprocess.Popen(command)
    wait_for(tmp_path / "data", 3000, process)  # past the first act, before the second file
    process.kill()
    process.wait()
    recorded(trip, tmp_path / "data", source)
    assert_equal(tmp_path / "data", kept)
    with closing(Reader(tmp_path / "data")) as one, closing(Reader(kept)) as other:
        assert [c.seq for c in one.commands()] == [c.seq for c in other.commands()]
        assert json.dumps(one.status()["alarms"]) == json.dumps(other.status()["alarms"])
