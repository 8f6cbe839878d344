"""Depth marks: distance in metres and stands, and pipe moved too fast near one."""

from __future__ import annotations

import pytest

from monitor.pipeline import Pipeline
from monitor.rig.file import ConfigError, parse_rig
from monitor.rig.rig import DepthMark, Rig
from tests.interpret.streams import Script, plain_rig

RIG_TEXT = """
[rig]
name = "Plover 1 (invented)"
travelling_weight = "250 kN"
[reeving]
lines_strung = 10
sheave_efficiency = 0.985
[[depth_mark]]
name = "liner top"
depth = "900 m"
slow_down = "0.3 m/s"
within = "20 m"
"""


def marked() -> Rig:
    marks = (
        DepthMark("casing shoe", 2400.0, slow_down_m_s=0.3, within_m=10.0),
        DepthMark("ledge", 2600.0),
    )
    return plain_rig(depth_marks=marks)


def three_stands(speed_m_s: float) -> Script:
    """2500 m to about 2417 m; the fourth stand passes the shoe at the speed given."""
    script = Script(1.0)
    for _ in range(3):
        script.stand_out(1000e3)
    script.hold(10, 250e3).ramp(1.2, 1000e3).move(2.0, 1000e3)
    return script.move(28.0, 1000e3, speed_m_s)


def test_faster_than_the_slow_down_speed_is_raised_near_the_mark_only() -> None:
    script = three_stands(0.6)
    (event,) = [e for e in script.run(2500.0, (), marked()).events if e.kind == "fast_at_mark"]
    assert abs(event.bit_depth_m - 2400.0) <= 10.0
    assert "the casing shoe, pipe moving at" in event.why


def test_slow_enough_raises_nothing() -> None:
    events = three_stands(0.25).run(2500.0, (), marked()).events
    assert [event.kind for event in events if event.kind == "fast_at_mark"] == []


def test_distance_in_metres_and_stands() -> None:
    script = Script(1.0)
    for _ in range(2):
        script.stand_out(1000e3)
    pipeline = Pipeline(marked(), bit_depth_m=2500.0)
    output = pipeline.feed(script.samples())
    depth = float(output.columns["bit_depth_m"][-1])
    stand = output.trip_rows[-1].length_m
    mark = pipeline.status()["next_depth_mark"]
    assert (mark["name"], mark["way"], mark["slow_down_m_s"]) == ("casing shoe", "up", 0.3)
    assert mark["distance_m"] == pytest.approx(depth - 2400.0)
    assert mark["stands"] == pytest.approx((depth - 2400.0) / stand)


def test_mark_below_is_shown_on_the_way_in() -> None:
    script = Script(1.0)
    for _ in range(2):
        script.stand_in(900e3)
    pipeline = Pipeline(marked(), bit_depth_m=2450.0)
    pipeline.feed(script.samples())
    mark = pipeline.status()["next_depth_mark"]
    assert (mark["name"], mark["way"]) == ("ledge", "down")


def test_tight_spot_becomes_a_mark() -> None:
    script = Script(1.0)
    for _ in range(6):
        script.stand_out(1000e3)
    script.hold(10, 250e3).ramp(1.2, 1000e3).move(10.0, 1000e3).move(12.0, 1090e3)
    script.move(28.0, 1000e3).hold(3, 1000e3).ramp(27.8, 250e3).hold(20, 250e3)
    script.move(1.0, 250e3, 0.8)
    pipeline = Pipeline(plain_rig(), bit_depth_m=2500.0)
    output = pipeline.feed(script.samples())
    (event,) = [event for event in output.events if event.kind == "overpull"]
    (mark,) = pipeline.status()["depth_marks_ahead"]
    assert (mark["name"], mark["way"]) == ("tight spot", "down")
    assert mark["depth_m"] == pytest.approx(event.bit_depth_m, abs=2.5)


def test_rig_file_gives_the_slow_down_speed() -> None:
    (mark,) = parse_rig(RIG_TEXT).depth_marks
    assert mark == DepthMark("liner top", 900.0, 0.3, 20.0)


def test_rig_file_refuses_a_speed_without_unit() -> None:
    with pytest.raises(ConfigError, match="slow_down"):
        parse_rig(RIG_TEXT.replace('"0.3 m/s"', "0.3"))
