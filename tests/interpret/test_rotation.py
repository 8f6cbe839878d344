"""Drag that comes back when the rotary stops is no overpull; a pull while it turns is one.

Loads are written by hand: a turning string of 1100 kN that drags 80 kN more up and less down
once it slides (common practice: 5 to 10 % of the string's weight each way).
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Event, Output
from tests.interpret.streams import EMPTY_N, Script, plain_rig

TURNING_N = 1100e3
DRAG_N = 80e3
ON_BIT_N = 90e3
BOTTOM_M = 2.0


def drill(script: Script) -> Script:
    """From slips to bottom and down: lowered turning, drilled slowly, hoisted off turning."""
    script.hold(10, EMPTY_N).move(BOTTOM_M + 6.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 6.2, TURNING_N + DRAG_N).hold(10, TURNING_N)
    script.move(BOTTOM_M + 1.0, TURNING_N, 0.1).hold(6, TURNING_N)
    script.move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.008)
    return script.move(BOTTOM_M + 12.0, TURNING_N, 0.2)


def connect(script: Script) -> Script:
    """Rotary stopped at rest, weights caught sliding up and down, slips."""
    script.hold(8, TURNING_N).move(BOTTOM_M + 16.0, TURNING_N + DRAG_N, 0.2)
    script.hold(2, TURNING_N + DRAG_N).move(BOTTOM_M + 13.0, TURNING_N - DRAG_N, 0.2)
    script.hold(4, TURNING_N - DRAG_N).ramp(BOTTOM_M + 12.7, EMPTY_N)
    return script.hold(20, EMPTY_N)


def drilled(stands: int) -> Script:
    script = Script(BOTTOM_M)
    for _ in range(stands):
        connect(drill(script))
    return script


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
