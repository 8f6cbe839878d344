"""Ratings as hook load, and the sheet that prints them."""

from __future__ import annotations

import dataclasses
import json

import pytest

from monitor.mechanics.fast_line import derrick_load_N, fast_line_tension_N
from monitor.mechanics.ratings import hook_load_at_rating_N, pull_limits
from monitor.mechanics.reeving import dead_line_tension_N
from monitor.report.rig_sheet import rig_sheet, rig_sheet_text
from monitor.rig.rig import Equipment, Line, Pipe, Reeving, Rig, Section

RIG = Rig(
    name="Test (invented)",
    travelling_weight_N=245e3,
    reeving=Reeving(10, 0.985),
    string=(Section("drill pipe", None, 0.127, 0.1086104, 343.0),),
    line=Line(0.034925, 51.08, strength_N=854e3),
    pipe=Pipe("S135", "premium", 930.8e6),
    equipment=(
        Equipment("crown block", 4448e3, "crown total", "500 short tons"),
        Equipment("dead line anchor", 400e3, "dead line"),
    ),
)


@pytest.mark.parametrize("direction", ["held", "hoisting", "lowering"])
def test_no_direction_passes_the_rating_before_the_limit(direction):
    n, e = 10, 0.985
    crown = hook_load_at_rating_N(RIG, n, 1e6, "crown total")
    assert derrick_load_N(crown, n, e, "fixed", direction) <= 1e6 * (1 + 1e-12)
    fast = hook_load_at_rating_N(RIG, n, 1e5, "fast line")
    assert fast_line_tension_N(fast, n, e, direction) <= 1e5 * (1 + 1e-12)
    dead = hook_load_at_rating_N(RIG, n, 1e5, "dead line")
    assert dead_line_tension_N(dead, n, e, "fixed", direction) <= 1e5 * (1 + 1e-12)


def test_limits_follow_the_lines_strung():
    ten = {limit.name: limit.limit_N for limit in pull_limits(RIG, 10)}
    eight = {limit.name: limit.limit_N for limit in pull_limits(RIG, 8)}
    assert set(ten) == {"crown block", "dead line anchor", "drilling line", "drill pipe"}
    assert eight["drilling line"] < ten["drilling line"]
    assert eight["dead line anchor"] < ten["dead line anchor"]
    assert eight["drill pipe"] == ten["drill pipe"]


def test_limits_are_sorted_and_the_pipe_carries_the_travelling_weight():
    limits = pull_limits(RIG, 10)
    assert [limit.limit_N for limit in limits] == sorted(limit.limit_N for limit in limits)
    pipe = next(limit for limit in limits if limit.name == "drill pipe")
    # 560 800 lb printed for premium 5-in S135 (supplier's sheet), over the design factor 1.1.
    assert pipe.limit_N == pytest.approx(560_800 * 4.44822 / 1.1 + 245e3, rel=2e-4)


def test_a_bare_rig_has_no_limits():
    bare = Rig("Bare (invented)", 245e3, Reeving(10, 0.985))
    assert pull_limits(bare, 10) == ()
    assert rig_sheet(bare)["weakest_link"] is None
    assert "none known" in rig_sheet_text(rig_sheet(bare, 1e6))


def test_refuses_other_places():
    with pytest.raises(ValueError, match="acts is 'somewhere'"):
        hook_load_at_rating_N(RIG, 10, 1e6, "somewhere")


def test_sheet_under_load():
    # 300 000 lbf on 8 lines, K = 1.04: derived values of the published table line_tensions.
    rig = dataclasses.replace(RIG, reeving=Reeving(8, 1 / 1.04))
    lbf = 4.4482216152605
    sheet = rig_sheet(rig, 300_000 * lbf)
    assert sheet["fast_line_tension_N"]["hoisting"] == pytest.approx(44558.35 * lbf, rel=1e-6)
    assert sheet["dead_line_tension_N"]["lowering"] == pytest.approx(42844.57 * lbf, rel=1e-6)
    assert sheet["dead_line_tension_N"]["held"] == pytest.approx(37500 * lbf)
    assert sheet["block_and_tackle_efficiency"]["held"] == 1.0
    assert sheet["derrick_load_N"]["held"] == pytest.approx(375_000 * lbf)
    assert sheet["hoisting"]["fast_line_tension_N"] == sheet["fast_line_tension_N"]["hoisting"]
    weakest = sheet["weakest_link"]["limit_N"]
    assert sheet["room_left_N"] == pytest.approx(weakest - 300_000 * lbf)
    json.dumps(sheet, allow_nan=False)


def test_sheet_text_says_when_it_is_over():
    text = rig_sheet_text(rig_sheet(RIG, 5e6))
    assert "OVER the weakest link" in text
    assert "replace no certificate" in text
    assert "Weakest link: drill pipe" in rig_sheet_text(rig_sheet(RIG), "field")


def test_sheet_takes_no_load_and_refuses_a_negative_one():
    json.dumps(rig_sheet(RIG, 0.0), allow_nan=False)
    with pytest.raises(ValueError, match="load_N is -1.0; must be at least 0"):
        rig_sheet(RIG, -1.0)
