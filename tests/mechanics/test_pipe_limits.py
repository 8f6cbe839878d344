"""The pipe's limit down a tapered string, and limits by what is in use."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from monitor.mechanics.pipe_limits import pipe_limit, pipe_pull_by_depth, section_capacities_N
from monitor.mechanics.ratings import (
    InUse,
    equipment_in_use,
    hoist_limits,
    in_use_at_first,
    pull_limits,
)
from monitor.mechanics.wire_rope import LEAST_DESIGN_FACTOR
from monitor.rig.hoisting import DUTIES, Compensator, Gear
from monitor.rig.rig import Equipment, Line, Pipe, Reeving, Rig, Section

WEAK = Section("3 1/2 in pipe", 1000.0, 0.0889, 0.0702, 200.0, 517.1e6, "new")
STRONG = Section("5 in pipe", None, 0.127, 0.1086, 300.0)
TAPERED = Rig(
    name="Test (invented)",
    travelling_weight_N=245e3,
    reeving=Reeving(10, 0.985),
    string=(WEAK, STRONG),
    pipe=Pipe("S135", "new", 930.8e6, design_factor=1.25),
)
TOOLS = Equipment("links", 3e6, "below hook"), Equipment("spider", 2e6, "below hook")


def test_the_weak_lower_pipe_is_found_down_the_string():
    # Weak pipe: pi/4 (0.0889^2 - 0.0702^2) 517.1 MPa / 1.25 = 966 kN; above its top hang
    # 1500 m of 300 N/m in air: 450 kN. Strong pipe bears 2.5 MN at the floor.
    capacity = np.pi / 4 * (0.0889**2 - 0.0702**2) * 517.1e6 / 1.25
    found = pipe_limit(TAPERED, 245e3, 2500.0)
    assert found.name == "3 1/2 in pipe"
    assert found.limit_N == pytest.approx(capacity + 450e3 + 245e3, rel=1e-9)
    assert "at 1500 m" in found.printed


def test_an_unknown_depth_takes_the_uppermost_section():
    found = pipe_limit(TAPERED, 245e3)
    assert (found.name, found.printed) == ("5 in pipe", "S135 new at design factor 1.25")


def test_only_lower_pipe_known_is_taken_as_if_at_the_floor():
    rig = dataclasses.replace(TAPERED, pipe=None)
    capacity = section_capacities_N(rig)[0]
    assert section_capacities_N(rig)[1] is None
    assert pipe_limit(rig, 245e3).limit_N == pytest.approx(capacity + 245e3)


def test_the_table_gives_what_the_search_gives():
    depths, pulls = pipe_pull_by_depth(TAPERED)
    for depth in (3.0, 640.0, 999.0, 1003.0, 1555.0, 3333.0):
        searched = pipe_limit(TAPERED, 0.0, depth)
        assert np.interp(depth, depths, pulls) == pytest.approx(searched.limit_N, rel=1e-9)


def test_one_strong_section_needs_no_table():
    depths, pulls = pipe_pull_by_depth(dataclasses.replace(TAPERED, string=(STRONG,)))
    assert len(depths) == len(pulls) == 1
    bare = dataclasses.replace(TAPERED, pipe=None, string=(STRONG,))
    assert len(pipe_pull_by_depth(bare)[0]) == 0
    assert pipe_limit(bare, 245e3) is None


def test_torque_takes_from_the_pull_and_vanishes_at_none():
    def limit_N(torque_Nm: float) -> float:
        pipe = dataclasses.replace(TAPERED.pipe, torque_Nm=torque_Nm)
        return pipe_limit(dataclasses.replace(TAPERED, pipe=pipe), 0.0).limit_N

    assert limit_N(1e-3) == pytest.approx(limit_N(0.0), rel=1e-9)
    assert limit_N(20e3) > limit_N(40e3)


@pytest.mark.parametrize("duty", DUTIES)
def test_the_line_is_held_to_the_factor_of_the_duty(duty):
    rig = dataclasses.replace(TAPERED, line=Line(0.034925, 51.0, 854e3))
    of_duty = {each: hoist_limits(rig, InUse(10, 245e3, duty=each))[0].limit_N for each in DUTIES}
    least = LEAST_DESIGN_FACTOR[duty]
    assert of_duty[duty] * least == pytest.approx(of_duty["drilling"] * 3.0)


def test_gear_brings_its_own_pieces_and_weight():
    gear = (Gear("pipe", 245e3, ("links",)), Gear("casing", 300e3, ("spider",), duty="drilling"))
    rig = dataclasses.replace(TAPERED, equipment=TOOLS, gear=gear)
    assert [piece.name for piece in equipment_in_use(rig, "casing")] == ["spider"]
    assert in_use_at_first(rig) == InUse(10, 245e3, "pipe", "tripping", "")
    limits = pull_limits(rig, 10, InUse(10, 300e3, "casing"))
    assert {each.name: each.limit_N for each in limits}["spider"] == 2.3e6


@pytest.mark.parametrize(("kind", "share"), [("in-line", 1.0), ("crown", 10 / 12)])
def test_an_open_compensator_has_a_limit_of_its_own(kind, share):
    rig = dataclasses.replace(
        TAPERED, reeving=Reeving(10, 0.9999999), compensator=Compensator(kind, 7.0, 1.8e6)
    )
    (only,) = hoist_limits(rig, in_use_at_first(rig))
    assert (only.name, only.limit_N) == (
        "compensator, open",
        pytest.approx(1.8e6 * share, rel=1e-5),
    )
    assert hoist_limits(rig, InUse(10, 245e3, compensator="locked")) == ()


def test_a_derrick_bears_more_with_more_lines():
    derrick = Equipment("derrick", 2e6, "hook load", by_lines=((8, 2e6), (10, 2.4e6)))
    rig = dataclasses.replace(TAPERED, equipment=(derrick,), string=())
    assert [pull_limits(rig, n)[0].limit_N for n in (8, 10, 12)] == [2e6, 2.4e6, 2e6]
