"""The states of an alarm and what leads from one to the next, after ISA-18.2 / IEC 62682.

The diagram is a table; delays are kept apart from it. Nothing here knows of hook loads.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Carried
from monitor.model import Floats

NAN = float("nan")
# Half a millisecond: stamps that fall short of a span by rounding.
SLACK_S = 5e-4
Flags = NDArray[np.bool_]

# (state, what happens) -> state; anything else changes nothing. Letters of the standard's
# diagram, from memory: A normal, B unacknowledged, C acknowledged, D returned, E and F
# latched, G shelved, H suppressed by design. I, out of service, is left by the rig file only.
TRANSITIONS = {
    ("normal", "active"): "unacknowledged",
    ("unacknowledged", "acknowledge"): "acknowledged",
    ("unacknowledged", "over"): "returned",
    ("acknowledged", "over"): "normal",
    ("returned", "active"): "unacknowledged",
    ("returned", "acknowledge"): "normal",
    ("latched_unacknowledged", "active"): "unacknowledged",
    ("latched_unacknowledged", "acknowledge"): "latched_acknowledged",
    ("latched_acknowledged", "active"): "unacknowledged",
    ("latched_acknowledged", "reset"): "normal",
    ("suppressed", "shelve"): "shelved",
    ("shelved", "unshelve"): "normal",
    ("suppressed", "release"): "normal",
    **{
        (state, happening): after
        for happening, after in (("shelve", "shelved"), ("suppress", "suppressed"))
        for state in (
            "normal",
            "unacknowledged",
            "acknowledged",
            "returned",
            "latched_unacknowledged",
            "latched_acknowledged",
        )
    },
}
LATCHED = {"returned": "latched_unacknowledged", "normal": "latched_acknowledged"}
# Those that stand in the list of what asks for an answer or still goes on.
PRESENT = (
    "unacknowledged",
    "acknowledged",
    "returned",
    "latched_unacknowledged",
    "latched_acknowledged",
)
NOT_SEEN = ("unacknowledged", "returned", "latched_unacknowledged")


def next_state(state: str, happening: str, *, latching: bool = False) -> str:
    """State after something happened: active, over, acknowledge, reset, shelve and so on."""
    after = TRANSITIONS.get((state, happening), state)
    if latching and happening == "over" and after != state:
        return LATCHED[after]
    return after


class Delay(Carried):
    """Active once a condition has held for the on-delay, over once clear for the off-delay."""

    STATE = ("active", "since_s")

    def __init__(self, on_s: float, off_s: float) -> None:
        self.on_s = on_s
        self.off_s = off_s
        self.active = False
        self.since_s = NAN

    def gap(self) -> None:
        """A run does not reach across a gap; what is active stays so."""
        self.since_s = NAN

    def follow(
        self, time_s: Floats, on: Flags, off: Flags, gate: Flags | None = None
    ) -> list[tuple[int, bool]]:
        """Rows at which it became active (True) or over (False).

        Rows neither on nor off interrupt nothing that is active. It becomes active in rows
        of the ``gate`` only, though what counts for the delay may have begun before.
        """
        wanted, delays_s = (on, off & ~on), (self.on_s, self.off_s)
        runs: dict[bool, Runs] = {}
        edges: list[tuple[int, bool]] = []
        row: int | None = 0
        while row is not None:
            if self.active not in runs:
                carried_s = NAN if runs else self.since_s
                k = int(self.active)
                runs[self.active] = Runs(time_s, wanted[k], carried_s, delays_s[k])
            row = runs[self.active].due(row, None if self.active else gate)
            if row is not None:
                self.active = not self.active
                edges.append((row, self.active))
        self.since_s = runs[self.active].open_s
        return edges


class Runs:
    """Runs of rows that hold a condition for its delay.

    ``carried_s`` is when a run began that was not over in the row before the first,
    ``open_s`` when the one began that is not over in the last.
    """

    def __init__(self, time_s: Floats, wanted: Flags, carried_s: float, delay_s: float) -> None:
        edges = np.flatnonzero(np.diff(wanted, prepend=False, append=False))
        starts, stops = edges[::2], edges[1::2]
        begun_s = time_s[starts]
        if math.isfinite(carried_s) and wanted[0]:
            begun_s[0] = carried_s
        is_open = len(stops) > 0 and int(stops[-1]) == len(wanted)
        self.open_s = float(begun_s[-1]) if is_open else NAN
        self._time_s, self._least_s = time_s, delay_s - SLACK_S
        lasts = time_s[stops - 1] - begun_s >= self._least_s
        found = (starts[lasts].tolist(), stops[lasts].tolist(), begun_s[lasts].tolist())
        self._lasting = zip(*found, strict=True)  # each is looked at once: rows only go on

    def due(self, row: int, gate: Flags | None) -> int | None:
        """First row, of runs that begin at ``row`` or later, in which one has lasted."""
        for start, stop, begun_s in self._lasting:
            if start < row or (gate is not None and not gate[start:stop].any()):
                continue
            sure = self._time_s[start:stop] - begun_s >= self._least_s
            if gate is not None:
                sure &= gate[start:stop]
            if sure.any():
                return int(start + np.argmax(sure))
        return None


class AlarmPoint(Carried):
    """One alarm: its state, whether its condition holds, the occurrence that is present."""

    STATE = ("present", "active", "alarm", "until_s", "who", "reason", "event_seq", "is_open")

    def __init__(self, kind: str, *, latching: bool, out_of_service: str = "") -> None:
        self.kind = kind
        self.latching = latching
        self.present = "out_of_service" if out_of_service else "normal"
        self.reason = out_of_service
        self.active = False
        self.alarm: dict[str, Any] = {}  # the present occurrence, fields of model.Alarm
        self.until_s = NAN  # end of the shelf
        self.who = ""
        self.event_seq = 0  # of the newest event of this kind
        self.is_open = False  # whether that event was open in the last row

    def after(self, happening: str) -> str:
        """State that something would lead to."""
        return next_state(self.present, happening, latching=self.latching)

    def is_named(self, text: str) -> bool:
        """Whether an act means this alarm: by its id, its event's id or its kind."""
        words = {self.kind, self.kind.replace("_", " ")}
        if self.alarm:
            words |= {f"{self.alarm['seq']}-{self.kind}", self.alarm["event_id"]}
        return bool(text) and text in words
