"""Drag that comes back when the rotary stops is no overpull; a pull while it turns is one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.model import Event, Output
from tests.interpret.drilled import BOTTOM_M, DRAG_N, TURNING_N, connect, drill, drilled
from tests.interpret.streams import EMPTY_N, Script, plain_rig
from tests.laws.records import commands, differences, faulty, run, simulated


def overpulls(output: Output) -> list[Event]:
    return [event for event in output.events if event.kind == "overpull"]


def test_returning_drag_is_no_overpull() -> None:
    output = drilled(5).run(2500.0)
    assert overpulls(output) == []
    assert np.isfinite(np.asarray(output.columns["expected_up_N"])[-200:]).any()


def test_load_that_rises_while_the_string_turns_is_an_overpull() -> None:
    script = drill(drilled(4))
    before = script.seconds
    script.move(BOTTOM_M + 14.0, TURNING_N + DRAG_N, 0.2).move(BOTTOM_M + 16.0, TURNING_N, 0.2)
    (event,) = overpulls(script.run(2500.0))
    assert event.peak_excess_N == pytest.approx(DRAG_N, abs=8e3)
    assert event.start_us / 1e6 % 86400 == pytest.approx(before, abs=1.0)


def test_pull_beyond_the_drag_after_a_stop_is_an_overpull() -> None:
    script = drill(drilled(4)).hold(8, TURNING_N)
    script.move(BOTTOM_M + 16.0, TURNING_N + DRAG_N + 70e3, 0.2).hold(5, TURNING_N)
    (event,) = overpulls(script.run(2500.0))
    assert event.peak_excess_N == pytest.approx(70e3, abs=8e3)


def test_a_stop_shorter_than_the_rotary_needs_changes_nothing() -> None:
    script = drill(drilled(4)).hold(1, TURNING_N)
    script.move(BOTTOM_M + 16.0, TURNING_N + DRAG_N, 0.2).hold(5, TURNING_N)
    (event,) = overpulls(script.run(2500.0))
    assert event.peak_excess_N == pytest.approx(DRAG_N, abs=8e3)


def test_a_rotary_channel_is_believed() -> None:
    script = Script(BOTTOM_M).set(rotary_speed=12.0)
    for _ in range(4):
        connect(drill(script))
    drill(script).hold(8, TURNING_N)
    script.move(BOTTOM_M + 16.0, TURNING_N + DRAG_N, 0.2).hold(5, TURNING_N)
    assert overpulls(script.run(2500.0)) != []


def test_before_the_bit_has_been_on_bottom_nothing_is_inferred() -> None:
    rig = plain_rig()
    script = Script()
    for _ in range(6):
        script.stand_out(900e3)
    script.hold(10, EMPTY_N).ramp(1.2, 900e3).move(12.0, 900e3).hold(8, 900e3)
    script.move(20.0, 980e3).hold(3, 900e3)
    (event,) = overpulls(script.run(2500.0, (), rig))
    assert event.peak_excess_N == pytest.approx(80e3, abs=10e3)


def test_cuts_and_restarts_change_nothing_without_a_rotary_channel() -> None:
    rig, whole, depth = simulated("drilling", 0.7)
    kept = ("deadline_tension", "block_position")
    bare = replace(whole, values={name: whole.values[name] for name in kept})
    samples = faulty(bare, 9)
    once = run(rig, samples, [], commands(samples), depth)
    cuts = list(range(700, len(samples), 1371))
    assert differences(once, run(rig, samples, cuts, commands(samples), depth)) == []
    again = run(rig, samples, cuts, commands(samples), depth, restart=cuts)
    assert differences(once, again) == []
