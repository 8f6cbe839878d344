"""Alarms from rows and acts: limits, priority, first-up, shelving, modes, sound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.interpret.alarm_kinds import ALARM_KINDS
from monitor.model import Alarm, AlarmChange, Command, Output
from monitor.pipeline import Pipeline
from monitor.rig.alarming import Agreed, AlarmLimits
from monitor.rig.rig import Equipment, Limits, Rig
from tests.interpret.streams import EMPTY_N, NAN, Script, act, plain_rig
from tests.laws.records import faulty, simulated
from tests.laws.records import run as run_record

LOAD_N = 1200e3


def learnt() -> Script:
    """Return a trip out whose hoisting load is known by now, a stand just begun."""
    script = Script()
    for _ in range(3):
        script.stand_out(LOAD_N)
    return script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)


def run(script: Script, *acts: Command, rig: Rig | None = None) -> tuple[Output, Pipeline]:
    pipeline = Pipeline(rig or plain_rig(), bit_depth_m=2000.0)
    return pipeline.feed(script.samples(), acts), pipeline


def of(output: Output, kind: str = "overpull") -> list[Alarm]:
    return [alarm for alarm in output.alarms if alarm.kind == kind]


def path(output: Output, kind: str = "overpull") -> list[str]:
    """States one kind went through."""
    changes = [change for change in output.alarm_changes if change.kind == kind]
    return [changes[0].before, *(change.after for change in changes)] if changes else []


def sound(pipeline: Pipeline) -> tuple[str, str]:
    status = pipeline.status()["alarms"]["sound"]
    return status["priority"], status["held"]


def test_an_event_below_the_alarm_limit_is_no_alarm() -> None:
    output, pipeline = run(learnt().move(12.0, LOAD_N + 70e3).move(20.0, LOAD_N))
    assert [event.kind for event in output.events] == ["overpull"]
    assert not output.events[0].alarm
    assert output.alarms == []
    assert sound(pipeline) == ("", "")


def test_a_pull_over_the_limit_asks_sounds_and_returns() -> None:
    script = learnt().move(13.0, LOAD_N + 200e3)
    output, pipeline = run(script)
    (alarm,) = of(output)
    (event,) = output.events
    assert (alarm.state, alarm.priority, alarm.first_up) == ("unacknowledged", "medium", True)
    assert alarm.event_id == event.id
    assert event.alarm
    # The event has been confirmed for 0.3 s by then; the alarm adds its own 0.2 s at most.
    assert 0 <= alarm.raised_us - event.raised_us <= 400_000
    assert sound(pipeline) == ("medium", "")
    output, pipeline = run(script.move(29.0, LOAD_N))
    assert of(output)[0].state == "returned"
    assert path(output) == ["normal", "unacknowledged", "returned"]
    assert sound(pipeline) == ("", "")


def test_seen_is_quiet_and_stays_until_the_load_is_back() -> None:
    script = learnt().move(13.0, LOAD_N + 200e3)
    seen = act(script, "acknowledge", text="overpull")
    output, pipeline = run(script.move(14.0, LOAD_N + 200e3), seen)
    (alarm,) = of(output)
    assert (alarm.state, alarm.acknowledged_by) == ("acknowledged", "tester")
    assert alarm.acknowledged_us == seen.time_us
    assert sound(pipeline) == ("", "")
    output, _ = run(script.move(29.0, LOAD_N), seen)
    assert path(output) == ["normal", "unacknowledged", "acknowledged", "normal"]
    assert of(output)[0].returned_us is not None


def test_one_that_comes_again_unseen_is_the_same_alarm() -> None:
    script = learnt().move(12.0, LOAD_N + 200e3).move(20.0, LOAD_N, 0.25)
    output, _ = run(script.move(21.0, LOAD_N + 200e3).move(29.0, LOAD_N))
    (alarm,) = of(output)
    assert alarm.times == 2
    assert len({event.id for event in output.events}) == 2


def test_acknowledging_the_event_is_acknowledging_its_alarm() -> None:
    script = learnt().move(13.0, LOAD_N + 200e3)
    first, _ = run(script)
    seen = act(script, "acknowledge", text=first.events[0].id)
    output, _ = run(script.move(14.0, LOAD_N + 200e3), seen)
    assert of(output)[0].state == "acknowledged"


@pytest.mark.parametrize(
    ("limits", "sounds"),
    [
        (AlarmLimits(overpull_N=130e3), False),
        (AlarmLimits(overpull_N=110e3), True),
        (AlarmLimits(overpull_load_N=LOAD_N + 130e3), False),
        (AlarmLimits(overpull_load_N=LOAD_N + 110e3), True),
        # 400 kN to the weakest limit (hook load 1600 kN): 40 % are 160 kN, 25 % 100 kN.
        (AlarmLimits(overpull_margin_share=0.4), False),
        (AlarmLimits(overpull_margin_share=0.25), True),
        # Of several the one reached first.
        (AlarmLimits(overpull_N=500e3, overpull_margin_share=0.25), True),
        # The usual one: the greatest of 90 kN, 10 % of the string's 950 kN, two bands.
        (AlarmLimits(), True),
    ],
)
def test_three_ways_to_set_the_limit(limits: AlarmLimits, sounds: bool) -> None:
    weakest = Equipment("hook block", 1600e3, "hook load")
    rig = plain_rig(alarms=limits, equipment=(weakest,))
    output, _ = run(learnt().move(13.0, LOAD_N + 120e3).move(20.0, LOAD_N), rig=rig)
    assert [event.kind for event in output.events] == ["overpull"]
    assert bool(of(output)) is sounds


def test_a_fixed_load_is_watched_while_nothing_is_learnt() -> None:
    rig = plain_rig(alarms=AlarmLimits(overpull_load_N=1300e3))
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(5.0, LOAD_N)
    output, _ = run(script.move(8.0, 1350e3), rig=rig)
    (alarm,) = of(output)
    assert alarm.event_id == ""
    assert "fixed" in alarm.why
    assert "overpull" not in {event.kind for event in output.events}


def test_what_was_agreed_is_told_apart_from_the_alarm() -> None:
    rig = plain_rig(agreed=Agreed(60e3, None, "company man (invented)", "2026-03-01"))
    script = learnt().move(13.0, LOAD_N + 80e3)
    output, pipeline = run(script, rig=rig)
    assert output.alarms == []
    assert pipeline.status()["alarms"]["beyond_agreed"] == ["overpull"]
    output, _ = run(script.move(29.0, LOAD_N), rig=rig)
    assert path(output, "agreed_overpull") == ["within", "beyond", "within"]


def test_shelved_is_silent_until_its_end_and_asks_again_where_it_goes_on() -> None:
    script = learnt()
    shelf = act(script, "shelve", 20.0, "overpull: pulling through a known ledge")
    script.move(13.0, LOAD_N + 200e3, 0.25)  # 12 s
    output, pipeline = run(script, shelf)
    assert of(output) == []
    assert output.events[0].alarm  # the event is logged all the same
    assert sound(pipeline) == ("", "")
    (shelved,) = pipeline.status()["alarms"]["shelved"]
    assert shelved["until_us"] == shelf.time_us + 20_000_000
    assert (shelved["who"], shelved["active"]) == ("tester", True)
    output, pipeline = run(script.move(16.0, LOAD_N + 200e3, 0.25), shelf)
    assert path(output) == ["normal", "shelved", "normal", "unacknowledged"]
    assert of(output)[0].raised_us == shelf.time_us + 20_000_000
    assert sound(pipeline)[0] == "medium"


@pytest.mark.parametrize("kind", ["over_rating", "near_crown", "near_floor"])
def test_what_can_break_the_line_or_the_mast_is_never_put_aside(kind: str) -> None:
    pipeline = Pipeline(plain_rig())
    shelf = Command(1, 0, "shelve", 60.0, kind.replace("_", " "), "tester")
    assert "replaces no crown or floor saver" in pipeline.refusal(shelf)
    pipeline.feed(Script().samples(), [shelf])
    assert pipeline.status()["alarms"]["shelved"] == []
    assert "can never be shelved" in pipeline.summary()["acts_refused"][0]


@pytest.mark.parametrize(
    ("name", "seconds", "text", "words"),
    [
        ("shelve", NAN, "overpull", "an end is needed, at most 180 min"),
        ("shelve", 4 * 3600.0, "overpull", "at most 180 min"),
        ("shelve", 60.0, "jar_blow", "no such alarm"),
        ("unshelve", NAN, "overpull", "is not shelved"),
        ("mute", 3600.0, "", "at most 5 min"),
        ("reset_alarm", NAN, "over_rating", "only a latched alarm"),
        ("stuck_mode", NAN, "end", "it is not on"),
        ("stuck_mode", NAN, "perhaps", "begin, end, not now are expected"),
    ],
)
def test_refusals_say_why(name: str, seconds: float, text: str, words: str) -> None:
    assert words in Pipeline(plain_rig()).refusal(Command(1, 0, name, seconds, text, "tester"))


def near_the_crown() -> tuple[Script, Rig]:
    rig = plain_rig(limits=Limits(crown_m=30.0))
    return learnt().move(29.9, LOAD_N, 0.5).hold(1, LOAD_N).move(30.4, LOAD_N, 0.5), rig


def test_mute_expires_and_never_covers_the_crown() -> None:
    script = learnt()
    script.move(13.0, LOAD_N + 200e3)
    mute = act(script, "mute", 10.0)
    output, pipeline = run(script.hold(5, LOAD_N + 200e3), mute)
    assert sound(pipeline) == ("", "muted")
    output, pipeline = run(script.hold(6, LOAD_N + 200e3), mute)
    assert sound(pipeline) == ("medium", "")
    assert path(output, "sound") == ["on", "muted", "on"]
    script, rig = near_the_crown()
    mute = Command(5, 0, "mute", 300.0, "", "tester")
    output, pipeline = run(script, mute, rig=rig)
    assert of(output, "near_crown")[0].priority == "high"
    assert sound(pipeline) == ("high", "")


def test_slip_and_cut_suppresses_by_design_but_not_the_crown() -> None:
    script, rig = near_the_crown()
    begin = Command(5, 0, "slip_and_cut", NAN, "begin", "tester")
    output, pipeline = run(script, begin, rig=rig)
    status = pipeline.status()["alarms"]
    assert "overpull" in status["suppressed"]
    assert not {"near_crown", "over_rating"} & set(status["suppressed"])
    assert of(output, "near_crown")
    assert sound(pipeline) == ("high", "")
    (event,) = [event for event in output.events if event.kind == "near_crown"]
    assert event.alarm


@pytest.mark.parametrize(
    "mode",
    [
        Command(5, 0, "slip_and_cut", NAN, "begin", "tester"),
        Command(5, 0, "stuck_mode", NAN, "begin", "tester"),
        Command(5, 0, "mute", 300.0, "", "tester"),
    ],
    ids=["slip and cut", "stuck mode", "mute"],
)
def test_near_the_floor_sounds_in_every_mode(mode: Command) -> None:
    """Held pipe that comes loose goes down fast; no mode makes the floor soft."""
    script, rig = learnt(), plain_rig(limits=Limits(floor_m=1.0))
    script.move(9.0, LOAD_N).hold(2, LOAD_N).move(0.6, LOAD_N, 0.5)
    output, pipeline = run(script, mode, rig=rig)
    (alarm,) = of(output, "near_floor")
    assert alarm.why == "it advises only and replaces no crown or floor saver"
    assert sound(pipeline) == ("high", "")
    assert "near_floor" not in pipeline.status()["alarms"]["suppressed"]
    assert {event.alarm for event in output.events if event.kind == "near_floor"} == {True}


def test_over_a_rating_latches_until_a_person_resets_it() -> None:
    rig = plain_rig(equipment=(Equipment("hook block", 1400e3, "hook load"),))
    script = learnt().move(12.0, LOAD_N + 300e3).move(25.0, LOAD_N)
    first, _ = run(script, rig=rig)
    (alarm,) = of(first, "over_rating")
    assert (alarm.state, alarm.priority) == ("latched_unacknowledged", "high")
    seen = act(script, "acknowledge", text="over rating")
    reset = replace(act(script, "reset_alarm", text="over rating"), seq=seen.seq + 1)
    script.move(29.0, LOAD_N)
    later, _ = run(script, seen, rig=rig)
    assert of(later, "over_rating")[0].state == "latched_acknowledged"
    samples = script.samples()
    samples = replace(samples, seq=samples.seq * 2)
    acts = (replace(seen, seq=seen.seq * 2), replace(reset, seq=seen.seq * 2 + 1))
    last = Pipeline(rig, bit_depth_m=2000.0).feed(samples, acts)
    assert path(last, "over_rating")[-2:] == ["latched_acknowledged", "normal"]


def test_a_shelf_is_not_made_longer_in_passing() -> None:
    pipeline = Pipeline(plain_rig())
    shelf = Command(1, 0, "shelve", 60.0, "overpull: known ledge", "tester")
    pipeline.feed(Script().samples(), [shelf])
    assert "shelved already" in pipeline.refusal(replace(shelf, seq=9))


def test_first_up_is_the_first_of_those_not_yet_seen() -> None:
    rig = plain_rig(equipment=(Equipment("hook block", 1400e3, "hook load"),))
    output, _ = run(learnt().move(12.0, LOAD_N + 150e3).move(13.0, LOAD_N + 300e3), rig=rig)
    overpull, rating = of(output)[0], of(output, "over_rating")[0]
    assert overpull.raised_us < rating.raised_us
    assert (overpull.first_up, rating.first_up) == (True, False)


def test_out_of_service_by_the_rig_file_with_its_reason() -> None:
    limits = AlarmLimits(out_of_service=(("overpull", "under review, toolpusher (invented)"),))
    rig = plain_rig(alarms=limits)
    output, pipeline = run(learnt().move(13.0, LOAD_N + 200e3), rig=rig)
    assert output.alarms == []
    (out,) = pipeline.status()["alarms"]["out_of_service"]
    assert out == {"kind": "overpull", "reason": "under review, toolpusher (invented)"}


def test_every_change_is_in_the_journal_in_order_and_by_data_time() -> None:
    script = learnt().move(13.0, LOAD_N + 200e3)
    seen = act(script, "acknowledge", text="overpull")
    output, _ = run(script.move(29.0, LOAD_N), seen)
    changes: list[AlarmChange] = output.alarm_changes
    assert [change.seq for change in changes] == sorted(change.seq for change in changes)
    assert len({change.id for change in changes}) == len(changes)
    samples = script.samples()
    times = dict(zip(samples.seq.tolist(), samples.time_us.tolist(), strict=True))
    for change in changes:
        assert change.time_us == times.get(change.seq, seen.time_us)
    assert np.all(np.diff([change.time_us for change in changes]) >= 0)


def test_another_agreed_limit_counts_from_its_act_on() -> None:
    rig = plain_rig(agreed=Agreed(60e3, None, "company man (invented)", "2026-03-01"))
    script = learnt()
    raised = act(script, "agreed_limit", 150e3, "overpull: hole is tight")
    output, pipeline = run(script.move(13.0, LOAD_N + 80e3), raised, rig=rig)
    assert path(output, "agreed_overpull") == []
    assert pipeline.status()["alarms"]["beyond_agreed"] == []


@pytest.mark.parametrize("scenario", ["trip_in", "stuck_pipe", "floater"])
def test_every_event_that_asks_for_an_answer_becomes_an_alarm(scenario: str) -> None:
    """A stage that raises events must say in which rows they are open."""
    rig, samples, depth = simulated(scenario, 0.6)
    collected = run_record(rig, faulty(samples, 5), [], (), depth)
    loads = ("overpull", "slack_off")
    asking = {each.kind for each in ALARM_KINDS if each.kind not in loads}
    events = {event.kind for event in collected.events.values()} & asking
    assert events
    assert events <= {alarm.kind for alarm in collected.alarms.values()}
