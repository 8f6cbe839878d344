"""A drum encoder's turns as block position, through layer changes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from monitor.ingest.errors import InputError
from monitor.mechanics.block_position import turns_of_block_height
from monitor.mechanics.drum import wraps_of_width, wraps_on_drum
from monitor.model import Quality
from monitor.rig.file import ConfigError, parse_rig
from tests.ingest.records import read, stamp, write

TURNING = """
[rig]
name = "Test (invented)"
travelling_weight = "245 kN"
[reeving]
lines_strung = 10
sheave_efficiency = 0.985
[line]
diameter = "1 3/8 in"
[drum]
diameter = "30 in"
width = "52 in"
line_on_drum = "46 m"
at_block_height = "0.5 m"
"""
HEADER = "time,deadline_tension [kN],block_position [turns]"


def test_turns_become_heights_through_every_layer(tmp_path: Path) -> None:
    """Round trip through `turns_of_block_height`, whose layers are held by hand elsewhere.

    Over 37 m ten lines take 370 m off three layers; one diameter for all would be 2 m out.
    """
    line_m = 1.375 * 0.0254
    per_layer = wraps_of_width(52 * 0.0254, line_m)
    at_zero = float(wraps_on_drum(46.0, 0.762, line_m, per_layer))
    heights = np.linspace(0.5, 37.5, 60)
    turns = turns_of_block_height(heights, 10, 0.762, line_m, per_layer, at_zero, 0.5)
    rows = [f"{stamp(k)},50,{turn:.6f}" for k, turn in enumerate(np.asarray(turns))]
    samples, _ = read(write(tmp_path / "a.csv", rows, HEADER), parse_rig(TURNING))
    np.testing.assert_allclose(samples.values["block_position"], heights, atol=1e-5)
    plain = 0.5 + np.asarray(turns) * np.pi * (0.762 + line_m) / 10
    assert np.max(np.abs(plain - heights)) > 1.0


def test_more_turns_off_than_there_is_line_are_no_height(tmp_path: Path) -> None:
    rows = [f"{stamp(0)},50,0", f"{stamp(1)},50,-900"]
    samples, counts = read(write(tmp_path / "a.csv", rows, HEADER), parse_rig(TURNING))
    assert samples.values["block_position"][0] == pytest.approx(0.5)
    assert np.isnan(samples.values["block_position"][1])
    assert samples.quality["block_position"].tolist() == [0, Quality.ABSURD]
    assert sum(counts.rejected.values()) == 1


def test_a_foreign_header_may_count_turns_too(tmp_path: Path) -> None:
    columns = (
        '[input.columns]\n"T" = { channel = "time", zone = "UTC" }\n'
        '"W" = { channel = "hook_load", unit = "kN" }\n'
        '"Drum" = { channel = "block_position", unit = "turns" }\n'
    )
    path = write(tmp_path / "a.csv", ["2026-03-01 00:00:00,900,0"], "T,W,Drum")
    samples, _ = read(path, parse_rig(TURNING + columns))
    assert samples.values["block_position"].tolist() == [pytest.approx(0.5)]
    with pytest.raises(ConfigError, match="a length is expected"):
        parse_rig(TURNING + columns.replace('"turns"', '"kN"'))


def test_without_the_drum_turns_are_refused(tmp_path: Path) -> None:
    rig = parse_rig(TURNING.partition("[drum]")[0])
    path = write(tmp_path / "a.csv", [f"{stamp(0)},50,0"], HEADER)
    with pytest.raises(InputError, match=r"counts turns of the drum: the rig file needs \[line\]"):
        read(path, rig)
