"""Weight on bit by a tare taken off bottom, as the definitions say."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Activity, Output, State
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, act
from tests.laws.records import simulated

OFF_N = 1100e3
DRILL_M_S = 0.006


def drilling() -> Script:
    """Return a stand drilled: off bottom, lowered to bottom, 80 kN on the bit."""
    script = Script(28.0).set(rotary_speed=12.0, flow_in=0.03)
    script.hold(10, EMPTY_N).ramp(28.3, OFF_N).hold(10, OFF_N)
    script.move(27.0, OFF_N, 0.04)
    return script.move(26.0, OFF_N - 80e3, DRILL_M_S)


def weight(output: Output) -> np.ndarray:
    return np.asarray(output.columns["weight_on_bit_N"], dtype=float)


def test_weight_on_bit_is_tare_less_load() -> None:
    output = drilling().run(2500.0)
    assert output.columns["activity"][-1] == Activity.ON_BOTTOM
    assert weight(output)[-1] == pytest.approx(80e3, abs=1e3)
    assert output.columns["tare_N"][-1] == pytest.approx(OFF_N, rel=1e-3)


def test_hole_gets_deeper_with_the_bit() -> None:
    output = drilling().run(2500.0)
    assert output.columns["hole_depth_m"][-1] == pytest.approx(
        float(output.columns["bit_depth_m"][-1]), abs=0.01
    )


def test_unknown_before_a_tare_and_in_slips() -> None:
    output = drilling().run(2500.0)
    early = weight(output)[:60]
    assert np.isnan(early).all()
    hanging = np.asarray(output.columns["activity"]) != Activity.IN_SLIPS
    first = int(np.argmax(hanging)) + 25
    assert int(output.columns["state"][first]) & State.TARE_MISSING


def test_zero_off_bottom() -> None:
    script = drilling().move(27.5, OFF_N, 0.2).hold(20, OFF_N)
    assert weight(script.run(2500.0))[-1] == 0.0


def test_connection_ends_the_tare() -> None:
    script = drilling().move(28.0, OFF_N, 0.2).ramp(27.8, EMPTY_N).hold(60, EMPTY_N)
    script.ramp(28.0, OFF_N).hold(5, OFF_N)
    assert np.isnan(weight(script.run(2500.0))[-1])


def test_tare_ends_after_half_an_hour() -> None:
    script = drilling().move(26.0 - DRILL_M_S * 1810, OFF_N - 80e3, DRILL_M_S)
    assert np.isnan(weight(script.run(2500.0))[-1])


def test_flow_change_over_a_tenth_ends_the_tare() -> None:
    script = drilling().set(flow_in=0.026).move(25.9, OFF_N - 80e3, DRILL_M_S)
    assert np.isnan(weight(script.run(2500.0))[-1])


def test_tare_by_hand() -> None:
    script = drilling()
    command = act(script, "tare", OFF_N - 20e3)
    output = script.move(25.9, OFF_N - 80e3, DRILL_M_S).run(2500.0, (command,))
    assert weight(output)[-1] == pytest.approx(60e3, abs=1e3)


def test_touching_known_bottom_is_no_slack_off() -> None:
    script = drilling().move(28.0, OFF_N, 0.2).hold(5, OFF_N)
    script.move(26.02, OFF_N, 0.1).move(25.9, OFF_N - 100e3, DRILL_M_S).hold(10, OFF_N - 100e3)
    output = script.run(2500.0)
    assert [event.kind for event in output.events] == []
    assert output.columns["activity"][-1] == Activity.ON_BOTTOM


def test_weight_coming_on_is_no_slack_off_where_the_depth_is_not_known() -> None:
    """Simulated drilling, whose truth has no event: the bit lands on bottom at every stand."""
    rig, samples, _ = simulated("drilling", 3.0, 10.0, seed=1)
    output = Pipeline(rig).feed(samples)
    assert sum(row.direction == "drilled" for row in output.trip_rows) >= 2
    assert [event for event in output.events if event.kind == "slack_off"] == []


def touched(lighter_N: float, speed_m_s: float) -> Output:
    script = Script(28.0).set(rotary_speed=12.0, flow_in=0.03)
    script.hold(10, EMPTY_N).ramp(28.3, OFF_N).hold(10, OFF_N).move(27.0, OFF_N, 0.04)
    return script.move(27.0 - 100.0 * speed_m_s, OFF_N - lighter_N, speed_m_s).run(2500.0)


def test_a_bit_that_carries_little_is_on_bottom_once_that_lasts() -> None:
    """Eight kilonewtons, below the least contact of 11 kN, for 100 s of drilling."""
    output = touched(8e3, DRILL_M_S)
    assert output.columns["activity"][-1] == Activity.ON_BOTTOM
    assert weight(output)[-1] == pytest.approx(8e3, abs=1e3)


@pytest.mark.parametrize(("lighter_N", "speed_m_s"), [(8e3, 0.1), (3e3, DRILL_M_S)])
def test_faster_pipe_or_less_weight_is_no_contact(lighter_N: float, speed_m_s: float) -> None:
    assert Activity.ON_BOTTOM not in touched(lighter_N, speed_m_s).columns["activity"]
