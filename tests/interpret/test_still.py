"""The string that stands too long, on the hook and in slips, in open hole and in casing."""

from __future__ import annotations

import pytest

from monitor.model import Event
from monitor.pipeline import Pipeline
from monitor.rig.file import ConfigError, parse_rig
from monitor.rig.rig import DepthMark, Limits, Rig
from tests.interpret.streams import EMPTY_N, Script, plain_rig, with_gap

FREE_N = 900e3
SHOE = (DepthMark("liner top", 900.0), DepthMark("casing shoe", 1500.0))


def rig(marks: tuple[DepthMark, ...] = (), limit_s: float = 300.0) -> Rig:
    return plain_rig(limits=Limits(stationary_s=limit_s), depth_marks=marks)


def told(script: Script, on: Rig, depth_m: float | None = 2000.0) -> list[Event]:
    events = script.run(depth_m=depth_m, rig=on).events
    return [e for e in events if e.kind == "stationary_too_long"]


def hooked(seconds: float) -> Script:
    script = Script().stand_out(FREE_N).hold(10, EMPTY_N).ramp(1.2, FREE_N).move(10.0, FREE_N)
    return script.hold(seconds, FREE_N).move(29.0, FREE_N)


def in_slips(seconds: float) -> Script:
    script = Script().stand_out(FREE_N).hold(seconds, EMPTY_N).move(20.0, EMPTY_N)
    return script.move(1.0, EMPTY_N).ramp(1.2, FREE_N).move(29.0, FREE_N)


def test_on_the_hook_from_the_last_movement_to_the_next() -> None:
    (event,) = told(hooked(400.0), rig())
    assert event.end_us is not None
    assert (event.end_us - event.start_us) / 1e6 == pytest.approx(400.0, abs=2.0)
    assert event.raised_us - event.start_us == pytest.approx(300e6, abs=0.3e6)
    assert "has not moved for 5 min, on the hook" in event.why


def test_shorter_than_the_limit_is_nothing() -> None:
    assert told(hooked(280.0), rig()) == []


def test_in_slips_only_below_the_shoe() -> None:
    """The block goes up and down meanwhile: that moves no pipe."""
    (event,) = told(in_slips(300.0), rig(SHOE))
    assert "in slips with the bit below the casing shoe" in event.why
    assert told(in_slips(300.0), rig(SHOE), 1000.0) == []
    assert told(in_slips(300.0), rig()) == []


def test_inside_casing_a_string_may_stand() -> None:
    assert told(hooked(400.0), rig(SHOE), 1000.0) == []


def test_a_turning_string_does_not_stand() -> None:
    script = Script().stand_out(FREE_N).hold(10, EMPTY_N).ramp(1.2, FREE_N).move(10.0, FREE_N)
    script.set(rotary_speed=6.0).hold(400, FREE_N)
    assert told(script, rig()) == []


def test_a_gap_begins_the_time_anew() -> None:
    script = hooked(400.0)
    rows = len(script.block)
    samples = with_gap(script.samples(), rows - 1200, rows - 1000)
    events = Pipeline(rig(), bit_depth_m=2000.0).feed(samples).events
    assert [e.kind for e in events if e.kind == "stationary_too_long"] == []


LEAST = """
[rig]
name = "Plover 1 (invented)"
travelling_weight = "245 kN"
[reeving]
lines_strung = 10
sheave_efficiency = 0.985
[limits]
"""


def test_the_limit_is_read_and_has_a_default() -> None:
    assert parse_rig(LEAST).limits.stationary_s == 600.0
    assert parse_rig(LEAST + 'stationary = "5 min"').limits.stationary_s == 300.0
    with pytest.raises(ConfigError, match=r"limits\.stationary"):
        parse_rig(LEAST + 'stationary = "2 s"')
