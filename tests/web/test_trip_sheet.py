from __future__ import annotations

from dataclasses import replace

from monitor.web.figures.trip_plots import trip_plots
from monitor.web.trip_sheet import COLUMNS, ROWS_SHOWN, cells, note, trip_table
from tests.web.synthetic import stands

START_US = 1_772_332_805_000_000  # 2026-03-01T02:40:05Z


def test_a_row_says_its_stand_in_rig_time_and_shown_units() -> None:
    row = replace(stands(START_US, 1)[0], moving_weight_N=1.0e6)
    metric = cells(row, "metric", "+01:00")
    assert len(metric) == len(COLUMNS)
    assert metric[:6] == ["1", "out", "03:40:05", "03:41:20", "2382.5", "27.5"]
    assert metric[6] == "1000.0"
    assert cells(row, "field", "UTC")[6] == "224.8"
    assert cells(replace(row, in_slips_us=None), "metric", "")[3] == "still out"


def test_the_newest_stand_is_first_and_the_table_bounded() -> None:
    rows = stands(START_US, ROWS_SHOWN + 40)
    body = trip_table(rows, "metric", "UTC").children[1].children
    assert len(body) == ROWS_SHOWN
    assert body[0].children[0].children == str(ROWS_SHOWN + 40)
    assert note(rows) == f"newest {ROWS_SHOWN} of {ROWS_SHOWN + 40} stands"
    assert note([]) == "no stand yet"


def test_plots_are_bounded_lists_and_the_tank_is_left_out_without_a_tank() -> None:
    rows = stands(START_US, 2000)
    plots = trip_plots(rows, "metric")
    for name in ("weights", "speeds", "tank"):
        for trace in plots[name]["data"]:
            assert isinstance(trace["y"], list)
            assert len(trace["y"]) <= 600
    bare = [replace(row, trip_tank_change_m3=float("nan")) for row in rows[:3]]
    assert trip_plots(bare, "metric")["tank"] is None
    unknown = [replace(row, expected_weight_N=float("nan")) for row in rows[:3]]
    assert trip_plots(unknown, "metric")["weights"]["data"][0]["x"] == [None] * 3
