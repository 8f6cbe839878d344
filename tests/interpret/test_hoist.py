"""People's acts of the hoist, slip-and-cut mode, and the hoist's part of the status."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import numpy as np
import pytest

from monitor.model import Command, State
from monitor.pipeline import Pipeline
from monitor.rig.file import parse_rig
from monitor.rig.hoisting import Compensator, Drawworks, Drum, Gear, Hook, LineWork, LoggedCut
from monitor.rig.rig import Equipment, Limits, Line, Pipe, Rig, Section
from tests.interpret.streams import EMPTY_N, LINES, NAN, Script, act, plain_rig

LOAD_N = 1200e3
GEAR = (
    Gear("pipe tools", EMPTY_N, ("elevators",), elevator="bottleneck", tubular="drill pipe"),
    Gear("casing tools", 310e3, ("spider",), "none", "collar", "casing", "setting casing"),
)
EQUIPMENT = (
    Equipment("crown block", 4.4e6, "crown total", "450 t", sheaves=7, sheave_diameter_m=1.524),
    Equipment("elevators", 2.0e6, "below hook", "200 t"),
    Equipment("spider", 3.0e6, "below hook", "300 t"),
)
FULL: dict[str, Any] = {
    "gear": GEAR,
    "equipment": EQUIPMENT,
    "line": Line(0.034925, 0.0, 854e3),
    "line_work": LineWork(2e10, 30.0, 2.5, 1e9, 1800.0, (LoggedCut("2026-01-01", 30.0, 2e10),)),
    "drum": Drum(0.762, 1.32, 5, 46.0, 0.5, 17.0),
    "drawworks": Drawworks(1e6, 1.6, 0.8),
    "hook": Hook("combined", "free", ""),
    "limits": Limits(0.5, 38.0),
}


def full_rig(**changes: object) -> Rig:
    """Return a rig with every table of the hoist."""
    return plain_rig(**{**FULL, **changes})


def fed(
    script: Script, *commands: Command, rig: Rig | None = None, depth_m: float = 2000.0
) -> tuple[Pipeline, dict[str, Any]]:
    """Interpret the record; return the pipeline and the hoist's part of its status."""
    pipeline = Pipeline(rig or full_rig(), bit_depth_m=depth_m)
    pipeline.feed(script.samples(), commands)
    status: dict[str, Any] = pipeline.status()["hoist"]
    json.dumps(status, allow_nan=False)
    return pipeline, status


def in_slips() -> Script:
    """Return a record of the empty block, read long enough to be believed."""
    return Script().stand_out(LOAD_N).hold(20, EMPTY_N)


def test_a_line_count_that_the_empty_block_contradicts_is_refused() -> None:
    script = in_slips()
    pipeline, status = fed(script, act(script, "lines_strung", 12, "restrung"))
    assert pipeline.load.lines_strung == LINES
    assert status["warnings"][0].startswith(
        "12 lines refused: the empty block would read 300.0 kN and weighs 250.0 kN"
    )
    assert pipeline.refusal(act(script, "lines_strung", 12, "override:")) != ""


def test_the_engineer_overrides_with_a_reason() -> None:
    script = in_slips()
    command = act(script, "lines_strung", 12, "override: block is hung off on a sling")
    pipeline, status = fed(script, command)
    assert (pipeline.load.lines_strung, status["string_up"]["lines_strung"]) == (12, 12)
    assert status["drum"]["wraps_left_now"] is None


def test_a_count_that_fits_the_empty_block_is_taken() -> None:
    script = Script().stand_out(LOAD_N).hold(30, EMPTY_N * LINES / 12)
    pipeline, status = fed(script, act(script, "lines_strung", 12, "restrung"))
    assert (pipeline.load.lines_strung, status["warnings"]) == (12, [])


def test_an_old_reading_contradicts_nothing() -> None:
    script = in_slips()
    late = dataclasses.replace(act(script, "lines_strung", 12, "restrung"), time_us=10**12)
    assert fed(script, late)[0].load.lines_strung == 12


