"""What stood at a moment gone by: lines, gear, limits, and events as far as they were known."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from monitor.interpret.events import ALARM_N, ALARM_SHARE
from monitor.model import Command, Event
from monitor.review.agreed import agreed_changes, agreed_limit_N
from monitor.review.allowed import allowed_pull, in_use_at
from monitor.rig.rig import Rig

NAN = float("nan")


def standing_at(
    rig: Rig, commands: Sequence[Command], time_us: int, row: Mapping[str, float]
) -> dict[str, Any]:
    """Give what the screens show beside the row: lines, limits, marks; as ``Pipeline.status``.

    Where a row says more than the rig file (the weight taken off the string, the limit that
    room left was counted from), the row is followed: it is what was shown.
    """
    in_use = in_use_at(rig, commands, time_us)
    weight_N = _get(row, "hook_load_N") - _get(row, "string_weight_N")
    if math.isfinite(weight_N):
        in_use = replace(in_use, travelling_weight_N=weight_N)
    depth_m = _get(row, "bit_depth_m")
    limits = allowed_pull(rig, in_use, depth_m)
    marks = [mark for mark in rig.depth_marks if mark.depth_m < depth_m]
    nearest = max(marks, key=lambda mark: mark.depth_m, default=None)
    alarm = alarm_limits_N(rig, row, in_use.travelling_weight_N)
    return {
        "rig": rig.name,
        "lines_strung": in_use.lines_strung,
        "travelling_weight_N": in_use.travelling_weight_N,
        "pull_limits": [
            {"name": limit.name, "limit_N": _shown_N(limit.limit_N, row) if at == 0 else
             limit.limit_N}
            for at, limit in enumerate(limits)
        ],
        "event_limits_N": {
            "overpull": rig.events.overpull_N,
            "slack_off": rig.events.slack_off_N,
        },
        "alarm_limits_N": alarm,
        "agreed_N": _agreed_N(rig, commands, time_us),
        "next_depth_mark": None
        if nearest is None
        else {"name": nearest.name, "distance_m": depth_m - nearest.depth_m},
        "floor_m": rig.limits.floor_m,
        "crown_m": rig.limits.crown_m,
        "time_zone": rig.time_zone,
    }  # fmt: skip


def _agreed_N(rig: Rig, commands: Sequence[Command], time_us: int) -> dict[str, float | None]:
    changes = agreed_changes(rig, commands)
    found = {
        kind: agreed_limit_N(rig, changes, kind, np.array([time_us], dtype=np.int64))
        for kind in ("overpull", "slack_off")
    }
    return {
        kind: None if limit is None or math.isnan(limit[0]) else float(limit[0])
        for kind, limit in found.items()
    }


def _shown_N(limit_N: float, row: Mapping[str, float]) -> float:
    """Limit that the room left of this row was counted from."""
    shown = (
        _get(row, "room_left_N") + _get(row, "hook_load_N") + _get(row, "hook_load_half_width_N")
    )
    return shown if math.isfinite(shown) else limit_N


def alarm_limits_N(
    rig: Rig, row: Mapping[str, float], travelling_weight_N: float
) -> dict[str, float | None]:
    """Alarm limits as they stood: given ones, else what the load and the band of then made."""
    string_N = max(_get(row, "expected_N") - travelling_weight_N, 0.0)
    usual = max(ALARM_N, ALARM_SHARE * string_N, 2.0 * _get(row, "band_N"))
    known = math.isfinite(_get(row, "expected_N")) and math.isfinite(_get(row, "band_N"))
    given = {"overpull": rig.alarms.overpull_N, "slack_off": rig.alarms.slack_off_N}
    return {
        kind: limit_N if limit_N is not None else usual if known else None
        for kind, limit_N in given.items()
    }


def _get(row: Mapping[str, float], name: str) -> float:
    value = row.get(name)
    return NAN if value is None else float(value)


def as_known_at(
    event: Event, time_us: int, excess_so_far_N: float = NAN, alarm_N: float | None = None
) -> Event | None:
    """Event without what came to be known of it later; None where it was not raised yet.

    A peak that came later is left out; whether the alarm limit was passed is told from the
    greatest excess so far.
    """
    if event.raised_us > time_us:
        return None
    known_us = event.end_us if event.end_known_us is None else event.end_known_us
    if known_us is not None and known_us > time_us:
        event = replace(event, end_us=None, end_known_us=None)
    if event.acknowledged_us is not None and event.acknowledged_us > time_us:
        event = replace(event, acknowledged_us=None, acknowledged_by="")
    if event.peak_time_us > time_us:
        by_then = alarm_N is None or math.isnan(excess_so_far_N) or excess_so_far_N >= alarm_N
        event = replace(
            event,
            peak_time_us=time_us,
            peak_excess_N=NAN,
            peak_hook_load_N=NAN,
            work_J=NAN,
            alarm=event.alarm and by_then,
        )
    return event
