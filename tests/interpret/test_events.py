"""Overpull and slack-off by the definitions of an event span."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Event, State
from tests.interpret.streams import EMPTY_N, Script, act, stand_N

LOAD_N = 1200e3


def learnt(stands: int = 3) -> Script:
    """Return a trip out whose hoisting load is known by now, a stand just begun."""
    script = Script().stands_out(stands, LOAD_N)
    return script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)


def overpulls(script: Script) -> list[Event]:
    return [e for e in script.run(2000.0).events if e.kind in ("overpull", "slack_off")]


def test_normal_trip_has_no_event() -> None:
    script = learnt().move(29.0, LOAD_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)
    assert overpulls(script) == []


def test_overpull_has_start_end_peak_and_depth() -> None:
    script = learnt()
    begins = script.seconds
    script.move(12.0, LOAD_N + 90e3)
    ends = script.seconds
    script.move(29.0, LOAD_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)
    (event,) = overpulls(script)
    assert event.kind == "overpull"
    assert event.start_us / 1e6 == pytest.approx(begins, abs=0.5)
    assert event.raised_us > event.start_us
    # On-delay 0.3 s and two rows, and one row for the median of three, at 5 Hz.
    assert (event.raised_us - event.start_us) / 1e6 <= 0.8
    assert event.end_us is not None
    assert event.end_us / 1e6 == pytest.approx(ends, abs=0.7)
    assert event.peak_excess_N == pytest.approx(90e3, rel=0.03)
    assert event.peak_hook_load_N == pytest.approx(LOAD_N + 90e3, rel=0.01)
    assert event.bit_depth_m == pytest.approx(2000 - 3 * 27.8 - 9.8, abs=1.5)
    assert event.confidence > 0.9


def test_slack_off_is_a_magnitude_with_the_least_load() -> None:
    script = Script()
    for left in (3, 2, 1):
        script.stand_in(LOAD_N - left * stand_N(LOAD_N))
    script.hold(10, EMPTY_N).move(29.0, EMPTY_N).ramp(29.2, LOAD_N).move(20.0, LOAD_N)
    script.move(18.0, LOAD_N - 120e3).move(1.2, LOAD_N).hold(5, LOAD_N)
    (event,) = overpulls(script)
    assert event.kind == "slack_off"
    assert event.peak_excess_N == pytest.approx(120e3, rel=0.03)
    assert event.peak_hook_load_N == pytest.approx(LOAD_N - 120e3, rel=0.01)


def test_less_than_the_limit_is_no_event() -> None:
    assert overpulls(learnt().move(12.0, LOAD_N + 30e3).move(29.0, LOAD_N)) == []


def test_two_within_10_s_in_one_stand_are_one() -> None:
    script = learnt().move(12.0, LOAD_N + 90e3).move(14.0, LOAD_N).move(16.0, LOAD_N + 100e3)
    (event,) = overpulls(script.move(29.0, LOAD_N).hold(10, LOAD_N))
    assert event.peak_excess_N == pytest.approx(100e3, rel=0.03)


def test_two_further_apart_are_two() -> None:
    script = learnt().move(12.0, LOAD_N + 90e3).move(20.0, LOAD_N).move(22.0, LOAD_N + 100e3)
    assert len(overpulls(script.move(29.0, LOAD_N).hold(10, LOAD_N))) == 2


def test_open_at_the_end_has_no_end_and_its_peak_so_far() -> None:
    (event,) = overpulls(learnt().move(14.0, LOAD_N + 90e3))
    assert event.end_us is None
    assert event.peak_excess_N == pytest.approx(90e3, rel=0.03)


def test_slips_set_end_it() -> None:
    script = learnt().move(14.0, LOAD_N + 90e3).ramp(13.8, EMPTY_N).hold(20, EMPTY_N)
    (event,) = overpulls(script)
    assert event.end_us is not None


def test_stopped_load_is_judged_by_the_last_direction() -> None:
    (event,) = overpulls(learnt().hold(5, LOAD_N).hold(8, LOAD_N + 90e3).hold(5, LOAD_N))
    assert event.kind == "overpull"


def test_load_that_jumps_before_the_counter_shows_the_block_go_back_is_no_pull() -> None:
    """Friction of the sheaves turns over, a tenth of the load, within the step of a counter."""
    script = learnt().move(25.0, LOAD_N).hold(40, LOAD_N).hold(0.8, LOAD_N + 120e3)
    script.move(24.5, LOAD_N - 20e3, 0.1).hold(3, LOAD_N - 20e3)
    assert overpulls(script) == []


def test_down_and_high_is_no_event() -> None:
    script = Script()
    for _ in range(3):
        script.stand_in(LOAD_N)
    script.hold(10, EMPTY_N).move(29.0, EMPTY_N).ramp(29.2, LOAD_N).move(20.0, LOAD_N)
    assert overpulls(script.move(10.0, LOAD_N + 150e3).move(1.2, LOAD_N)) == []


def test_nothing_is_judged_in_slips() -> None:
    script = learnt().move(29.0, LOAD_N).ramp(28.8, EMPTY_N)
    output = script.hold(30, EMPTY_N).run(2000.0)
    assert np.isnan(output.columns["excess_N"][-1])
    assert np.isnan(output.columns["room_left_N"][-1])


def test_short_break_over_after_a_stop_is_no_event() -> None:
    """Static friction shows for a moment when pipe that stood begins to move."""
    script = learnt().hold(120, LOAD_N).move(10.5, LOAD_N + 60e3).move(29.0, LOAD_N)
    assert overpulls(script) == []


def test_first_stand_says_learning() -> None:
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(5.0, LOAD_N)
    output = script.run(2000.0)
    assert int(output.columns["state"][-1]) & State.LEARNING
    assert np.isnan(output.columns["expected_N"][-1])


def test_new_line_count_is_learnt_again() -> None:
    script = learnt()
    command = act(script, "lines_strung", 8, "override: to see what is learnt")
    output = script.move(15.0, LOAD_N).run(2000.0, (command,))
    row = int(np.searchsorted(script.samples().seq, command.seq)) + 2
    assert output.columns["hook_load_N"][row] == pytest.approx(0.8 * LOAD_N, rel=0.01)
    assert int(output.columns["state"][row]) & State.LEARNING


def lowered() -> Script:
    """Return both weights known, a stand just lowered a little and at rest."""
    script = Script()
    for _ in range(4):
        script.stand_in(LOAD_N - 60e3)
    for _ in range(4):
        script.stand_out(LOAD_N)
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(20.0, LOAD_N)
    return script.move(18.0, LOAD_N - 60e3).hold(20, LOAD_N - 60e3)


@pytest.mark.parametrize("pulled_m", [0.06, 0.09])
def test_a_string_held_fast_is_an_overpull_without_a_tenth_of_travel(pulled_m: float) -> None:
    """Lowered, then pulled: held fast it gives less than what a reversal else needs."""
    script = lowered()
    begins = script.seconds
    script.ramp(18.0 + pulled_m, LOAD_N + 200e3, 0.02).hold(60, LOAD_N + 200e3)
    script.ramp(18.0, LOAD_N - 60e3, 0.02).hold(20, LOAD_N - 60e3)
    (event,) = overpulls(script)
    assert event.kind == "overpull"
    assert event.start_us / 1e6 == pytest.approx(begins, abs=6.0)
    assert event.peak_excess_N == pytest.approx(200e3, rel=0.05)


def test_drag_that_turns_over_within_a_tenth_of_travel_is_none() -> None:
    script = lowered()
    script.ramp(18.09, LOAD_N, 0.02).hold(60, LOAD_N)
    assert overpulls(script) == []


def at_10_hz(stands: int = 3) -> Script:
    script = Script(hz=10.0).stands_out(stands, LOAD_N)
    return script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)


def test_noise_over_the_limit_for_a_moment_raises_nothing() -> None:
    """Four rows of ten are 55 kN over, the mean of half a second never more than 40 kN."""
    script = at_10_hz()
    noise = np.tile([-30e3] * 6 + [55e3] * 4, 16)
    script.move(18.0, LOAD_N + noise).move(29.0, LOAD_N)
    assert overpulls(script) == []


def test_dips_of_single_rows_do_not_begin_a_pull_anew() -> None:
    """Three rows over, two not: never 0.3 s at a time, and yet half a second's mean is over."""
    script = at_10_hz()
    begins = script.seconds
    script.move(18.0, LOAD_N + np.tile([80e3] * 3 + [10e3] * 2, 32)).move(29.0, LOAD_N)
    (event,) = overpulls(script)
    assert event.raised_us / 1e6 - begins < 1.5


