"""Starts of the string: what is usual is learnt and gone by, a tight spot is not."""

from __future__ import annotations

import math

from monitor.interpret.break_over import LEAST_STARTS, MARGIN, OUTSTANDING, BreakOver
from tests.interpret.streams import EMPTY_N, Script

LOAD_N = 1200e3


def stand_with_start(script: Script, height_N: float) -> Script:
    """Pull a stand whose load is ``height_N`` too high over its first 0.8 m."""
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(2.0, LOAD_N + height_N, 0.2)
    script.move(29.0, LOAD_N).hold(3, LOAD_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)
    return script.move(1.0, EMPTY_N, 0.8)


def trip(*heights_N: float) -> Script:
    """A trip out; its first two stands, without such starts, teach the load."""
    script = Script().stand_out(LOAD_N).stand_out(LOAD_N)
    for height_N in heights_N:
        stand_with_start(script, height_N)
    return script


def overpulls(script: Script) -> list[float]:
    found = script.run(2000.0).events
    return [event.peak_excess_N for event in found if event.kind == "overpull"]


def test_usual_starts_raise_nothing() -> None:
    """60 kN over at every start, limit 40 kN: that is how this hole lets go."""
    assert len(overpulls(trip(*[60e3] * 8))) <= LEAST_STARTS


def test_a_start_far_beyond_the_usual_is_raised_at_once() -> None:
    quiet = trip(*[5e3] * 5)
    before = quiet.seconds
    stand_with_start(quiet, 110e3)
    events = [e for e in quiet.run(2000.0).events if e.kind == "overpull"]
    assert len(events) == 1
    # Pick-up after 10 s and 2 s of taking the load; then within two seconds.
    assert events[0].raised_us / 1e6 - before < 14.0


def test_one_high_start_does_not_become_usual() -> None:
    starts = BreakOver()
    starts.heights = [20e3] * 7 + [300e3]
    assert starts.usual_N() == MARGIN * OUTSTANDING * 20e3


def test_highest_of_starts_that_differ_is_usual() -> None:
    starts = BreakOver()
    starts.heights = [18e3, 20e3, 24e3, 19e3]
    assert starts.usual_N() == MARGIN * 24e3


def test_few_starts_say_nothing() -> None:
    starts = BreakOver()
    starts.heights = [20e3] * (LEAST_STARTS - 1)
    assert math.isnan(starts.usual_N())


def test_who_pulls_again_where_it_held_is_told_at_once() -> None:
    """Starts of 60 kN are usual here; one that follows a pull of 200 kN is none."""
    script = trip(*[60e3] * 8)
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(12.0, LOAD_N).move(12.4, LOAD_N + 200e3, 0.1)
    script.hold(20, LOAD_N + 200e3).move(12.1, LOAD_N - 100e3, 0.1).hold(20, LOAD_N - 100e3)
    begins_s = script.seconds
    script.move(12.3, LOAD_N, 0.1).move(12.6, LOAD_N + 75e3, 0.1).hold(5, LOAD_N + 75e3)
    found = [e for e in script.run(2000.0).events if e.kind == "overpull"]
    late = [e for e in found if e.raised_us / 1e6 > begins_s]
    assert len(late) == 1
    assert late[0].raised_us / 1e6 - begins_s < 4.0  # 2 s until it is over, and one to tell
