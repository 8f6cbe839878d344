"""Sheave efficiency and rail drag looked for in what a record holds: proposed, never applied.

The empty block weighed going up and going down is a pair at one load: that gives efficiency
and rail drag together. A second load tells them apart: the string, where it was moved up and
down over the same depth within a short time. But drag in the hole looks like friction of the
sheaves, so a string counts only where people say that it hangs in a vertical, cased or else
smooth hole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from monitor.metrology.sheave_friction import (
    LEAST_EFFICIENCY,
    SheaveFriction,
    load_factors,
    sheave_friction,
    steady_mean,
)
from monitor.model import Activity, EmptyCheck, Floats
from monitor.review.span import Span
from monitor.rig.rig import Rig

# A run of the string: so long and so steady at least, over the same depth both ways.
LEAST_RUN_S = 8.0
LEAST_RUN_SPEED_m_s = 0.05
STEADY_SHARE = 0.25  # speed within this of its own middle
SAME_DEPTH_m = 3.0
# Within this time, so that mud, hole and temperature are the same.
SAME_TIME_s = 1800.0
# Pairs of the empty block over more than this are taken by their middle one.
LEAST_PAIRS = 3
# Runs of one way that are taken where the crew turned round, and how long after one another:
# the zero and the gear must be the same.
MOST_RUNS, SAME_GEAR_S = 12, 12 * 3600.0


@dataclass(frozen=True, slots=True)
class Pair:
    """Mean tension up and down with the same load; uncertainties are standard ones."""

    what: str  # "empty block" or "string"
    time_us: int
    up_N: float
    down_N: float
    up_uncertainty_N: float
    down_uncertainty_N: float
    load_N: float  # about, by the efficiency in the rig file
    depth_m: float = math.nan
    runs: int = 1  # each way, behind the two means

    @property
    def ratio(self) -> float:
        """Tension going down over tension going up."""
        return self.down_N / self.up_N


@dataclass(frozen=True, slots=True)
class FrictionFound:
    """What the record says of the sheaves. ``found`` is None where it is refused, with why."""

    found: SheaveFriction | None
    why: str  # why nothing, or what the figure rests on
    pairs: tuple[Pair, ...]
    in_use: float  # sheave efficiency of the rig file
    hints: tuple[str, ...] = field(default=())

    @property
    def is_other(self) -> bool:
        """Whether the efficiency in use lies outside the interval of the one found."""
        if self.found is None or not math.isfinite(self.found.efficiency_half_width):
            return False
        away = abs(self.found.sheave_efficiency - self.in_use)
        return away > self.found.efficiency_half_width


def empty_pairs(checks: Sequence[EmptyCheck], rig: Rig) -> list[Pair]:
    """Pairs of the empty block, told at one height.

    Best both ways in one in-slips period. Tripping, the empty block goes only one way for
    hours: then the last runs one way and the first the other way where the crew turned round.
    """
    own = [check for check in checks if check.charted]
    by_seq: dict[int, dict[str, list[EmptyCheck]]] = {}
    for check in own:
        by_seq.setdefault(check.seq, {}).setdefault(check.direction, []).append(check)
    both = [sides for _, sides in sorted(by_seq.items()) if len(sides) == 2]
    if len(both) < LEAST_PAIRS:
        both = _turned_round(own)
    slope = _slope_N_m(own, rig)
    found = [_pair(sides["up"], sides["down"], slope, rig) for sides in both]
    # A single weighing's scatter is that of all of them.
    spread = _spread(np.array([pair.down_N - pair.up_N for pair in found])) / math.sqrt(2.0)
    return [
        replace(
            pair,
            up_uncertainty_N=max(pair.up_uncertainty_N, spread),
            down_uncertainty_N=max(pair.down_uncertainty_N, spread),
        )
        for pair in found
    ]


def _turned_round(checks: Sequence[EmptyCheck]) -> list[dict[str, list[EmptyCheck]]]:
    """Runs one way and the other about each change of way, with the same lines and gear."""
    groups: list[list[EmptyCheck]] = []
    for check in sorted(checks, key=lambda each: each.time_us):
        if groups and groups[-1][0].direction == check.direction:
            groups[-1].append(check)
        else:
            groups.append([check])
    found = []
    for first, second in zip(groups, groups[1:], strict=False):
        one, other = first[-MOST_RUNS:], second[:MOST_RUNS]
        same = (one[-1].lines_strung, one[-1].declared_N) == (
            other[0].lines_strung,
            other[0].declared_N,
        )
        apart_s = (other[0].time_us - one[-1].time_us) / 1e6
        if same and apart_s <= SAME_GEAR_S and min(len(one), len(other)) >= LEAST_PAIRS:
            found.append({one[0].direction: one, other[0].direction: other})
    return found


def _slope_N_m(checks: Sequence[EmptyCheck], rig: Rig) -> float:
    """Change of tension with block height that the weighings were corrected by.

    A line told in the rig file is in the tension already.
    """
    if rig.line is not None:
        return 0.0
    slopes = []
    for check in checks:
        apart = check.height_m - check.block_height_m
        if abs(apart) > 0.1:
            factor = load_factors(
                rig.reeving.sheave_efficiency, check.lines_strung, rig.reeving.dead_line_sheave
            )[0 if check.direction == "up" else 1]
            slopes.append((check.level_N / factor - check.tension_N) / apart)
    return float(np.median(slopes)) if slopes else 0.0


def _pair(
    ups: Sequence[EmptyCheck], downs: Sequence[EmptyCheck], slope_N_m: float, rig: Rig
) -> Pair:
    heights = [float(np.mean([c.block_height_m for c in side])) for side in (ups, downs)]
    middle = 0.5 * sum(heights)
    means, doubts = [], []
    for side in (ups, downs):
        tensions = np.array([c.tension_N + slope_N_m * (middle - c.block_height_m) for c in side])
        means.append(float(np.median(tensions)))
        # The median of normal values is 1.25 times as uncertain as their mean.
        doubts.append(max(1.253 * _spread(tensions) / math.sqrt(len(side)), 1.0))
    factor = load_factors(
        rig.reeving.sheave_efficiency, ups[0].lines_strung, rig.reeving.dead_line_sheave
    )[0]
    return Pair(
        "empty block",
        max(ups[-1].time_us, downs[-1].time_us),
        means[0],
        means[1],
        doubts[0],
        doubts[1],
        means[0] * factor,
        runs=min(len(ups), len(downs)),
    )


def _spread(values: Floats) -> float:
    """Standard deviation from the median of what lies off the median; 0 of one value."""
    if len(values) < 2:
        return 0.0
    return float(1.4826 * np.median(np.abs(values - np.median(values))))


def string_pairs(span: Span, rig: Rig, lines_strung: int) -> list[Pair]:
    """Steady runs of the hanging string up and down over the same depth, soon after another."""
    runs = [run for run in _runs(span, rig, lines_strung) if run is not None]
    pairs: list[Pair] = []
    used: set[int] = set()
    for place, (way, time_us, depth, mean, uncertainty, load) in enumerate(runs):
        for other in range(place + 1, len(runs)):
            way_2, time_2, depth_2, mean_2, uncertainty_2, load_2 = runs[other]
            if (time_2 - time_us) / 1e6 > SAME_TIME_s:
                break
            if way_2 == way or abs(depth_2 - depth) > SAME_DEPTH_m or {place, other} & used:
                continue
            used |= {place, other}
            up, down = (
                ((mean, uncertainty), (mean_2, uncertainty_2))
                if way > 0
                else ((mean_2, uncertainty_2), (mean, uncertainty))
            )
            pairs.append(
                Pair(
                    "string", time_2, up[0], down[0], up[1], down[1], 0.5 * (load + load_2), depth
                )
            )
    return pairs


def _zipped(
    up: tuple[float, float], down: tuple[float, float]
) -> tuple[float, float, float, float]:
    return up[0], down[0], up[1], down[1]


_Run = tuple[int, int, float, float, float, float]


def _runs(span: Span, rig: Rig, lines_strung: int) -> list[_Run | None]:
    speed, activity = span["block_speed_m_s"], span["activity"]
    way = np.where(
        activity == Activity.HOISTING, 1, np.where(activity == Activity.LOWERING, -1, 0)
    )
    way = np.where(np.abs(speed) >= LEAST_RUN_SPEED_m_s, way, 0)
    way = np.where(np.abs(span["friction_state"]) > 0.99, way, 0)
    edges = np.flatnonzero(np.diff(way)) + 1
    starts = np.concatenate(([0], edges)).astype(int)
    stops = np.concatenate((edges, [len(way)])).astype(int)
    return [
        _run(span, rig, lines_strung, int(way[start]), start, stop)
        for start, stop in zip(starts.tolist(), stops.tolist(), strict=True)
        if stop > start and way[start]
    ]


def _run(span: Span, rig: Rig, lines_strung: int, way: int, start: int, stop: int) -> _Run | None:
    if (span.time_us[stop - 1] - span.time_us[start]) / 1e6 < LEAST_RUN_S:
        return None
    speed = np.abs(span["block_speed_m_s"][start:stop])
    middle = float(np.median(speed))
    steady = np.abs(speed - middle) <= STEADY_SHARE * middle
    load = span["hook_load_N"][start:stop][steady]
    factors = load_factors(
        rig.reeving.sheave_efficiency, lines_strung, rig.reeving.dead_line_sheave
    )
    tension = load / factors[0 if way > 0 else 1]
    try:
        mean = steady_mean(tension)
    except ValueError:
        return None
    depth = float(np.nanmedian(span["bit_depth_m"][start:stop]))
    if not math.isfinite(depth):
        return None
    return (
        way,
        int(span.time_us[stop - 1]),
        depth,
        mean.tension_N,
        max(mean.standard_uncertainty_N, 1.0),
        float(np.nanmean(load)),
    )


def friction_of_record(
    pairs: Sequence[Pair],
    lines_strung: int,
    rig: Rig,
    *,
    string_without_drag: bool = False,
) -> FrictionFound:
    """Propose a sheave efficiency, or say why the record gives none.

    ``string_without_drag``: people say that the string hangs free where it was moved.
    """
    empty = [pair for pair in pairs if pair.what == "empty block"]
    string = [pair for pair in pairs if pair.what == "string"]
    in_use, hints = rig.reeving.sheave_efficiency, []
    if string and not string_without_drag:
        hints.append(
            f"{len(string)} pairs of the string were found: they tell efficiency and rail drag "
            "apart only where the hole takes no drag (vertical, cased); say so to use them"
        )
    runs = sum(pair.runs for pair in empty)
    if runs < LEAST_PAIRS:
        why = (
            f"the empty block was weighed going both ways {runs} times without a change of gear "
            f"between; at least {LEAST_PAIRS} are needed"
        )
        return FrictionFound(None, why, tuple(pairs), in_use, tuple(hints))
    loads = [_middle(empty)]
    if string_without_drag and string:
        loads.append(_middle(string))
    try:
        found = _fit(loads, lines_strung, rig)
    except ValueError as error:
        return FrictionFound(None, _refused(loads, str(error)), tuple(pairs), in_use, tuple(hints))
    if found.is_combined:
        why = (
            f"{runs} runs of the empty block each way, one load: efficiency with the rails' drag "
            "in it; runs at a second load would tell them apart"
        )
    else:
        why = f"{runs} runs of the empty block each way and {len(string)} of the string"
    return FrictionFound(found, why, tuple(pairs), in_use, tuple(hints))


def _fit(loads: Sequence[Pair], lines_strung: int, rig: Rig) -> SheaveFriction:
    return sheave_friction(
        np.array([pair.up_N for pair in loads]),
        np.array([pair.down_N for pair in loads]),
        lines_strung,
        rig.reeving.dead_line_sheave,
        np.array([pair.up_uncertainty_N for pair in loads]),
        np.array([pair.down_uncertainty_N for pair in loads]),
    )


def _refused(loads: Sequence[Pair], why: str) -> str:
    ratio = loads[0].ratio
    sign = "above" if ratio > 1.0 else "below"
    return (
        f"refused: {why} (the empty block reads {abs(ratio - 1.0):.1%} {sign} going down; an "
        f"efficiency from {LEAST_EFFICIENCY:g} to below 1 is believed)"
    )


def _middle(pairs: Sequence[Pair]) -> Pair:
    """Middle of pairs at one load, with the uncertainty of that middle."""
    up = np.array([pair.up_N for pair in pairs])
    down = np.array([pair.down_N for pair in pairs])
    # The median of normal values is 1.25 times as uncertain as their mean.
    share = 1.253 / math.sqrt(len(pairs))
    own = float(np.median([pair.up_uncertainty_N for pair in pairs]))
    return Pair(
        pairs[0].what,
        pairs[-1].time_us,
        float(np.median(up)),
        float(np.median(down)),
        share * max(own, _spread(up - np.median(up))),
        share * max(own, _spread(down - np.median(down))),
        float(np.median([pair.load_N for pair in pairs])),
        runs=sum(pair.runs for pair in pairs),
    )
