"""Line count and zero from the empty block, each connection, on written records."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.model import Command, Event, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import Reeving, Rig, Sensor
from tests.interpret.streams import EMPTY_N, Script, act, plain_rig

FREE_N = 900e3
NOISE_N = 200.0


def tripping(stands: int, *, into_hole: bool = False) -> Script:
    script = Script()
    for _ in range(stands):
        if into_hole:
            script.stand_in(FREE_N)
        else:
            script.stand_out(FREE_N)
    return script


def told(
    samples: Samples, kind: str, rig: Rig | None = None, commands: tuple[Command, ...] = ()
) -> list[Event]:
    random = np.random.default_rng(11)
    tension = samples.values["deadline_tension"]
    noisy = tension + random.normal(0.0, NOISE_N, len(tension))
    samples = replace(samples, values={**samples.values, "deadline_tension": noisy})
    events = Pipeline(rig or plain_rig(), bit_depth_m=2000.0).feed(samples, commands).events
    return [e for e in events if e.kind == kind]


def shifted(script: Script, row: int, by_N: float) -> Samples:
    samples = script.samples()
    samples.values["deadline_tension"][row:] += by_N
    return samples


@pytest.mark.parametrize("into_hole", [False, True])
def test_line_count_two_short_is_said_at_the_second_check(into_hole: bool) -> None:
    """Ten lines are strung; the rig file says eight."""
    script = tripping(6, into_hole=into_hole)
    rig = plain_rig(reeving=Reeving(8, 1.0))
    (event,) = told(script.samples(), "line_count_suspect", rig)
    sets = np.flatnonzero(np.diff((np.array(script.load) > 1.5 * EMPTY_N).astype(int)) == -1)
    raised = round(event.raised_us / 1e6 / script.step_s)
    assert np.count_nonzero(sets < raised) == 2
    assert "what 10 lines show where 8 are set" in event.why
    assert event.peak_excess_N == pytest.approx(0.2 * EMPTY_N, rel=0.05)


def test_line_count_two_over_is_said_before_slips_are_told_apart() -> None:
    """Twelve set for ten: the empty block reads like a light string for the first minutes.

    It is the lowest level between runs of the string all the same.
    """
    script = tripping(6)
    rig = plain_rig(reeving=Reeving(12, 1.0))
    (event,) = told(script.samples(), "line_count_suspect", rig)
    sets = np.flatnonzero(np.diff((np.array(script.load) > 1.5 * EMPTY_N).astype(int)) == -1)
    raised = round(event.raised_us / 1e6 / script.step_s)
    assert np.count_nonzero(sets < raised) <= 3
    assert "what 10 lines show where 12 are set" in event.why


def test_a_light_string_that_only_hangs_is_no_line_count() -> None:
    """Block and string 1.2 times the block alone, worked up and down: no empty block shows."""
    script = Script()
    for _ in range(6):
        script.move(20.0, 1.2 * EMPTY_N).move(2.0, 1.2 * EMPTY_N)
    assert told(script.samples(), "line_count_suspect") == []


def test_the_right_line_count_is_not_suspected() -> None:
    assert told(tripping(8).samples(), "line_count_suspect") == []


@pytest.mark.parametrize("share", [0.90, 1.10])
def test_another_weight_that_no_line_count_shows_is_not_suspected(share: float) -> None:
    rig = plain_rig(travelling_weight_N=share * EMPTY_N)
    assert told(tripping(8).samples(), "line_count_suspect", rig) == []


def test_the_right_count_entered_ends_it() -> None:
    script = tripping(4)
    entered = act(script, "lines_strung", 10.0)
    for _ in range(4):
        script.stand_out(FREE_N)
    rig = plain_rig(reeving=Reeving(8, 1.0))
    (event,) = told(script.samples(), "line_count_suspect", rig, (entered,))
    assert event.end_us is not None
    assert event.end_us > entered.time_us


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_zero_off_by_one_per_cent_of_span_within_ten_connections(sign: float) -> None:
    script = tripping(8)
    row = len(script.block)
    for _ in range(10):
        script.stand_out(FREE_N)
    (event,) = told(shifted(script, row, sign * 4500.0), "zero_drift")
    connections = (event.raised_us / 1e6 - row * script.step_s) / (script.seconds / 18)
    assert 0.0 < connections < 10.0
    assert ("more" if sign > 0 else "less") in event.why


def test_zero_that_creeps_is_found_before_it_is_one_per_cent_and_a_half() -> None:
    script = tripping(30)
    samples = script.samples()
    length = len(samples)
    samples.values["deadline_tension"] += np.linspace(0.0, 6750.0, length)
    (event,) = told(samples, "zero_drift")
    assert 0.5 < event.raised_us / 1e6 / script.seconds < 0.95


def test_the_span_of_the_rig_file_counts() -> None:
    script = tripping(8)
    row = len(script.block)
    for _ in range(8):
        script.stand_out(FREE_N)
    samples = shifted(script, row, 1500.0)
    assert told(samples, "zero_drift") == []
    assert len(told(samples, "zero_drift", plain_rig(sensor=Sensor(span_N=150e3)))) == 1


def test_stand_in_the_elevators_is_no_drift() -> None:
    """From the eighth connection on a stand of collars hangs while the block goes down."""
    script = tripping(8)
    for _ in range(8):
        script.hold(10, EMPTY_N).ramp(1.2, FREE_N).move(29.0, FREE_N).hold(3, FREE_N)
        script.ramp(28.8, EMPTY_N).hold(20, EMPTY_N).move(20.0, EMPTY_N + 55e3, 0.5)
        script.move(1.0, EMPTY_N, 0.8)
    assert told(script.samples(), "zero_drift") == []


def test_one_odd_connection_is_no_drift() -> None:
    script = tripping(8)
    first = len(script.block)
    script.stand_out(FREE_N)
    last = len(script.block)
    for _ in range(6):
        script.stand_out(FREE_N)
    samples = script.samples()
    samples.values["deadline_tension"][first:last] += 12e3
    assert told(samples, "zero_drift") == []


def test_line_weight_is_no_drift_when_strokes_change() -> None:
    """Ten lines of 50 N/m: the reading falls by 0.5 kN a metre of height."""
    script = tripping(8)
    for _ in range(8):
        script.hold(10, EMPTY_N).ramp(1.2, FREE_N).move(29.0, FREE_N).hold(3, FREE_N)
        script.ramp(28.8, EMPTY_N).hold(20, EMPTY_N).move(18.0, EMPTY_N, 0.8)
        script.hold(30, EMPTY_N).move(1.0, EMPTY_N, 3.0)
    samples = script.samples()
    samples.values["deadline_tension"] -= 50.0 * samples.values["block_position"]
    assert told(samples, "zero_drift") == []


def test_gear_entered_by_a_person_begins_the_chart_anew() -> None:
    script = tripping(8)
    row = len(script.block)
    changed = act(script, "travelling_weight", EMPTY_N + 60e3)
    for _ in range(8):
        script.stand_out(FREE_N)
    samples = shifted(script, row, 6000.0)
    assert told(samples, "zero_drift", None, (changed,)) == []
    assert len(told(samples, "zero_drift")) == 1
