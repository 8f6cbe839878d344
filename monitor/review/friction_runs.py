"""Sheave efficiency and rail drag looked for in what a record holds: proposed, never applied.

The empty block weighed going up and down in the same in-slips period is a pair at one load:
that gives efficiency and rail drag together. A second load tells them apart: the string,
where it was moved up and down over the same depth within a short time. But drag in the hole
looks like friction of the sheaves, so a string counts only where people say that it hangs in
a vertical, cased or else smooth hole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

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
    """Pairs of the empty block: both ways in one in-slips period, told at one height."""
    by_seq: dict[int, dict[str, EmptyCheck]] = {}
    for check in checks:
        if check.charted:
            by_seq.setdefault(check.seq, {})[check.direction] = check
    both = [pair for _, pair in sorted(by_seq.items()) if len(pair) == 2]
    if not both:
        return []
    tensions = np.array([[_at_one_height(p[way], p, rig) for way in ("up", "down")] for p in both])
    spread = _spread(tensions[:, 1] - tensions[:, 0]) / math.sqrt(2.0)
    pairs = []
    for pair, (up_N, down_N) in zip(both, tensions.tolist(), strict=True):
        factor = load_factors(
            rig.reeving.sheave_efficiency, pair["up"].lines_strung, rig.reeving.dead_line_sheave
        )[0]
        pairs.append(
            Pair(
                "empty block",
                pair["up"].time_us,
                up_N,
                down_N,
                max(spread, 1.0),
                max(spread, 1.0),
                up_N * factor,
            )
        )
    return pairs


def _at_one_height(check: EmptyCheck, pair: dict[str, EmptyCheck], rig: Rig) -> float:
    """Tension told at the mean height of both runs.

    A line told in the rig file is in the tension already; untold, its weight is taken from
    how the two levels were brought to the charts' heights.
    """
    middle = 0.5 * (pair["up"].block_height_m + pair["down"].block_height_m)
    apart = check.height_m - check.block_height_m
    if rig.line is not None or apart == 0.0:
        return check.tension_N
    factor = load_factors(
        rig.reeving.sheave_efficiency, check.lines_strung, rig.reeving.dead_line_sheave
    )[0 if check.direction == "up" else 1]
    slope = (check.level_N / factor - check.tension_N) / apart
    return check.tension_N + slope * (middle - check.block_height_m)


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
    if len(empty) < LEAST_PAIRS:
        why = (
            f"{len(empty)} in-slips periods in which the empty block moved both ways steadily; "
            f"at least {LEAST_PAIRS} are needed"
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
            f"{len(empty)} pairs of the empty block, one load: efficiency with the rails' drag in "
            "it; runs at a second load would tell them apart"
        )
    else:
        why = f"{len(empty)} pairs of the empty block and {len(string)} of the string"
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
    )
