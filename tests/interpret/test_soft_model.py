"""Friction factors and what they foretell: closed forms, another fit, simulated wells."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from monitor.interpret.soft_fit import Fit, fitted, foretold, unlearnt
from monitor.interpret.soft_tables import SoftTables
from monitor.mechanics.friction_fit import fit_friction_factor
from monitor.mechanics.soft_string import Hole, floor_tension_N
from monitor.mechanics.survey import well_path
from monitor.model import Command, Floats
from monitor.pipeline import Pipeline
from monitor.rig.rig import DepthMark, Rig, Section, SurveyStation
from monitor.score.faults import Spoiler
from monitor.score.record import samples_of
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import STRING, demo_rig
from monitor.simulate.hole import Hole as SimulatedHole
from monitor.simulate.well import Well

MUD = 1200.0
BUOYED = 1.0 - MUD / 7850.0  # published buoyancy factor, steel of 65.5 lb/gal
SLANT = math.radians(50.0)
PIPE = (Section("pipe", None, 0.127, 0.1086104, 343.0),)
HOISTED, LOWERED = 0, 1

BUILD = ((0, 0, 0), (600, 0, 0), (1500, 45, 60), (4000, 45, 60))
HORIZONTAL = ((0, 0, 0), (900, 0, 0), (1700, 60, 40), (2300, 88, 40), (4500, 90, 45))
S_SHAPED = ((0, 0, 0), (500, 0, 0), (1100, 35, 120), (1800, 35, 125), (2400, 6, 125),
            (4500, 5, 125))  # fmt: skip


def survey(stations: tuple[tuple[float, float, float], ...]) -> tuple[SurveyStation, ...]:
    return tuple(SurveyStation(d, math.radians(i), math.radians(a)) for d, i, a in stations)


def slant_N(depth_m: Floats, factor: float, sign: float) -> Floats:
    """Straight slant, textbook statics: w L (cos I +- f sin I)."""
    weight: Floats = 343.0 * BUOYED * depth_m * (math.cos(SLANT) + sign * factor * math.sin(SLANT))
    return weight


@pytest.fixture(scope="module")
def slant() -> SoftTables:
    return SoftTables(PIPE, survey(((0, 50, 0), (3000, 50, 0))), MUD)


def stands(
    tables: SoftTables, side: int, depth_m: Floats, load_N: Floats, speed_m_s: float = 0.0
) -> tuple[Floats, Floats]:
    """Stands of one direction, as far as they are off the usual factor."""
    left = load_N - tables.weight_N(side, depth_m, 0.25)
    rows = np.column_stack(
        (depth_m, np.full(len(depth_m), speed_m_s), left, np.arange(len(depth_m)))
    )
    return (rows, rows[:0]) if side == HOISTED else (rows[:0], rows)


@pytest.mark.parametrize("factor", [0.0, 0.08, 0.22, 0.37, 0.55])
def test_tables_of_a_slant_are_its_closed_form(slant: SoftTables, factor: float) -> None:
    depth = np.array([7.0, 400.0, 1234.5, 2990.0, 3800.0, 5200.0])
    for side, sign in ((HOISTED, 1.0), (LOWERED, -1.0)):
        found = slant.weight_N(side, depth, factor)
        assert found == pytest.approx(slant_N(depth, factor, sign), rel=1e-6)
        change = 343.0 * BUOYED * depth * math.sin(SLANT) * sign
        assert slant.slope_N(side, depth, factor) == pytest.approx(change, rel=1e-6)


def test_between_the_factors_worked_out_a_long_reach_is_followed() -> None:
    """A bend of 90 degrees: weights to 0.5 % or 3 kN of those worked out directly."""
    path = survey(HORIZONTAL)
    tables, hole = SoftTables(STRING, path, MUD), Hole(well_path(path), MUD)
    depth = np.array([300.0, 1100.0, 2000.0, 2700.0, 4000.0])
    for factor in (0.07, 0.25, 0.4, 0.52):
        for side, sign in ((HOISTED, 1.0), (LOWERED, -1.0)):
            direct = floor_tension_N(STRING, hole, depth, factor, sign)
            assert tables.weight_N(side, depth, factor) == pytest.approx(direct, rel=5e-3, abs=3e3)


def test_before_any_stand_the_usual_factor_holds_with_all_its_doubt(slant: SoftTables) -> None:
    fit = unlearnt()
    depth, still = np.array([2000.0]), np.array([0.0])
    (up,), (spread,) = foretold(slant, fit, HOISTED, depth, still)
    assert up == pytest.approx(float(slant_N(depth, 0.25, 1.0)[0]))
    # Common practice: 0.1 to 0.4 between cased and open hole.
    assert abs(float(slant_N(depth, 0.1, 1.0)[0]) - up) < 2.0 * spread
    assert abs(float(slant_N(depth, 0.4, 1.0)[0]) - up) < 2.0 * spread


@pytest.mark.parametrize("factor", [0.12, 0.25, 0.4])
@pytest.mark.parametrize(("side", "sign"), [(HOISTED, 1.0), (LOWERED, -1.0)])
def test_a_closed_forms_factor_is_found_and_tells_the_other_way(
    slant: SoftTables, side: int, sign: float, factor: float
) -> None:
    depth = np.linspace(2600.0, 2100.0, 18)
    fit = fitted(slant, stands(slant, side, depth, slant_N(depth, factor, sign)))
    assert abs(fit.found[side] - factor) < 2.0 * fit.spread(side)
    assert fit.spread(side) < 0.05 < unlearnt().spread(side)
    here, still = np.array([2100.0]), np.array([0.0])
    (load,), (spread,) = foretold(slant, fit, 1 - side, here, still)
    assert abs(load - float(slant_N(here, factor, -sign)[0])) < 2.0 * spread
    # Told by one direction, the other is known better than from nothing.
    assert spread < foretold(slant, unlearnt(), 1 - side, here, still)[1][0]


def test_the_factor_agrees_with_the_fit_without_priors() -> None:
    """Another least squares over the same weights, both hanging on the same soft string."""
    path = survey(BUILD)
    tables, hole = SoftTables(STRING, path, MUD), Hole(well_path(path), MUD)
    depth = np.linspace(3200.0, 2600.0, 22)
    noise = np.random.default_rng(5).normal(0.0, 3e3, len(depth))
    load = floor_tension_N(STRING, hole, depth, 0.33, 1.0) + noise
    other = fit_friction_factor(STRING, hole, depth, load, "hoisting", common_error_N=9e3)
    fit = fitted(tables, stands(tables, HOISTED, depth, load))
    apart = abs(float(fit.found[HOISTED]) - other.friction_factor)
    assert apart < 2.0 * math.hypot(fit.spread(HOISTED), other.standard_error)


def test_both_directions_tell_friction_from_a_string_heavier_than_described(
    slant: SoftTables,
) -> None:
    """Tool joints left out: 2 % more weight both ways. One direction alone cannot tell."""
    depth = np.linspace(2600.0, 2100.0, 18)
    up = stands(slant, HOISTED, depth, 1.02 * slant_N(depth, 0.3, 1.0))[0]
    down = stands(slant, LOWERED, depth, 1.02 * slant_N(depth, 0.3, -1.0))[1]
    both = fitted(slant, (up, down))
    alone = fitted(slant, (up, down[:0]))
    for side in (HOISTED, LOWERED):
        assert abs(both.found[side] - 0.3) < 2.0 * both.spread(side)
    assert abs(both.found[HOISTED] - 0.3) < abs(alone.found[HOISTED] - 0.3)
    assert both.spread(HOISTED) < alone.spread(HOISTED)


def test_a_tight_stand_does_not_make_the_factor(slant: SoftTables) -> None:
    depth = np.linspace(2600.0, 2100.0, 12)
    load = slant_N(depth, 0.3, 1.0)
    clean = fitted(slant, stands(slant, HOISTED, depth, load))
    load[7] += 200e3
    tight = fitted(slant, stands(slant, HOISTED, depth, load))
    assert abs(tight.found[HOISTED] - clean.found[HOISTED]) < 0.5 * clean.spread(HOISTED)


# --- through the pipeline, in simulated wells with friction of their own -------------------


def deviated(stations: tuple[tuple[float, float, float], ...], **changes: object) -> Rig:
    """The invented demo rig over a deviated well, open to the top."""
    marks = (DepthMark("casing shoe", 0.0),)
    return replace(demo_rig(), survey=survey(stations), depth_marks=marks, **changes)  # type: ignore[arg-type]


class Tripped:
    """A simulated trip through the pipeline, with what it foretold of the other direction."""

    def __init__(self, rig: Rig, seed: int, hours: float = 0.7, told: Rig | None = None) -> None:
        simulation = Simulation("trip_out", seed, hours=hours, hz=5.0, rig=rig)
        self.hole: SimulatedHole = simulation.story.hoist.hole
        self.pipeline = Pipeline(told or rig, bit_depth_m=simulation.bit_depth_m)
        self.learning: list[int] = []
        spoiler = Spoiler("", seed, simulation.start_us)
        for samples in samples_of(simulation, spoiler):
            output = self.pipeline.feed(samples)
            self.learning.append(int(np.isfinite(output.columns["expected_down_N"]).sum()))

    @property
    def depth_m(self) -> float:
        return self.pipeline.depth.start_m + self.pipeline.depth.last_m

    def effective_factor(self) -> float:
        """Even friction that drags the string as the rough hole does, by the simulator."""
        depths, rig = np.arange(0.0, 3510.0, 10.0), self.pipeline.rig
        factors = np.linspace(0.15, 0.45, 3)
        drags = [
            np.interp(
                self.depth_m,
                depths,
                Well(
                    self.hole.string, rig.survey, 0.0, float(f), depths, np.ones_like(depths)
                ).drag_up_N,
            )
            for f in factors
        ]
        # Through zero, and bent a little: a cubic of the drag gives the factor back.
        shape = np.polyfit([0.0, *drags], [0.0, *factors], 3)
        return float(np.polyval(shape, float(self.hole.drag_N(self.depth_m, 1))))


@pytest.fixture(scope="module")
def trips() -> list[Tripped]:
    wells = (BUILD, HORIZONTAL, S_SHAPED)
    return [Tripped(deviated(well), seed) for well in wells for seed in (11, 12, 13)]


def test_a_simulated_wells_friction_lies_in_its_interval(trips: list[Tripped]) -> None:
    for trip in trips:
        own = trip.pipeline.summary()["friction"]["hoisting"]
        assert own["stands"] >= 10
        assert not own["learning"]
        assert abs(own["friction_factor"] - trip.effective_factor()) < own["half_width"]
        assert own["half_width"] < 0.12


def test_lowering_lies_in_its_band_when_only_hoisting_was_seen(trips: list[Tripped]) -> None:
    """95 % of the band, over wells, seeds and speeds; drag and swab by the simulator."""
    off, band = [], []
    for trip in trips:
        assert not any(trip.learning)
        assert trip.pipeline.status()["friction"]["lowering"]["learning"]
        soft, tables = trip.pipeline.expected.soft, trip.pipeline.expected.soft.tables
        assert tables is not None
        for speed in (0.1, 0.4, 0.8):
            depth = np.array([trip.depth_m])
            (load,), (spread,) = foretold(tables, soft.fit, LOWERED, depth, np.array([speed]))
            true = trip.hole.hanging_N(depth, 0.0) - trip.hole.drag_N(depth, -1)
            off.append(abs(load - float(true[0]) + float(trip.hole.swab_N(depth, speed)[0])))
            band.append(2.0 * spread)
    assert np.mean(np.array(off) < np.array(band)) >= 0.95
    # And it is worth something: the weight of ten stands, not of half the string.
    assert np.median(off) < 30e3


def test_without_a_bend_nothing_is_fitted() -> None:
    for rig in (demo_rig(), deviated(((0, 0, 0), (3000, 0, 0)))):
        pipeline = Tripped(rig, 3, hours=0.05, told=rig).pipeline
        assert pipeline.summary()["friction"] is None
        assert pipeline.status()["friction"] is None


def test_another_string_than_the_one_described_is_said_not_to_fit() -> None:
    rig = deviated(BUILD)
    light = (*STRING[:2], replace(STRING[2], weight_in_air_N_m=0.6 * STRING[2].weight_in_air_N_m))
    trip = Tripped(rig, 11, hours=0.3, told=replace(rig, string=light))
    told = trip.pipeline.status()["friction"]
    assert not told["fits"]
    # Then the guess from the weight alone holds, as without a survey.
    soft = trip.pipeline.expected.soft
    assert soft.fit.scatter_N > 0.04 * soft.fit.string_N


def test_other_mud_is_learnt_anew_with_its_own_weights() -> None:
    pipeline = Tripped(deviated(BUILD), 11, hours=0.3).pipeline
    before = pipeline.expected.soft.tables
    assert pipeline.summary()["friction"]["hoisting"]["stands"] > 0
    act = Command(10**9, pipeline.origin_us + 10**12, "mud_density", 1500.0, "", "tester")
    pipeline.expected.command(act)
    after = pipeline.expected.soft.for_mud(pipeline.expected.mud_density_kg_m3)
    assert before is not None
    assert after is not None
    depth = np.array([2500.0])
    assert after.weight_N(HOISTED, depth, 0.2)[0] < before.weight_N(HOISTED, depth, 0.2)[0]
    assert pipeline.summary()["friction"]["hoisting"]["stands"] == 0


def test_a_fit_restored_is_the_same_fit() -> None:
    pipeline = Tripped(deviated(BUILD), 12, hours=0.3).pipeline
    again = Pipeline.restore(pipeline.rig, pipeline.snapshot()).expected.soft.fit
    fit: Fit = pipeline.expected.soft.fit
    assert np.array_equal(again.found, fit.found)
    assert np.array_equal(again.covariance, fit.covariance)
