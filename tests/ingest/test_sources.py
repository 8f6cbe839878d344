"""Live sources: their SPECs, pace, and going on after a stop."""

from __future__ import annotations

import json
import time
from pathlib import Path

import numpy as np
import pytest

from monitor.ingest.errors import InputError
from monitor.ingest.source import Source, open_source
from monitor.model import Samples
from tests.ingest.records import RIG, joined, read, same, stamp, write


def drained(source: Source) -> list[Samples]:
    parts = []
    while not source.finished:
        samples = source.read(0.0)
        if samples is not None:
            parts.append(samples)
    return parts


@pytest.mark.parametrize(
    ("spec", "says"),
    [
        ("trip.csv", r"write it as one of: simulate:"),
        ("csv:", r"write it as one of"),
        ("modem:COM1", r"'modem' is no kind of source"),
        ("wits:rig:1234", r"wits is not in this version"),
        ("las:a.las", r"las is not in this version"),
        ("simulate:picnic", r"'picnic' is no scenario; known: trip_out"),
        ("simulate:trip_out?seed=x", r"seed: 'x': a number"),
        ("simulate:trip_out?speed=0", r"speed: '0': a number from 0.01"),
        ("simulate:trip_out?colour=red", r"colour: no such option"),
        ("csv:/nowhere/a.csv", r"no such file"),
        ("csv-follow:/nowhere/a.csv", r"no such file"),
    ],
)
def test_spec_that_cannot_be_opened(spec: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        open_source(spec, RIG)


def test_csv_source_gives_what_batch_gives(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [f"{stamp(i)},50,{i % 30}" for i in range(25_000)])
    expected, counts = read(path)
    source = open_source(f"csv:{path}", RIG)
    assert same(joined(drained(source)), expected)
    assert source.counts.samples == counts.samples
    source.close()


def test_csv_source_goes_on_from_its_cursor(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [f"{stamp(i)},50,{i % 30}" for i in range(25_000)])
    expected, _ = read(path)
    source = open_source(f"csv:{path}", RIG)
    first = source.read(0.0)
    assert first is not None
    cursor = json.loads(json.dumps(source.cursor()))
    source.close()
    again = open_source(f"csv:{path}", RIG, cursor)
    assert same(joined([first, *drained(again)]), expected)
    again.close()


def test_paced_csv_waits_for_the_stamps(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [f"{stamp(i * 0.1)},50,1" for i in range(60)])
    source = open_source(f"csv:{path}?speed=10", RIG)
    begun = time.monotonic()
    parts = drained(source)
    took = time.monotonic() - begun
    assert sum(map(len, parts)) == 60
    assert len(parts) > 5
    assert 0.5 < took < 3.0  # 5.9 s of record at ten times its speed
    source.close()


def test_read_without_timeout_does_not_wait(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [f"{stamp(i)},50,1" for i in range(60)])
    source = open_source(f"csv:{path}?speed=0.01", RIG)
    source.read(0.0)
    begun = time.monotonic()
    assert source.read(0.0) is None
    assert time.monotonic() - begun < 0.05
    source.close()


def test_simulated_source_gives_its_history_at_once_then_in_real_time() -> None:
    source = open_source("simulate:trip_out?seed=7&history=120", RIG)
    now_us = time.time_ns() // 1000
    parts = []
    begun = time.monotonic()
    while time.monotonic() - begun < 0.5:
        samples = source.read(0.1)
        if samples is not None:
            parts.append(samples)
    samples = joined(parts)
    history = int((samples.time_us <= now_us).sum())
    assert 1190 <= history <= 1210
    assert 2 <= len(samples) - history <= 9
    assert abs(int(samples.time_us[-1]) - now_us) < 2_000_000
    assert not samples.row.any()
    assert {"deadline_tension", "block_position"} <= set(samples.values)
    assert np.isfinite(samples.values["deadline_tension"]).all()


def test_simulated_source_goes_on_with_the_same_story() -> None:
    spec = "simulate:trip_out?seed=7&history=300&hours=0.08"
    source = open_source(spec, RIG)
    first = source.read(0.0)
    assert first is not None
    cursor = json.loads(json.dumps(source.cursor()))
    rest = drained(source)
    again = open_source(spec, RIG, cursor)
    assert same(joined(drained(again)), joined(rest))
    assert source.finished
