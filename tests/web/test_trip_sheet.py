from __future__ import annotations

from dataclasses import replace

from monitor.web.figures.trip_plots import trip_plots
from monitor.web.trip_sheet import (
    COLUMNS,
    ROWS_SHOWN,
    cells,
    note,
    spots_table,
    trip_table,
)
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


def test_plots_without_points_say_why() -> None:
    nowhere = [replace(row, bit_depth_m=float("nan")) for row in stands(START_US, 3)]
    (words,) = trip_plots(nowhere, "metric")["weights"]["layout"]["annotations"]
    assert "Bit depth is not known" in words["text"]
    assert trip_plots(nowhere, "metric")["speeds"]["data"]
    for name in ("weights", "speeds"):
        (words,) = trip_plots([], "metric")[name]["layout"]["annotations"]
        assert words["text"] == "No stand yet"


SPOT = {"top_m": 2301.0, "bottom_m": 2304.0, "excess_N": 52e3, "trips": 2, "times": 3}


def texts(part: object) -> list[str]:
    """Every text of a layout, in order."""
    if isinstance(part, str):
        return [part]
    if isinstance(part, list | tuple):
        return [text for one in part for text in texts(one)]
    return texts(getattr(part, "children", None) or [])


def test_weights_caught_have_columns_only_where_there_are_any() -> None:
    rows = stands(START_US, 2)
    assert "Rotating" not in texts(trip_table(rows, "metric", "UTC"))
    caught = replace(rows[1], hoisting_weight_N=1.1e6, rotating_weight_N=1.0e6, weights_flow="off")
    shown = texts(trip_table([rows[0], caught], "metric", "UTC"))
    assert {"Hoisting", "Lowering", "Rotating", "1100.0", "1000.0", "off"} <= set(shown)


def test_tally_column_shows_the_difference() -> None:
    rows = stands(START_US, 1)
    with_tally = replace(rows[0], tally_depth_m=rows[0].bit_depth_m + 0.4)
    assert texts(trip_table([with_tally], "metric", "UTC"))[-1] == "0.4"


def test_tight_spots_are_listed_and_drawn_at_their_depth() -> None:
    shown = texts(spots_table([SPOT], "metric"))
    assert shown[-4:] == ["2301.0 to 2304.0", "3", "2", "52.0"]
    assert spots_table([], "metric") == []
    (band,) = trip_plots(stands(START_US, 9), "metric", [SPOT])["weights"]["layout"]["shapes"]
    assert (band["y0"], band["y1"]) == (2301.0, 2304.0)
    far = {**SPOT, "top_m": 5000.0, "bottom_m": 5001.0}
    assert trip_plots(stands(START_US, 9), "metric", [far])["weights"]["layout"]["shapes"] == []


def test_weights_caught_are_drawn_against_depth() -> None:
    row = replace(stands(START_US, 1)[0], lowering_weight_N=0.9e6)
    (trace,) = [
        trace
        for trace in trip_plots([row], "metric")["weights"]["data"]
        if trace["name"] == "caught, sliding down"
    ]
    assert (trace["x"], trace["y"]) == ([900.0], [2382.5])
