"""Drag along the hole of a string that turns: the part of its friction that points that way.

Friction points against the resultant of both speeds, so a string that turns drags along the
hole v / sqrt(v^2 + (w D/2)^2) of what it does sliding: little when it is moved slowly, half
of it when it is reamed fast at a low rotary speed. Trends of turning loads are therefore led
over that share where those of a sliding string are led over its speed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import TURNING_RAD_S
from monitor.interpret.stage import Array, Rows
from monitor.interpret.trend import PaceLaw, Trend
from monitor.interpret.windows import held_from
from monitor.mechanics.drag import axial_friction_factor
from monitor.model import Floats
from monitor.rig.rig import Rig

# Rotary speed where there is no channel of it: 80 rpm (common practice: 60 to 120 off bottom).
USUAL_ROTARY_RAD_S = 8.4
# What such a guess leaves unsaid of the drag: the share goes nearly as one over the speed.
UNKNOWN_ROTARY_DOUBT = 0.4
# Tool joints touch the wall: so much wider than the pipe (common practice: 6 5/8 in on 5 in).
JOINT_OVER_PIPE = 1.3
USUAL_PIPE_M = 0.127
# Drag of the sliding string before loads at two shares have told it: a share of what the
# string weighs (common practice: 5 % in straight holes to 30 % in long deviated ones). The
# law is exact but for the diameter that touches, so it bends little.
TURNING_UP = PaceLaw(mean=0.10, spread=0.10, curved=0.10, together=1.0)
TURNING_DOWN = TURNING_UP._replace(mean=-TURNING_UP.mean)
TURNING_LAWS = (TURNING_UP, TURNING_DOWN)
# Drag up is that down but for what the pull adds in bends, or takes (common practice: a third).
OTHER_WAY_SHARE = 0.3

NO, YES = 0.0, 1.0
# Places of pace, level, slope against pace and spreads in the parameters of a trend.
PACE, LEVEL, PACE_SLOPE, SPREAD, PACE_SPREAD = 1, 2, 4, 5, 7


def contact_diameter_m(rig: Rig) -> float:
    """Diameter at which the pipe touches the wall."""
    joint = None if rig.pipe is None else rig.pipe.tool_joint_outside_diameter_m
    pipe = rig.string[-1].outside_diameter_m if rig.string else USUAL_PIPE_M
    return JOINT_OVER_PIPE * pipe if joint is None else joint


def axial_share(speed_m_s: Floats, rotary_rad_s: Floats | None, diameter_m: float) -> Floats:
    """Share of its sliding drag that a string which turns has along the hole.

    Without a rotary channel, or while it says nothing, a usual speed is taken.

    >>> from numpy import array
    >>> axial_share(array([0.0, 0.3]), array([6.2832, 6.2832]), 0.168).round(2).tolist()
    [0.0, 0.49]
    """
    rotary = np.full(np.shape(speed_m_s), np.nan) if rotary_rad_s is None else rotary_rad_s
    with np.errstate(invalid="ignore"):
        known = rotary > TURNING_RAD_S
    turns = np.where(known, rotary, USUAL_ROTARY_RAD_S)
    share: Floats = axial_friction_factor(1.0, speed_m_s, turns, diameter_m)
    return share


def pace(
    speed_m_s: Floats, turning: NDArray[np.bool_], rotary_rad_s: Floats | None, diameter_m: float
) -> Floats:
    """Over what a trend is led: speed of a sliding string, axial share of one that turns."""
    result = speed_m_s.copy()
    result[turning] = 0.0
    # The share of a string that is not moved along the hole is 0.
    here = np.flatnonzero(turning & (speed_m_s != 0.0))
    rotary = None if rotary_rad_s is None else rotary_rad_s[here]
    result[here] = axial_share(speed_m_s[here], rotary, diameter_m)
    return result


def learnt_law(usual: PaceLaw, other: Trend, string_N: float) -> PaceLaw:
    """Drag as the other direction has it, once that is told better than usual.

    >>> learnt_law(TURNING_UP, Trend(TURNING_DOWN), 800e3) is TURNING_UP
    True
    """
    if not other.known:
        return usual
    spread = math.hypot(other.speed_spread, OTHER_WAY_SHARE * other.speed_slope)
    if not spread < usual.spread * string_N:
        return usual
    return usual._replace(mean=-other.speed_slope / string_N, spread=spread / string_N)


def drag_doubt_N(
    drag_N: Floats, turning: NDArray[np.bool_], rotary_rad_s: Floats | None
) -> Floats:
    """What the drag of a turning string may be off where no channel says how fast it turns."""
    doubtful = turning & (rotary_rad_s is None)
    result: Floats = np.where(doubtful, UNKNOWN_ROTARY_DOUBT * drag_N, 0.0)
    return result


def parameters_of_rows(
    tables: Array, rows_at: Sequence[int], rows: Rows, side: int
) -> list[Floats]:
    """Trend parameters a row, of the turning string where it turns; a column each.

    ``tables``: from each of ``rows_at`` on, those of the sliding string up and down, then of the
    turning one; ``side`` is 0 up, 1 down. A sliding string of which nothing has been learnt yet
    weighs what the turning one does at rest and the drag; the band then spans the doubt of that
    drag.
    """
    turning = rows.column["turning"] == YES
    turns_at = np.flatnonzero(turning[1:] != turning[:-1]) + 1
    at = np.array(sorted({*rows_at, *turns_at.tolist()}))
    held = tables[_newest(rows_at, at), np.where(turning[at], side + 2, side)]
    own = [held_from(at, values, len(rows)) for values in held.T]
    name = ("sliding_up", "sliding_down")[side]
    if f"{name}_N" not in rows.column:
        return own
    drag, doubt = rows.column[f"{name}_N"], rows.column[f"{name}_doubt_N"]
    here = np.flatnonzero(~turning & np.isfinite(drag) & np.isnan(own[LEVEL]))
    if len(here):
        for column, values in zip(own, tables[_newest(rows_at, here), side + 2].T, strict=True):
            column[here] = values
        sliding = drag[here] if side == 0 else -drag[here]
        own[LEVEL][here] += sliding - own[PACE_SLOPE][here] * own[PACE][here]
        own[PACE_SLOPE][here] = own[PACE_SPREAD][here] = 0.0
        own[SPREAD][here] = np.hypot(own[SPREAD][here], doubt[here])
    return own


def _newest(rows_at: Sequence[int], at: Array) -> Array:
    """Which of those that hold from some rows on holds at each of these."""
    return np.searchsorted(rows_at, at, side="right") - 1
