"""Each pull and set-down of a string that is held: loads, travel, stretch, movement.

The block's path is cut into legs at its turning points. A leg up that goes over the limit is
a pull, a leg down that goes under it a set-down; slacking off from a pull belongs to the
pull and makes its loop.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from monitor.interpret.hold import KEPT_EVERY_M, REVERSAL_M, SETTLED, fitted_leg_m_N
from monitor.model import Floats
from monitor.review.span import Span

NAN = float("nan")
PULL, SET_DOWN = "pull", "set-down"
# Travel beyond the stretch that the change of load accounts for: the string moved. Above the
# quantum, the hoist's own give and the error of the slope.
LEAST_MOVEMENT_M = 0.20
MOVEMENT_SHARE = 0.20
# The load at either end of a leg: median over so long, friction settled.
END_WINDOW_US = 2_000_000


@dataclass(frozen=True, slots=True)
class Held:
    """What a free string would do here, for judging the legs."""

    up_N: float  # free hoisting weight
    down_N: float  # free lowering weight; not-a-number where not known
    swing_N: float  # change of load while hole friction turns over
    compliance_m_N: float  # whole string held at its bit, line and mast included
    pull_limit_N: float
    set_down_limit_N: float
    expected_low_N: float = NAN  # what was expected of it while lowering, not measured here

    @property
    def low_N(self) -> float:
        """Free lowering weight, or the best that is known of it."""
        known = (self.down_N, self.expected_low_N, self.up_N - self.swing_N)
        return next((value for value in known if not np.isnan(value)), NAN)

    @property
    def neutral_N(self) -> float:
        """Load of the free string with drag neither way: midway between up and down."""
        return 0.5 * (self.up_N + self.low_N)


@dataclass(frozen=True, slots=True)
class Leg:
    """One way of the block, by rows of the span."""

    start: int
    end: int  # last row at the far end
    direction: float


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull or set-down. Loads at the hook, travelling equipment included."""

    number: int  # counted within its kind, from 1
    kind: str
    start_us: int
    peak_us: int
    end_us: int  # the block turned back
    start_load_N: float
    load_N: float  # greatest of a pull, least of a set-down, sheave friction settled
    half_width_N: float  # of that load, 95 %
    end_load_N: float  # what it had settled to
    excess_N: float  # over the free hoisting weight; under the free lowering weight
    block_start_m: float
    block_end_m: float
    compliance_m_N: float  # of the leg; not-a-number: not usable for stretch
    slack_compliance_m_N: float  # of slacking off from it
    movement_m: float  # block travel beyond stretch, along the pull
    moved: bool
    room_left_N: float  # to the weakest limit, at the peak; not-a-number: no limits known
    slack_end_us: int  # slacking off from it ended
    came_loose: bool  # the load fell back to what a free string weighs, the block not lowered
    shift_m: float = NAN  # of the block at one same load, against the pull before

    @property
    def travel_m(self) -> float:
        """Block travel, up positive."""
        return self.block_end_m - self.block_start_m

    @property
    def held_s(self) -> float:
        """How long it took, from start to turning back."""
        return (self.end_us - self.start_us) / 1e6


def block_legs(block_m: Floats) -> list[Leg]:
    """Cut the path at its turning points; travel back under 5 cm is none."""
    rows = np.flatnonzero(np.isfinite(block_m))
    if len(rows) < 2:
        return []
    legs: list[Leg] = []
    direction, start, far = 0.0, int(rows[0]), int(rows[0])
    for row in rows.tolist():
        step = block_m[row] - block_m[far]
        if direction == 0.0:
            if abs(step) >= REVERSAL_M:
                direction, far = float(np.sign(step)), row
        elif direction * step >= 0.0:
            far = row
        elif direction * step <= -REVERSAL_M:
            legs.append(Leg(start, far, direction))
            direction, start, far = -direction, far, row
    if direction:
        legs.append(Leg(start, int(rows[-1]), direction))
    return legs


def find_pulls(span: Span, held: Held) -> list[Pull]:
    """Pulls and set-downs in order of time; the span is one spell of a held string."""
    legs = block_legs(span["block_position"])
    found: list[Pull] = []
    numbers = {PULL: 0, SET_DOWN: 0}
    for at, leg in enumerate(legs):
        later = legs[at + 1] if at + 1 < len(legs) else None
        pull = _pull(span, leg, later, held)
        if pull is not None:
            numbers[pull.kind] += 1
            found.append(replace(pull, number=numbers[pull.kind]))
    compliance = spell_compliance_m_N(found, held)
    shifts = _shifts_m(span, found, held)
    return [
        _with_movement(replace(pull, shift_m=shift), compliance)
        for pull, shift in zip(found, shifts, strict=True)
    ]


def _shifts_m(span: Span, pulls: Sequence[Pull], held: Held) -> list[float]:
    """How far the block stands from the pull before, at a load that all pulls went through."""
    ways = [pull.excess_N for pull in pulls if pull.kind == PULL]
    level = held.up_N + 0.5 * min(ways, default=NAN)
    shifts, before = [], NAN
    for pull in pulls:
        if pull.kind != PULL:
            shifts.append(NAN)
            continue
        part = span.between(pull.start_us, pull.peak_us)
        load, block = part["hook_load_N"], part["block_position"]
        settled = ~(part["friction_state"] <= SETTLED)
        over = np.flatnonzero(settled & (load >= level))
        place = float(block[over[0]]) if len(over) else NAN
        shifts.append(place - before)
        before = place
    return shifts