@pytest.mark.parametrize(
    ("name", "number", "text", "why"),
    [
        ("lines_strung", 14, "override: x", "14 lines refused: 8 crown sheaves are needed"),
        ("lines_strung", 18, "override: x", "18 lines refused: 2 to 16 are expected"),
        ("lines_strung", 9.5, "override: x", "9.5 lines refused"),
        ("gear", NAN, "tubing tools", "gear 'tubing tools' refused: known are pipe tools, casing"),
        ("duty", NAN, "resting", "duty 'resting' refused: known are drilling"),
        ("compensator", NAN, "open", "compensator 'open' refused: known are none"),
        ("preparation", NAN, "lock: free", "preparation 'lock' refused"),
        ("preparation", NAN, "positioner: free", "positioner 'free' refused: known are engaged"),
        ("slip_and_cut", NAN, "confirm tea", "confirmation 'tea' refused: known are zero"),
        ("slip_and_cut", NAN, "confirm wraps many", "wraps refused: write the number"),
    ],
)
def test_acts_that_cannot_be_are_refused(name: str, number: float, text: str, why: str) -> None:
    script = in_slips()
    pipeline, status = fed(script, act(script, name, number, text))
    assert status["warnings"][0].startswith(why)
    assert pipeline.hoist.in_use() == Pipeline(full_rig()).hoist.in_use()
    assert pipeline.summary()["acts_refused"][0].endswith(status["warnings"][0])


def test_gear_is_one_touch_with_its_weight_and_ratings() -> None:
    script = in_slips()
    pipeline, before = fed(script)
    pipeline, after = fed(script, act(script, "gear", text="casing_tools"))
    assert pipeline.load.travelling_weight_N == pipeline.slips.declared_N == 310e3
    assert (after["gear"]["name"], after["gear"]["weight_N"]) == ("casing tools", 310e3)
    assert {"elevators"} == {each["name"] for each in before["ratings"]} - {
        each["name"] for each in after["ratings"]
    }
    assert (after["line"]["duty"], after["line"]["least_design_factor"]) == ("setting casing", 2.0)
    assert "collar elevator is made for drill collars" in after["warnings"][0]


def test_the_gear_weighs_what_the_empty_block_reads_where_they_agree() -> None:
    script = Script().stand_out(LOAD_N).hold(30, 304e3)
    pipeline, status = fed(script, act(script, "gear", text="casing tools"))
    assert pipeline.load.travelling_weight_N == pytest.approx(304e3, rel=1e-3)
    said = act(script, "gear", 299e3, "casing tools")
    assert fed(script, said)[0].load.travelling_weight_N == 299e3


def test_the_strength_of_the_pipe_is_no_limit_of_casing() -> None:
    string = (Section("pipe", None, 0.127, 0.1086, 343.0),)
    rig = full_rig(
        string=string, mud_density_kg_m3=1200.0, pipe=Pipe("E75", "premium", 517e6), equipment=()
    )
    script = in_slips()
    _, pipe = fed(script, rig=rig)
    assert "pipe" in [one["name"] for one in pipe["ratings"]]
    _, casing = fed(script, act(script, "gear", text="casing tools"), rig=rig)
    assert "pipe" not in [one["name"] for one in casing["ratings"]]


def test_the_usual_alarm_limit_goes_by_the_gear_that_hangs_now() -> None:
    """A tenth of the string: what hangs less the gear, not less that of the rig file."""
    script = Script()
    for _ in range(3):
        script.stand_out(LOAD_N)
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)
    limits = []
    for weight_N in (EMPTY_N, 100e3):
        pipeline, _ = fed(script, act(Script(), "travelling_weight", weight_N))
        limits.append(pipeline.status()["alarm_limits_N"]["overpull"])
    assert limits == [pytest.approx(95e3, rel=0.01), pytest.approx(110e3, rel=0.01)]


def test_gear_that_does_not_hang_is_doubted() -> None:
    script = in_slips()
    change = act(script, "gear", text="casing tools")
    _, status = fed(script.hold(20, EMPTY_N), change)
    assert any("does that gear hang?" in text for text in status["warnings"])
    _, hung = fed(in_slips().hold(20, 310e3), change)
    assert not any("does that gear hang?" in text for text in hung["warnings"])


