"""Signs that the sensor ails, on records spoilt in one way each; and a sound one has none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.model import Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import Sensor
from tests.interpret.streams import EMPTY_N, Script, plain_rig

FREE_N = 900e3


def trip(stands: int = 9) -> Samples:
    script = Script()
    for _ in range(stands):
        script.hold(10, EMPTY_N).ramp(script.block[-1] + 0.2, FREE_N).move(29.0, FREE_N)
        script.hold(3, FREE_N).ramp(28.8, EMPTY_N).hold(60, EMPTY_N).move(1.0, EMPTY_N, 0.8)
    samples = script.samples()
    noise = np.random.default_rng(4).normal(0.0, 150.0, len(samples))
    return with_tension(samples, samples.values["deadline_tension"] + noise)


def with_tension(samples: Samples, tension: np.ndarray) -> Samples:
    return replace(samples, values={**samples.values, "deadline_tension": tension})


def signs(samples: Samples, sensor: Sensor | None = None) -> list[str]:
    pipeline = Pipeline(plain_rig(sensor=sensor or Sensor(span_N=400e3)), bit_depth_m=2000.0)
    pipeline.feed(samples)
    told = pipeline.status()["sensor"]["signal"]
    assert all(finding["check"] for finding in told["findings"])
    return [finding["sign"] for finding in told["findings"]]


def lagged(values: np.ndarray, lag_s: float, step_s: float = 0.2) -> np.ndarray:
    share, last, out = 1.0 - np.exp(-step_s / lag_s), values[0], []
    for value in values.tolist():
        last += share * (value - last)
        out.append(last)
    return np.array(out)


def test_a_sound_signal_has_no_sign() -> None:
    assert signs(trip()) == []


def test_a_slow_sensor_is_told_from_its_quickest_fall() -> None:
    samples = trip()
    assert signs(with_tension(samples, lagged(samples.values["deadline_tension"], 6.0))) == [
        "slow"
    ]


def test_a_load_that_sinks_at_rest_is_told() -> None:
    """The reading loses 4 % in ten minutes whenever the block stands."""
    samples = trip()
    block, tension = samples.values["block_position"], samples.values["deadline_tension"].copy()
    still = np.abs(np.diff(block, prepend=block[0])) < 1e-9
    rate, sunk = 0.04 / 600.0 * 0.2, 0.0
    for row in range(len(tension)):
        sunk = sunk + rate if still[row] else 0.0
        tension[row] *= 1.0 - sunk
    assert signs(with_tension(samples, tension)) == ["sags"]


def test_steps_greater_than_the_noise_are_told() -> None:
    samples = trip()
    tension = np.round(samples.values["deadline_tension"] / 3.7e3) * 3.7e3
    assert "coarse" in signs(with_tension(samples, tension))


@pytest.mark.parametrize(
    ("current_A", "sign"), [(0.0037, "doubtful"), (0.0207, "doubtful"), (0.0211, "failed")]
)
def test_currents_beyond_their_range_are_told(current_A: float, sign: str) -> None:
    """NAMUR NE 43: 3.8 to 20.5 mA measures, 3.6 and 21 mA and beyond is a fault (looked up)."""
    samples = trip(2)
    tension = samples.values["deadline_tension"]
    signal = 0.004 + 0.016 * tension / 400e3
    signal[-3:] = current_A
    values = {"block_position": samples.values["block_position"], "deadline_signal": signal}
    assert sign in signs(replace(samples, values=values))


def test_a_tension_at_the_end_of_the_span_is_told() -> None:
    samples = trip(2)
    assert "high end" in signs(samples, Sensor(span_N=90e3))


@pytest.mark.parametrize(("times", "told"), [(1.0, False), (10.0, True), (1.2, False)])
def test_a_load_that_never_comes_near_the_empty_block_is_told(times: float, told: bool) -> None:
    """The hook load written into the column of the dead line reads ten lines' worth."""
    samples = trip()
    tension = samples.values["deadline_tension"] * times
    assert ("levels" in signs(with_tension(samples, tension), Sensor(span_N=4e6))) == told


def test_a_zero_far_below_is_told_by_the_levels() -> None:
    samples = trip()
    assert "levels" in signs(with_tension(samples, samples.values["deadline_tension"] - 26e3))


def test_weight_on_bit_is_no_second_level() -> None:
    """Drilling without a connection: 200 of 1000 kN on bottom, and off again."""
    script = Script(29.0).hold(10, EMPTY_N).ramp(29.2, 1000e3)
    for _ in range(8):
        script.hold(120, 1000e3).ramp(script.block[-1] - 0.1, 800e3).hold(120, 800e3)
        script.ramp(script.block[-1] + 0.1, 1000e3)
    assert "levels" not in signs(script.samples())
