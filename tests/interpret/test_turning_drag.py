"""A string that turns drags along the hole by v / sqrt(v^2 + (w r)^2) of its sliding drag."""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.interpret.trend import Second, Trend
from monitor.interpret.turning_drag import TURNING_DOWN, TURNING_UP, axial_share, learnt_law
from monitor.interpret.turning_weight import TurningWeight
from monitor.model import Event, Output
from tests.interpret.drilled import BOTTOM_M, ON_BIT_N, TURNING_N
from tests.interpret.streams import EMPTY_N, Script

# A deviated hole: the sliding string drags a fifth of its weight each way. Joints of
# 6 5/8 in touch the wall (API Spec 5DP, NC50).
DRAG_N = 170e3
RADIUS_M = 0.1683 / 2


def load_N(speed_m_s: float, rotary_rad_s: float) -> float:
    """Closed form: friction points against the resultant of both speeds."""
    return TURNING_N + DRAG_N * speed_m_s / math.hypot(speed_m_s, rotary_rad_s * RADIUS_M)


def ream(script: Script, to_m: float, speed_m_s: float, rotary_rad_s: float) -> Script:
    signed = math.copysign(speed_m_s, to_m - script.block[-1])
    return script.move(to_m, load_N(signed, rotary_rad_s), speed_m_s)


def drilled_stands(stands: int, rotary_rad_s: float, speed_m_s: float) -> Script:
    """Drilled, reamed at one speed, rotary stopped, slips, and the next stand."""
    script = Script(BOTTOM_M).set(rotary_speed=0.0)
    for stand in range(stands):
        top_m = BOTTOM_M + (26.0 if stand else 6.0)  # the bottom is not known yet
        script.set(rotary_speed=0.0).hold(10, EMPTY_N).move(top_m, EMPTY_N, 0.8)
        script.hold(10, EMPTY_N).ramp(top_m + 0.2, TURNING_N + DRAG_N)
        script.hold(5, TURNING_N + DRAG_N)
        script.set(rotary_speed=rotary_rad_s).hold(10, TURNING_N)
        ream(script, BOTTOM_M + 1.0, 0.1, rotary_rad_s).hold(6, TURNING_N)
        script.move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.008)
        ream(script, BOTTOM_M + 15.0, speed_m_s, rotary_rad_s).hold(3, TURNING_N)
        ream(script, BOTTOM_M + 1.0, speed_m_s, rotary_rad_s).hold(3, TURNING_N)
        ream(script, BOTTOM_M + 2.0, 0.1, rotary_rad_s)
        script.set(rotary_speed=0.0).hold(4, TURNING_N).ramp(BOTTOM_M + 1.7, EMPTY_N)
        script.hold(20, EMPTY_N)
    return script


def reamed_again(rotary_rad_s: float, speed_m_s: float, excess_N: float) -> Output:
    """Two stands reamed slowly at 120 rpm, a third otherwise, with an excess on its way up."""
    script = drilled_stands(2, 12.6, 0.1)
    script.hold(10, EMPTY_N).move(BOTTOM_M + 26.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 26.2, TURNING_N + DRAG_N).hold(5, TURNING_N)
    script.set(rotary_speed=rotary_rad_s).hold(10, TURNING_N)
    ream(script, BOTTOM_M + 1.0, 0.1, rotary_rad_s).hold(6, TURNING_N)
    script.move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.008)
    ream(script, BOTTOM_M + 14.0, speed_m_s, rotary_rad_s)
    script.move(BOTTOM_M + 18.0, load_N(speed_m_s, rotary_rad_s) + excess_N, speed_m_s)
    ream(script, BOTTOM_M + 22.0, speed_m_s, rotary_rad_s).hold(3, TURNING_N)
    return ream(script, BOTTOM_M + 2.0, speed_m_s, rotary_rad_s).run(2500.0)


