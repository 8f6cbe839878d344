"""The alarms' part of the status: what sounds, what is put aside and until when."""

from __future__ import annotations

import math
from typing import Any

from monitor.interpret.alarm_acts import NO_SAVER
from monitor.interpret.alarms import Alarms
from monitor.rig.alarming import NEVER_PUT_ASIDE


def alarm_status(alarms: Alarms) -> dict[str, Any]:
    """Everything about alarms that the screens show and the table of alarms does not hold."""
    heard = alarms.sounding()
    points, limits = alarms.points.values(), alarms.rig.alarms
    return {
        "sound": {
            "priority": heard.priority,
            "held": heard.held,
            "muted_until_us": _time_us(alarms, alarms.muted_until_s),
            "muted_by": alarms.muted_by,
        },
        "shelved": [
            {
                "kind": point.kind,
                "until_us": _time_us(alarms, point.until_s),
                "who": point.who,
                "reason": point.reason,
                "active": point.active,
            }
            for point in points
            if point.present == "shelved"
        ],
        "suppressed": [point.kind for point in points if point.present == "suppressed"],
        "out_of_service": [
            {"kind": point.kind, "reason": point.reason}
            for point in points
            if point.present == "out_of_service"
        ],
        "flood": alarms.flood.words if alarms.flood.is_on else "",
        "beyond_agreed": [kind for kind, delay in alarms.agreed.items() if delay.active],
        "kinds": [
            {
                "kind": each.kind,
                "priority": each.priority,
                "latching": each.latching,
                "can_be_shelved": each.kind not in NEVER_PUT_ASIDE,
            }
            for each in alarms.kinds.values()
        ],
        "no_saver": NO_SAVER,
        "longest_shelf_s": limits.longest_shelf_s,
        "longest_mute_s": limits.longest_mute_s,
    }


def _time_us(alarms: Alarms, time_s: float) -> int | None:
    """Turn a deadline of the stages' time into the rig's clock as it goes now."""
    if not math.isfinite(time_s):
        return None
    return alarms.now_us + round((time_s - alarms.now_s) * 1e6)
