"""The zero over a record: control charts of every weighing of the empty block, and its trend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.metrology.sheave_friction import load_factors, student_t_975
from monitor.metrology.zero_drift import (
    ControlChart,
    ZeroChange,
    control_chart,
    standard_deviation_by_ranges,
    time_to_limit_s,
    zero_change,
)
from monitor.model import EmptyCheck, Floats, Ints
from monitor.rig.rig import Rig

# Weighings that set centre and scatter of the charts; the handbook's example has the same
# weight and width of the EWMA.
REFERENCE_CHECKS = 20
LEAST_CHECKS = 6
EWMA_WEIGHT, WIDTH = 0.3, 3.0
# What counts as a zero that has drifted: share of the span (goal of the project).
LIMIT_SHARE = 0.01
USUAL_SPAN_N = 450e3
# A temperature is held against the zero where it was told so often and spread so far.
LEAST_TEMPERATURES, LEAST_RANGE_K = 10, 3.0
# Most points of a chart that is sent anywhere.
MOST_CHECKS = 2000


@dataclass(frozen=True, slots=True)
class TemperatureEffect:
    """Change of the zero with temperature, by a straight line."""

    slope_N_K: float
    half_width_N_K: float  # 95 %
    n: int

    @property
    def is_told(self) -> bool:
        """Whether the slope is beyond its doubt."""
        return abs(self.slope_N_K) > self.half_width_N_K


@dataclass(frozen=True, slots=True)
class ZeroHistory:
    """One direction's weighings since lines, gear or calibration last changed."""

    direction: str
    time_us: Ints
    levels_N: Floats
    put_aside: Floats  # levels of weighings that were not charted, else not-a-number
    chart: ControlChart | None  # None before there are enough
    centre_N: float
    spread_N: float
    limit_N: float  # 1 % of span, at the hook
    change: ZeroChange
    time_to_limit_s: float
    temperature_K: Floats
    temperature: TemperatureEffect | None


def zero_history(checks: Sequence[EmptyCheck], direction: str, rig: Rig) -> ZeroHistory | None:
    """Chart one direction; None without any weighing that way."""
    own = [check for check in checks if check.direction == direction][-MOST_CHECKS:]
    if not own:
        return None
    newest = own[-1]
    own = [
        c for c in own if c.height_m == newest.height_m and c.lines_strung == newest.lines_strung
    ]
    times = np.array([check.time_us for check in own], dtype=np.int64)
    all_levels = np.array([check.level_N for check in own])
    charted = np.array([check.charted for check in own])
    levels = np.where(charted, all_levels, np.nan)
    known = levels[charted]
    first = known[:REFERENCE_CHECKS]
    centre = float(np.median(first)) if len(first) else math.nan
    spread = standard_deviation_by_ranges(first)
    factors = load_factors(
        rig.reeving.sheave_efficiency, newest.lines_strung, rig.reeving.dead_line_sheave
    )
    span_N = USUAL_SPAN_N if rig.sensor.span_N is None else rig.sensor.span_N
    limit = LIMIT_SHARE * span_N * factors[0 if direction == "up" else 1]
    has_chart = len(known) >= LEAST_CHECKS and math.isfinite(spread) and spread > 0.0
    change = zero_change(times, levels)
    temperature = np.array([check.temperature_K for check in own])
    return ZeroHistory(
        direction=direction,
        time_us=times,
        levels_N=levels,
        put_aside=np.where(charted, np.nan, all_levels),
        chart=control_chart(levels, centre, spread, EWMA_WEIGHT, WIDTH) if has_chart else None,
        centre_N=centre,
        spread_N=spread,
        limit_N=limit,
        change=change,
        time_to_limit_s=time_to_limit_s(change, centre - limit, centre + limit),
        temperature_K=temperature,
        temperature=_temperature(temperature, levels),
    )


def _temperature(temperature_K: Floats, levels_N: Floats) -> TemperatureEffect | None:
    both = np.isfinite(temperature_K) & np.isfinite(levels_N)
    t, level = temperature_K[both], levels_N[both]
    if len(t) < LEAST_TEMPERATURES or float(np.ptp(t)) < LEAST_RANGE_K:
        return None
    away = t - t.mean()
    spread = float(np.sum(away * away))
    slope = float(np.sum(away * level)) / spread
    left = level - level.mean() - slope * away
    error = math.sqrt(float(np.sum(left * left)) / (len(t) - 2) / spread)
    return TemperatureEffect(slope, student_t_975(len(t) - 2) * error, len(t))


def zero_words(history: ZeroHistory) -> str:
    """Say in one plain sentence what the weighings tell."""
    n = int(np.count_nonzero(np.isfinite(history.levels_N)))
    way = f"going {history.direction}"
    if n < LEAST_CHECKS:
        return f"Empty block {way}: {n} weighings, {LEAST_CHECKS} are needed to tell a drift."
    change = history.change
    moved_kN = (change.now - history.centre_N) / 1e3
    if change.kind == "none":
        return f"Empty block {way}: no change in {n} weighings."
    if change.kind == "step":
        return (
            f"Empty block {way}: a step of {change.step / 1e3:+.1f} kN; look for what was "
            "changed then: gear, hose, sensor."
        )
    if change.kind == "unclear":
        return f"Empty block {way}: moved by {moved_kN:+.1f} kN, step or drift is not clear yet."
    ahead = history.time_to_limit_s
    when = (
        "beyond 1 % of span already"
        if ahead == 0.0
        else f"1 % of span in {ahead / 3600.0:.0f} h if it goes on"
    )
    return f"Empty block {way}: drifts, {moved_kN:+.1f} kN so far, {when}."
