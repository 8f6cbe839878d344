"""Who carries the string where the load alone does not tell: ledges, racked stands, strokes."""

from __future__ import annotations

import pytest

from monitor.model import Activity
from tests.interpret.streams import EMPTY_N, Script

LOAD_N = 1000e3


def test_string_set_down_on_a_ledge_in_motion_is_one_stand() -> None:
    # Nine tenths of the string stand on a ledge for some metres, the block never stops.
    on_ledge_N = EMPTY_N + 0.05 * (LOAD_N - EMPTY_N)
    script = Script(hz=10.0).stand_in(LOAD_N)
    script.hold(10, EMPTY_N).move(29.0, EMPTY_N, 0.8).hold(20, EMPTY_N)
    script.ramp(29.2, LOAD_N).hold(2, LOAD_N).move(20.0, LOAD_N, 0.6)
    script.ramp(16.0, on_ledge_N, 0.6).move(15.0, on_ledge_N, 0.6).ramp(14.0, LOAD_N, 0.6)
    script.move(1.2, LOAD_N).hold(2, LOAD_N).ramp(1.0, EMPTY_N).hold(30, EMPTY_N)
    rows = script.run(1000.0).trip_rows
    assert [row.length_m for row in rows] == pytest.approx([28.0, 28.0], abs=0.1)
    assert rows[-1].bit_depth_m == pytest.approx(1056.0, abs=0.2)


def test_slips_set_quickly_are_seen() -> None:
    # A quick crew slacks off at 0.35 m/s.
    script = Script(hz=10.0)
    for _ in range(2):
        script.hold(10, EMPTY_N).ramp(script.block[-1] + 0.2, LOAD_N).move(29.0, LOAD_N)
        script.hold(1, LOAD_N).ramp(28.8, EMPTY_N, 0.35).hold(20, EMPTY_N)
        script.move(1.0, EMPTY_N, 0.8)
    rows = script.hold(30, EMPTY_N).run(2000.0).trip_rows
    assert [row.length_m for row in rows] == pytest.approx([27.8, 27.8], abs=0.1)


def test_stand_racked_out_of_a_light_string_is_no_string() -> None:
    # 60 kN of collars lifted where 100 kN of string were just set.
    script = Script(hz=5.0)
    set_s = []
    for _ in range(3):
        script.hold(10, EMPTY_N).ramp(script.block[-1] + 0.2, EMPTY_N + 100e3)
        script.move(29.0, EMPTY_N + 100e3).hold(3, EMPTY_N + 100e3).ramp(28.8, EMPTY_N)
        set_s.append(script.seconds)
        script.hold(30, EMPTY_N).move(29.2, EMPTY_N + 60e3, 0.1).hold(15, EMPTY_N + 60e3)
        script.move(28.8, EMPTY_N + 60e3, 0.1).hold(5, EMPTY_N).move(1.0, EMPTY_N, 0.8)
    rows = script.hold(30, EMPTY_N).run(300.0).trip_rows
    assert [row.length_m for row in rows] == pytest.approx([27.8] * 3, abs=0.1)
    known = [(row.in_slips_us or 0) / 1e6 for row in rows[1:]]
    assert known == pytest.approx(set_s[1:], abs=2.0)


def test_empty_stroke_between_slow_rows_takes_no_light_string() -> None:
    # A row in 10 s; the block starts up with 60 kN of inertia and friction, then runs on.
    script = Script(29.0, hz=0.1)
    light_N = EMPTY_N + 70e3
    for _ in range(6):
        script.hold(60, EMPTY_N).move(1.2, light_N, 0.5).hold(10, light_N).hold(20, EMPTY_N)
        script.move(6.0, EMPTY_N + 60e3, 0.5).move(29.0, EMPTY_N, 0.8)
    script.hold(60, EMPTY_N)
    output = script.run(200.0)
    rows = output.trip_rows[-3:]
    assert {row.direction for row in rows} == {"in"}
    assert [row.length_m for row in rows] == pytest.approx([27.8] * 3, abs=0.3)
    assert output.columns["activity"][-1] == Activity.IN_SLIPS


def test_slow_rows_take_a_string_already_on_its_way_down() -> None:
    # A row in 10 s: no row shows the block going up before the string hangs.
    script = Script(29.0, hz=0.1)
    for _ in range(4):
        script.hold(60, EMPTY_N).move(1.2, LOAD_N, 0.5).hold(10, LOAD_N).hold(20, EMPTY_N)
        script.move(29.0, EMPTY_N, 0.8)
    rows = script.hold(60, EMPTY_N).run(1000.0).trip_rows
    assert [row.length_m for row in rows] == pytest.approx([27.8] * 4, abs=0.3)


def test_slips_that_give_the_last_of_the_load_over_slowly_are_no_slack_off() -> None:
    # Slips have 88 % of the string within 0.1 m; a slow sensor and the crew show the rest late.
    script = Script(hz=10.0)
    last_N = EMPTY_N + 0.12 * (LOAD_N - EMPTY_N)
    for _ in range(5):
        script.hold(10, EMPTY_N).move(29.0, EMPTY_N, 0.8).hold(20, EMPTY_N)
        script.ramp(29.2, LOAD_N).hold(2, LOAD_N).move(1.2, LOAD_N).hold(2, LOAD_N)
        script.ramp(1.1, last_N, 0.1).move(0.95, last_N, 0.1).ramp(0.9, EMPTY_N, 0.05)
    output = script.hold(30, EMPTY_N).run(1000.0)
    assert [event.kind for event in output.events] == []
    assert len(output.trip_rows) == 5