@pytest.mark.parametrize("missing", range(2, 12))
def test_a_row_missing_while_slips_take_the_string_is_no_slack_off(missing: int) -> None:
    script = Script(hz=10.0)
    for _ in range(3):
        script.stand_in(LOAD_N)
    script.hold(10, EMPTY_N).move(29.0, EMPTY_N).ramp(29.2, LOAD_N).move(1.2, LOAD_N)
    script.hold(2, LOAD_N)
    falls = len(script.load)
    script.ramp(1.14, EMPTY_N, 0.05).hold(20, EMPTY_N)
    script.load[falls + missing] = np.nan
    assert overpulls(script) == []


@pytest.mark.parametrize("hz", [1.0, 5.0, 10.0])
def test_the_fall_into_slips_is_not_shown_as_an_excess(hz: float) -> None:
    """A free trip: nothing was ever 10 kN under what is normal until slips had the string.

    Slips take it along 0.2 m at 0.1 m/s (common practice).
    """
    script = Script(hz=hz)
    for _ in range(6):
        script.stand_out(LOAD_N)
    output = script.run()
    assert np.nanmin(output.columns["excess_N"]) > -10e3


def test_a_load_set_down_is_shown_as_soon_as_it_has_stopped_falling() -> None:
    """60 kN taken off while lowering: shown within half a second of the last of the fall."""
    script = Script(28.5)
    for _ in range(6):
        script.stand_in(LOAD_N)
    script.hold(10, EMPTY_N).move(29.0, EMPTY_N, 0.8).hold(20, EMPTY_N)
    script.ramp(29.2, LOAD_N).hold(2, LOAD_N).move(15.0, LOAD_N).ramp(14.8, LOAD_N - 60e3)
    fallen_s = script.seconds
    output = script.move(12.0, LOAD_N - 60e3, 0.2).run()
    time_s = (output.time_us - output.time_us[0]) / 1e6
    shown = output.columns["excess_N"] < -50e3
    assert time_s[np.flatnonzero(shown & (time_s > fallen_s - 1.0))[0]] <= fallen_s + 0.5
