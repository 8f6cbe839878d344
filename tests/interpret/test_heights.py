"""Near the crown and the floor: by height, by speed, and never at a normal connection."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.model import Event
from monitor.pipeline import Pipeline
from monitor.rig.hoisting import Drawworks
from monitor.rig.rig import Limits, Rig
from tests.interpret.streams import EMPTY_N, Script, plain_rig

FREE_N = 900e3
BRAKE = Drawworks(brake_deceleration_m_s2=2.0, reaction_time_s=1.0)


def rig(drawworks: Drawworks | None = None) -> Rig:
    return plain_rig(limits=Limits(floor_m=1.5, crown_m=32.0), drawworks=drawworks)


def near(script: Script, kind: str, on: Rig) -> list[Event]:
    return [e for e in script.run(rig=on).events if e.kind == kind]


def test_normal_stands_are_near_nothing() -> None:
    script = Script(block_m=2.0)
    for _ in range(3):
        script.hold(10, EMPTY_N).ramp(2.2, FREE_N).move(29.0, FREE_N).hold(3, FREE_N)
        script.ramp(28.8, EMPTY_N).hold(20, EMPTY_N).move(4.0, EMPTY_N, 0.8)
        script.move(2.0, EMPTY_N, 0.1)
    assert near(script, "near_crown", rig(BRAKE)) == []
    assert near(script, "near_floor", rig(BRAKE)) == []


def test_over_the_crown_limit_by_height_alone() -> None:
    script = Script(block_m=25.0).hold(5, EMPTY_N).move(33.0, EMPTY_N, 0.5)
    reached = script.seconds - 2.0
    script.hold(10, EMPTY_N).move(25.0, EMPTY_N, 0.5).hold(5, EMPTY_N)
    (event,) = near(script, "near_crown", rig())
    assert event.start_us / 1e6 == pytest.approx(reached, abs=0.3)
    assert event.raised_us - event.start_us <= 400_000
    assert event.end_us is not None
    assert "replaces no crown or floor saver" in event.why


def test_too_fast_for_the_room_left_is_told_before_the_limit() -> None:
    """1.5 m/s needs 1.5 m while the driller reacts and 0.56 m of brake."""
    script = Script(block_m=10.0, hz=10.0).hold(5, EMPTY_N).move(31.5, EMPTY_N, 1.5)
    (event,) = near(script.hold(10, EMPTY_N), "near_crown", rig(BRAKE))
    row = round(event.start_us / 1e5)
    assert script.block[row] == pytest.approx(32.0 - 2.06, abs=0.4)
    assert "needs 2.1 m to stop" in event.why
    assert near(script, "near_crown", rig()) == []


def test_floor_only_while_lowering() -> None:
    down = Script(block_m=10.0).hold(5, EMPTY_N).move(0.9, EMPTY_N, 0.5).hold(20, EMPTY_N)
    (event,) = near(down, "near_floor", rig())
    assert event.end_us is not None
    rest = Script(block_m=1.0).hold(30, EMPTY_N).move(10.0, EMPTY_N, 0.5)
    assert near(rest, "near_floor", rig()) == []


def test_a_counter_that_wrapped_is_no_crown() -> None:
    script = Script(block_m=5.0).hold(5, EMPTY_N).move(25.0, EMPTY_N).hold(60, EMPTY_N)
    samples = script.samples()
    block = samples.values["block_position"].copy()
    block[150:250] += 60.0
    moved = replace(samples, values={**samples.values, "block_position": block})
    events = Pipeline(rig(BRAKE)).feed(moved).events
    assert [e.kind for e in events] == []
    assert np.ptp(block) > 60.0


def test_without_limits_nothing_is_said() -> None:
    script = Script(block_m=5.0).hold(5, EMPTY_N).move(55.0, EMPTY_N)
    assert near(script, "near_crown", plain_rig()) == []
