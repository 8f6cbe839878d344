"""What is to be heard, and what a flood of alarms does to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from monitor.interpret.alarm_state import AlarmPoint
from monitor.interpret.stage import Carried
from monitor.model import ALARM_PRIORITIES, Floats
from monitor.rig.alarming import NEVER_PUT_ASIDE

# Short alarms are heard this long all the same (our choice: two rounds of the pattern), so
# that one who looked away knows that there was something to see.
LEAST_HEARD_S = 5.0
# More than ten in ten minutes are a flood, over once fewer than five came in ten minutes
# (EEMUA 191, looked up; ISA-18.2, from memory).
FLOOD_SPAN_S = 600.0
FLOOD_MORE_THAN = 10
FLOOD_OVER_BELOW = 5
TIMES_KEPT = 50


class Flood(Carried):
    """More alarms than a person can answer: then those of low priority are silent.

    No more than those: a pull that is missed because of many others parts the string.
    """

    STATE = ("is_on", "times_s")

    words = (
        f"more than {FLOOD_MORE_THAN} alarms in {FLOOD_SPAN_S / 60.0:g} min: "
        "those of low priority are silent"
    )

    def __init__(self) -> None:
        self.is_on = False
        self.times_s: list[float] = []

    def raised(self, time_s: float) -> bool:
        """Count an alarm; True where the flood begins with it."""
        recent = [earlier for earlier in self.times_s if time_s - earlier < FLOOD_SPAN_S]
        self.times_s = [*recent, time_s][-TIMES_KEPT:]
        begins = not self.is_on and len(self.times_s) > FLOOD_MORE_THAN
        self.is_on = self.is_on or begins
        return begins

    def end_row(self, time_s: Floats) -> int:
        """Row at which so few are left that it is over; their number where it is not yet."""
        if not self.is_on:
            return len(time_s)
        until_s = self.times_s[-FLOOD_OVER_BELOW] + FLOOD_SPAN_S
        return int(np.searchsorted(time_s, until_s))

    def end(self) -> None:
        """The flood is over."""
        self.is_on = False


@dataclass(frozen=True, slots=True)
class Sounding:
    """Priority to be heard, "" for none, and in words what is kept from sounding, and why."""

    priority: str = ""
    held: str = ""


def sounding(
    points: Iterable[AlarmPoint],
    now_s: float,
    *,
    is_muted: bool,
    is_flood: bool,
    working_stuck: bool,
) -> Sounding:
    """Highest priority of what nobody has seen yet, less what is held."""
    heard: list[str] = []
    held: list[str] = []
    for point in points:
        asks = point.present == "unacknowledged" or (
            point.present in ("returned", "latched_unacknowledged")
            and now_s - point.alarm["last_s"] < LEAST_HEARD_S
        )
        if not asks:
            continue
        priority = point.alarm["priority"]
        if working_stuck and point.kind not in NEVER_PUT_ASIDE:
            held.append("working stuck pipe")
        elif is_muted and point.kind not in NEVER_PUT_ASIDE:
            held.append("muted")
        elif is_flood and priority == "low":
            held.append(Flood.words)
        else:
            heard.append(priority)
    return Sounding(max(heard, key=ALARM_PRIORITIES.index, default=""), held[0] if held else "")
