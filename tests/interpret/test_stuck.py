"""Stuck pipe on written records, with a free length said in advance, and on the simulator."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.mechanics.stretch import stretch_m
from monitor.model import Event, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig, Section
from monitor.simulate import Simulation
from tests.interpret.streams import EMPTY_N, Script, plain_rig
from tests.laws.records import differences, run, simulated

FREE_N = 1200e3
DEPTH_M = 2000.0
FREE_LENGTH_M = 1500.0
STRING = (
    Section("drill collars", 120.0, 0.2032, 0.0714, 2184.0),
    Section("drill pipe", None, 0.127, 0.1086, 330.0),
)
# The written string is a plain tube; block movement per load down to the stuck point.
COMPLIANCE_m_N = stretch_m(1.0, STRING[1:], FREE_LENGTH_M + 10.0)
STUCK_AT_M = 10.0


def described(**changes: object) -> Rig:
    return plain_rig(**{"string": STRING, **changes})


def tripping() -> Script:
    """Return a trip out with its hoisting load known, the next stand under way."""
    script = Script().stands_out(3, FREE_N, 27.8 * STRING[-1].weight_in_air_N_m)
    return script.hold(10, EMPTY_N).ramp(1.2, FREE_N).move(STUCK_AT_M, FREE_N)


def to_load(script: Script, excess_N: float, speed_m_s: float = 0.06) -> Script:
    """Move the block of a held string until its load is so much over the free one."""
    return script.ramp(STUCK_AT_M + excess_N * COMPLIANCE_m_N, FREE_N + excess_N, speed_m_s)


def worked(script: Script, loops: int, pull_N: float = 300e3) -> Script:
    """Pull and slack off so many times."""
    for _ in range(loops):
        to_load(script, pull_N).hold(8, FREE_N + pull_N)
        to_load(script, -80e3).hold(8, FREE_N - 80e3)
    return script


def freed(script: Script) -> Script:
    """The string comes: pull the rest of the stand, set slips."""
    script.move(STUCK_AT_M, FREE_N, 0.06).hold(5, FREE_N).move(29.0, FREE_N)
    return script.hold(3, FREE_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)


def told(script: Script, rig: Rig, depth_m: float | None = DEPTH_M):
    """The stuck events and the summary's spells of a written record."""
    pipeline = Pipeline(rig, bit_depth_m=depth_m)
    events = [e for e in pipeline.feed(script.samples()).events if e.kind == "stuck"]
    return events, pipeline.summary()["stuck"]


def test_clean_pulls_tell_the_free_length() -> None:
    script = tripping()
    begins = script.seconds
    worked(script, 4)
    ends = script.seconds
    events, (spell,) = told(freed(script), described())
    (event,) = events
    assert event.start_us / 1e6 == pytest.approx(begins, abs=3.0)
    assert event.end_us is not None
    # The end is where the string was last seen held: before the last set-down was given back.
    assert event.end_us / 1e6 == pytest.approx(ends, abs=20.0)
    assert event.peak_excess_N == pytest.approx(300e3, rel=0.03)
    assert event.peak_hook_load_N == pytest.approx(FREE_N + 300e3, rel=0.01)
    assert (spell["start_us"], spell["end_us"]) == (event.start_us, event.end_us)
    assert spell["free_length_m"] == pytest.approx(FREE_LENGTH_M, rel=0.05)
    assert spell["low_m"] < FREE_LENGTH_M < spell["high_m"]


def test_the_overpull_it_began_as_goes_on() -> None:
    script = freed(worked(tripping(), 1))
    output = Pipeline(described(), bit_depth_m=DEPTH_M).feed(script.samples())
    kinds = {e.kind: e for e in output.events}
    assert kinds["overpull"].raised_us < kinds["stuck"].raised_us
    assert kinds["overpull"].end_us > kinds["stuck"].raised_us


def test_raised_when_the_pull_is_given_up() -> None:
    script = to_load(tripping(), 250e3)
    top = script.seconds
    (event,), _ = told(freed(worked(script.hold(10, FREE_N + 250e3), 1)), described())
    assert top <= event.raised_us / 1e6 <= top + 4.0


