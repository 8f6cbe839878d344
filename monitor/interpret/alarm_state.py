"""The states of an alarm and what leads from one to the next, after ISA-18.2 / IEC 62682.

The diagram is a table; delays are kept apart from it. Nothing here knows of hook loads.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Carried
from monitor.interpret.windows import first_true
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
        off = off & ~on
        edges: list[tuple[int, bool]] = []
        row, length = 0, len(on)
        while row < length:
            wanted = off if self.active else on
            if not math.isfinite(self.since_s):
                row = _first(wanted, row, length)
                if row == length:
                    break
                self.since_s = float(time_s[row])
            stop = _first(~wanted, row, length)
            delay_s = self.off_s if self.active else self.on_s
            sure = time_s[row:stop] - self.since_s >= delay_s - SLACK_S
            if gate is not None and not self.active:
                sure &= gate[row:stop]
            if sure.any():
                row += int(np.argmax(sure))
                self.active, self.since_s = not self.active, NAN
                edges.append((row, self.active))
                continue
            row = stop
            if stop < length:
                self.since_s = NAN
        return edges


def _first(mask: Flags, start: int, stop: int) -> int:
    return first_true(lambda part: mask[part], start, stop)


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
