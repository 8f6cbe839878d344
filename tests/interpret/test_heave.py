"""Heave read from a record: its waves, the load over whole ones, and no false overpulls."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from monitor.model import Output, Samples
from monitor.pipeline import Pipeline
from monitor.rig.hoisting import Compensator
from monitor.rig.rig import EventLimits
from monitor.simulate import Simulation
from tests.interpret.streams import EMPTY_N, LINES, Script, plain_rig
from tests.laws.records import Collected, run, simulated

MINUTE_US = 60_000_000
GRAVITY_M_S2 = 9.80665
AMPLITUDE_M, PERIOD_S = 1.0, 10.0
RATE_RAD_S = 2.0 * np.pi / PERIOD_S
LOAD_N = 1200e3
RIG = plain_rig(
    events=EventLimits(60e3, 60e3),
    compensator=Compensator("in-line", 7.5, 2.7e6, 2e4, "locked"),
)


def heaving(script: Script, *, share: float = 1.0, stroke_m: float | None = None) -> Samples:
    """Give the record a regular heave; all that hangs swings by ``share`` of its inertia."""
    samples = script.samples()
    time_s = samples.time_us / 1e6
    heave = AMPLITUDE_M * np.cos(RATE_RAD_S * time_s)
    load = np.array(script.load)
    mass = (EMPTY_N + np.maximum(load - EMPTY_N, 0.0) / 0.85) / GRAVITY_M_S2
    swing = -share * mass * RATE_RAD_S**2 * heave
    values = {
        **samples.values,
        "deadline_tension": (load + swing) / LINES,
        "heave": np.round(heave, 2),
    }
    if stroke_m is not None:
        values["compensator_stroke"] = np.full(len(samples), stroke_m)
    return Samples(samples.seq, samples.time_us, samples.row, values, {})


def feed(samples: Samples, depth_m: float = 2000.0) -> tuple[Output, dict[str, Any]]:
    pipeline = Pipeline(RIG, bit_depth_m=depth_m)
    output = pipeline.feed(samples)
    return output, pipeline.status()["heave"]


def trip(stands: int = 4) -> Script:
    script = Script().hold(130, EMPTY_N)
    for _ in range(stands):
        script.stand_out(LOAD_N)
    return script


def pulls(output: Output) -> list[Any]:
    return [event for event in output.events if event.kind in ("overpull", "slack_off")]


def test_amplitude_and_period_come_from_the_record() -> None:
    _, heave = feed(heaving(trip()))
    assert heave["amplitude_m"] == pytest.approx(AMPLITUDE_M, rel=0.02)
    assert heave["period_s"] == pytest.approx(PERIOD_S, rel=0.01)
    assert heave["stroke_limit_m"] == 7.5


def test_load_is_mean_and_swing_over_whole_waves() -> None:
    script = trip(1).hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N).hold(130, LOAD_N)
    _, heave = feed(heaving(script))
    mass = (EMPTY_N + (LOAD_N - EMPTY_N) / 0.85) / GRAVITY_M_S2
    assert heave["load_mean_N"] == pytest.approx(LOAD_N, rel=0.003)
    assert heave["load_swing_N"] == pytest.approx(
        2.0 * mass * RATE_RAD_S**2 * AMPLITUDE_M, rel=0.03
    )


def test_heave_alone_is_no_event() -> None:
    output, _ = feed(heaving(trip(6)))
    assert pulls(output) == []
    assert len(output.trip_rows) == 6


def test_moving_weight_and_length_are_those_without_heave() -> None:
    output, _ = feed(heaving(trip(5)))
    for row in output.trip_rows:
        assert row.moving_weight_N == pytest.approx(LOAD_N, rel=0.005)
        # 27.8 m, less what the block travels until the load is taken as on.
        assert row.length_m == pytest.approx(27.8, abs=0.15)


def test_overpull_in_heave_is_still_found() -> None:
    script = trip(5).hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(12.0, LOAD_N)
    begins = script.seconds
    script.move(18.0, LOAD_N + 150e3, 0.4).move(29.0, LOAD_N).ramp(28.8, EMPTY_N)
    (event,) = pulls(feed(heaving(script.hold(20, EMPTY_N)))[0])
    assert event.kind == "overpull"
    # At the latest once it fills most of a wave.
    assert begins - 1.0 < event.raised_us / 1e6 < begins + PERIOD_S
    assert event.peak_excess_N == pytest.approx(150e3, rel=0.2)


def test_calm_water_judges_as_on_land() -> None:
    script = trip(3).hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)
    script.move(12.0, LOAD_N + 90e3).move(29.0, LOAD_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)
    plain = script.samples()
    calm = {**plain.values, "heave": np.zeros(len(plain))}
    first, _ = feed(plain)
    second, status = feed(Samples(plain.seq, plain.time_us, plain.row, calm, {}))
    assert len(pulls(first)) == 1
    assert repr(pulls(first)) == repr(pulls(second))
    assert status["amplitude_m"] == 0.0


def test_without_heave_nothing_changes() -> None:
    rig, samples, depth = simulated("trip_out", 0.3)
    output = Pipeline(rig, bit_depth_m=depth)
    output.feed(samples)
    assert output.status()["heave"] is None


def test_stroke_lowers_the_hook_and_with_it_the_bit() -> None:
    script = trip(1).hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N).hold(30, LOAD_N)
    samples = script.samples()
    stroke = np.zeros(len(samples))
    stroke[-50:] = np.linspace(0.0, 3.0, 50)
    values = {**samples.values, "compensator_stroke": stroke}
    output, status = feed(Samples(samples.seq, samples.time_us, samples.row, values, {}))
    depth = output.columns["bit_depth_m"]
    assert depth[-1] - depth[-51] == pytest.approx(3.0, abs=1e-6)
    assert status["stroke_m"] == 3.0


def test_depth_over_the_sea_bed_takes_the_heave_off() -> None:
    samples = heaving(trip(2))
    output, status = feed(samples)
    heave = samples.values["heave"][-1]
    expected = output.columns["bit_depth_m"][-1] - heave
    assert status["bit_depth_earth_m"] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("seed", [3, 4])
def test_simulated_floater(seed: int) -> None:
    rig, samples, depth = simulated("floater", 2.5, 5.0, seed)
    simulation = Simulation("floater", seed, 2.5, 5.0)
    for _ in simulation.chunks():
        pass
    truth = simulation.truth()
    found = run(rig, samples, [], (), depth)
    rows = [row for row in found.trip_rows.values() if not row.void]
    assert len(rows) == len(truth["stands"])
    for row, true in zip(rows, truth["stands"], strict=True):
        assert row.direction == true["direction"]
        assert row.length_m == pytest.approx(true["length_m"], abs=0.3)
        # Errors of a few centimetres a stand add up over thirty.
        assert row.bit_depth_m == pytest.approx(true["bit_depth_m"], abs=1.0)
    assert n_false(found, truth) <= 1


def n_false(found: Collected, truth: dict[str, Any]) -> int:
    """Overpulls and slack-offs that were none, a minute of grace either side."""
    count = 0
    for event in found.events.values():
        if event.kind not in ("overpull", "slack_off"):
            continue
        start, end = (
            iso(event.start_us - MINUTE_US),
            iso((event.end_us or event.start_us) + MINUTE_US),
        )
        count += not any(
            true["start"] <= end and start <= (true["end"] or "Z") for true in truth["events"]
        )
    return count


def iso(time_us: int) -> str:
    return str(np.datetime64(time_us, "us"))