def test_raised_while_pulling_beyond_any_tight_hole() -> None:
    script = to_load(tripping(), 500e3)
    top = script.seconds
    (event,), _ = told(freed(script.hold(20, FREE_N + 500e3)), described())
    assert event.raised_us / 1e6 < top


def test_small_pulls_held_twice_are_stuck_and_tell_no_length() -> None:
    (_,), (spell,) = told(freed(worked(tripping(), 4, 150e3)), described())
    assert (spell["free_length_m"], spell["low_m"], spell["high_m"]) == (None, None, None)


def test_two_pulls_tell_no_length() -> None:
    (_,), (spell,) = told(freed(worked(tripping(), 2)), described())
    assert spell["free_length_m"] is None


@pytest.mark.parametrize(
    ("rig", "depth_m"), [(plain_rig(), DEPTH_M), (described(), None)], ids=["string", "depth"]
)
def test_listed_without_a_length_where_string_or_depth_is_missing(
    rig: Rig, depth_m: float | None
) -> None:
    (_,), (spell,) = told(freed(worked(tripping(), 4)), rig, depth_m)
    assert spell["free_length_m"] is None
    assert spell["end_us"] > spell["start_us"]


def test_pulls_too_short_for_their_string_tell_no_length() -> None:
    """A pipe that creeps a little at every pull is no spring: slopes disagree."""
    script = tripping()
    for creep in (1.0, 1.5, 2.2):
        top = STUCK_AT_M + 300e3 * COMPLIANCE_m_N * creep
        script.ramp(top, FREE_N + 300e3, 0.06).hold(5, FREE_N + 300e3)
        script.ramp(STUCK_AT_M, FREE_N, 0.06).hold(5, FREE_N)
    _, spells = told(freed(script), described())
    assert [spell["free_length_m"] for spell in spells] == [None]


def test_tight_hole_pulled_through_is_not_stuck() -> None:
    script = tripping()
    to_load(script, 160e3).move(12.5, FREE_N + 160e3, 0.1).move(29.0, FREE_N)
    assert told(script.ramp(28.8, EMPTY_N).hold(20, EMPTY_N), described()) == ([], [])


def test_tight_hole_passed_at_a_second_try_is_not_stuck() -> None:
    script = to_load(tripping(), 90e3).hold(5, FREE_N + 90e3)
    script.move(STUCK_AT_M, FREE_N).move(5.0, FREE_N - 40e3).move(STUCK_AT_M, FREE_N)
    to_load(script, 160e3).move(29.0, FREE_N)
    assert told(script.ramp(28.8, EMPTY_N).hold(20, EMPTY_N), described()) == ([], [])


def test_pulls_far_apart_are_not_one_spell() -> None:
    script = tripping()
    for _ in range(3):
        to_load(script, 150e3).hold(5, FREE_N + 150e3)
        to_load(script, 0.0).hold(1200, FREE_N)
    assert told(freed(script), described()) == ([], [])


def test_missing_rows_do_not_end_a_spell() -> None:
    script = tripping()
    first = len(script.block)
    samples = freed(worked(script, 4)).samples()
    whole = Pipeline(described(), bit_depth_m=DEPTH_M)
    whole.feed(samples)
    for name in ("deadline_tension", "block_position"):
        values = {key: column.copy() for key, column in samples.values.items()}
        values[name][first + 200 : first + 230] = np.nan
        holed = Pipeline(described(), bit_depth_m=DEPTH_M)
        holed.feed(replace(samples, values=values))
        (spell,), (true,) = holed.summary()["stuck"], whole.summary()["stuck"]
        assert spell["end_us"] == true["end_us"]
        assert spell["free_length_m"] == pytest.approx(true["free_length_m"], rel=0.02)


def test_ends_in_slips() -> None:
    script = worked(tripping(), 2)
    set_at = script.move(STUCK_AT_M, FREE_N, 0.1).hold(5, FREE_N).seconds
    script.ramp(STUCK_AT_M - 0.1, EMPTY_N).hold(60, EMPTY_N)
    (event,), _ = told(script, described())
    assert event.end_us is not None
    assert event.end_us / 1e6 == pytest.approx(set_at, abs=3.0)


