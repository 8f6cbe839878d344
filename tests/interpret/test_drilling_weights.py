"""Weights caught at connections, by hand: sliding up, sliding down, turning at rest."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from monitor.ingest.acts import read_acts
from monitor.model import Output, TripRow
from monitor.pipeline import Pipeline
from tests.interpret.drilled import BOTTOM_M, DRAG_N, ON_BIT_N, TURNING_N, connect, drill
from tests.interpret.streams import EMPTY_N, NAN, Script, act, plain_rig


def rotary_and_flow(script: Script, rotary: float, flow: float) -> Script:
    return script.set(rotary_speed=rotary, flow_in=flow)


def one_stand(flow_at_connection: float) -> Script:
    """Drill a stand turning, with flow; stop the rotary, catch the weights, slips."""
    script = rotary_and_flow(Script(BOTTOM_M), 12.0, 0.03)
    drill(script).hold(8, TURNING_N)
    rotary_and_flow(script, 0.0, flow_at_connection)
    return connect(script)


def stand(output: Output) -> TripRow:
    return output.trip_rows[-1]


def test_three_weights_are_caught_at_a_connection() -> None:
    row = stand(one_stand(0.03).run(2500.0))
    assert row.hoisting_weight_N == pytest.approx(TURNING_N + DRAG_N, abs=1e3)
    assert row.lowering_weight_N == pytest.approx(TURNING_N - DRAG_N, abs=1e3)
    assert row.rotating_weight_N == pytest.approx(TURNING_N, abs=1e3)
    assert row.weights_flow == "on"


def test_flow_off_is_noted() -> None:
    # The rotating weight was caught with flow, the others without.
    assert stand(one_stand(0.0).run(2500.0)).weights_flow == "both"


def test_without_channels_the_weights_are_caught_and_flow_is_not_known() -> None:
    script = Script(BOTTOM_M)
    for _ in range(3):
        connect(drill(script))
    row = stand(script.run(2500.0))
    assert row.hoisting_weight_N == pytest.approx(TURNING_N + DRAG_N, abs=1e3)
    assert row.rotating_weight_N == pytest.approx(TURNING_N, abs=1e3)
    assert row.weights_flow == ""


def test_no_weights_on_a_trip_away_from_bottom() -> None:
    script = Script(1.0)
    for _ in range(3):
        script.stand_out(1000e3)
    row = stand(script.run(2500.0))
    assert math.isnan(row.hoisting_weight_N)
    assert math.isnan(row.rotating_weight_N)


def test_one_touch_takes_what_the_pipe_does_now() -> None:
    script = Script(1.0)
    script.stand_out(1000e3).hold(10, EMPTY_N).ramp(1.2, 1000e3).move(12.0, 1012e3)
    touched = act(script, "catch_weight")
    script.move(20.0, 1000e3).hold(3, 1000e3).ramp(19.8, EMPTY_N).hold(20, EMPTY_N)
    row = stand(script.run(2500.0, (touched,)))
    assert row.hoisting_weight_N == pytest.approx(1012e3, abs=1e3)


def test_caught_weights_teach_the_expected_load() -> None:
    """Two connections with three metres of pipe each way are enough."""
    script = rotary_and_flow(Script(BOTTOM_M), 12.0, 0.03)
    for _ in range(2):
        rotary_and_flow(drill(script).hold(8, TURNING_N), 0.0, 0.03)
        rotary_and_flow(connect(script), 12.0, 0.03)
    rotary_and_flow(script, 0.0, 0.03).hold(5, EMPTY_N)
    expected = np.asarray(script.run(2500.0).columns["expected_up_N"])[-20:]
    assert expected == pytest.approx(TURNING_N + DRAG_N, abs=15e3)


def test_the_act_is_read_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "acts.csv"
    path.write_text("time,act,value,who\n2026-03-01T00:00:00Z,catch_weight,lowering,driller\n")
    (command,) = read_acts(path, plain_rig())
    assert (command.act, command.text) == ("catch_weight", "lowering")


def kelly_down(script: Script) -> Script:
    """Drill a single down, pull the kelly back up sliding, slips; run the next single in."""
    script.hold(10, EMPTY_N).ramp(12.2, TURNING_N + DRAG_N).hold(10, TURNING_N)
    script.move(9.0, TURNING_N, 0.1).hold(6, TURNING_N).move(3.0, TURNING_N - ON_BIT_N, 0.008)
    script.move(6.0, TURNING_N, 0.2).hold(8, TURNING_N)
    script.move(12.2, TURNING_N + DRAG_N, 0.2).ramp(12.0, EMPTY_N).hold(20, EMPTY_N)
    script.move(2.5, EMPTY_N, 0.5).move(12.0, EMPTY_N, 0.5).hold(10, EMPTY_N)
    script.ramp(12.2, TURNING_N + DRAG_N).move(3.2, TURNING_N - DRAG_N, 0.3)
    script.ramp(3.0, EMPTY_N).hold(20, EMPTY_N).move(12.0, EMPTY_N, 0.5)
    return script


def test_with_a_kelly_the_weights_stand_with_the_single_that_is_run_in() -> None:
    """The spell that drilled comes back to where it began and makes no row of its own."""
    script = Script(12.0)
    for _ in range(4):
        kelly_down(script)
    rows = [row for row in script.run(2500.0).trip_rows if not row.void]
    assert [row.length_m for row in rows] == pytest.approx([9.0] * 4, abs=0.3)
    for row in rows[1:]:
        assert row.hoisting_weight_N == pytest.approx(TURNING_N + DRAG_N, abs=2e3)
        assert row.rotating_weight_N == pytest.approx(TURNING_N, abs=2e3)


def out_of_slips() -> Script:
    """Take a stand of a free string out of slips and hoist it for a while."""
    return Script(1.0).hold(10, EMPTY_N).ramp(1.2, 1000e3).move(12.0, 1012e3)


def touched(script: Script) -> Pipeline:
    """The pipeline after the rows so far and one touch, which then waits for the next row."""
    command = act(script, "catch_weight")
    script.hold(0.2, script.load[-1])
    pipeline = Pipeline(plain_rig(), bit_depth_m=2500.0)
    pipeline.feed(script.samples(), (command,))
    return pipeline


def test_what_a_touch_caught_is_told_with_depth_and_flow() -> None:
    script = Script(1.0).set(flow_in=0.03)
    script.hold(10, EMPTY_N).ramp(1.2, 1000e3).move(12.0, 1012e3)
    told = touched(script).status()["caught"]
    assert (told["touches"], told["touched"]) == (1, "hoisting")
    weight = told["weights"]["hoisting"]
    assert weight["load_N"] == pytest.approx(1012e3, abs=1e3)
    assert weight["depth_m"] == pytest.approx(2500.0 - 10.8, abs=1.0)
    assert (weight["flow"], weight["by"]) == ("on", "touch")
    assert set(told["weights"]) == {"hoisting"}


def test_the_weights_of_a_connection_are_told_until_the_next() -> None:
    pipeline = Pipeline(plain_rig(), bit_depth_m=2500.0)
    pipeline.feed(one_stand(0.03).samples())
    weights = pipeline.status()["caught"]["weights"]
    assert weights["hoisting"]["load_N"] == pytest.approx(TURNING_N + DRAG_N, abs=1e3)
    assert {weight["by"] for weight in weights.values()} == {"connection"}
    assert set(weights) == {"hoisting", "lowering", "rotating"}


def refusals() -> list[tuple[Script, str]]:
    on_bottom = rotary_and_flow(Script(BOTTOM_M + 6.0), 12.0, 0.03).hold(10, EMPTY_N)
    on_bottom.ramp(BOTTOM_M + 6.2, TURNING_N).move(BOTTOM_M + 1.0, TURNING_N, 0.1)
    on_bottom.hold(6, TURNING_N).move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.008)
    return [
        (Script(1.0).hold(30, EMPTY_N), "has not hung free"),
        (on_bottom, "on bottom"),
        (out_of_slips().hold(3.0, 1000e3), "one way, or still"),
        (out_of_slips().set(rotary_speed=0.0).hold(10, 1000e3), "does not turn"),
        (out_of_slips().hold(10, NAN), "a known load"),
    ]


@pytest.mark.parametrize(("script", "why"), refusals())
def test_a_touch_that_catches_nothing_says_why(script: Script, why: str) -> None:
    pipeline = touched(script)
    (refused,) = pipeline.summary()["acts_refused"]
    assert "no weight caught" in refused
    assert why in refused
    assert pipeline.status()["caught"]["touches"] == 0


def test_other_gear_makes_the_weights_told_those_of_something_else() -> None:
    script = out_of_slips()
    first = act(script, "catch_weight")
    script.hold(5, 1000e3)
    other = act(script, "travelling_weight", 260e3)
    script.hold(0.2, 1000e3)
    pipeline = Pipeline(plain_rig(), bit_depth_m=2500.0)
    pipeline.feed(script.samples(), (first, other))
    assert pipeline.status()["caught"]["weights"] == {}
