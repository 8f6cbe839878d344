"""What else is known of an event: work done, whether the place is known, a plain sentence.

Runs after whatever raises events and completes those of the string being held: overpull,
slack-off, stuck. Work is the load beyond what is expected, over the block travel against it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tight_spots import Spots, Trips
from monitor.interpret.windows import Tail, running_sum
from monitor.model import Event, Floats, Ints
from monitor.rig.rig import Rig
from monitor.units import format_value

NAN = float("nan")

HELD = ("overpull", "slack_off", "stuck")
# Kinds whose work is counted, and the way of the block that does it.
WORKED = {"overpull": 1.0, "slack_off": -1.0}
# How long before it is told an event may have begun, or ended: the longest slips set, the
# confirmation, and some rows of slow data.
LOOK_BACK_S = 12.0
LEAST_LOOK_BACK_ROWS = 8
# An event that ended so long ago is not joined again (twice the time within which it is).
FORGOTTEN_S = 20.0


class EventFacts(Stage):
    """Completes events of a held string; remembers where they were."""

    STATE = ("trips", "trip", "spots", "recent", "present")

    def __init__(self, rig: Rig) -> None:
        del rig
        self.trips = Trips()
        self.trip = 0.0
        self.spots = Spots()
        self.recent = Tail(("time_s", *WORKED), LOOK_BACK_S, LEAST_LOOK_BACK_ROWS)
        self.present: dict[str, dict[str, Any]] = {}  # the newest event of each kind

    def gap(self) -> None:
        """Times are counted anew after a clock step."""
        self.recent.clear()

    def step(self, rows: Rows) -> None:
        """Complete the events that began or changed in these rows."""
        trips = self._trips(rows)
        work = {kind: self._work(rows, kind) for kind in WORKED}
        joined, kept = self.recent.join({"time_s": rows.time_s, **work})
        for kind, known in self.present.items():
            if len(known["work_J"]):
                # Each row adds to the sum of the row before: the same bits for any cut.
                more = running_sum(float(known["work_J"][-1]), work[kind])
                known["first"] = kept - len(known["work_J"])
                known["work_J"] = np.concatenate((known["work_J"], more))
        held = [i for i, event in enumerate(rows.events) if event.kind in HELD]
        for i in sorted(held, key=lambda i: (rows.events[i].seq, rows.events[i].kind)):
            rows.events[i] = self._completed(rows, rows.events[i], trips, joined)
        for known in self.present.values():
            is_past = float(rows.time_s[-1]) - known["until_s"] > FORGOTTEN_S
            length = 0 if is_past else len(self.recent.kept["time_s"])
            known["work_J"] = known["work_J"][max(len(known["work_J"]) - length, 0) :].copy()
            known.pop("first", None)

    def _trips(self, rows: Rows) -> tuple[Ints, Floats]:
        """Rows at which the number of the trip became known, and the numbers."""
        at, numbers = np.array([-1]), np.array([self.trip])
        if rows.blocks is not None and len(rows.blocks):
            at = np.concatenate((at, rows.blocks.known_at))
            counted = self.trips.number(rows.blocks.last["along_m"])
            numbers = np.concatenate((numbers, counted))
            self.trip = float(counted[-1])
        return at, numbers

    def _work(self, rows: Rows, kind: str) -> Floats:
        """Work of each row against what holds the string: excess times travel against it."""
        excess = np.maximum(rows.column[f"{kind}_excess_N"], 0.0)
        work: Floats = excess * (WORKED[kind] * rows.column["block_step_m"])
        return work

    def _completed(
        self, rows: Rows, event: Event, trips: tuple[Ints, Floats], joined: dict[str, Floats]
    ) -> Event:
        known = self.present.get(event.kind)
        if known is None or known["id"] != event.id:
            known = self._begun(rows, event, trips, joined)
            self.present[event.kind] = known
        if event.peak_time_us != known["peak_us"]:
            known["peak_us"] = event.peak_time_us
            known["peak_J"] = _work_at(known, joined, rows, event.peak_time_us)
        work_J, known["until_s"] = known["peak_J"], math.inf
        if event.end_us is not None:
            work_J = _work_at(known, joined, rows, event.end_us)
            known["until_s"] = (event.end_us - rows.origin_us) / 1e6
        self.spots.put(event.id, event.kind, event.bit_depth_m, known["trip"], event.peak_excess_N)
        repeat = int(known["repeat"])
        return replace(event, work_J=work_J, repeat=repeat, why=_why(event, repeat))

    def _begun(
        self, rows: Rows, event: Event, trips: tuple[Ints, Floats], joined: dict[str, Floats]
    ) -> dict[str, Any]:
        """A new event: what was known of its depth when it was raised, its work so far."""
        row = int(np.searchsorted(rows.seq, event.seq))
        depth = float(rows.column["bit_depth_m"][row])
        at, numbers = trips
        trip = float(numbers[int(np.searchsorted(at, row, side="right")) - 1])
        known: dict[str, Any] = {
            "id": event.id,
            "trip": trip,
            "repeat": self.spots.earlier(depth, trip),
            "peak_us": 0,
            "peak_J": NAN,
            "until_s": math.inf,
            "work_J": np.empty(0),
        }
        if event.kind in WORKED:
            first = _index(joined, rows, event.start_us)
            known["first"] = first
            known["work_J"] = running_sum(0.0, joined[event.kind][first:])
        self.spots.put(event.id, event.kind, depth, trip, NAN)
        return known


def _index(joined: dict[str, Floats], rows: Rows, time_us: int) -> int:
    times = joined["time_s"]
    return min(int(np.searchsorted(times, (time_us - rows.origin_us) / 1e6)), len(times) - 1)


def _work_at(known: dict[str, Any], joined: dict[str, Floats], rows: Rows, time_us: int) -> float:
    """Work from the start of an event up to a time."""
    total = known["work_J"]
    if not len(total):
        return NAN
    return float(total[max(_index(joined, rows, time_us) - known["first"], 0)])


def _why(event: Event, repeat: int) -> str:
    """Say why it fired, for who reads it at three in the morning."""
    if event.kind == "stuck":
        told = event.why
    else:
        sense, way = ("over", "hoisting") if event.kind == "overpull" else ("under", "lowering")
        told = (
            f"{format_value(event.peak_excess_N, 'force', large=True)} {sense} the "
            f"{format_value(event.expected_hook_load_N, 'force', large=True)} that is normal "
            f"{way} here, and outside its band"
        )
    if not repeat:
        return told
    trips = "an earlier trip" if repeat == 1 else f"{repeat} earlier trips"
    return f"{told}; held at this depth on {trips} too"