def test_open_at_the_end_of_the_record() -> None:
    (event,), (spell,) = told(worked(tripping(), 4), described())
    assert event.end_us is None
    assert spell["end_us"] is None
    assert spell["free_length_m"] == pytest.approx(FREE_LENGTH_M, rel=0.05)


def restored_halfway(rig: Rig, samples: Samples, stop: int) -> list[dict[str, object]]:
    first = Pipeline(rig, bit_depth_m=DEPTH_M)
    first.feed(samples.piece(0, stop))
    second = Pipeline.restore(rig, first.snapshot())
    second.feed(samples.piece(stop, len(samples)))
    found: list[dict[str, object]] = second.summary()["stuck"]
    return found


def test_restart_in_the_middle_of_a_spell_changes_no_bit() -> None:
    script = tripping()
    first = len(script.block)
    samples = freed(worked(script, 4)).samples()
    _, whole = told(script, described())
    for stop in np.linspace(first, len(samples) - 1, 9).astype(int).tolist():
        assert restored_halfway(described(), samples, stop) == whole


def simulated_spells(seed: int, hz: float):
    simulation = Simulation("stuck_pipe", seed, hours=0.8, hz=hz)
    list(simulation.chunks())
    rig, samples, depth_m = simulated("stuck_pipe", 0.8, hz, seed)
    pipeline = Pipeline(rig, bit_depth_m=depth_m)
    events: dict[str, Event] = {e.id: e for e in pipeline.feed(samples).events}
    raised = [e for e in events.values() if e.kind == "stuck"]
    return (
        simulation.truth()["stuck"],
        raised,
        pipeline.summary()["stuck"],
        (rig, samples, depth_m),
    )


@pytest.mark.parametrize(("seed", "hz"), [(7, 10.0), (11, 5.0), (14, 5.0), (15, 1.0)])
def test_simulated_stuck_pipe(seed: int, hz: float) -> None:
    (truth,), raised, (spell,), _ = simulated_spells(seed, hz)
    assert len(raised) == 1
    assert spell["free_length_m"] == pytest.approx(truth["free_length_m"], rel=0.05)
    assert spell["low_m"] <= truth["free_length_m"] <= spell["high_m"]


def test_wrong_sheave_efficiency_widens_but_hardly_moves_the_length() -> None:
    """Pulling and slacking off are wrong in opposite senses by it."""
    (truth,), _, (right,), (rig, samples, depth_m) = simulated_spells(14, 5.0)
    reeving = replace(rig.reeving, sheave_efficiency=0.98)
    pipeline = Pipeline(replace(rig, reeving=reeving), bit_depth_m=depth_m)
    pipeline.feed(samples)
    (wrong,) = pipeline.summary()["stuck"]
    assert wrong["free_length_m"] == pytest.approx(right["free_length_m"], rel=0.01)
    assert wrong["low_m"] < right["low_m"] < truth["free_length_m"] < wrong["high_m"]


@pytest.mark.parametrize("scenario", ["trip_out", "trip_in", "drilling"])
def test_normal_work_is_never_stuck(scenario: str) -> None:
    rig, samples, depth_m = simulated(scenario, 1.5, 5.0, 4)
    pipeline = Pipeline(rig, bit_depth_m=depth_m)
    assert [e for e in pipeline.feed(samples).events if e.kind == "stuck"] == []
    assert pipeline.summary()["stuck"] == []


def test_cuts_within_a_spell_change_no_bit() -> None:
    rig, samples, depth_m = simulated("stuck_pipe", 0.6, 5.0, 7)
    whole = run(rig, samples, [], (), depth_m)
    assert [e for e in whole.events.values() if e.kind == "stuck"]
    random = np.random.default_rng(2)
    cuts = sorted(set(random.integers(len(samples) // 2, len(samples), 400).tolist()))
    assert differences(whole, run(rig, samples, cuts, (), depth_m)) == []


def test_what_is_carried_does_not_know_the_cuts() -> None:
    samples = worked(tripping(), 2).samples()
    whole, cut = (Pipeline(described(), bit_depth_m=DEPTH_M) for _ in range(2))
    whole.feed(samples)
    for start in range(0, len(samples), 37):
        cut.feed(samples.piece(start, min(start + 37, len(samples))))
    assert whole.stuck.state() == cut.stuck.state()
