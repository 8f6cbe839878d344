"""Sensors that say nothing or always the same, on written records."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.model import Activity, Event, Output, Quality, Samples, State
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, plain_rig, with_gap

FREE_N = 900e3


def noisy(script: Script, noise_N: float = 100.0) -> Samples:
    """Noise, so that no two loads are the same unless the sensor is frozen."""
    samples = script.samples()
    random = np.random.default_rng(4)
    tension = samples.values["deadline_tension"]
    tension += random.normal(0.0, noise_N, len(tension))
    return samples


def tripping(stands: int, hz: float = 5.0) -> Script:
    script = Script(hz=hz)
    for _ in range(stands):
        script.stand_out(FREE_N)
    return script


def run(samples: Samples) -> tuple[list[Event], Output]:
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    return [e for e in output.events if e.kind == "sensor_fault"], output


def without_load(samples: Samples, first: int, last: int, flag: Quality) -> Samples:
    values = {name: column.copy() for name, column in samples.values.items()}
    values["deadline_tension"][first:last] = np.nan
    quality = {name: np.zeros(len(samples), dtype=np.uint16) for name in values}
    quality["deadline_tension"][first:last] = flag
    return replace(samples, values=values, quality=quality)


@pytest.mark.parametrize(
    ("flag", "words"),
    [
        (Quality.FAULT, "NAMUR NE 43"),
        (Quality.ABSURD, "what no rig can pull"),
        (Quality.UNREADABLE, "not a number"),
        (Quality.MISSING, "without a load"),
    ],
)
def test_load_missing_for_two_seconds_is_a_fault_until_it_is_good(
    flag: Quality, words: str
) -> None:
    (event,), _ = run(without_load(noisy(tripping(1)), 200, 250, flag))
    assert (event.start_us, event.raised_us, event.end_us) == (40_000_000, 42_000_000, 50_000_000)
    assert words in event.why


def test_a_second_without_load_is_none() -> None:
    assert run(without_load(noisy(tripping(1)), 200, 206, Quality.MISSING))[0] == []


def test_load_given_every_fifth_second_is_that_source_s_pace() -> None:
    samples = noisy(tripping(2, hz=1.0))
    keep = np.arange(len(samples)) % 5 == 0
    tension = np.where(keep, samples.values["deadline_tension"], np.nan)
    assert run(replace(samples, values={**samples.values, "deadline_tension": tension}))[0] == []


def without_block(samples: Samples, first: int, last: int) -> Samples:
    block = samples.values["block_position"].copy()
    block[first:last] = np.nan
    return replace(samples, values={**samples.values, "block_position": block})


def test_block_missing_is_a_fault_and_nobody_is_told_that_it_stands_still() -> None:
    samples = noisy(tripping(2))
    (event,), output = run(without_block(samples, 100, 200))
    assert "without a block position" in event.why
    assert event.start_us == int(samples.time_us[100])
    assert event.raised_us - event.start_us == pytest.approx(2e6, abs=0.4e6)
    lacking = slice(115, 200)
    assert (output.columns["quality"][lacking] & Quality.MISSING > 0).all()
    assert np.isnan(output.columns["block_speed_m_s"][lacking]).all()
    assert np.isnan(output.columns["still_s"][lacking]).all()
    assert np.isfinite(output.columns["block_speed_m_s"][205])
    assert np.isfinite(output.columns["hook_load_N"][lacking]).all()


def test_bit_depth_is_uncertain_while_the_block_is_missing_and_the_string_hangs() -> None:
    samples = noisy(tripping(2))
    _, output = run(samples)
    hoists = int(np.flatnonzero(output.columns["activity"] == int(Activity.HOISTING))[5])
    _, lacking = run(without_block(samples, hoists, hoists + 50))
    uncertain = lacking.columns["state"][hoists + 15 : hoists + 50] & State.DEPTH_UNCERTAIN
    assert (uncertain > 0).all()


def test_block_given_every_fifth_second_is_that_source_s_pace() -> None:
    samples = noisy(tripping(2, hz=1.0))
    keep = np.arange(len(samples)) % 5 == 0
    block = np.where(keep, samples.values["block_position"], np.nan)
    events, output = run(replace(samples, values={**samples.values, "block_position": block}))
    assert events == []
    assert not (output.columns["quality"][60:] & Quality.MISSING).any()


def test_a_gap_is_no_sensor_fault() -> None:
    assert run(with_gap(noisy(tripping(1)), 200, 300))[0] == []


def frozen_load(samples: Samples, first: int, last: int) -> Samples:
    tension = samples.values["deadline_tension"].copy()
    tension[first:last] = tension[first]
    return replace(samples, values={**samples.values, "deadline_tension": tension})


def test_load_unchanged_while_the_block_moves_is_frozen() -> None:
    script = tripping(8)
    first = len(script.block) + 60
    samples = frozen_load(noisy(script.stand_out(FREE_N)), first, first + 300)
    (event,), output = run(samples)
    assert event.why.startswith("signal frozen")
    assert event.start_us == int(samples.time_us[first])
    assert event.end_us == int(samples.time_us[first + 300])
    flagged = np.flatnonzero(np.asarray(output.columns["quality"]) & int(Quality.FROZEN))
    # Flagged from the row that raised it, never before.
    assert int(samples.time_us[flagged[0]]) == event.raised_us
    assert flagged[-1] == first + 299


def test_same_load_for_a_minute_and_a_half_at_rest_is_not_frozen() -> None:
    script = tripping(8)
    first = len(script.block)
    samples = noisy(script.hold(600, EMPTY_N).stand_out(FREE_N))
    assert run(frozen_load(samples, first, first + 450))[0] == []


@pytest.mark.parametrize("hz", [5.0, 1.0, 0.2])
def test_load_in_whole_klbf_is_not_frozen(hz: float) -> None:
    """Empty and loaded strokes both read one figure all the way: the step is that coarse."""
    samples = tripping(12, hz).samples()
    step = 4448.2216 / 10
    tension = np.round(samples.values["deadline_tension"] / step) * step
    assert run(replace(samples, values={**samples.values, "deadline_tension": tension}))[0] == []


def test_load_in_whole_klbf_that_sees_no_stand_change_is_frozen() -> None:
    samples = tripping(8).samples()
    step = 4448.2216 / 10
    tension = np.round(samples.values["deadline_tension"] / step) * step
    samples = replace(samples, values={**samples.values, "deadline_tension": tension})
    rows = len(samples)
    (event,), _ = run(frozen_load(samples, rows // 2, rows - 10))
    assert "signal frozen" in event.why


def test_block_unmoved_through_stand_changes_is_frozen() -> None:
    script = tripping(3)
    first = len(script.block)
    for _ in range(3):
        script.stand_out(FREE_N)
    samples = noisy(script)
    block = samples.values["block_position"].copy()
    last = len(block) - 20
    block[first:last] = block[first]
    (event,), _ = run(replace(samples, values={**samples.values, "block_position": block}))
    assert "block has not moved" in event.why
    assert event.start_us >= int(samples.time_us[first - 1])
    assert event.end_us == int(samples.time_us[last])


def all_frozen(stands: int, noise_N: float) -> Samples:
    """Stands out, then load and block as they were for a quarter of an hour."""
    samples = noisy(tripping(stands).hold(900, EMPTY_N), noise_N)
    first = len(samples) - 4500
    values = {name: column.copy() for name, column in samples.values.items()}
    for column in values.values():
        column[first:] = column[first]
    return replace(samples, values=values)


def test_all_channels_frozen_at_once_are_known_by_the_missing_noise() -> None:
    samples = all_frozen(4, 100.0)
    (event,), output = run(samples)
    assert "has not changed in its last digit for 120 s" in event.why
    assert event.start_us == int(samples.time_us[-4500])
    assert (event.raised_us - event.start_us) / 1e6 == pytest.approx(120.0, abs=0.3)
    frozen = (output.columns["quality"] & Quality.FROZEN) > 0
    assert frozen.sum() == pytest.approx(4500 - 600, abs=2)


@pytest.mark.parametrize("stands", [1, 6])
def test_a_quiet_load_at_rest_is_not_frozen(stands: int) -> None:
    """Steps greater than the noise: at rest the load is the same for minutes, and good."""
    samples = noisy(tripping(stands).hold(900, EMPTY_N), 10.0)
    step_N = 100.0
    tension = np.round(samples.values["deadline_tension"] / step_N) * step_N
    assert run(replace(samples, values={**samples.values, "deadline_tension": tension}))[0] == []


def coarse(offset_N: float, *, stands: int = 6, hold_s: float = 900.0) -> Samples:
    """Digits eight times the noise; empty they stand on the edge of one, in the break within."""
    step_N, noise_N = 1000.0, 120.0
    script = tripping(stands)
    first = len(script.block)
    samples = script.hold(hold_s, EMPTY_N).stand_out(FREE_N).samples()
    tension = samples.values["deadline_tension"] + 0.5 * step_N
    tension[first : first + round(hold_s * 5)] += offset_N
    random = np.random.default_rng(7)
    tension = np.round((tension + random.normal(0.0, noise_N, len(tension))) / step_N) * step_N
    return replace(samples, values={**samples.values, "deadline_tension": tension})


def test_a_coarse_load_that_stands_within_a_digit_is_not_frozen() -> None:
    """It changed at each connection because it stood on the edge of a digit there.

    By hand: within the digit 500 N off its edges, 4.2 standard deviations: one row in 20 000
    reads another.
    """
    samples = coarse(500.0)
    first = len(tripping(6).block)
    held = samples.values["deadline_tension"][first : first + 4500]
    assert np.count_nonzero(np.diff(held)) < 4
    assert run(samples)[0] == []


def test_a_coarse_load_frozen_while_stands_change_is_told() -> None:
    samples = coarse(500.0, stands=10)
    rows = len(samples)
    (event,), _ = run(frozen_load(samples, rows // 3, 2 * rows // 3))
    assert "while the block moved" in event.why


def test_a_rig_that_fell_silent_and_comes_back_as_it_was_is_asked_about_once() -> None:
    """Fine noise that dies with the pumps: after the first break it is known of this rig."""
    script = tripping(4)
    breaks = []
    for _ in range(3):
        breaks.append(len(script.block))
        script.hold(600, EMPTY_N).stand_out(FREE_N)
    samples = noisy(script)
    tension = samples.values["deadline_tension"]
    for first in breaks:
        tension[first : first + 3000] = tension[first]
    (event,), _ = run(samples)
    assert event.raised_us < samples.time_us[breaks[1]]


def test_a_trip_too_short_to_know_the_noise_says_nothing() -> None:
    assert run(all_frozen(1, 100.0))[0] == []
