"""When overpull and slack-off are an alarm: the three ways to set a limit, and its deadband."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Rows
from monitor.model import Floats
from monitor.rig.alarming import AlarmLimits

Flags = NDArray[np.bool_]
MIDDLE = {"overpull": "expected_up_N", "slack_off": "expected_down_N"}
SIGN = {"overpull": 1.0, "slack_off": -1.0}


def alarm_limit_N(
    rows: Rows, kind: str, usual_N: Floats, limits: AlarmLimits, weakest_N: Floats
) -> Floats:
    """Excess over the middle of the expected load at which it is an alarm, a value a row.

    Of a fixed load, an excess and a share of the margin to the weakest limit the one
    reached first; the usual one where none is given. Magnitudes: positive both ways.
    """
    middle = rows.column[MIDDLE[kind]]
    is_over = kind == "overpull"
    excess_N = limits.overpull_N if is_over else limits.slack_off_N
    load_N = limits.overpull_load_N if is_over else limits.slack_off_load_N
    share = limits.overpull_margin_share if is_over else None
    given = []
    if excess_N is not None:
        given.append(np.full(len(rows), excess_N))
    if load_N is not None:
        given.append(np.maximum(SIGN[kind] * (load_N - middle), 0.0))
    if share is not None:
        given.append(np.maximum(share * (weakest_N - middle), 0.0))
    if not given:
        return usual_N
    least: Floats = given[0]
    for other in given[1:]:
        least = np.fmin(least, other)
    return np.where(np.isfinite(least), least, usual_N)


def load_condition(rows: Rows, kind: str, limits: AlarmLimits) -> tuple[Flags, Flags, Flags]:
    """Rows over the alarm limit, rows clear of it, and rows in which it may be raised.

    An excess is an alarm only while its event is open; a fixed load needs no expectation,
    so it is watched while the tool is still learning too.
    """
    column, sign, deadband_N = rows.column, SIGN[kind], limits.deadband_N
    excess, limit = column[f"{kind}_excess_N"], column[f"{kind}_alarm_N"]
    hanging = column["phase"] == 2
    load = column["hook_load_N"]
    fixed_N = limits.overpull_load_N if kind == "overpull" else limits.slack_off_load_N
    with np.errstate(invalid="ignore"):
        over = excess > limit
        still_over = excess > limit - deadband_N
        fixed = np.zeros(len(rows), dtype=bool)
        if fixed_N is not None:
            fixed = hanging & (sign * (load - fixed_N) > 0.0)
            still_over |= hanging & (sign * (load - fixed_N) > -deadband_N)
    known = np.isfinite(load) | ~hanging
    nowhere = np.zeros(len(rows), dtype=bool)
    gate: Flags = rows.open.get(kind, nowhere) | fixed
    return over | fixed, known & ~still_over, gate
