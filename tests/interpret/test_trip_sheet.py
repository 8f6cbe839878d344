"""Stands and depth by the definitions: out of slips to in slips, 3 m or more."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Activity, State
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, act, plain_rig, with_gap

LOAD_N = 1200e3
# What the filters and the transmitter's usual lag may shift a crossing by: 0.6 s at the
# 0.1 m/s at which these scripts give over the load.
DEPTH_TOLERANCE_M = 0.08


def test_pulled_stands_are_rows_with_their_length_and_depth() -> None:
    script = Script()
    for stand in range(4):
        script.stand_out(LOAD_N - 8e3 * stand)
    output = script.hold(30, EMPTY_N).run(2000.0)
    rows = output.trip_rows
    assert [row.stand for row in rows] == [1, 2, 3, 4]
    assert {row.direction for row in rows} == {"out"}
    for number, row in enumerate(rows, start=1):
        assert row.length_m == pytest.approx(27.8, abs=2 * DEPTH_TOLERANCE_M)
        assert row.bit_depth_m == pytest.approx(
            2000.0 - 27.8 * number, abs=2 * number * DEPTH_TOLERANCE_M
        )
        assert row.moving_weight_N == pytest.approx(LOAD_N - 8e3 * (number - 1), rel=1e-3)
        assert row.average_speed_m_s == pytest.approx(0.5, rel=0.15)
        assert row.in_slips_us is not None
        assert row.out_of_slips_us < row.in_slips_us


def test_run_in_stands_go_deeper() -> None:
    script = Script()
    for _ in range(3):
        script.stand_in(LOAD_N)
    rows = script.hold(30, EMPTY_N).run(500.0).trip_rows
    assert [row.direction for row in rows] == ["in", "in", "in"]
    assert rows[-1].bit_depth_m == pytest.approx(500 + 3 * 28.0, abs=0.5)


def test_depth_does_not_move_in_slips() -> None:
    script = Script().stand_out(LOAD_N)
    output = script.hold(30, EMPTY_N).run(2000.0)
    depth = np.asarray(output.columns["bit_depth_m"], dtype=float)
    in_slips = np.asarray(output.columns["activity"]) == Activity.IN_SLIPS
    later = in_slips & (np.arange(len(depth)) > len(depth) // 2)
    assert np.ptp(depth[later]) == 0.0


def test_stand_in_the_elevators_is_in_slips_holding_pipe() -> None:
    script = Script().stand_out(LOAD_N)
    script.hold(20, EMPTY_N).hold(40, EMPTY_N + 25e3).hold(20, EMPTY_N).stand_out(LOAD_N)
    output = script.run(2000.0)
    assert len(output.trip_rows) == 2
    holding = (np.asarray(output.columns["state"]) & State.SLIPS_HOLDING_PIPE) > 0
    assert holding.sum() * script.step_s == pytest.approx(40, abs=4)


def test_worked_pipe_with_less_than_3_m_adds_no_row() -> None:
    script = Script().stand_out(LOAD_N)
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(3.0, LOAD_N).move(1.2, LOAD_N)
    script.ramp(1.0, EMPTY_N).hold(20, EMPTY_N)
    assert len(script.run(2000.0).trip_rows) == 1


def test_slips_set_again_on_the_same_stand_join() -> None:
    script = Script()
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(27.0, LOAD_N).ramp(26.8, EMPTY_N)
    script.hold(10, EMPTY_N).ramp(27.0, LOAD_N).move(29.0, LOAD_N).ramp(28.8, EMPTY_N)
    rows = script.hold(30, EMPTY_N).run(2000.0).trip_rows
    last = {row.stand: row for row in rows}
    assert list(last) == [1]
    assert last[1].length_m == pytest.approx(27.6, abs=0.3)
    assert last[1].in_slips_us == pytest.approx((script.seconds - 30) * 1e6, abs=2e6)


def test_stand_still_open_is_a_row_without_in_slips() -> None:
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(15.0, LOAD_N)
    (row,) = script.run(2000.0).trip_rows
    assert row.in_slips_us is None
    assert row.length_m == pytest.approx(13.8, abs=0.3)


def test_stand_that_comes_back_is_taken_back() -> None:
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(15.0, LOAD_N)
    pipeline = Pipeline(plain_rig(), bit_depth_m=2000.0)
    first = pipeline.feed(script.samples())
    assert [row.void for row in first.trip_rows] == [False]
    rows_so_far = len(script.block)
    script.move(1.5, LOAD_N)
    second = pipeline.feed(script.samples().piece(rows_so_far, len(script.block)))
    assert [row.void for row in second.trip_rows] == [True]


def test_block_counter_jump_is_no_pipe() -> None:
    script = Script().stand_out(LOAD_N)
    samples = script.hold(30, EMPTY_N).samples()
    plain = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    jumped = np.asarray(samples.values["block_position"]).copy()
    jumped[len(jumped) // 3 :] += 60.0
    samples.values["block_position"][:] = jumped  # type: ignore[index]
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    assert output.columns["bit_depth_m"][-1] == pytest.approx(
        float(plain.columns["bit_depth_m"][-1]), abs=0.3
    )
    assert int(output.columns["state"][-1]) & State.DEPTH_UNCERTAIN


def test_travel_over_a_gap_counts_but_depth_is_no_longer_sure() -> None:
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(29.0, LOAD_N).hold(5, LOAD_N)
    samples = with_gap(script.samples(), 150, 250)
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    assert output.columns["bit_depth_m"][-1] == pytest.approx(2000 - 27.8, abs=0.2)
    assert int(output.columns["state"][-1]) & State.DEPTH_UNCERTAIN
    (gap,) = [event for event in output.events if event.kind == "data_gap"]
    assert gap.end_us == samples.time_us[151]


def test_depth_given_by_a_person_holds_from_there() -> None:
    script = Script().stand_out(LOAD_N)
    command = act(script, "bit_depth", 1500.0)
    output = script.stand_out(LOAD_N).run(2000.0, (command,))
    assert output.columns["bit_depth_m"][-1] == pytest.approx(1500 - 27.8, abs=0.2)
    assert not int(output.columns["state"][-1]) & State.DEPTH_UNCERTAIN


def test_depth_channel_starts_and_is_never_followed() -> None:
    script = Script().set(bit_depth=1800.0).stand_out(LOAD_N).set(bit_depth=1700.0)
    output = script.stand_out(LOAD_N).run(None)
    assert output.columns["bit_depth_m"][-1] == pytest.approx(1800 - 2 * 27.8, abs=0.4)


def test_no_depth_is_unknown_but_stands_are_counted() -> None:
    output = Script().stand_out(LOAD_N).stand_out(LOAD_N).run(None)
    assert np.isnan(output.columns["bit_depth_m"]).all()
    assert len(output.trip_rows) == 2


def test_line_work_is_load_times_travel_both_ways() -> None:
    """Sum of load times travel, loaded and empty: the definition itself (derived)."""
    script = Script().hold(10, EMPTY_N).move(21.0, EMPTY_N).hold(5, EMPTY_N).move(1.0, EMPTY_N)
    output = script.hold(5, EMPTY_N).run(2000.0)
    # Speeding up and slowing down are taken off the load; over a stroke they balance.
    assert output.columns["line_work_J"][-1] == pytest.approx(EMPTY_N * 40.0, rel=2e-3)


def test_slow_rows_lose_no_pipe_at_the_pick_up() -> None:
    # A row in 5 s: the row that first shows the load stands metres above the slips.
    script = Script(hz=0.2)
    for _ in range(3):
        script.hold(15, EMPTY_N).move(29.0, LOAD_N).hold(10, LOAD_N)
        script.hold(20, EMPTY_N).move(1.0, EMPTY_N, 0.8)
    rows = script.hold(30, EMPTY_N).run(2000.0).trip_rows
    assert [row.length_m for row in rows] == pytest.approx([28.0] * 3, abs=1e-6)
    assert rows[-1].bit_depth_m == pytest.approx(2000.0 - 3 * 28.0, abs=1e-6)


def test_lighter_string_than_the_last_is_taken_where_its_load_stays() -> None:
    # The level before was collars', 15 % of the weight heavier: never reached again.
    script = Script(hz=10.0).stand_out(EMPTY_N + 200e3)
    script.stand_out(EMPTY_N + 160e3)
    rows = script.hold(30, EMPTY_N).run(120.0).trip_rows
    assert rows[-1].length_m == pytest.approx(27.8, abs=DEPTH_TOLERANCE_M)
