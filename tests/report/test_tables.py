"""The exact form of events.csv, alarms.csv and trip_sheet.csv."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from monitor.model import Alarm, AlarmChange, Event, TripRow
from monitor.report.tables import (
    number,
    write_alarm_journal,
    write_alarms,
    write_events,
    write_trip_sheet,
)

NAN = float("nan")
EVENT = Event(
    seq=40,
    kind="overpull",
    start_us=1_772_332_805_100_000,
    raised_us=1_772_332_805_900_000,
    end_us=None,
    peak_time_us=1_772_332_806_000_000,
    bit_depth_m=2998.6504,
    peak_hook_load_N=1_234_567.8,
    expected_hook_load_N=1_100_000.0,
    peak_excess_N=134_567.8,
    confidence=0.98765,
    why="held here",
    work_J=12_300.0,
    repeat=2,
)
ROW = TripRow(
    stand=2,
    direction="out",
    out_of_slips_us=1_772_332_800_000_000,
    in_slips_us=None,
    bit_depth_m=2971.3,
    length_m=28.45,
    moving_weight_N=1_050_000.0,
    expected_weight_N=NAN,
    max_overpull_N=0.0,
    max_slack_off_N=-0.0,
    average_speed_m_s=0.41237,
)


def test_the_alarm_journal_tells_each_change_in_order(tmp_path: Path) -> None:
    first = AlarmChange(40, "overpull", 1_772_332_805_900_000, "normal", "unacknowledged", "a, b")
    seen = replace(first, seq=55, before="unacknowledged", after="acknowledged", who="driller")
    write_alarm_journal(tmp_path / "alarm_journal.csv", [first, seen])
    assert (tmp_path / "alarm_journal.csv").read_text(encoding="utf-8").splitlines() == [
        "time,seq,kind,from,to,cause,who",
        '2026-03-01T02:40:05.900Z,40,overpull,normal,unacknowledged,"a, b",',
        '2026-03-01T02:40:05.900Z,55,overpull,unacknowledged,acknowledged,"a, b",driller',
    ]


def test_events_have_the_contracts_header_and_leave_the_unknown_empty(tmp_path: Path) -> None:
    path = tmp_path / "events.csv"
    write_events(path, [EVENT])
    assert path.read_text().splitlines() == [
        "kind,start,raised,end,peak_time,bit_depth_m,peak_hook_load_kN,"
        "expected_hook_load_kN,peak_excess_kN,confidence,duration_s,work_kNm,repeat,why",
        "overpull,2026-03-01T02:40:05.100Z,2026-03-01T02:40:05.900Z,,2026-03-01T02:40:06.000Z,"
        "2998.650,1234.568,1100.000,134.568,0.988,,12.300,2,held here",
    ]


def test_events_stand_in_order_of_their_start(tmp_path: Path) -> None:
    path = tmp_path / "events.csv"
    early = replace(EVENT, seq=90, kind="slack_off", start_us=EVENT.start_us - 5_000_000)
    write_events(path, [EVENT, early])
    with path.open(newline="") as stream:
        assert [row["kind"] for row in csv.DictReader(stream)] == ["slack_off", "overpull"]


def test_trip_sheet_has_the_contracts_columns_first(tmp_path: Path) -> None:
    path = tmp_path / "trip_sheet.csv"
    write_trip_sheet(path, [ROW, replace(ROW, stand=1)])
    header, first, second = path.read_text().splitlines()
    assert header.startswith(
        "stand,direction,out_of_slips,in_slips,bit_depth_m,length_m,moving_weight_kN,"
        "expected_weight_kN,max_overpull_kN,max_slack_off_kN,average_speed_m_per_s"
    )
    assert first.startswith("1,out,")
    assert second.startswith(
        "2,out,2026-03-01T02:40:00.000Z,,2971.300,28.450,1050.000,,0.000,0.000,0.4124"
    )


def test_no_stand_and_no_event_still_give_a_header(tmp_path: Path) -> None:
    write_events(tmp_path / "events.csv", [])
    write_trip_sheet(tmp_path / "trip_sheet.csv", [])
    assert len((tmp_path / "events.csv").read_text().splitlines()) == 1
    assert len((tmp_path / "trip_sheet.csv").read_text().splitlines()) == 1


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0.000"), (-0.0, "0.000"), (-0.0001, "0.000"), (-1.5, "-1.500"), (NAN, ""), (None, "")],
)
def test_numbers_read_naturally(value: float | None, text: str) -> None:
    assert number(value) == text


def test_alarms_in_the_order_they_were_raised(tmp_path: Path) -> None:
    first = Alarm(
        7, "overpull", "medium", "returned", 1_000_000, 3_000_000, first_up=True, times=2,
        event_id="6-overpull", why="beyond its alarm limit",
    )  # fmt: skip
    second = Alarm(9, "near_crown", "high", "normal", 2_000_000, 2_500_000, 2_200_000, "driller")
    write_alarms(tmp_path / "alarms.csv", [second, first])
    assert (tmp_path / "alarms.csv").read_text(encoding="utf-8").splitlines() == [
        "id,kind,priority,state,raised,returned,acknowledged,acknowledged_by,first_up,times,"
        "event,why",
        "7-overpull,overpull,medium,returned,1970-01-01T00:00:01.000Z,1970-01-01T00:00:03.000Z,"
        ",,yes,2,6-overpull,beyond its alarm limit",
        "9-near_crown,near_crown,high,normal,1970-01-01T00:00:02.000Z,1970-01-01T00:00:02.500Z,"
        "1970-01-01T00:00:02.200Z,driller,no,1,,",
    ]
