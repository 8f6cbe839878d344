"""A block position that comes late, or in coarse steps: its reversal is felt before it is seen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.interpret.lateness import Lateness
from monitor.model import Event, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig
from tests.interpret.streams import Script, plain_rig
from tests.laws.records import simulated

LOAD_N = 1200e3


def later(samples: Samples, rows: int) -> Samples:
    """The block channel of another device, so many rows behind."""
    block = samples.values["block_position"]
    late = np.concatenate((np.full(rows, block[0]), block[: len(block) - rows]))
    return replace(samples, values={**samples.values, "block_position": late})


def in_steps(samples: Samples, step_m: float) -> Samples:
    block = np.round(samples.values["block_position"] / step_m) * step_m
    return replace(samples, values={**samples.values, "block_position": block})


def late_s(samples: Samples, rig: Rig) -> float:
    pipeline = Pipeline(rig, bit_depth_m=3000.0)
    pipeline.feed(samples)
    stage = pipeline.stages["lateness"]
    assert isinstance(stage, Lateness)
    return stage.late_s


@pytest.mark.parametrize(("hz", "shift_s"), [(5.0, 0.0), (5.0, 2.0), (10.0, 3.0), (1.0, 3.0)])
def test_how_late_the_block_comes_is_read_where_the_string_is_lifted(
    hz: float, shift_s: float
) -> None:
    """By hand: half of the load is on after half of the lift, so the block is up by then."""
    script = Script(hz=hz)
    for _ in range(5):
        script.stand_out(LOAD_N)
    found = late_s(later(script.samples(), round(shift_s * hz)), plain_rig())
    # A lift of 0.2 m at 0.1 m/s: up to a second of it has gone by at half the load, and the
    # row before the one in which the block is seen up counts.
    assert shift_s - 1.0 - 1.0 / hz - 0.3 <= found <= shift_s


@pytest.fixture(scope="module")
def trip() -> tuple[Rig, Samples, float]:
    return simulated("trip_out", 1.2)


def overpulls(rig: Rig, samples: Samples, depth_m: float) -> list[Event]:
    output = Pipeline(rig, bit_depth_m=depth_m).feed(samples)
    return [event for event in output.events if event.kind == "overpull"]


@pytest.mark.parametrize("spoilt", ["late", "coarse"])
def test_setting_slips_is_no_overpull(trip: tuple[Rig, Samples, float], spoilt: str) -> None:
    """Friction in the sheaves turns over as the block goes back: the load seems to jump."""
    rig, samples, depth_m = trip
    hz = 1e6 / float(np.median(np.diff(samples.time_us)))
    true = overpulls(rig, samples, depth_m)
    bad = later(samples, round(2.0 * hz)) if spoilt == "late" else in_steps(samples, 0.1)
    found = overpulls(rig, bad, depth_m)
    # After three lifts have told that the block is late.
    known_us = int(samples.time_us[0]) + 600_000_000
    false = [
        event
        for event in found
        if event.start_us > known_us
        and not any(abs(event.start_us - each.start_us) < 10e6 for each in true)
    ]
    assert len(false) <= 1
    missed = [
        each for each in true if not any(abs(e.start_us - each.start_us) < 10e6 for e in found)
    ]
    assert missed == []


def test_a_late_block_is_told_among_the_signs_of_the_signal() -> None:
    script = Script(hz=5.0)
    for _ in range(5):
        script.stand_out(LOAD_N)
    for shift, told in ((0, False), (10, True)):
        pipeline = Pipeline(plain_rig(), bit_depth_m=3000.0)
        pipeline.feed(later(script.samples(), shift))
        signs = pipeline.summary()["sensor"]["signs"]
        assert any("after the load" in sign for sign in signs) == told
