"""Which acts on alarms cannot be taken, and why."""

from __future__ import annotations

import math
from collections.abc import Mapping

from monitor.interpret.alarm_state import AlarmPoint
from monitor.model import Command
from monitor.rig.alarming import NEVER_PUT_ASIDE, AlarmLimits

NO_SAVER = "it advises only and replaces no crown or floor saver"


def named_kind(text: str) -> str:
    """Kind of an act's text, "near crown: reason" or "near_crown"."""
    return text.partition(":")[0].strip().replace(" ", "_")


def reason_of(text: str) -> str:
    """Reason given after the kind."""
    return text.partition(":")[2].strip()


def refusal(limits: AlarmLimits, points: Mapping[str, AlarmPoint], command: Command) -> str:
    """Why an act cannot be taken; empty where it can."""
    if command.act == "mute":
        if command.text.strip() == "off":
            return ""
        return _span("mute", command.number, limits.longest_mute_s)
    if command.act not in ("shelve", "unshelve", "reset_alarm"):
        return ""
    act = command.act.replace("_", " ")
    kind = named_kind(command.text)
    if command.act == "reset_alarm":
        found = [point for point in points.values() if point.is_named(command.text.strip())]
        if any(point.present == "latched_acknowledged" for point in found):
            return ""
        return f"{act} refused: only a latched alarm that has been seen and is over is reset"
    if kind not in points:
        known = ", ".join(name.replace("_", " ") for name in points)
        return f"{act} {kind!r} refused: no such alarm; known are {known}"
    words, state = kind.replace("_", " "), points[kind].present
    if command.act == "unshelve":
        return "" if state == "shelved" else f"unshelve refused: {words} is not shelved"
    if kind in NEVER_PUT_ASIDE:
        return f"shelve refused: {words} can never be shelved or muted; {NO_SAVER}"
    if state == "out_of_service":
        return f"shelve refused: {words} is out of service"
    return _span("shelve", command.number, limits.longest_shelf_s)


def _span(act: str, seconds: float, longest_s: float) -> str:
    if math.isfinite(seconds) and 0.0 < seconds <= longest_s:
        return ""
    return f"{act} refused: an end is needed, at most {longest_s / 60.0:g} min from now"
