"""How long the load was over each limit, and how near each pull came to what may be pulled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.hold import SETTLED
from monitor.mechanics.fast_line import fast_line_tension_N
from monitor.mechanics.ratings import PullLimit
from monitor.mechanics.reeving import dead_line_tension_N
from monitor.mechanics.wire_rope import design_factor
from monitor.model import Event, Floats, Ints, State
from monitor.review.pulls import Pull
from monitor.review.span import Span
from monitor.rig.rig import Rig

NAN = float("nan")
# Rows further apart than this are a gap: nothing is known to have lasted through it.
LONGEST_STEP_S = 60.0


@dataclass(frozen=True, slots=True)
class TimeOver:
    """Excess over one limit, in the span."""

    name: str  # whose limit
    kind: str  # "overpull" or "slack_off"
    limit_N: float  # in force when it was first passed, else the last one
    is_changed: bool  # another limit was in force at some time in the span
    seconds: float
    times: int  # how often it was passed
    first_us: int | None
    greatest_N: float  # magnitude of the greatest excess while over it; NaN = never


def time_over(
    span: Span, events: Sequence[Event], name: str, kind: str, limit_N: float | Floats | None
) -> TimeOver | None:
    """Time over a limit of overpull or slack-off; None where there is no such limit.

    Judged where an event of its kind, or a stuck spell, was open: what the load does as
    slips are set is none; pulling for overpull, lowering for slack-off. Rows just after a turn
    of the block, where friction in the sheaves turns over and the excess is a guess, do not
    count. A limit may change from row to row.
    """
    if limit_N is None:
        return None
    way = 1.0 if kind == "overpull" else -1.0
    excess, friction = span["excess_N"] * way, span["friction_state"]
    # Slacking off from a pull the load is high as well: that is no overpull. A reported load
    # has no friction state and is taken as it is.
    settled = ~(way * friction <= SETTLED)
    settled &= (span["state"].astype(np.int64) & int(State.REVERSED)) == 0
    limits = np.broadcast_to(np.asarray(limit_N, dtype=np.float64), excess.shape)
    known = limits[np.isfinite(limits)]
    over = np.isfinite(excess) & settled & _judged(span, events, kind) & (excess > limits)
    begins = np.flatnonzero(over & ~np.concatenate(([False], over[:-1])))
    return TimeOver(
        name,
        kind,
        _limit_told_N(limits, begins),
        bool(len(known) and np.ptp(known) > 0.0),
        float(_steps_s(span.time_us)[over].sum()),
        len(begins),
        int(span.time_us[begins[0]]) if len(begins) else None,
        float(excess[over].max()) if over.any() else NAN,
    )


def _limit_told_N(limits: Floats, begins: Ints) -> float:
    known = limits[np.isfinite(limits)]
    if len(begins):
        return float(limits[begins[0]])
    return float(known[-1]) if len(known) else NAN


def _judged(span: Span, events: Sequence[Event], kind: str) -> NDArray[np.bool_]:
    """Rows within an event of this kind or a stuck spell."""
    inside = np.zeros(len(span), dtype=bool)
    for event in events:
        if event.kind in (kind, "stuck"):
            last = int(span.time_us[-1]) if event.end_us is None else event.end_us
            inside |= (span.time_us >= event.start_us) & (span.time_us <= last)
    return inside


def _steps_s(time_us: Ints) -> Floats:
    """How long each row stands for: until the next, gaps not counted."""
    steps = np.diff(time_us, append=time_us[-1:]) / 1e6
    return np.where(steps > LONGEST_STEP_S, 0.0, steps)


@dataclass(frozen=True, slots=True)
class PullMargin:
    """One pull against the weakest limit, and the drilling line under it."""

    number: int
    weakest: str
    share: float  # of the limit that was reached, half width included
    room_left_N: float
    line_design_factor: float  # NaN where the strength of the line is not known


def pull_margin(pull: Pull, limits: Sequence[PullLimit], rig: Rig, lines: int) -> PullMargin:
    """How near a pull came; its own ± counts against it."""
    reached = pull.load_N + (pull.half_width_N if np.isfinite(pull.half_width_N) else 0.0)
    weakest = limits[0] if limits else None
    factor = NAN
    if rig.line is not None and rig.line.strength_N is not None and pull.load_N > 0.0:
        reeving = rig.reeving
        e, sheave = reeving.sheave_efficiency, reeving.dead_line_sheave
        extra = reeving.extra_fast_line_sheaves
        fast = fast_line_tension_N(pull.load_N, lines, e, "hoisting", extra)
        dead = dead_line_tension_N(pull.load_N, lines, e, sheave, "hoisting")
        factor = float(design_factor(rig.line.strength_N, max(float(fast), float(dead))))
    return PullMargin(
        pull.number,
        weakest.name if weakest else "",
        reached / weakest.limit_N if weakest else NAN,
        weakest.limit_N - reached if weakest else NAN,
        factor,
    )
