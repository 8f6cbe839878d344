"""The string's own motion on a heaving rig, and waves told by the empty block's load."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.interpret.load_waves import waves_of_load
from monitor.interpret.pipe_motion import PipeMotion
from monitor.interpret.speeds import WAVE_SPEED_M_S
from monitor.interpret.stage import Rows
from monitor.interpret.transfer import TRANSMITTER_LAG_S
from monitor.model import Event, Floats, Samples
from monitor.simulate import Simulation
from tests.interpret.streams import plain_rig
from tests.interpret.test_heave import n_false
from tests.laws.records import Collected, differences, run, simulated

GRAVITY_M_S2 = 9.80665
AMPLITUDE_M, PERIOD_S = 1.5, 9.0
PACE_RAD_S = 2.0 * np.pi / PERIOD_S
DEPTH_M, WEIGHT_N, EMPTY_N = 3000.0, 1500e3, 250e3


def heaving_rows(heave_m: Floats, hz: float) -> Rows:
    """A string that hangs from a block at rest."""
    count = len(heave_m)
    times_us = np.rint(np.arange(count) * 1e6 / hz).astype(np.int64)
    rows = Rows(
        seq=np.arange(count),
        time_us=times_us,
        time_s=times_us / 1e6,
        row=np.zeros(count, dtype=np.uint16),
        origin_us=0,
        values={"heave": heave_m},
        quality={},
    )
    same = {
        "heave_m": heave_m,
        "stroke_m": np.zeros(count),
        "along_m": np.zeros(count),
        "bit_depth_m": np.full(count, DEPTH_M),
        "phase": np.full(count, 2.0),
        "wave_amplitude_m": np.full(count, AMPLITUDE_M),
        "wave_period_s": np.full(count, PERIOD_S),
        "wave_inertia_N": np.zeros(count),
        "hook_load_N": np.full(count, WEIGHT_N),
        "smooth_load_N": np.full(count, WEIGHT_N),
        "steady_load_N": np.full(count, WEIGHT_N),
        "block_speed_m_s": np.zeros(count),
        "block_m": np.zeros(count),
        "direction": np.zeros(count),
        "run_travel_m": np.zeros(count),
    }
    rows.column.update(same)
    for name, value in (("is_heaving", True), ("is_open", False), ("reversed", False)):
        rows.column[name] = np.full(count, value)
    return rows


@pytest.mark.parametrize(("hz", "share"), [(10.0, 0.12), (5.0, 0.12), (1.0, 0.18)])
def test_vessel_pulls_by_mass_times_acceleration(hz: float, share: float) -> None:
    """A sine has its acceleration in closed form; the load shows it late by half the return."""
    time_s = np.arange(0.0, 90.0, 1.0 / hz)
    rows = heaving_rows(AMPLITUDE_M * np.cos(PACE_RAD_S * time_s), hz)
    PipeMotion(plain_rig()).step(rows)
    late_s = DEPTH_M / WAVE_SPEED_M_S + TRANSMITTER_LAG_S
    acceleration = -(PACE_RAD_S**2) * AMPLITUDE_M * np.cos(PACE_RAD_S * (time_s - late_s))
    # The load given is the one that is read; what hangs is what leaves it without the pull.
    pull = WEIGHT_N - rows.column["pipe_load_N"]
    mass = (EMPTY_N + (rows.column["pipe_load_N"] - EMPTY_N) / 0.85) / GRAVITY_M_S2
    later = time_s > 15.0
    # Means over a twelfth of a wave, and straight lines between rows, take a little off.
    error = np.abs(pull - mass * acceleration)[later]
    assert error.max() < share * np.abs(mass * acceleration).max()


def test_string_turns_with_the_vessel_under_a_block_at_rest() -> None:
    time_s = np.arange(0.0, 90.0, 0.1)
    rows = heaving_rows(AMPLITUDE_M * np.cos(PACE_RAD_S * time_s), 10.0)
    PipeMotion(plain_rig()).step(rows)
    rises = -np.sin(PACE_RAD_S * time_s) > 0.5
    falls = -np.sin(PACE_RAD_S * time_s) < -0.5
    direction = rows.column["pipe_direction"]
    late = time_s > 15.0
    # Told late by half a mean and by 0.1 m of travel, well before it is fast.
    assert np.mean(direction[late & rises] > 0.0) > 0.95
    assert np.mean(direction[late & falls] < 0.0) > 0.95
    # The first 0.1 m of a run tell that it has begun; means take 2 % off.
    run_m = rows.column["pipe_run_m"][late].max()
    assert run_m == pytest.approx(2.0 * AMPLITUDE_M - 0.1, rel=0.03)
    assert np.abs(rows.column["pipe_speed_m_s"][late]).max() == pytest.approx(
        PACE_RAD_S * AMPLITUDE_M, rel=0.05
    )


def test_heave_that_is_missing_is_not_followed() -> None:
    heave = AMPLITUDE_M * np.cos(PACE_RAD_S * np.arange(0.0, 90.0, 0.1))
    heave[500:530] = np.nan
    rows = heaving_rows(heave, 10.0)
    rows.column["heave_m"] = np.where(np.isfinite(heave), heave, heave[499])
    PipeMotion(plain_rig()).step(rows)
    follows = rows.column["follows_heave"]
    assert follows[100:519].all()
    assert not follows[521:530].any()
    assert follows[-1]


def test_waves_told_by_the_empty_block() -> None:
    time_s = np.arange(0.0, 120.0, 0.2)
    wave = PACE_RAD_S**2 * AMPLITUDE_M * np.sin(PACE_RAD_S * time_s)
    noise = 0.01 * np.random.default_rng(3).standard_normal(len(time_s))
    pull = GRAVITY_M_S2 + wave + noise
    # Two rests of the block, with something in the elevators at the second.
    pull[(time_s > 50.0) & (time_s < 58.0)] = np.nan
    pull[time_s >= 58.0] += 0.7
    waves = waves_of_load(time_s, pull)
    assert waves is not None
    assert waves.period_s == pytest.approx(PERIOD_S, rel=0.02)
    assert waves.amplitude_m == pytest.approx(AMPLITUDE_M, rel=0.08)


@pytest.mark.parametrize("seed", range(5))
def test_an_empty_block_without_waves_tells_none(seed: int) -> None:
    random = np.random.default_rng(seed)
    time_s = np.arange(0.0, 120.0, 0.2)
    pull = GRAVITY_M_S2 + 0.02 * random.standard_normal(len(time_s))
    # A tong that pulls twice, and sheave friction that turns over.
    pull[100:140] += 0.4
    pull[300:330] -= 0.3
    pull[400:] += 0.5
    assert waves_of_load(time_s, pull) is None


def test_a_floaters_record_without_heave() -> None:
    """Three columns from a floater: the rig file says that it floats, the block how it does."""
    seed = 3
    rig, samples, depth = simulated("floater", 2.5, 5.0, seed)
    simulation = Simulation("floater", seed, 2.5, 5.0)
    for _ in simulation.chunks():
        pass
    truth = simulation.truth()
    plain = {n: samples.values[n] for n in ("deadline_tension", "block_position")}
    blind = Samples(samples.seq, samples.time_us, samples.row, plain, {})
    found = run(rig, blind, [], (), depth)
    ashore = run(replace(rig, compensator=None), blind, [], (), depth)
    assert n_false(found, truth) <= 4
    assert n_false(ashore, truth) > n_false(found, truth)
    cuts = (777, 12_345, 12_346, 30_001)
    pieces = run(rig, blind, cuts, (), depth, restart=(12_345,))
    assert differences(found, pieces) == []


@pytest.mark.parametrize("with_heave", [True, False])
def test_weight_lost_among_waves_is_told(with_heave: bool) -> None:
    """A third of the string is gone while it is hoisted; waves alone take nothing."""
    rig, samples, depth = simulated("floater", 2.0, 5.0, 3)
    keep = samples.values if with_heave else dict.fromkeys(("deadline_tension", "block_position"))
    values = {name: samples.values[name].copy() for name in keep}
    block, tension = values["block_position"], values["deadline_tension"]
    # In the midst of the first stroke that goes up 20 m under the load of the string.
    up = [
        k
        for k in range(len(block) - 300)
        if block[k + 150] - block[k] > 9.0 and np.all(tension[k : k + 150] > 120e3)
    ]
    lost = up[len(up) // 2] + 100
    time_us = samples.time_us[: lost + 60]
    whole = Samples(samples.seq, samples.time_us, samples.row, values, {})
    assert not losses(run(rig, whole.piece(0, lost + 60), [], (), depth))
    tension[lost:] -= 400e3 / 14
    parted = Samples(samples.seq, samples.time_us, samples.row, values, {})
    told = losses(run(rig, parted.piece(0, lost + 60), [], (), depth))
    assert len(told) == 1
    assert time_us[lost] <= told[0].raised_us <= time_us[lost] + 10_000_000


def losses(found: Collected) -> list[Event]:
    return [event for event in found.events.values() if event.kind == "weight_loss"]