def loads(output: Output) -> list[Event]:
    return [event for event in output.events if event.kind in ("overpull", "slack_off")]


@pytest.mark.parametrize(("rotary_rad_s", "speed_m_s"), [(6.3, 0.3), (12.6, 0.35), (7.0, 0.2)])
def test_reaming_at_another_speed_is_no_event(rotary_rad_s: float, speed_m_s: float) -> None:
    assert loads(reamed_again(rotary_rad_s, speed_m_s, 0.0)) == []


def test_a_pull_while_reaming_at_another_speed_is_one() -> None:
    (event,) = loads(reamed_again(7.0, 0.2, 120e3))
    assert event.kind == "overpull"
    # Within a fifth: the drag at this speed has been seen for twelve metres only.
    assert event.peak_excess_N == pytest.approx(120e3, rel=0.2)


def test_sheaves_that_turn_over_under_a_block_at_rest_are_no_overpull() -> None:
    """The drag of a pick-up goes as the rotary starts; what friction holds above it is no pull."""
    script = drilled_stands(3, 12.6, 0.1)
    script.hold(10, EMPTY_N).move(BOTTOM_M + 26.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 26.2, TURNING_N + DRAG_N).hold(5, TURNING_N + DRAG_N)
    script.set(rotary_speed=12.6).hold(15, TURNING_N + 60e3)
    assert loads(ream(script, BOTTOM_M + 20.0, 0.1, 12.6).run(2500.0)) == []


def test_share_is_that_of_the_resultant() -> None:
    speed, rotary = np.array([0.1, 0.3, 0.3]), np.array([10.0, 10.0, np.nan])
    share = axial_share(speed, rotary, 2 * RADIUS_M)
    assert share[:2].tolist() == pytest.approx(
        [0.1 / math.hypot(0.1, 10.0 * RADIUS_M), 0.3359], rel=1e-3
    )
    assert share[2] == pytest.approx(0.3 / math.hypot(0.3, 8.4 * RADIUS_M))


