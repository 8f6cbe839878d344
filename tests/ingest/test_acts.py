"""ACTS.csv: what people did, beside a record."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from monitor.ingest.acts import read_acts
from monitor.ingest.errors import InputError
from tests.ingest.records import RIG, T0, rig_with


def write(tmp_path: Path, *lines: str) -> Path:
    path = tmp_path / "acts.csv"
    path.write_text("\n".join(["time,act,value,who", *lines, ""]), encoding="utf-8")
    return path


def test_every_kind_of_act_in_order_of_time(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        "2026-03-01T00:00:08Z,slip_and_cut,30 m,toolpusher",
        "2026-03-01T00:00:01Z,lines_strung,12,driller",
        "2026-03-01T00:00:02Z,travelling_weight,25 tf,driller",
        "2026-03-01T00:00:03Z,tare,,driller",
        "2026-03-01T00:00:04Z,tare,900 kN,driller",
        "",
        "2026-03-01T00:00:05Z,bit_depth,3000 m,driller",
        "2026-03-01T00:00:06Z,mud_density,1200 kg/m3,engineer",
        "2026-03-01T00:00:07Z,run,Run 4,engineer",
    )
    acts = read_acts(path, RIG)
    assert [a.act for a in acts] == [
        "lines_strung",
        "travelling_weight",
        "tare",
        "tare",
        "bit_depth",
        "mud_density",
        "run",
        "slip_and_cut",
    ]
    assert [a.time_us - T0 for a in acts] == [i * 1_000_000 for i in range(1, 9)]
    numbers = [a.number for a in acts]
    assert numbers[:2] == [12.0, pytest.approx(245_166.25)]
    assert math.isnan(numbers[2])
    assert numbers[3:6] == [900e3, 3000.0, 1200.0]
    assert math.isnan(numbers[6])
    assert numbers[7] == 30.0
    assert (acts[6].text, acts[6].who) == ("Run 4", "engineer")


def test_a_tally_lies_beside_the_list(tmp_path: Path) -> None:
    (tmp_path / "tally.csv").write_text("joint,length [ft]\n1,30.0\n2,31.5\n", encoding="utf-8")
    path = write(
        tmp_path,
        "2026-03-01T00:00:01Z,tally,tally.csv,toolpusher",
        "2026-03-01T00:00:02Z,tally,none,toolpusher",
    )
    assert [(act.act, act.text) for act in read_acts(path, RIG)] == [
        ("tally", "9.1440 9.6012"),
        ("tally", "none"),
    ]
    gone = write(tmp_path, "2026-03-01T00:00:01Z,tally,gone.csv,toolpusher")
    with pytest.raises(InputError, match=r"gone\.csv"):
        read_acts(gone, RIG)


def test_acts_on_alarms(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        "2026-03-01T00:00:01Z,shelve,overpull 30 min: known ledge,driller",
        "2026-03-01T00:00:01.5Z,shelve,weight loss 20 min: logging,driller",
        "2026-03-01T00:00:02Z,unshelve,overpull,driller",
        "2026-03-01T00:00:03Z,mute,90 s,driller",
        "2026-03-01T00:00:04Z,mute,off,driller",
        "2026-03-01T00:00:05Z,stuck_mode,begin 1500 kN,toolpusher",
        "2026-03-01T00:00:06Z,stuck_mode,end,toolpusher",
        "2026-03-01T00:00:07Z,acknowledge,near crown,driller",
        "2026-03-01T00:00:08Z,reset_alarm,over_rating,driller",
    )
    acts = read_acts(path, RIG)
    assert [(a.act, a.text) for a in acts] == [
        ("shelve", "overpull: known ledge"),
        ("shelve", "weight_loss: logging"),
        ("unshelve", "overpull"),
        ("mute", "90 s"),
        ("mute", "off"),
        ("stuck_mode", "begin"),
        ("stuck_mode", "end"),
        ("acknowledge", "near crown"),
        ("reset_alarm", "over_rating"),
    ]
    assert [a.number for a in acts if not math.isnan(a.number)] == [1800.0, 1200.0, 90.0, 1500e3]


@pytest.mark.parametrize(
    ("act", "value", "words"),
    [
        ("shelve", "overpull", "for shelve"),
        ("mute", "30 days", "for mute"),
        ("stuck_mode", "begin hard", "for stuck_mode"),
    ],
)
def test_acts_on_alarms_that_cannot_be_read(
    tmp_path: Path, act: str, value: str, words: str
) -> None:
    path = write(tmp_path, f"2026-03-01T00:00:01Z,{act},{value},driller")
    with pytest.raises(InputError, match=words):
        read_acts(path, RIG)


def test_acts_of_the_hoist(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        "2026-03-01T00:00:01Z,lines_strung,12 override: restrung in the yard,engineer",
        "2026-03-01T00:00:02Z,gear,casing_tools,driller",
        "2026-03-01T00:00:03Z,slip_and_cut,begin,driller",
        "2026-03-01T00:00:04Z,slip_and_cut,end 31 m,driller",
        "2026-03-01T00:00:05Z,slip_and_cut,confirm wraps 11.5,driller",
        "2026-03-01T00:00:06Z,duty,setting casing,driller",
        "2026-03-01T00:00:07Z,compensator,locked,driller",
        "2026-03-01T00:00:08Z,preparation,rotation lock: free,driller",
    )
    acts = read_acts(path, RIG)
    assert [a.text for a in acts][:2] == ["12 override: restrung in the yard", "casing_tools"]
    assert (acts[0].number, acts[3].number) == (12.0, 31.0)
    plain = write(tmp_path, "2026-03-01T00:00:01Z,lines_strung,12,driller")
    assert read_acts(plain, RIG)[0].text == "12 override: as told in the list of acts"
    assert all(math.isnan(acts[k].number) for k in (1, 2, 4, 5, 6, 7))


@pytest.mark.parametrize(("lines", "expected"), [("18", "from 2 to 16"), ("12 why", "override:")])
def test_a_count_of_lines_that_cannot_be(tmp_path: Path, lines: str, expected: str) -> None:
    path = write(tmp_path, f"2026-03-01T00:00:01Z,lines_strung,{lines},driller")
    with pytest.raises(InputError, match=expected):
        read_acts(path, RIG)


def test_declared_zone_is_used(tmp_path: Path) -> None:
    path = write(tmp_path, "2026-03-01T01:00:00,tare,,driller")
    assert read_acts(path, rig_with(time_zone="+01:00"))[0].time_us == T0


def test_every_fault_is_told_at_once_with_its_line(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        "yesterday,tare,,x",
        "2026-03-01T00:00:01Z,dance,,x",
        "2026-03-01T00:00:01Z,lines_strung,7.5,x",
        "2026-03-01T00:00:01Z,travelling_weight,25 furlongs,x",
        "2026-03-01T00:00:01Z,bit_depth,3000,x",
        "2026-03-01T00:00:01,tare,,x",
    )
    with pytest.raises(InputError, match=r'line 2: column "time": value "yesterday"') as caught:
        read_acts(path, RIG)
    lines = str(caught.value).split("\n")
    assert len(lines) == 6
    assert 'line 3: column "act": value "dance": is no act; known: lines_strung' in lines[1]
    assert "whole number of lines" in lines[2]
    assert "'furlongs' is not known" in lines[3]
    assert "has no unit" in lines[4]
    assert "[input] time_zone" in lines[5]


def test_file_that_is_no_acts_file(tmp_path: Path) -> None:
    path = tmp_path / "acts.csv"
    path.write_text("a,b\n1,2\n")
    with pytest.raises(InputError, match=r"no column time, act, value.*time,act,value,who"):
        read_acts(path, RIG)
    path.write_text("")
    with pytest.raises(InputError, match=r"is empty"):
        read_acts(path, RIG)
    with pytest.raises(InputError, match=r"no such file"):
        read_acts(tmp_path / "none.csv", RIG)