def test_room_left_follows_the_gear_in_use() -> None:
    script = in_slips()
    command = act(script, "gear", 250e3, "casing tools")
    script.ramp(1.2, LOAD_N).move(10.0, LOAD_N)
    plain = script.run(2000.0, rig=full_rig())
    casing = script.run(2000.0, (command,), rig=full_rig())
    # Elevators of 2.0 MN go, and the line may be used down to a design factor of 2.
    reach_N = LOAD_N + float(plain.columns["hook_load_half_width_N"][-1])
    assert plain.columns["room_left_N"][-1] == pytest.approx(2.25e6 - reach_N, rel=1e-6)
    reach_N = LOAD_N + float(casing.columns["hook_load_half_width_N"][-1])
    assert casing.columns["room_left_N"][-1] == pytest.approx(3.25e6 - reach_N, rel=1e-6)


def slipped(seconds: float = 300.0) -> tuple[Script, list[Command]]:
    """Return a record with slip and cut in it: the drum turns, the tension says nothing."""
    script = in_slips()
    begin = act(script, "slip_and_cut", text="begin")
    script.hold(10, 20e3).move(22.0, 900e3, 0.2).hold(seconds, 30e3)
    script.move(1.0, EMPTY_N, 0.4).hold(20, EMPTY_N)
    return script, [begin, act(script, "slip_and_cut", 30.0, "end 30 m")]


def test_slips_keep_the_string_while_the_line_is_slipped() -> None:
    script, commands = slipped()
    plain = script.run(2000.0, rig=full_rig())
    held = script.run(2000.0, tuple(commands), rig=full_rig())
    first = int(np.searchsorted(script.samples().seq, commands[0].seq))
    depth = held.columns["bit_depth_m"]
    assert np.all(depth[first:] == depth[first])
    assert np.all(held.columns["activity"][first:] == held.columns["activity"][first])
    assert plain.columns["bit_depth_m"][-1] != depth[first]
    assert np.all(held.columns["state"][first + 1 :] & State.ALARMS_HELD)


def test_the_cut_is_logged_and_line_work_begins_anew() -> None:
    script, commands = slipped()
    _, before = fed(script)
    _, after = fed(script, *commands)
    assert before["line_work"]["since_cut_J"] > 1e9
    assert after["line_work"]["since_cut_J"] < 1.0
    assert [cut["length_m"] for cut in after["line_work"]["cuts"]] == [30.0, 30.0]
    assert after["line_work"]["cuts"][-1]["work_J"] > 1e9
    assert after["drum"]["wraps_left_now"] is None


def test_alarms_are_live_after_the_first_lift_shows_the_empty_gear() -> None:
    script, commands = slipped()
    _, status = fed(script, *commands)
    assert status["slip_and_cut"]["waiting_for"] == [
        "zero",
        "line count",
        "block position",
        "wraps",
        "first lift with empty gear",
    ]
    script.move(10.0, 1.06 * EMPTY_N, 0.4)
    _, wrong = fed(script, *commands)
    assert "first lift with empty gear" in wrong["slip_and_cut"]["waiting_for"]
    assert any("reads +6.0 % of its weight" in text for text in wrong["warnings"])
    script.move(1.0, EMPTY_N, 0.4).move(10.0, 1.02 * EMPTY_N, 0.4)
    output = script.run(2000.0, tuple(commands), rig=full_rig())
    assert not output.columns["state"][-1] & State.ALARMS_HELD
    confirms = [
        act(script, "slip_and_cut", text=f"confirm {what}")
        for what in ("zero", "line count", "block position", "wraps 12")
    ]
    _, done = fed(script, *commands, *confirms)
    assert done["slip_and_cut"]["waiting_for"] == []
    assert done["slip_and_cut"]["since_us"] is None
    assert done["drum"]["wraps_left_now"] == pytest.approx(12.0)


def test_a_lift_that_began_before_the_end_is_not_the_first_one_after_it() -> None:
    script = in_slips()
    begin = act(script, "slip_and_cut", text="begin")
    script.hold(30, EMPTY_N).move(5.0, EMPTY_N, 0.4)
    end = act(script, "slip_and_cut", 30.0, "end")
    script.move(5.4, EMPTY_N, 0.4)
    _, early = fed(script, begin, end)
    assert "first lift with empty gear" in early["slip_and_cut"]["waiting_for"]
    _, lifted = fed(script.move(6.5, EMPTY_N, 0.4), begin, end)
    assert "first lift with empty gear" not in lifted["slip_and_cut"]["waiting_for"]


