"""A string that turns drags along the hole by v / sqrt(v^2 + (w r)^2) of its sliding drag."""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.interpret.trend import Second, Trend
from monitor.interpret.turning_drag import TURNING_DOWN, TURNING_UP, axial_share, learnt_law
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
        script.hold(10, EMPTY_N).ramp(top_m + 0.2, TURNING_N + DRAG_N).hold(5, TURNING_N)
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
    assert share[2] == pytest.approx(0.3 / math.hypot(0.3, 10.5 * RADIUS_M))


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
