"""The state diagram against the published standard; delays against their definition.

States and their letters: ISA-18.2-2016 / IEC 62682, alarm state transition diagram (from
memory). Delays and deadband: OPC UA Part 9, annex B.1.5 (looked up): active only after the
value has stayed over the limit for the on-delay; back only when under the limit less the
deadband for the off-delay.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from monitor.interpret.alarm_kinds import ALARM_KINDS
from monitor.interpret.alarm_sound import Flood
from monitor.interpret.alarm_state import Delay, next_state
from monitor.model import ALARM_STATES, EVENT_KINDS

A, B, C, D, E, F, G, H, OUT = ALARM_STATES

# Every arrow of the diagram for an alarm that does not latch.
ARROWS = {
    (A, "active"): B,
    (B, "acknowledge"): C,
    (B, "over"): D,
    (C, "over"): A,
    (D, "acknowledge"): A,
    (D, "active"): B,
    **{(state, "shelve"): G for state in (A, B, C, D, H)},
    (G, "unshelve"): A,
    **{(state, "suppress"): H for state in (A, B, C, D)},
    (H, "release"): A,
}
LATCHING = {
    **ARROWS,
    (B, "over"): E,
    (C, "over"): F,
    (E, "acknowledge"): F,
    (E, "active"): B,
    (F, "active"): B,
    (F, "reset"): A,
    **{(state, "shelve"): G for state in (E, F)},
    **{(state, "suppress"): H for state in (E, F)},
}
HAPPENINGS = (
    "active", "over", "acknowledge", "reset", "shelve", "unshelve", "suppress", "release",
)  # fmt: skip


@pytest.mark.parametrize("latching", [False, True])
def test_the_diagram_has_the_arrows_of_the_standard_and_no_other(latching: bool) -> None:
    reached = (A, B, C, D, E, F, G, H, OUT) if latching else (A, B, C, D, G, H, OUT)
    arrows = LATCHING if latching else ARROWS
    for state, happening in itertools.product(reached, HAPPENINGS):
        expected = arrows.get((state, happening), state)
        assert next_state(state, happening, latching=latching) == expected, (state, happening)


def test_out_of_service_is_left_by_nothing() -> None:
    assert {next_state(OUT, happening) for happening in HAPPENINGS} == {OUT}


def test_every_alarm_is_an_event_and_only_a_jar_blow_needs_no_answer() -> None:
    kinds = [each.kind for each in ALARM_KINDS]
    assert len(set(kinds)) == len(kinds)
    assert set(EVENT_KINDS) - set(kinds) == {"jar_blow"}


def edges(on: list[int], off: list[int], cuts: tuple[int, ...] = ()) -> list[tuple[int, bool]]:
    """Edges of a delay of 0.5 s on, 2 s off, at 2 Hz, cut into pieces."""
    delay = Delay(0.5, 2.0)
    time = np.arange(len(on)) * 0.5
    ons, offs = np.array(on, dtype=bool), np.array(off, dtype=bool)
    found = []
    for start, stop in itertools.pairwise([0, *cuts, len(on)]):
        part = delay.follow(time[start:stop], ons[start:stop], offs[start:stop])
        found += [(start + row, active) for row, active in part]
    return found


def test_on_delay_and_off_delay_are_counted_from_the_first_row() -> None:
    on = [0, 1, 0, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0]
    off = [1 - value for value in on]
    # One row over is too short; two are 0.5 s. Clear from row 6 on: 2 s later is row 10.
    assert edges(on, off) == [(4, True), (10, False)]


def test_between_limit_and_deadband_an_alarm_stays() -> None:
    on = [1, 1, 0, 0, 0, 0, 0, 0, 0, 0]
    off = [0] * 10
    assert edges(on, off) == [(1, True)]


def test_delays_do_not_depend_on_cuts() -> None:
    random = np.random.default_rng(4)
    on = np.repeat(random.random(20) < 0.5, random.integers(1, 8, 20)).astype(int).tolist()
    off = [int(not o and random.random() < 0.95) for o in on]
    whole = edges(on, off)
    assert len(whole) > 3
    for cuts in ((7,), (3, 4, 5, 31), tuple(range(1, len(on)))):
        assert edges(on, off, cuts) == whole


def test_a_flood_is_more_than_ten_in_ten_minutes_and_over_below_five() -> None:
    """EEMUA 191: flood above 10 in 10 min (looked up); over below 5 (from memory)."""
    flood = Flood()
    begun = [flood.raised(30.0 * number) for number in range(12)]
    assert begun.index(True) == 10  # the eleventh
    assert sum(begun) == 1
    time = np.arange(0.0, 2000.0, 10.0)
    # The fifth newest, at 210 s, leaves the ten minutes at 810 s: four are left.
    assert time[flood.end_row(time)] == pytest.approx(210.0 + 600.0)
    flood.end()
    assert flood.end_row(time) == len(time)
