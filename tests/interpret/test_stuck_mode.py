"""Working stuck pipe: proposed, entered, what is kept, and how it ends itself."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from monitor.model import Command, Output, State
from monitor.pipeline import Pipeline
from monitor.rig.alarming import Agreed, Jar
from monitor.rig.rig import Equipment, Rig
from monitor.simulate import Simulation
from monitor.units import parse_iso
from tests.interpret.streams import EMPTY_N, NAN, Script, act, plain_rig
from tests.interpret.test_jarring import jarred
from tests.laws.records import run as run_record
from tests.laws.records import simulated

LOAD_N = 1200e3


def held() -> Script:
    """Return a trip out whose hoisting load is known, the string held from here on."""
    script = Script()
    for _ in range(3):
        script.stand_out(LOAD_N)
    return script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)


def pull(script: Script, over_N: float, under_N: float, top_m: float = 11.5) -> Script:
    """One stroke: pull, give it up, set down; the string stretches, the bit stays."""
    script.ramp(top_m, LOAD_N + over_N).hold(5, LOAD_N + over_N)
    return script.ramp(9.0, LOAD_N - under_N).hold(3, LOAD_N - under_N).ramp(10.0, LOAD_N)


def work(
    script: Script, *acts: Command, rig: Rig | None = None
) -> tuple[Output, Pipeline, dict[str, object]]:
    pipeline = Pipeline(rig or plain_rig(), bit_depth_m=2000.0)
    output = pipeline.feed(script.samples(), acts)
    return output, pipeline, pipeline.status()["stuck_mode"]


def test_pulls_are_counted_and_the_last_ones_kept() -> None:
    script = held()
    begin = act(script, "stuck_mode", 1.6e6, "begin")
    pull(pull(script, 300e3, 300e3), 250e3, 250e3)
    output, _, status = work(script, begin)
    assert status["on"]
    assert status["pulls"] == 2
    assert status["last_pull_N"] == pytest.approx(LOAD_N + 250e3, rel=0.005)
    assert status["last_set_down_N"] == pytest.approx(LOAD_N - 250e3, rel=0.005)
    assert (status["agreed_pull_N"], status["agreed_by"]) == (1.6e6, "tester")
    assert not status["over_agreed"]
    pulls = output.columns["pulls"]
    assert pulls[0] == 0
    assert sorted(set(pulls.tolist())) == [0, 1, 2]
    assert np.nanmax(output.columns["last_pull_N"]) == pytest.approx(LOAD_N + 300e3, rel=0.005)
    working = (output.columns["state"] & State.WORKING_STUCK) > 0
    assert working.sum() == np.count_nonzero(output.seq > begin.seq)


def test_a_pull_over_what_was_agreed_is_said() -> None:
    agreed = Agreed(None, None, "company man (invented)", "2026-03-01", 1.4e6)
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    _, _, status = work(pull(script, 300e3, 200e3), begin, rig=plain_rig(agreed=agreed))
    assert status["agreed_by"] == "company man (invented), 2026-03-01"
    assert status["over_agreed"]


def test_sound_is_held_but_not_over_a_rating() -> None:
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    script.ramp(11.5, LOAD_N + 300e3).hold(5, LOAD_N + 300e3)
    output, pipeline, _ = work(script, begin)
    assert [alarm.state for alarm in output.alarms] == ["unacknowledged"]  # shown all the same
    assert pipeline.status()["alarms"]["sound"]["priority"] == ""
    assert pipeline.status()["alarms"]["sound"]["held"] == "working stuck pipe"
    weak = plain_rig(equipment=(Equipment("hook block", 1400e3, "hook load"),))
    _, pipeline, _ = work(script, begin, rig=weak)
    assert pipeline.status()["alarms"]["sound"]["priority"] == "high"


def test_it_ends_itself_on_ten_metres_of_free_travel() -> None:
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    pull(script, 300e3, 200e3)
    script.move(18.8, LOAD_N)
    _, _, status = work(script, begin)
    assert status["on"]
    assert status["free_travel_m"] == pytest.approx(9.5, abs=0.6)
    begins = script.seconds
    script.move(26.0, LOAD_N)
    output, _, status = work(script, begin)
    assert not status["on"]
    assert status["ended_why"] == "the string has travelled 10 m freely"
    ended = status["ended_us"]
    assert isinstance(ended, int)
    assert ended / 1e6 == pytest.approx(begins + 1.0, abs=1.0)  # half a metre at 0.5 m/s
    assert [change.after for change in output.alarm_changes if change.kind == "stuck_mode"] == [
        "on",
        "off",
    ]


def test_begun_in_the_middle_of_a_pull_it_knows_a_free_string_all_the_same() -> None:
    """Of a trip out only the hoisting weight is learnt: the other is less by friction."""
    script = held().ramp(11.5, LOAD_N + 300e3)
    begin = act(script, "stuck_mode", text="begin")
    script.hold(5, LOAD_N + 300e3).ramp(10.0, LOAD_N)
    assert not work(script, begin)[2]["setting_down"]
    _, _, status = work(script.move(21.0, LOAD_N), begin)
    assert not status["on"]


def test_working_strokes_and_slips_are_no_free_travel() -> None:
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    for _ in range(4):
        pull(script, 300e3, 200e3, top_m=13.0)
    script.ramp(9.8, EMPTY_N).hold(10, EMPTY_N).move(28.0, EMPTY_N).move(9.8, EMPTY_N)
    _, _, status = work(script, begin)
    assert status["on"]
    assert status["pulls"] == 4


def test_a_person_ends_it() -> None:
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    pull(script, 300e3, 200e3)
    end = act(script, "stuck_mode", text="end")
    output, _, status = work(script.hold(5, LOAD_N), begin, end)
    assert not status["on"]
    assert status["ended_why"] == "ended by a person"
    assert np.isnan(output.columns["last_pull_N"][-1])


@pytest.mark.parametrize("seed", [5, 11])
def test_on_a_simulated_stuck_pipe_it_ends_soon_after_the_string_is_free(seed: int) -> None:
    """Truth of the simulator's own physics: when the string came free."""
    simulation = Simulation("stuck_pipe", seed, hours=0.8, hz=5.0)
    rig, samples, depth = simulated("stuck_pipe", 0.8, seed=seed)
    found = run_record(rig, samples, [], (), depth).events.values()
    (event,) = [each for each in found if each.kind == "stuck"]
    begin = Command(event.seq + 1, event.raised_us, "stuck_mode", NAN, "begin", "tester")
    pipeline = Pipeline(rig, bit_depth_m=depth)
    pipeline.feed(samples, [begin])
    status = pipeline.status()["stuck_mode"]
    for _ in simulation.chunks():
        pass
    (spell,) = simulation.truth()["stuck"]
    free_us = parse_iso(spell["end"], "UTC")
    # A driller takes 10 m of free travel after a check stroke or two: within two minutes.
    assert status["ended_why"] == "the string has travelled 10 m freely"
    assert 0 < status["ended_us"] - free_us < 120e6


