"""Tare drift from landing to landing, and drill-off with the block held, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.tares import HELD_SECONDS, Tares, drill_off_N_s
from monitor.mechanics.pipe import buoyancy_factor
from monitor.model import Output
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig, Section
from tests.interpret.streams import EMPTY_N, Script, plain_rig

PIPE_N_M = 343.0
OFF_N = 1100e3
ON_N = 80e3
DRILL_M_S = 0.008


def rig() -> Rig:
    pipe = Section("drill pipe", None, 0.127, 0.1086, PIPE_N_M)
    return plain_rig(string=(pipe,), mud_density_kg_m3=1200.0)


def landed(script: Script, tare_N: float) -> Script:
    """From 4 m above, down to 2 m and 1 m drilled; off bottom again."""
    script.move(3.0, tare_N, 0.05).hold(8, tare_N).move(2.0, tare_N, 0.05)
    return script.move(1.0, tare_N - ON_N, DRILL_M_S).move(6.0, tare_N, 0.2)


def begun() -> Script:
    script = Script(1.0).set(rotary_speed=12.0, flow_in=0.03)
    return script.hold(10, EMPTY_N).move(6.0, EMPTY_N, 0.8).ramp(6.3, OFF_N).hold(10, OFF_N)


def test_tare_that_changed_without_pipe_is_drift() -> None:
    script = landed(landed(begun(), OFF_N), OFF_N + 12e3)
    pipeline = Pipeline(rig(), bit_depth_m=2500.0)
    pipeline.feed(script.samples())
    tare = pipeline.status()["tare"]
    # By hand: 12 kN more, of which the metre drilled in between weighs 0.3 kN.
    assert tare["landings"] == 2
    assert tare["drift_N"] == pytest.approx(12e3, abs=0.6e3)
    assert tare["total_drift_N"] == pytest.approx(12e3, abs=0.6e3)


def test_added_pipe_is_no_drift() -> None:
    tares = Tares(rig())
    added_m = 28.5
    # Archimedes: pipe weighs its weight in air times the buoyancy factor.
    added_N = PIPE_N_M * added_m * float(buoyancy_factor(1200.0))
    tares.land(0.0, 0.0, 2500.0, OFF_N)
    tares.land(3600.0, added_m, 2500.0 + added_m, OFF_N + added_N + 2e3)
    status = tares.status()
    assert status is not None
    assert status["drift_N"] == pytest.approx(2e3, abs=20.0)


def test_drift_is_not_known_where_the_string_is_not_described() -> None:
    tares = Tares(plain_rig())
    tares.land(0.0, 0.0, 2500.0, OFF_N)
    tares.land(3600.0, 28.5, 2528.5, OFF_N + 9e3)
    status = tares.status()
    assert status is not None
    assert status["drift_N"] is None


def drill_off(output: Output) -> np.ndarray:
    return np.asarray(output.columns["drill_off_N_s"], dtype=float)


def drilled_off(*, rate_N_s: float, seconds: float = 40.0) -> Output:
    script = begun().move(3.0, OFF_N, 0.05).hold(8, OFF_N).move(2.0, OFF_N, 0.05)
    script.move(1.0, OFF_N - ON_N, DRILL_M_S)
    rows = round(seconds / script.step_s)
    falls = OFF_N - ON_N + rate_N_s * script.step_s * np.arange(1, rows + 1)
    return script.hold(seconds, falls).run(2500.0, (), rig())


def test_weight_that_falls_with_the_block_held_is_drill_off() -> None:
    rate = drill_off(drilled_off(rate_N_s=1.2e3))
    assert rate[-1] == pytest.approx(1.2e3, rel=0.02)


def test_weight_held_is_no_drill_off() -> None:
    assert np.isnan(drill_off(drilled_off(rate_N_s=0.0))).all()


def test_weight_fed_off_by_the_block_is_no_drill_off() -> None:
    assert np.isnan(drill_off(landed(begun(), OFF_N).run(2500.0, (), rig()))[:-100]).all()


def test_slope_is_that_of_least_squares() -> None:
    random = np.random.default_rng(4)
    load = 1e6 + 900.0 * np.arange(HELD_SECONDS) + random.normal(0.0, 500.0, HELD_SECONDS)
    seconds = [[0.0, 12.0, value] for value in load.tolist()]
    # Another implementation: numpy's polynomial fit.
    slope = np.polyfit(np.arange(HELD_SECONDS), load, 1)[0]
    assert drill_off_N_s(seconds, 2) == pytest.approx(slope, rel=1e-9)
