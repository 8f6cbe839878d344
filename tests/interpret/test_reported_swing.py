"""A reported hook load that is tension times lines swings by the sheaves; slips all the same."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.model import Output, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import EventLimits, Reeving, Rig
from tests.interpret.streams import Script

# Twelve lines of 0.98: 13.442915 and 10.764164 (API RP 9B model, references recomputed).
LINES, EFFICIENCY = 12, 0.98
UP, DOWN = LINES / 13.442915, LINES / 10.764164
EMPTY_N, STRING_N = 450e3, 350e3


def run(script: Script) -> Output:
    """Interpret the script's loads as reported ones."""
    rig = Rig(
        name="Plover 2 (invented)",
        travelling_weight_N=EMPTY_N,
        reeving=Reeving(LINES, EFFICIENCY),
        events=EventLimits(40e3, 40e3),
    )
    samples = script.samples()
    values = {
        "hook_load": np.array(script.load),
        "block_position": samples.values["block_position"],
    }
    as_told = Samples(samples.seq, samples.time_us, samples.row, values, {})
    return Pipeline(rig, bit_depth_m=1000.0).feed(as_told, ())


def casing(joints: int) -> tuple[Script, list[float]]:
    """Joints of 12 m run in, a light string under a heavy block; when each was set."""
    script, set_s = Script(hz=5.0), []
    script.load[0] = EMPTY_N * UP
    for _ in range(joints):
        script.move(13.0, EMPTY_N * UP, 0.5).hold(20, EMPTY_N * UP)
        script.ramp(13.1, (EMPTY_N + STRING_N) * UP, 0.05)
        script.move(13.2, (EMPTY_N + STRING_N) * UP, 0.05).hold(5, (EMPTY_N + STRING_N) * UP)
        script.ramp(13.16, (EMPTY_N + STRING_N) * DOWN, 0.1)
        script.move(1.2, (EMPTY_N + STRING_N) * DOWN, 0.4)
        script.hold(2, (EMPTY_N + STRING_N) * DOWN).ramp(1.1, EMPTY_N * DOWN)
        set_s.append(script.seconds)
        script.move(0.9, EMPTY_N * DOWN, 0.1).hold(15, EMPTY_N * DOWN)
        script.ramp(0.94, EMPTY_N * UP)
    return script.hold(20, EMPTY_N * UP), set_s


def test_the_factors_are_those_of_the_published_model() -> None:
    assert load_factor_hoisting(LINES, EFFICIENCY) == pytest.approx(13.442915, abs=1e-6)
    assert load_factor_lowering(LINES, EFFICIENCY) == pytest.approx(10.764164, abs=1e-6)


def test_slips_are_seen_although_the_empty_block_reads_a_quarter_more() -> None:
    # 502 kN empty after lowering, 402 kN after hoisting; the lightest string reads 714 kN.
    script, set_s = casing(4)
    output = run(script)
    assert [event.kind for event in output.events] == []
    known = [(row.in_slips_us or 0) / 1e6 for row in output.trip_rows]
    assert known == pytest.approx(set_s, abs=2.0)


def test_a_string_that_reads_less_going_up_is_fully_on_where_it_rises_no_more() -> None:
    # From 13.1 m (fully on) to 1.2 m (begins to come off) the pipe went 11.9 m each time.
    script, _ = casing(4)
    rows = run(script).trip_rows
    assert [row.length_m for row in rows][1:] == pytest.approx([11.9] * 3, abs=0.04)
