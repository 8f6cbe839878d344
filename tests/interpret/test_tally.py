"""Bit depth by the pipe tally beside the one by block, by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.commands.errors import UseError
from monitor.commands.rig_file import load_rig
from monitor.ingest.errors import InputError
from monitor.ingest.tally import read_tally
from monitor.interpret.tally import tally_text
from monitor.model import Command
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig
from tests.interpret.streams import NAN, Script, act, plain_rig

JOINTS = 100
JOINT_M = 27.6
MOVED_M = 27.8  # each stand of the script: load fully on at 1.2 m, coming off at 29.0 m
AT_SET_M = 29.0  # height of the elevators where the slips take the load


def rig(joint_m: float = JOINT_M) -> Rig:
    return plain_rig(tally_m=(joint_m,) * JOINTS)


def pulled(stands: int) -> Script:
    script = Script(1.0)
    for _ in range(stands):
        script.stand_out(1000e3)
    return script


def told(script: Script, depth_m: float, commands: tuple[Command, ...] = ()) -> dict[str, Any]:
    pipeline = Pipeline(rig(), bit_depth_m=depth_m)
    pipeline.feed(script.samples(), commands)
    status: dict[str, Any] = pipeline.status()["tally"]
    return status


def test_difference_is_tally_less_block() -> None:
    """By hand: 90 joints in the hole, the first pulled but still on when slips are set.

    From then on the block says 0.2 m more than each joint is long.
    """
    start = 90 * JOINT_M - 1.2
    status = told(pulled(4), start)
    assert status["joints"] == 87
    assert status["depth_m"] == pytest.approx(87 * JOINT_M - AT_SET_M, abs=0.05)
    assert status["difference_m"] == pytest.approx(3 * (MOVED_M - JOINT_M), abs=0.1)


def test_bit_depth_is_never_followed() -> None:
    start = 90 * JOINT_M - 1.2
    with_tally = pulled(4).run(start, (), rig()).columns["bit_depth_m"]
    without = pulled(4).run(start).columns["bit_depth_m"]
    assert with_tally.tolist() == without.tolist()


def test_difference_of_more_than_a_joint_is_not_wrapped() -> None:
    """Joints are counted on by what moved, so a growing difference keeps growing."""
    script = pulled(30)
    pipeline = Pipeline(plain_rig(tally_m=(27.2,) * 200), bit_depth_m=90 * 27.2 - 1.2)
    pipeline.feed(script.samples())
    status = pipeline.status()["tally"]
    assert status["joints"] == 61
    assert status["difference_m"] == pytest.approx(29 * (MOVED_M - 27.2), abs=0.7)


def test_manual_correction_takes_the_difference_away() -> None:
    script = pulled(4)
    start = 90 * JOINT_M - 1.2
    before = told(script, start)
    corrected = act(script, "bit_depth", before["depth_m"])
    pulled_on = script.stand_out(1000e3)
    status = told(pulled_on, start, (corrected,))
    assert status["joints"] == 86
    assert status["difference_m"] == pytest.approx(MOVED_M - JOINT_M, abs=0.1)


def test_string_longer_than_the_tally_is_lost_not_guessed() -> None:
    pipeline = Pipeline(plain_rig(tally_m=(JOINT_M,) * 89), bit_depth_m=90 * JOINT_M + 14.0)
    pipeline.feed(pulled(1).samples())
    status = pipeline.status()["tally"]
    assert status["is_lost"]
    assert status["difference_m"] is None


def test_a_tally_given_by_an_act_holds_from_there() -> None:
    script = pulled(2)
    given = act(script, "tally", text=tally_text((JOINT_M,) * JOINTS))
    start = 90 * JOINT_M - 1.2
    pulled_on = script.stand_out(1000e3).stand_out(1000e3)
    pipeline = Pipeline(plain_rig(), bit_depth_m=start)
    output = pipeline.feed(pulled_on.samples(), (given,))
    assert pipeline.status()["tally"]["joints"] == 87  # as with the rig file's tally
    told_m = [row.tally_depth_m for row in output.trip_rows]
    assert [math.isfinite(depth) for depth in told_m] == [False, False, True, True]
    again = Pipeline.restore(plain_rig(), json.loads(json.dumps(pipeline.snapshot())))
    assert again.status()["tally"] == pipeline.status()["tally"]
    pipeline.feed(script.samples().piece(0, 0), (replace(given, seq=10**6, text="none"),))
    assert pipeline.status()["tally"] is None


@pytest.mark.parametrize("text", ["", "9.4 long", "94.0", "9.4 nan", "0 9.4"])
def test_an_act_that_lists_no_joints_is_refused(text: str) -> None:
    pipeline = Pipeline(rig(), bit_depth_m=1000.0)
    wrong = Command(1, 0, "tally", NAN, text, "tester")
    assert "lengths of joints [m] or none are expected" in pipeline.refusal(wrong)
    pipeline.feed(Script().samples(), (wrong,))
    assert pipeline.status()["tally"]["of"] == JOINTS  # the one before still holds
    assert "tally refused" in pipeline.summary()["acts_refused"][0]


def test_trip_sheet_keeps_the_tally_depth() -> None:
    rows = pulled(4).run(90 * JOINT_M - 1.2, (), rig()).trip_rows
    assert [row.tally_depth_m for row in rows] == pytest.approx(
        [n * JOINT_M - AT_SET_M for n in (90, 89, 88, 87)], abs=0.05
    )


def test_without_a_tally_nothing_is_said() -> None:
    pipeline = Pipeline(plain_rig(), bit_depth_m=2500.0)
    pipeline.feed(pulled(2).samples())
    assert pipeline.status()["tally"] is None


def test_file_of_joints_in_feet(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    path.write_text("joint,serial,length [ft]\n1,A,30.0\n2,B,31.5\n")
    assert read_tally(path) == pytest.approx((9.144, 9.6012))


def test_file_names_every_fault(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    path.write_text("joint,length [m]\n1,9.4\n2,94\n3,long\n")
    with pytest.raises(InputError, match=r"line 3.*\n.*line 4"):
        read_tally(path)


def test_file_without_a_unit_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    path.write_text("joint,length\n1,9.4\n")
    with pytest.raises(InputError, match="no column length with its unit"):
        read_tally(path)


RIG_TEXT = """
[rig]
name = "Plover 1 (invented)"
travelling_weight = "250 kN"
[reeving]
lines_strung = 10
sheave_efficiency = 0.985
"""


def test_tally_beside_the_rig_file_becomes_part_of_it(tmp_path: Path) -> None:
    plain, listed = tmp_path / "rig.toml", tmp_path / "tally.csv"
    plain.write_text(RIG_TEXT)
    listed.write_text("joint,length [m]\n1,9.4\n2,9.5\n")
    with_tally = load_rig(plain, listed)
    assert with_tally.tally_m == pytest.approx((9.4, 9.5))
    assert with_tally.text_hash != load_rig(plain).text_hash


def test_two_tallies_are_refused(tmp_path: Path) -> None:
    plain, listed = tmp_path / "rig.toml", tmp_path / "tally.csv"
    plain.write_text(RIG_TEXT + '[tally]\nlengths = ["9.4 m"]\n')
    listed.write_text("joint,length [m]\n1,9.4\n")
    assert load_rig(plain).tally_m == (9.4,)
    with pytest.raises(UseError, match="not both"):
        load_rig(plain, listed)