def _pull(span: Span, leg: Leg, later: Leg | None, held: Held) -> Pull | None:
    rows = slice(leg.start, leg.end + 1)
    load, friction = span["hook_load_N"][rows], span["friction_state"][rows]
    # A reported hook load has no friction state: it is taken as it is.
    usable = np.isfinite(load) & ((leg.direction * friction > SETTLED) | ~np.isfinite(friction))
    if not usable.any():
        return None
    at = int(np.argmax(np.where(usable, leg.direction * load, -np.inf)))
    peak = float(load[at])
    if leg.direction > 0:
        kind, excess, limit = PULL, peak - held.up_N, held.pull_limit_N
    else:
        kind, excess, limit = SET_DOWN, held.low_N - peak, held.set_down_limit_N
    if not excess > limit:
        return None
    loose = kind == PULL and _let_go(load[at:], held)
    end = leg.start + at + _last_over(load[at:], held) if loose else leg.end
    block = span["block_position"]
    return Pull(
        number=0,
        kind=kind,
        start_us=int(span.time_us[leg.start]),
        peak_us=int(span.time_us[leg.start + at]),
        end_us=int(span.time_us[end]),
        start_load_N=_end_load_N(span, leg.start),
        load_N=peak,
        half_width_N=float(span["hook_load_half_width_N"][leg.start + at]),
        end_load_N=_end_load_N(span, end),
        excess_N=excess,
        block_start_m=float(block[leg.start]),
        block_end_m=float(block[end]),
        compliance_m_N=_fit_m_N(span, leg, held) if kind == PULL else NAN,
        slack_compliance_m_N=_fit_m_N(span, later, held) if kind == PULL and later else NAN,
        movement_m=NAN,
        moved=False,
        room_left_N=float(span["room_left_N"][leg.start + at]),
        slack_end_us=int(span.time_us[end if later is None or loose else later.end]),
        came_loose=loose,
    )


def _let_go(load: Floats, held: Held) -> bool:
    """Whether the load, from its peak on, is back at free weight before the block turns."""
    last = load[np.isfinite(load)][-1:]
    return bool(len(last) and last[0] < held.up_N + held.pull_limit_N)


def _last_over(load: Floats, held: Held) -> int:
    """First row after the last one over the limit."""
    over = np.flatnonzero(load > held.up_N + held.pull_limit_N)
    return min(int(over[-1]) + 1, len(load) - 1) if len(over) else 0


def _end_load_N(span: Span, row: int) -> float:
    first = int(np.searchsorted(span.time_us, int(span.time_us[row]) - END_WINDOW_US))
    load = span["hook_load_N"][first : row + 1]
    settled = np.isfinite(load) & ~(np.abs(span["friction_state"][first : row + 1]) <= SETTLED)
    chosen = load[settled] if settled.any() else load[np.isfinite(load)]
    return float(np.median(chosen)) if len(chosen) else NAN


def _fit_m_N(span: Span, leg: Leg, held: Held) -> float:
    """Compliance of the leg from its seconds, by the rule the stages use."""
    part = span.between(int(span.time_us[leg.start]), int(span.time_us[leg.end])).seconds()
    names = ("block_position", "hook_load_N", "block_speed_m_s", "friction_state")
    table = np.column_stack([part[name] for name in names])
    # Of a reported hook load nothing is corrected: its friction counts as settled.
    table[:, 3] = np.where(np.isnan(table[:, 3]), leg.direction, table[:, 3])
    table = table[np.isfinite(table).all(axis=1)]
    if not len(table):
        return NAN
    kept = [np.array([table[0, 0], _end_load_N(span, leg.start), 0.0, 0.0])]
    for entry in table:
        if leg.direction * (entry[0] - kept[-1][0]) >= KEPT_EVERY_M:
            kept.append(entry)
    return fitted_leg_m_N(np.array(kept), leg.direction, held.up_N, held.swing_N)


def spell_compliance_m_N(pulls: Sequence[Pull], held: Held) -> float:
    """Median compliance of the usable legs; that of the whole string where there is none."""
    legs = [c for pull in pulls for c in (pull.compliance_m_N, pull.slack_compliance_m_N)]
    known = [compliance for compliance in legs if np.isfinite(compliance)]
    return float(np.median(known)) if known else held.compliance_m_N


def _with_movement(pull: Pull, compliance_m_N: float) -> Pull:
    """Travel that the change of load does not account for is movement of the string."""
    way = 1.0 if pull.kind == PULL else -1.0
    stretch = compliance_m_N * (pull.end_load_N - pull.start_load_N)
    movement = way * (pull.travel_m - stretch)
    moved = movement > max(LEAST_MOVEMENT_M, MOVEMENT_SHARE * abs(pull.travel_m))
    moved = moved or pull.shift_m > LEAST_MOVEMENT_M
    return replace(pull, movement_m=movement, moved=bool(moved))