def test_an_event_raised_while_held_has_no_alarm_but_over_a_rating() -> None:
    script, commands = slipped()
    script.ramp(1.2, LOAD_N).move(29.0, 4e6)
    rig = full_rig()
    live = {e.kind: e for e in script.run(2000.0, rig=rig).events}
    held = {e.kind: e for e in script.run(2000.0, tuple(commands), rig=rig).events}
    assert live["overpull"].alarm
    assert not held["overpull"].alarm
    assert "alarm held: slip and cut" in held["overpull"].why
    assert held["over_rating"].alarm
    assert "held" not in held["over_rating"].why


def test_the_time_limit_ends_the_hold() -> None:
    script, commands = slipped(seconds=2000.0)
    pipeline, status = fed(script, commands[0])
    assert (status["slip_and_cut"]["active"], status["slip_and_cut"]["limit_s"]) == (True, 1800.0)
    assert any("over its time limit" in text for text in status["warnings"])
    output = script.run(2000.0, (commands[0],), rig=full_rig())
    held = (output.columns["state"] & State.ALARMS_HELD) > 0
    assert held.sum() * script.step_s == pytest.approx(1800.0, abs=1.0)


def test_slip_and_cut_waits_for_slips_and_can_be_called_off() -> None:
    script = in_slips().ramp(1.2, LOAD_N).move(10.0, LOAD_N)
    _, status = fed(script, act(script, "slip_and_cut", text="begin"))
    assert status["warnings"] == ["slip and cut refused: the string is not in slips"]
    script = in_slips()
    begin = act(script, "slip_and_cut", text="begin")
    script.hold(30, EMPTY_N)
    _, status = fed(script, begin, act(script, "slip_and_cut", text="cancel"))
    assert (status["slip_and_cut"]["active"], status["warnings"]) == (False, [])
    assert len(status["line_work"]["cuts"]) == 1


def test_any_cut_and_restart_carry_the_mode_on() -> None:
    script, commands = slipped(60.0)
    script.move(10.0, 1.02 * EMPTY_N, 0.4).hold(10, EMPTY_N)
    samples, rig = script.samples(), full_rig()
    whole = Pipeline(rig, bit_depth_m=2000.0)
    expected = whole.feed(samples, commands)
    pieces = Pipeline(rig, bit_depth_m=2000.0)
    states = []
    for start in range(0, len(samples), 97):
        piece = samples.piece(start, start + 97)
        due = [c for c in commands if int(piece.seq[0]) - 2 < c.seq < int(piece.seq[-1])]
        output = pieces.feed(piece, due)
        states.append(output.columns["state"])
        pieces = Pipeline.restore(rig, json.loads(json.dumps(pieces.snapshot())))
    assert np.array_equal(np.concatenate(states), expected.columns["state"])
    assert pieces.hoist.state() == whole.hoist.state()