def test_drag_learnt_one_way_is_expected_the_other_way() -> None:
    down = Trend(TURNING_DOWN)
    for k in range(60):
        share = 0.05 if k % 20 < 10 else 0.4
        seen = Second(100.0 + k, 2500.0, -DRAG_N * share, share, float(k // 20), True)
        down.add(seen, (250.0, 60.0, 850e3))
    assert down.speed_slope == pytest.approx(-DRAG_N, rel=0.05)
    law = learnt_law(TURNING_UP, down, 850e3)
    assert law.mean * 850e3 == pytest.approx(DRAG_N, rel=0.05)
    assert law.spread < TURNING_UP.spread


ROTARY_RAD_S = 8.4


def picked_up(script: Script) -> Script:
    """A stand added and picked up from slips, sliding; then the rotary starts at rest."""
    script.hold(10, EMPTY_N).move(BOTTOM_M + 14.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 14.2, TURNING_N + DRAG_N).move(BOTTOM_M + 14.6, TURNING_N + DRAG_N, 0.1)
    return script.hold(4, TURNING_N + DRAG_N).hold(8, TURNING_N)


def drill_down(script: Script) -> Script:
    """From pick-up to bottom, 2.2 m below where slips were set, and on at 108 m/h."""
    ream(script, BOTTOM_M + 12.0, 0.1, ROTARY_RAD_S).hold(6, TURNING_N)
    ream(script, BOTTOM_M + 11.8, 0.03, ROTARY_RAD_S)
    return script.move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.03)


def drilled_bare(stands: int, *, stopped_on_bottom: bool = False) -> Script:
    """No word of the rotary: drilled, reamed fast, weights taken sliding, slips."""
    script = Script(BOTTOM_M)
    for _ in range(stands):
        picked_up(script)
        drill_down(script)
        if stopped_on_bottom:
            script.hold(5, TURNING_N - ON_BIT_N)
            script.move(BOTTOM_M + 10.0, TURNING_N + DRAG_N, 0.2)
        else:
            ream(script, BOTTOM_M + 10.0, 0.25, ROTARY_RAD_S).hold(4, TURNING_N)
            ream(script, BOTTOM_M + 2.0, 0.25, ROTARY_RAD_S).hold(6, TURNING_N)
            script.move(BOTTOM_M + 6.0, TURNING_N + DRAG_N, 0.15)
        script.hold(2, TURNING_N + DRAG_N)
        script.move(BOTTOM_M + 2.5, TURNING_N - 0.8 * DRAG_N, 0.15)
        script.hold(1, TURNING_N - 0.8 * DRAG_N).ramp(BOTTOM_M + 2.2, EMPTY_N).hold(20, EMPTY_N)
    return script


@pytest.mark.parametrize("stopped_on_bottom", [False, True])
def test_without_a_channel_turned_and_slid_are_told_apart(stopped_on_bottom: bool) -> None:
    output = drilled_bare(6, stopped_on_bottom=stopped_on_bottom).run(2500.0)
    assert [e.kind for e in output.events if e.kind in ("overpull", "slack_off", "stuck")] == []


def test_without_a_channel_a_pull_of_the_sliding_string_is_found() -> None:
    script = picked_up(drilled_bare(4))
    drill_down(script)
    ream(script, BOTTOM_M + 4.0, 0.25, ROTARY_RAD_S).hold(6, TURNING_N)
    script.move(BOTTOM_M + 8.0, TURNING_N + DRAG_N, 0.15)
    script.move(BOTTOM_M + 10.0, TURNING_N + DRAG_N + 100e3, 0.15)
    script.move(BOTTOM_M + 13.0, TURNING_N + DRAG_N, 0.15)
    (event,) = loads(script.run(2500.0))
    # Within a fifth: the drag has been seen for a few metres only.
    assert event.peak_excess_N == pytest.approx(100e3, rel=0.2)


def test_runs_are_told_apart_half_way_between_turning_and_sliding() -> None:
    weight = TurningWeight(EMPTY_N, 2 * RADIUS_M)
    weight.pick_up(TURNING_N + DRAG_N, 10.0)  # its weight is told later
    weight.hang(TURNING_N, 20.0)
    assert weight.drag_N(1.0) == pytest.approx(DRAG_N)
    turned_N = DRAG_N * 0.3 / math.hypot(0.3, ROTARY_RAD_S * RADIUS_M)
    half_N = TURNING_N + 0.5 * (turned_N + DRAG_N)
    assert weight.is_sliding(1.0, 0.3, half_N + 1e3)
    assert not weight.is_sliding(1.0, 0.3, half_N - 1e3)


def test_with_a_channel_a_pull_is_found_before_hoisting_was_learnt() -> None:
    """The sliding string was picked up at connections only: that tells what it weighs hoisted."""
    script = drilled_stands(3, 12.6, 0.1)
    script.hold(10, EMPTY_N).move(BOTTOM_M + 26.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 26.2, TURNING_N + DRAG_N).hold(5, TURNING_N + DRAG_N)
    script.set(rotary_speed=12.6).hold(10, TURNING_N)
    ream(script, BOTTOM_M + 1.0, 0.1, 12.6).hold(6, TURNING_N)
    script.move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.008).set(rotary_speed=0.0)
    script.hold(6, TURNING_N).move(BOTTOM_M + 5.0, TURNING_N + DRAG_N, 0.3)
    script.move(BOTTOM_M + 8.0, TURNING_N + DRAG_N + 180e3, 0.3)
    script.move(BOTTOM_M + 12.0, TURNING_N + DRAG_N, 0.3)
    (event,) = loads(script.run(2500.0))
    # A pick-up tells the drag to a fifth of it.
    assert event.peak_excess_N == pytest.approx(180e3, abs=0.2 * DRAG_N)
