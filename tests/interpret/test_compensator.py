"""The compensator's states: rating, height at crown and floor, depth, and heave over its limit."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from monitor.model import Event, State
from monitor.pipeline import Pipeline
from monitor.rig.hoisting import Compensator, Drawworks
from monitor.rig.rig import DepthMark, Equipment, Limits, Rig, Section
from tests.interpret.streams import EMPTY_N, Script, act, plain_rig
from tests.interpret.test_heave import AMPLITUDE_M, heaving, trip

LOAD_N = 1200e3
STROKE_M, LOAD_LIMIT_N, LOCKED_N, SPRING_N_m = 7.5, 1.9e6, 3.0e6, 2e4
PIPE = Section("pipe", None, 0.127, 0.1086, 343.0)


def fitted(kind: str = "in-line", state: str = "open", **changes: object) -> Rig:
    """Return a rig with a compensator rated for both of its states."""
    settings: dict[str, object] = {
        "compensator": Compensator(kind, STROKE_M, LOAD_LIMIT_N, SPRING_N_m, state),
        "equipment": (Equipment("compensator", LOCKED_N, "below block", "300 t"),),
        "limits": Limits(floor_m=1.5, crown_m=32.0),
        "string": (PIPE,),
        "mud_density_kg_m3": 1200.0,
    }
    return plain_rig(**{**settings, **changes})


def kinds(events: list[Event]) -> list[str]:
    return [event.kind for event in events]


def told(pipeline: Pipeline) -> dict[str, Any]:
    status: dict[str, Any] = pipeline.status()["hoist"]
    return status


def test_a_stroke_that_is_drawn_out_is_open_whatever_was_said() -> None:
    script = trip(1).hold(10, EMPTY_N).ramp(1.2, LOAD_N).hold(20, LOAD_N)
    drawn_in = script.samples()
    rows = len(drawn_in)
    stroke = np.zeros(rows)
    stroke[-50:] = 3.0
    samples = replace(drawn_in, values={**drawn_in.values, "compensator_stroke": stroke})
    pipeline = Pipeline(fitted(state="locked"), bit_depth_m=2000.0)
    columns = pipeline.feed(samples).columns
    room = columns["room_left_N"] + columns["hook_load_half_width_N"]
    status = told(pipeline)
    assert room[-1] == pytest.approx(LOAD_LIMIT_N - LOAD_N, abs=0.02 * LOAD_N)
    assert room[-60] == pytest.approx(LOCKED_N - LOAD_N, abs=0.02 * LOAD_N)
    assert status["weakest"] == "compensator, open"
    assert status["compensator"]["load_limit_N"] == LOAD_LIMIT_N
    assert "taken as open" in status["warnings"][0]


def test_the_stroke_in_line_takes_room_at_the_floor_and_none_at_the_crown() -> None:
    down = Script(block_m=12.0).set(compensator_stroke=3.0).hold(5, EMPTY_N)
    down.move(4.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(down.run(rig=fitted()).events) == ["near_floor"]
    drawn_in = Script(block_m=12.0).set(compensator_stroke=0.0).hold(5, EMPTY_N)
    drawn_in.move(4.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(drawn_in.run(rig=fitted(state="locked")).events) == []
    up = Script(block_m=12.0).set(compensator_stroke=3.0).hold(5, EMPTY_N)
    up.move(31.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(up.run(rig=fitted()).events) == []


def test_the_stroke_at_the_crown_takes_room_there() -> None:
    up = Script(block_m=12.0).set(compensator_stroke=3.0).hold(5, EMPTY_N)
    up.move(30.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(up.run(rig=fitted("crown")).events) == ["near_crown"]
    down = Script(block_m=12.0).set(compensator_stroke=3.0).hold(5, EMPTY_N)
    down.move(4.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(down.run(rig=fitted("crown")).events) == []


def test_open_and_not_measured_all_of_the_stroke_counts_until_it_is_locked() -> None:
    script = Script(block_m=20.0).hold(5, EMPTY_N).move(8.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(script.run(rig=fitted()).events) == ["near_floor"]
    locked = Script(block_m=20.0).hold(5, EMPTY_N)
    say = act(locked, "compensator", text="locked")
    locked.move(8.0, EMPTY_N).hold(5, EMPTY_N)
    assert kinds(locked.run(rig=fitted(), commands=(say,)).events) == []


def test_depth_is_unsure_while_open_and_not_measured_and_sure_again_once_locked() -> None:
    script = Script().stand_out(LOAD_N).hold(5, EMPTY_N)
    say = act(script, "compensator", text="locked")
    rows = len(script.block)
    script.stand_out(LOAD_N)
    state = script.run(rig=fitted(), commands=(say,)).columns["state"]
    unsure = (state & State.DEPTH_UNCERTAIN) > 0
    assert unsure[: rows - 1].all()
    assert not unsure[rows + 1 :].any()


def test_the_stroke_of_one_at_the_crown_is_in_the_block_position_already() -> None:
    script = trip(1).hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N).hold(20, LOAD_N)
    plain = script.samples()
    stroke = np.linspace(0.0, 3.0, len(plain))
    samples = replace(plain, values={**plain.values, "compensator_stroke": stroke})
    depth = [
        Pipeline(fitted(kind), bit_depth_m=2000.0).feed(samples).columns["bit_depth_m"][-1]
        for kind in ("in-line", "crown")
    ]
    without = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(plain).columns["bit_depth_m"][-1]
    assert depth[1] == without
    assert depth[0] > depth[1] + 0.5


def test_heave_load_and_sea_bed_stand_beside_the_stroke() -> None:
    """The swing left by the springs in series, from their stiffnesses by hand."""
    script = trip(1).hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N).hold(120, LOAD_N)
    rig = fitted(depth_marks=(DepthMark("sea bed", 400.0),))
    pipeline = Pipeline(rig, bit_depth_m=2000.0)
    samples = heaving(script, share=0.0, stroke_m=3.0)
    depth_m = float(pipeline.feed(samples).columns["bit_depth_m"][-1])
    part = told(pipeline)["compensator"]
    area_m2 = math.pi / 4.0 * (PIPE.outside_diameter_m**2 - PIPE.inside_diameter_m**2)
    string_N_m = 2.068e11 * area_m2 / depth_m  # 30e6 psi, the modulus of oilfield tables
    springs_N_m = SPRING_N_m * string_N_m / (SPRING_N_m + string_N_m)
    assert part["swing_at_bit_N"] == pytest.approx(springs_N_m * 2.0 * AMPLITUDE_M, rel=0.02)
    assert part["heave_amplitude_m"] == pytest.approx(AMPLITUDE_M, rel=0.02)
    assert part["load_mean_N"] == pytest.approx(LOAD_N, rel=0.002)
    heave_m = float(samples.values["heave"][-1])
    assert part["above_sea_bed_m"] == pytest.approx(400.0 + heave_m + 10.0 - 3.0, abs=1e-6)
    assert part["stroke_used_m"] == 0.0


def test_the_room_told_has_the_stroke_off_as_the_events_have() -> None:
    rooms = []
    for kind in ("in-line", "crown"):
        rig = fitted(kind, drawworks=Drawworks(brake_deceleration_m_s2=2.0))
        pipeline = Pipeline(rig)
        pipeline.feed(Script(block_m=12.0).set(compensator_stroke=3.0).hold(5, EMPTY_N).samples())
        braking = told(pipeline)["braking"]
        rooms.append((braking["room_to_crown_m"], braking["room_to_floor_m"]))
    assert rooms == [(20.0, 7.5), (17.0, 10.5)]


@pytest.mark.parametrize(
    ("limit_m", "stroke_m", "says"),
    [(1.8, STROKE_M, "over the heave limit, 1.8 m"), (None, 1.5, "the whole stroke")],
)
def test_waves_over_the_limit_are_one_event(
    limit_m: float | None, stroke_m: float, says: str
) -> None:
    compensator = Compensator("in-line", stroke_m, LOAD_LIMIT_N, SPRING_N_m, "locked")
    rig = fitted(compensator=compensator, limits=Limits(heave_m=limit_m))
    pipeline = Pipeline(rig, bit_depth_m=2000.0)
    events = pipeline.feed(heaving(Script().hold(300, EMPTY_N))).events
    (event,) = [each for each in events if each.kind == "heave_over_limit"]
    assert event.end_us is None
    assert says in event.why
    assert "a wave of 2.0 m" in event.why
    assert "heave is over its limit" in told(pipeline)["warnings"]


def test_waves_under_the_limit_and_calm_after_them() -> None:
    rig = fitted(limits=Limits(heave_m=2.4))
    events = Pipeline(rig).feed(heaving(Script().hold(300, EMPTY_N))).events
    assert kinds(events) == []
    samples = heaving(Script().hold(600, EMPTY_N))
    heave = samples.values["heave"].copy()
    heave[len(heave) // 2 :] = 0.0
    calm = replace(samples, values={**samples.values, "heave": heave})
    (event,) = [
        each
        for each in Pipeline(fitted(limits=Limits(heave_m=1.8))).feed(calm).events
        if each.kind == "heave_over_limit"
    ]
    assert event.end_us is not None
    assert 300e6 < event.end_us < 430e6  # the last waves leave the two minutes looked back on