def test_figures_of_the_status() -> None:
    script = in_slips().ramp(1.2, LOAD_N).move(10.0, LOAD_N)
    pipeline, status = fed(script)
    half_N = pipeline.status()["sensor"]["uncertainty"]["hook_load_half_width_N"]
    string_up, weakest = status["string_up"], status["ratings"][0]
    assert (string_up["direction"], string_up["load_N"]) == ("hoisting", pytest.approx(LOAD_N))
    # No friction: each of ten lines bears a tenth, the crown twelve tenths.
    assert string_up["tensions_N"] == pytest.approx([LOAD_N / 10] * 10)
    assert string_up["derrick_load_N"] == pytest.approx(1.2 * LOAD_N)
    assert (weakest["name"], weakest["limit_N"]) == (status["weakest"], 2.25e6)
    assert weakest["margin_N"] == pytest.approx(2.25e6 - LOAD_N - half_N)
    assert weakest["used_share"] == pytest.approx((LOAD_N + half_N) / 2.25e6)
    assert status["greatest_pull_N"] == pytest.approx(2.25e6 - half_N)
    assert status["line"]["design_factor"] == pytest.approx(854e3 / (LOAD_N / 10))
    assert status["line"]["sheave_advice"] == "shorter life, 6x19 Seale"
    # 46 m at 0.5 m and ten lines for each metre up from there.
    assert status["drum"]["line_on_drum_m"] == pytest.approx(46.0 + 10 * 9.5, abs=1e-6)
    # One wrap of the first layer takes pi (0.762 + 0.034925) m.
    lowest = 46.0 / (math.pi * (0.762 + 0.034925))
    assert status["drum"]["wraps_left_lowest"] == pytest.approx(lowest)
    # 0.5 m/s: 0.4 m until the brake holds and v2 / 2a = 0.078 m.
    braking = status["braking"]
    assert braking["stopping_distance_m"] == pytest.approx(0.478, abs=0.01)
    assert braking["room_to_crown_m"] == pytest.approx(28.0 - 0.478, abs=0.01)
    assert braking["room_to_floor_m"] == pytest.approx(9.5)
    assert status["preparation"] == [
        {"name": "rotation lock", "state": "free", "ok": True},
        {"name": "positioner", "state": None, "ok": None},
        {"name": "elevator for the tubular", "state": "bottleneck", "ok": True},
    ]


def test_the_rate_of_line_work_gives_a_due_date() -> None:
    script = Script()
    for _ in range(20):
        script.stand_out(LOAD_N)
    _, status = fed(script)
    work = status["line_work"]
    left_J = work["goal_J"] - work["since_cut_J"]
    assert work["due_s"] == pytest.approx(left_J / work["per_hour_J"] * 3600.0)
    assert "UTC, in " in work["due_text"]


def test_a_bare_rig_tells_what_it_can() -> None:
    _, status = fed(Script().hold(5, EMPTY_N), rig=plain_rig())
    absent = ("weakest", "greatest_pull_N", "line", "line_work", "drum", "braking")
    assert [status[key] for key in (*absent, "compensator", "gear")] == [None] * 8
    assert (status["ratings"], status["preparation"], status["warnings"]) == ([], [], [])
    assert status["string_up"]["direction"] == "unknown"


def test_before_the_first_row_nothing_is_made_up() -> None:
    status = Pipeline(full_rig()).status()["hoist"]
    assert status["string_up"]["tensions_N"] is None
    assert status["drum"]["wraps_left_now"] is None
    assert status["ratings"][0]["margin_N"] is None
    json.dumps(status, allow_nan=False)


def test_a_compensator_changes_the_limit_with_its_state() -> None:
    rig = full_rig(compensator=Compensator("in-line", 7.62, 1.9e6))
    script = in_slips().set(compensator_stroke=8.0).hold(5, EMPTY_N)
    _, status = fed(script, rig=rig)
    assert status["weakest"] == "compensator, open"
    assert (status["compensator"]["state"], status["compensator"]["stroke_m"]) == ("open", 8.0)
    assert "compensator stroke reads beyond its ends" in status["warnings"][0]
    script = in_slips().set(compensator_stroke=0.0).hold(5, EMPTY_N)
    _, locked = fed(script, act(script, "compensator", text="locked"), rig=rig)
    assert locked["weakest"] == "elevators"


def test_states_of_preparation_are_said_by_people() -> None:
    script = in_slips()
    commands = [
        act(script, "preparation", text="rotation lock: locked"),
        act(script, "preparation", text="positioner: engaged"),
        act(script, "duty", text="pulling on stuck pipe"),
    ]
    _, status = fed(script, *commands)
    assert [each["ok"] for each in status["preparation"]] == [False, True, True]
    assert status["line"]["duty"] == "pulling on stuck pipe"


@pytest.mark.parametrize("name", ["land_rig", "floating_rig"])
def test_the_example_rigs_tell_everything(name: str, pytestconfig: pytest.Config) -> None:
    rig = parse_rig((pytestconfig.rootpath / "config" / f"{name}.toml").read_text("utf-8"))
    status = Pipeline(rig).status()["hoist"]
    assert [key for key, value in status.items() if value is None and key != "compensator"] == [
        "greatest_pull_N"
    ]
    assert status["warnings"] == []
