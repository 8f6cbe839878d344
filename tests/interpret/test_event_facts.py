"""Work, repeats by depth and the plain sentence of an event, by hand."""

from __future__ import annotations

import json

import pytest

from monitor.model import Command, Event, Output
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, plain_rig, stand_N

NAN = float("nan")
OUT_N, IN_N = 1000e3, 900e3
DEPTH_M = 2500.0
PULL_N = 80e3
TOP_M, BOTTOM_M = 29.0, 1.2


def pulled(script: Script, held_N: float = 0.0, stands: int = 0) -> Script:
    """Pull one stand; between 10 and 12 m of block height something may hold it.

    ``stands``: how many more hang on it than on the one that weighs ``OUT_N``.
    """
    load_N = OUT_N + stands * stand_N(OUT_N, DEPTH_M)
    script.hold(10, EMPTY_N).ramp(script.block[-1] + 0.2, load_N).move(10.0, load_N)
    script.move(12.0, load_N + held_N).move(TOP_M, load_N)
    script.hold(3, load_N).ramp(TOP_M - 0.2, EMPTY_N).hold(20, EMPTY_N)
    return script.move(1.0, EMPTY_N, 0.8)


def run_in(script: Script, held_N: float = 0.0, stands: int = 0) -> Script:
    """Run one stand back in over the same depths."""
    load_N = IN_N + stands * stand_N(OUT_N, DEPTH_M)
    script.hold(10, EMPTY_N).move(TOP_M - 0.2, EMPTY_N, 0.8).hold(20, EMPTY_N)
    script.ramp(TOP_M, load_N).hold(2, load_N).move(12.0, load_N).move(10.0, load_N - held_N)
    return script.move(BOTTOM_M, load_N).hold(2, load_N).ramp(1.0, EMPTY_N)


def held(output: Output, kind: str) -> list[Event]:
    return [event for event in output.events if event.kind == kind]


def out_and_in(*, out_N: float, in_N: float) -> Script:
    """Eight stands out, the sixth held; eight stands in again, the third of them held there."""
    script = Script(1.0)
    for number in range(1, 9):
        pulled(script, out_N if number == 6 else 0.0, 6 - number)
    for number in range(8, 0, -1):
        run_in(script, in_N if number == 6 else 0.0, 6 - number)
    return script


def test_work_is_excess_times_travel() -> None:
    script = Script(1.0)
    for number in range(1, 8):
        pulled(script, PULL_N if number == 6 else 0.0, 6 - number)
    (event,) = held(script.run(2500.0), "overpull")
    # By hand: 80 kN over 2 m; the speed's windows blur the edges by a few decimetres.
    assert event.work_J == pytest.approx(PULL_N * 2.0, rel=0.15)
    assert event.duration_s == pytest.approx(2.0 / 0.5, abs=1.0)


def test_same_depth_on_another_trip_is_a_repeat() -> None:
    output = out_and_in(out_N=PULL_N, in_N=PULL_N).run(2500.0)
    (out,), (back,) = held(output, "overpull"), held(output, "slack_off")
    assert (out.repeat, back.repeat) == (0, 1)
    assert back.bit_depth_m == pytest.approx(out.bit_depth_m, abs=3.0)
    assert "an earlier trip" in back.why


def test_twice_on_one_trip_is_no_repeat() -> None:
    script = Script(1.0)
    for _ in range(6):
        pulled(script)
    script.hold(10, EMPTY_N).ramp(script.block[-1] + 0.2, OUT_N).move(10.0, OUT_N)
    for _ in range(2):
        script.move(12.0, OUT_N + PULL_N).move(14.0, OUT_N).hold(12, OUT_N)
        script.move(7.0, IN_N).hold(3, IN_N).move(10.0, OUT_N)
    first, second = held(script.run(2500.0), "overpull")
    assert (first.repeat, second.repeat) == (0, 0)


def test_another_depth_is_no_repeat() -> None:
    script = Script(1.0)
    for number in range(1, 9):
        pulled(script, PULL_N if number == 6 else 0.0)
    for number in range(8, 0, -1):
        run_in(script, PULL_N if number == 4 else 0.0)
    (back,) = held(script.run(2500.0), "slack_off")
    assert back.repeat == 0


def test_memory_survives_a_restart_and_a_new_run() -> None:
    rig = plain_rig()
    samples = out_and_in(out_N=PULL_N, in_N=PULL_N).samples()
    half = len(samples) // 2
    pipeline = Pipeline(rig, bit_depth_m=2500.0)
    pipeline.feed(samples.piece(0, half))
    kept = json.loads(json.dumps(pipeline.snapshot()))
    # A new run of the same hole begins meanwhile.
    run = Command(int(samples.seq[half]) - 1, int(samples.time_us[half]), "run", NAN, "2", "who")
    output = Pipeline.restore(rig, kept).feed(samples.piece(half, len(samples)), (run,))
    (back,) = held(output, "slack_off")
    assert back.repeat == 1


def test_sentence_tells_excess_and_normal_load() -> None:
    output = out_and_in(out_N=PULL_N, in_N=0.0).run(2500.0)
    (event,) = held(output, "overpull")
    assert event.why == (
        "80 kN over the 1000 kN that is normal hoisting here, and outside its band"
    )
