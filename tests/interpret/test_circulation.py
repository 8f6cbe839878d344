"""Pumps that lift the string: read off at rest, then expected where they start or stop."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Output
from tests.interpret.streams import EMPTY_N, Script

OUT_N = 1000e3
LIFT_N = 30e3  # off the hook while the pumps run
FLOW_M3_S = 0.03


def pulled(script: Script, load_N: float) -> Script:
    """Pull one stand, rack it."""
    return script.stand_out(load_N)


def record(lift_N: float) -> Script:
    """Six stands out without flow; pumps tried at rest off slips; then one stand with flow."""
    script = Script(1.0).set(flow_in=0.0)
    for _ in range(6):
        pulled(script, OUT_N)
    script.hold(10, EMPTY_N).ramp(1.2, OUT_N).hold(10, OUT_N)
    script.set(flow_in=FLOW_M3_S).hold(20, OUT_N - lift_N)
    script.set(flow_in=0.0).hold(20, OUT_N)
    script.move(29.0, OUT_N).hold(3, OUT_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)
    script.move(1.0, EMPTY_N, 0.8)
    return script


def expected(output: Output) -> np.ndarray:
    return np.asarray(output.columns["expected_up_N"], dtype=float)


@pytest.mark.parametrize("lift_N", [LIFT_N, 0.0])
def test_expected_load_follows_the_pumps_by_the_step_read_off(lift_N: float) -> None:
    script = record(lift_N)
    before = len(script.block)
    script.set(flow_in=FLOW_M3_S).hold(10, EMPTY_N).ramp(1.2, OUT_N - lift_N)
    script.move(20.0, OUT_N - lift_N)
    output = script.run(2500.0)
    off, on = expected(output)[before - 30], expected(output)[-5]
    assert on - off == pytest.approx(-lift_N, abs=6e3)
    assert [event.kind for event in output.events] == []


def test_a_step_while_the_pipe_moves_is_not_read() -> None:
    script = Script(1.0).set(flow_in=0.0)
    for _ in range(6):
        pulled(script, OUT_N)
    script.hold(10, EMPTY_N).ramp(1.2, OUT_N).move(14.0, OUT_N)
    script.set(flow_in=FLOW_M3_S).move(28.0, OUT_N - LIFT_N)
    output = script.run(2500.0)
    both = expected(output)[-80], expected(output)[-2]
    assert both[1] - both[0] == pytest.approx(0.0, abs=8e3)


def test_flow_known_as_it_was_learnt_changes_nothing() -> None:
    """Pumps always on: nothing is added, whatever they do to the load."""
    script = Script(1.0).set(flow_in=FLOW_M3_S)
    for _ in range(6):
        pulled(script, OUT_N)
    with_flow = expected(script.run(2500.0))
    plain = Script(1.0)
    for _ in range(6):
        pulled(plain, OUT_N)
    assert np.array_equal(with_flow, expected(plain.run(2500.0)), equal_nan=True)