def test_it_is_proposed_and_not_entered_when_stuck_is_raised() -> None:
    rig, samples, depth = simulated("stuck_pipe", 1.2)
    (event,) = [e for e in run_record(rig, samples, [], (), depth).events.values()
                if e.kind == "stuck"]  # fmt: skip
    row = int(np.searchsorted(samples.seq, event.seq))
    pipeline = Pipeline(rig, bit_depth_m=depth)
    pipeline.feed(samples.piece(0, row))
    assert not pipeline.status()["stuck_mode"]["proposed"]
    pipeline.feed(samples.piece(row, row + 10))
    status = pipeline.status()["stuck_mode"]
    assert (status["on"], status["proposed"]) == (False, True)
    answer = Command(int(samples.seq[row + 9]) + 1, event.raised_us, "stuck_mode", NAN,
                     "not now", "tester")  # fmt: skip
    pipeline.feed(samples.piece(row + 10, row + 20), [answer])
    assert not pipeline.status()["stuck_mode"]["proposed"]


def jar(script: Script, *acts: Command) -> tuple[str, object]:
    given = Jar(cocking_load_N=LOAD_N - 120e3, firing_load_N=LOAD_N + 150e3, wait_s=30.0)
    status = work(script, *acts, rig=plain_rig(jar=given))[2]["jar"]
    assert isinstance(status, dict)
    return status["state"], status["since_us"]


def test_the_jar_is_cocked_waits_and_is_let_off() -> None:
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    assert jar(script.hold(2, LOAD_N), begin)[0] == "not known"
    script.ramp(9.0, LOAD_N - 200e3).hold(3, LOAD_N - 200e3)
    assert jar(script, begin)[0] == "cocked"
    script.ramp(11.0, LOAD_N + 300e3).hold(10, LOAD_N + 300e3)
    state, since_us = jar(script, begin)
    assert state == "working"
    assert isinstance(since_us, int)
    pulled_s = script.seconds - 10.0
    assert 0.0 < pulled_s - since_us / 1e6 < 8.0
    early = list(script.block), list(script.load)
    script.ramp(10.0, LOAD_N).hold(3, LOAD_N)
    assert jar(script, begin)[0] == "let off early"
    script.block, script.load = early
    assert jar(script.hold(40, LOAD_N + 300e3), begin)[0] == "due"
    assert jar(script.ramp(10.0, LOAD_N).hold(3, LOAD_N), begin)[0] == "fired or let off"


def test_blows_are_counted_as_they_become_known() -> None:
    rig, samples, depth = simulated("stuck_pipe", 0.8, seed=7)
    samples, fired = jarred(rig, samples)
    begin = Command(1, int(samples.time_us[0]), "stuck_mode", NAN, "begin", "tester")
    pipeline = Pipeline(rig, bit_depth_m=depth)
    # The stands before would end the mode: it begins with the first blow.
    row = fired[0]
    pipeline.feed(samples.piece(0, row))
    begin = dataclasses.replace(begin, seq=int(samples.seq[row]) - 1)
    output = pipeline.feed(samples.piece(row, len(samples)), [begin])
    known = [event for event in output.events if event.kind == "jar_blow"]
    status = pipeline.status()["stuck_mode"]
    assert len(known) >= 2
    assert status["jar"]["blows"] == len(known)
    assert status["jar"]["last_blow_us"] == max(event.start_us for event in known)


def test_without_jar_settings_nothing_is_said_of_it() -> None:
    script = held()
    begin = act(script, "stuck_mode", text="begin")
    status = work(pull(script, 300e3, 200e3), begin)[2]["jar"]
    assert isinstance(status, dict)
    assert (status["given"], status["state"]) == (False, "not known")
