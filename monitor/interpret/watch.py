"""Follows one condition through the rows: long enough true, an event; long enough false, over.

For the kinds that are a state of the rig or of a sensor, not an excess of load; those have
their own tracker.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import first_true
from monitor.model import Event, Floats

NAN = float("nan")
# Half a millisecond: stamps that fall short of a span by rounding.
SLACK_S = 5e-4

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Condition:
    """What a watch reads, a value a row. Rows neither on nor off leave an event as it is."""

    on: Flags
    off: Flags
    why: Callable[[int], str]  # the sentence, as known at the row that raises
    badness: Floats | None = None  # greatest at the peak; none: the peak is the raising row
    expected_N: Floats | None = None
    excess_N: Floats | None = None
    since_us: Floats | None = None  # when what is on began, where that was earlier
    confirm_s: Floats | None = None  # how long a run must last, where it is not fixed


class Watch(Carried):
    """One kind of event, raised by one condition."""

    STATE = ("event", "open", "run_s", "run_us", "run_rows", "off_s", "off_us")

    def __init__(
        self, kind: str, *, confirm_s: float, clear_s: float, least_rows: int = 1
    ) -> None:
        self.kind = kind
        self.confirm_s = confirm_s
        self.clear_s = clear_s
        self.least_rows = least_rows
        self.event: dict[str, Any] = {}
        self.open = False
        self.run_s = NAN
        self.run_us = 0
        self.run_rows = 0
        self.off_s = NAN
        self.off_us = 0

    def gap(self) -> None:
        """A run does not reach across a gap; an open event stays open."""
        self.run_s, self.run_rows, self.off_s = NAN, 0, NAN

    def follow(self, rows: Rows, seen: Condition, busy: Flags | None = None) -> list[Event]:
        """Return the events that began or changed in these rows.

        No event is raised in a ``busy`` row, where another of this kind was: seq and kind
        are its identity. It is raised in the next.
        """
        if not self.open and not math.isfinite(self.run_s) and not seen.on.any():
            return []
        changed: dict[str, Event] = {}
        row = 0
        while row < len(rows):
            if self.open:
                start, row = row, self._while_open(rows, seen, row)
                rows.mark_open(self.kind, start, row)
            else:
                row = self._while_closed(rows, seen, row, busy)
            if self.event.pop("touched", False):
                event = self._as_event()
                changed[event.id] = event
        if busy is not None:
            busy |= np.isin(rows.seq, [event.seq for event in changed.values()])
        return list(changed.values())

    def _while_closed(self, rows: Rows, seen: Condition, row: int, busy: Flags | None) -> int:
        on = seen.on
        if not math.isfinite(self.run_s):
            row = first_true(lambda part: on[part], row, len(rows))
            if row == len(rows):
                return row
            self.run_s, self.run_us = float(rows.time_s[row]), int(rows.time_us[row])
            self.run_rows = 0
        stop = first_true(lambda part: ~on[part], row, len(rows))
        needed = self.confirm_s if seen.confirm_s is None else seen.confirm_s[row:stop]
        sure = rows.time_s[row:stop] - self.run_s >= needed - SLACK_S
        sure &= self.run_rows + np.arange(1, stop - row + 1) >= self.least_rows
        if busy is not None:
            sure &= ~busy[row:stop]
        if sure.any():
            raised = row + int(np.argmax(sure))
            self._raise(rows, seen, raised)
            return raised
        self.run_rows += stop - row
        if stop < len(rows):
            self.run_s, self.run_rows = NAN, 0
        return stop

    def _raise(self, rows: Rows, seen: Condition, row: int) -> None:
        start_us = self.run_us if seen.since_us is None else int(seen.since_us[row])
        self.event = {
            "seq": int(rows.seq[row]),
            "start_us": start_us,
            "raised_us": int(rows.time_us[row]),
            "end_us": None,
            "end_known_us": None,
            "badness": -math.inf,
            "why": seen.why(row),
            "touched": True,
        }
        self._take_peak(rows, seen, row, float(0.0 if seen.badness is None else -math.inf))
        self._peak(rows, seen, row, row + 1)
        self.open, self.run_s, self.run_rows, self.off_s = True, NAN, 0, NAN

    def _while_open(self, rows: Rows, seen: Condition, row: int) -> int:
        off = seen.off & ~seen.on
        if not math.isfinite(self.off_s):
            begins = first_true(lambda part: off[part], row, len(rows))
            self._peak(rows, seen, row, begins)
            if begins < len(rows):
                self.off_s = float(rows.time_s[begins])
                self.off_us = int(rows.time_us[begins])
            return begins
        back = first_true(lambda part: ~off[part], row, len(rows))
        cleared = int(np.searchsorted(rows.time_s, self.off_s + self.clear_s - SLACK_S))
        ended = max(cleared, row)
        if ended < back:
            known_us = int(rows.time_us[ended])
            self.event.update(end_us=self.off_us, end_known_us=known_us, touched=True)
            self.open, self.off_s = False, NAN
            # The row that ends one may begin the next: looked at again.
            return ended
        if back < len(rows):
            self.off_s = NAN
        return back

    def _peak(self, rows: Rows, seen: Condition, start: int, stop: int) -> None:
        if seen.badness is None or stop <= start:
            return
        badness = seen.badness[start:stop]
        badness = np.where(np.isfinite(badness), badness, -np.inf)
        best = int(np.argmax(badness))
        if float(badness[best]) > self.event["badness"]:
            self._take_peak(rows, seen, start + best, float(badness[best]))

    def _take_peak(self, rows: Rows, seen: Condition, row: int, badness: float) -> None:
        self.event.update(
            badness=badness,
            peak_us=int(rows.time_us[row]),
            load=float(rows.column["hook_load_N"][row]),
            depth=float(rows.column["bit_depth_m"][row]),
            expected=NAN if seen.expected_N is None else float(seen.expected_N[row]),
            excess=NAN if seen.excess_N is None else float(seen.excess_N[row]),
            touched=True,
        )

    def _as_event(self) -> Event:
        event = self.event
        return Event(
            seq=event["seq"],
            kind=self.kind,
            start_us=event["start_us"],
            raised_us=event["raised_us"],
            end_us=event["end_us"],
            peak_time_us=event["peak_us"],
            bit_depth_m=event["depth"],
            peak_hook_load_N=event["load"],
            expected_hook_load_N=event["expected"],
            peak_excess_N=event["excess"],
            confidence=1.0,
            why=event["why"],
            end_known_us=event["end_known_us"],
        )
