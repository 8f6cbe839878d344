"""What else is known of an event: work done, whether the place is known, a plain sentence.

Runs after whatever raises events and completes those of the string being held: overpull,
slack-off, stuck. Work is the load beyond what is expected, over the block travel against it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from monitor.interpret.heave import beyond_heave_N
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tight_spots import Spots, Trips
from monitor.interpret.windows import Tail, running_sum
from monitor.model import Event, Floats
from monitor.rig.rig import Rig
from monitor.units import format_value

NAN = float("nan")

HELD = ("overpull", "slack_off", "stuck")
SIGNS = {"overpull": (1.0, "expected_up_N"), "slack_off": (-1.0, "expected_down_N")}
# How long before it is told an event may have begun, or ended: the longest slips set, the
# confirmation, and some rows of slow data.
LOOK_BACK_S = 12.0
LEAST_LOOK_BACK_ROWS = 8


class EventFacts(Stage):
    """Completes events of a held string; remembers where they were."""

    STATE = ("trips", "spots", "recent", "work_J", "present")

    def __init__(self, rig: Rig) -> None:
        del rig
        self.trips = Trips()
        self.spots = Spots()
        self.recent = Tail(("time_s", "overpull", "slack_off"), LOOK_BACK_S, LEAST_LOOK_BACK_ROWS)
        self.work_J = {"overpull": 0.0, "slack_off": 0.0}
        self.present: dict[str, dict[str, Any]] = {}  # the newest event of each kind

    def gap(self) -> None:
        """Times are counted anew after a clock step."""
        self.recent.clear()

    def step(self, rows: Rows) -> None:
        """Complete the events that began or changed in these rows."""
        trip = self.trips.number(rows.column["along_m"])
        work = {kind: self._work(rows, kind) for kind in SIGNS}
        joined, _ = self.recent.join({"time_s": rows.time_s, **work})
        held = [i for i, event in enumerate(rows.events) if event.kind in HELD]
        for i in sorted(held, key=lambda i: (rows.events[i].seq, rows.events[i].kind)):
            rows.events[i] = self._completed(rows, rows.events[i], trip, joined)

    def _work(self, rows: Rows, kind: str) -> Floats:
        """Work against what holds the string, summed from the beginning of the record."""
        sign, middle = SIGNS[kind]
        excess = np.maximum(beyond_heave_N(rows, rows.column[middle], sign), 0.0)
        excess = np.where(rows.column["phase"] == 2, excess, 0.0)
        total = running_sum(self.work_J[kind], excess * sign * rows.column["block_step_m"])
        self.work_J[kind] = float(total[-1])
        return total

    def _completed(
        self, rows: Rows, event: Event, trip: Floats, joined: dict[str, Floats]
    ) -> Event:
        known = self.present.get(event.kind)
        if known is None or known["id"] != event.id:
            row = int(np.searchsorted(rows.seq, event.seq))
            depth = float(rows.column["bit_depth_m"][row])
            known = {
                "id": event.id,
                "trip": float(trip[row]),
                "repeat": self.spots.earlier(depth, float(trip[row])),
                "from_J": self._at(joined, event.kind, event.start_us, rows, before=True),
                "peak_us": 0,
                "peak_J": NAN,
            }
            self.present[event.kind] = known
            self.spots.put(event.id, event.kind, depth, known["trip"], NAN)
        if event.peak_time_us != known["peak_us"]:
            known["peak_us"] = event.peak_time_us
            known["peak_J"] = self._at(joined, event.kind, event.peak_time_us, rows)
        until = known["peak_J"]
        if event.end_us is not None:
            until = self._at(joined, event.kind, event.end_us, rows)
        self.spots.put(event.id, event.kind, event.bit_depth_m, known["trip"], event.peak_excess_N)
        repeat = int(known["repeat"])
        return replace(
            event, work_J=until - known["from_J"], repeat=repeat, why=_why(event, repeat)
        )

    def _at(
        self,
        joined: dict[str, Floats],
        kind: str,
        time_us: int,
        rows: Rows,
        *,
        before: bool = False,
    ) -> float:
        """Work summed up to a time; ``before``: without that row's own."""
        if kind not in SIGNS:
            return NAN
        times = joined["time_s"]
        at = int(np.searchsorted(times, (time_us - rows.origin_us) / 1e6)) - int(before)
        return float(joined[kind][min(max(at, 0), len(times) - 1)])


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
