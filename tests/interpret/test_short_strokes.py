"""A bit depth entered wrong: what strokes at connections say against the string described."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Event, Output
from monitor.rig.rig import Rig, Section
from tests.interpret.streams import EMPTY_N, Script, act, plain_rig

# 5 in pipe in light mud by hand: 300 N/m in air, less its buoyancy in 1200 kg/m3.
PIPE = Section("pipe", None, 0.127, 0.1086, 300.0)
STEEL_M2 = np.pi / 4.0 * (0.127**2 - 0.1086**2)
BUOYED_N_M = 300.0 - STEEL_M2 * 1200.0 * 9.80665
DRAG = 0.2  # of the buoyed weight, each way: a bent hole (common practice, from memory)
START_M, STAND_M = 2000.0, 28.0
STANDS = 12


def rig() -> Rig:
    return plain_rig(string=(PIPE,), mud_density_kg_m3=1200.0)


def trip_in(
    script: Script, stands: int, start_m: float, *, extra_N: float = 0.0, extra_down_N: float = 0.0
) -> Script:
    """Run stands, each lifted out of the slips by half a metre before it is lowered."""
    for stand in range(stands):
        weight = BUOYED_N_M * (start_m + STAND_M * stand)
        up, down = (
            EMPTY_N + weight * (1 + DRAG) + extra_N,
            EMPTY_N + weight * (1 - DRAG) + extra_down_N,
        )
        script.hold(10, EMPTY_N).move(28.5, EMPTY_N, 0.8).hold(20, EMPTY_N)
        script.ramp(28.7, up).move(29.2, up, 0.15).hold(2, up)
        script.ramp(29.0, down).move(1.2, down).hold(2, down).ramp(1.0, EMPTY_N)
    return script


def of(output: Output, kind: str) -> list[Event]:
    return [event for event in output.events if event.kind == kind]


@pytest.mark.parametrize("wrong_m", [-300.0, -200.0])
def test_a_depth_too_shallow_is_told_and_asks_for_no_answer_at_each_connection(
    wrong_m: float,
) -> None:
    """Lifted, the string weighs what it weighs: after three connections nothing is over."""
    output = trip_in(Script(28.5), STANDS, START_M).run(START_M + wrong_m, rig=rig())
    (told,) = of(output, "string_suspect")
    assert "check bit depth, string and mud" in told.why
    assert "hoisting at 3" in told.why
    overpulls = of(output, "overpull")
    assert len(overpulls) <= 3
    assert all(event.start_us < told.raised_us for event in overpulls)


def test_a_right_depth_says_nothing() -> None:
    output = trip_in(Script(28.5), STANDS, START_M).run(START_M, rig=rig())
    assert of(output, "string_suspect") == of(output, "overpull") == []


def test_the_right_depth_given_by_a_person_ends_it() -> None:
    """The act says what hangs: the guess is that of the string described again."""
    script = trip_in(Script(28.5), 6, START_M)
    given = act(script, "bit_depth", START_M + 6 * STAND_M)
    trip_in(script, 4, START_M + 6 * STAND_M)
    output = script.run(START_M - 300.0, (given,), rig())
    (told,) = of(output, "string_suspect")
    assert told.end_us is not None
    assert told.end_us >= given.time_us
    after = [event for event in of(output, "overpull") if event.start_us > given.time_us]
    assert after == []


def test_a_hole_tight_at_two_connections_is_tight() -> None:
    """Two pulls of 150 kN among stands that lift freely move no guess."""
    script = trip_in(Script(28.5), 4, START_M)
    trip_in(script, 2, START_M + 4 * STAND_M, extra_N=150e3)
    trip_in(script, 4, START_M + 6 * STAND_M)
    output = script.run(START_M, rig=rig())
    assert of(output, "string_suspect") == []
    assert len(of(output, "overpull")) == 2
