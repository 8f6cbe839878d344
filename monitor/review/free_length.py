"""Free length of a stuck string from chosen pulls, or a plain word why there is none."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from monitor.mechanics.free_point import (
    DEPTH_HALF_WIDTH,
    GREATEST_FRICTION,
    GREATEST_SCATTER,
    LEAST_PULLS,
    ONE_WAY_HALF_WIDTH,
    SCALE_HALF_WIDTH,
    Agreement,
    StringStiffening,
    UNKNOWN_HOIST_COMPLIANCE_m_N,
    agreement,
    free_point,
    string_stiffening,
)
from monitor.mechanics.stretch import Stiffening, free_length_m
from monitor.review.pulls import PULL, Pull
from monitor.rig.rig import Rig

NAN = float("nan")


@dataclass(frozen=True, slots=True)
class LegLength:
    """What one leg tells by itself."""

    pull: int
    sense: str  # "pulling" or "slacking off"
    free_length_m: float


@dataclass(frozen=True, slots=True)
class FreeLength:
    """Free length along the string from the rig floor, its 95 % interval, and the grounds.

    Without support there is no figure: an interval at most, and ``why`` says what is amiss.
    """

    free_length_m: float
    low_m: float
    high_m: float
    why: str  # empty where the data support the figure
    pulls: tuple[int, ...]  # numbers of the pulls used
    legs: tuple[LegLength, ...]
    agreement: Agreement
    bit_depth_m: float
    above_floor_m: float
    stiffening: StringStiffening

    @property
    def is_supported(self) -> bool:
        """Whether there is a figure."""
        return not self.why

    @property
    def has_interval(self) -> bool:
        """Whether the data narrow it down at all."""
        return math.isfinite(self.low_m) and math.isfinite(self.high_m)


def free_length(
    pulls: Sequence[Pull],
    rig: Rig,
    bit_depth_m: float,
    above_floor_m: float,
    chosen: Collection[int] | None = None,
) -> FreeLength:
    """Free length from the pulls, or from those whose numbers are ``chosen``.

    The arithmetic is that of the live summary; a leg without a clean slope is left out.
    """
    used = [
        pull for pull in pulls if pull.kind == PULL and (chosen is None or pull.number in chosen)
    ]
    pulling = {p.number: p.compliance_m_N for p in used if math.isfinite(p.compliance_m_N)}
    slacking = {
        p.number: p.slack_compliance_m_N for p in used if math.isfinite(p.slack_compliance_m_N)
    }
    agreed = agreement(list(pulling.values()), list(slacking.values()))
    stiff = string_stiffening(rig.string, rig.pipe)
    known = bool(rig.string) and bit_depth_m > 0.0
    legs = [
        LegLength(number, sense, _length_m(c, stiff.middle, rig, bit_depth_m, above_floor_m))
        for sense, side in (("pulling", pulling), ("slacking off", slacking))
        for number, c in side.items()
        if known
    ]
    point = free_point(
        list(pulling.values()),
        list(slacking.values()),
        rig.string,
        bit_depth_m,
        above_floor_m=above_floor_m,
        hoist_compliance_m_N=rig.hoist_compliance_m_N,
        pipe=rig.pipe,
    )
    best, low, high, why = point.free_length_m, point.low_m, point.high_m, ""
    if math.isnan(best):
        why = _why(len(used), pulling, agreed, rig, bit_depth_m)
        low, high = _interval_m(
            [*pulling.values(), *slacking.values()], rig, bit_depth_m, above_floor_m
        )
    numbers = tuple(sorted({*pulling, *slacking}))
    return FreeLength(
        best, low, high, why, numbers, tuple(legs), agreed, bit_depth_m, above_floor_m, stiff
    )


def _why(
    n_pulls: int, pulling: dict[int, float], agreed: Agreement, rig: Rig, bit_depth_m: float
) -> str:
    """Say in words what the data lack."""
    if not rig.string:
        return "the rig file does not describe the string"
    if not bit_depth_m > 0.0:
        return "bit depth is not known"
    if len(pulling) < LEAST_PULLS:
        return (
            f"{len(pulling)} of {n_pulls} pulls can be used and {LEAST_PULLS} are needed: a "
            "pull counts when it goes well above the free hoisting weight at a steady, slow speed"
        )
    if agreed.deviation_m_N > GREATEST_SCATTER * abs(agreed.compliance_m_N):
        share = agreed.deviation_m_N / abs(agreed.compliance_m_N)
        return (
            f"the pulls disagree by {share * 100:.0f} % (at most "
            f"{GREATEST_SCATTER * 100:.0f} %): the string moved, or the "
            "block crept while it was held"
        )
    if agreed.friction > GREATEST_FRICTION:
        return (
            "friction dominates: pulling and slacking off differ by "
            f"{200 * agreed.friction:.0f} % (at most {200 * GREATEST_FRICTION:.0f} %)"
        )
    return "the block moved more than this string can stretch: it was not held, or not so deep"


def _interval_m(
    compliances: Sequence[float], rig: Rig, bit_depth_m: float, above_floor_m: float
) -> tuple[float, float]:
    """Give the widest the legs allow, where no figure is supported; none from no leg at all."""
    if not compliances or not rig.string or not bit_depth_m > 0.0:
        return NAN, NAN
    share = math.hypot(SCALE_HALF_WIDTH, max(ONE_WAY_HALF_WIDTH, GREATEST_FRICTION))
    unknown = UNKNOWN_HOIST_COMPLIANCE_m_N if rig.hoist_compliance_m_N == 0.0 else 0.0
    softest, stiffest = max(compliances) * (1.0 + share), min(compliances) * (1.0 - share)
    where = (rig, bit_depth_m, above_floor_m)
    stiff = string_stiffening(rig.string, rig.pipe)
    low = _length_m(stiffest - unknown, stiff.low, *where)
    high = _length_m(softest, stiff.high, *where)
    deepest = bit_depth_m * (1.0 + DEPTH_HALF_WIDTH)
    if low > deepest or high < 0.0:
        return NAN, NAN
    return max(low, 0.0), min(high, deepest)


def _length_m(
    compliance_m_N: float,
    stiffening: Stiffening,
    rig: Rig,
    bit_depth_m: float,
    above_floor_m: float,
) -> float:
    return free_length_m(
        compliance_m_N,
        1.0,
        rig.string,
        bit_depth_m,
        above_floor_m=above_floor_m,
        hoist_compliance_m_N=rig.hoist_compliance_m_N,
        stiffening=stiffening,
    )
