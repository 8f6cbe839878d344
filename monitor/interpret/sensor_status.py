"""What the screens show of the sensor: calibration, uncertainty, line count, zero, signal."""

from __future__ import annotations

from typing import Any

import numpy as np

from monitor.interpret.empty_block import EmptyBlock
from monitor.interpret.faults import Faults
from monitor.interpret.known import known_or_none
from monitor.interpret.levels import two_levels
from monitor.interpret.load import Load
from monitor.interpret.sensor import SensorStage
from monitor.interpret.slips import GREATEST_EMPTY_ERROR, Slips
from monitor.interpret.zero_chart import REFERENCE_CHECKS, ZeroChart
from monitor.model import Floats

# A bit on bottom takes less than this of the load off the hook (common practice): what takes
# more are slips.
HELD_SHARE = 0.5


def sensor_status(
    load: Load,
    empty_block: EmptyBlock,
    sensor: SensorStage,
    faults: Faults,
    alarm_margin_N: float,
    slips: Slips,
) -> dict[str, Any]:
    """Small figures that change slowly; histories are in the record."""
    return {
        "calibration": load.calibrations.status(),
        "uncertainty": sensor.status(alarm_margin_N),
        "line_count": _line_count(empty_block),
        "zero": {
            "span_N": empty_block.span_N,
            "doubt_N": empty_block.said["zero_N"],
            "said": empty_block.said["drift"],
            "up": _chart(empty_block.up),
            "down": _chart(empty_block.down),
        },
        "signal": _signal(sensor, faults, slips),
    }


def sensor_summary(
    load: Load, empty_block: EmptyBlock, sensor: SensorStage, faults: Faults, slips: Slips
) -> dict[str, Any]:
    """What a summary of a record says of its sensor; loads in newtons at the hook."""
    odds = empty_block.odds()
    signal = _signal(sensor, faults, slips)
    charts = (("up", empty_block.up), ("down", empty_block.down))
    return {
        "calibration_in_force": load.calibrations.in_force,
        "lines_told": empty_block.lines_strung,
        "lines_by_the_empty_block": None if odds is None else odds.most_likely,
        "lines_odds": None if odds is None else min(odds.odds, 1e6),
        "zero_moved_N": {way: chart.moved_N for way, chart in charts if chart.count},
        "signs": [f"{found['what']}; check {found['check']}" for found in signal["findings"]],
    }


def _signal(sensor: SensorStage, faults: Faults, slips: Slips) -> dict[str, Any]:
    status = sensor.signal.status(sensor.noise.noise_N, sensor.noise.step_N, faults)
    status["findings"] += level_findings(np.array(slips.heard.loads), slips.declared_N)
    return status


def level_findings(heard_N: Floats, declared_N: float) -> list[dict[str, str]]:
    """Tell that the load never comes near that of the empty block, where it should have.

    Loads of the last hours lie on two levels, the upper more than twice the lower: a string
    on the hook and off it. The lower is then the empty block, or the loads are not what they
    are said to be.

    Examples
    --------
    >>> heard = np.array([2450e3, 2460e3, 2440e3] * 20 + [9000e3, 8990e3] * 20)
    >>> level_findings(heard, 245e3)[0]["what"]
    'the load lies at 2450 or at 8995 kN, never near the 245 kN of the travelling equipment'
    >>> level_findings(heard, 2450e3)
    []
    """
    levels = two_levels(heard_N[np.isfinite(heard_N)])
    if levels is None or levels.high_N - levels.low_N < HELD_SHARE * levels.high_N:
        return []
    if abs(levels.low_N - declared_N) <= GREATEST_EMPTY_ERROR * declared_N:
        return []
    what = (
        f"the load lies at {levels.low_N / 1e3:.0f} or at {levels.high_N / 1e3:.0f} kN, never "
        f"near the {declared_N / 1e3:.0f} kN of the travelling equipment"
    )
    check = (
        "unit and meaning of the load column, lines strung, zero and calibration of the sensor, "
        "the travelling weight in the rig file"
    )
    return [{"sign": "levels", "what": what, "check": check}]


def _line_count(empty_block: EmptyBlock) -> dict[str, Any]:
    found = empty_block.odds()
    told = empty_block.lines_strung
    if found is None:
        return {
            "told": told,
            "most_likely": None,
            "by_lines": {},
            "something_else": None,
            "odds": None,
            "said": "",
            "in_words": "the empty block has not been weighed yet",
        }
    best = found.most_likely
    return {
        "told": told,
        "most_likely": best,
        "by_lines": {str(n): share for n, share in found.by_lines.items()},
        "something_else": found.something_else,
        "odds": min(found.odds, 1e6),
        "said": empty_block.said["lines"],
        "in_words": _line_words(told, best, found.by_lines[best], found.something_else),
    }


def _line_words(told: int, best: int, share: float, something_else: float) -> str:
    if something_else > share:
        return (
            f"no line count shows the declared weight: something else hangs there, or the "
            f"travelling weight is wrong ({something_else:.0%})"
        )
    same = "as told" if best == told else f"told are {told}: count the lines"
    return f"the empty block reads like {best} lines ({share:.1%}), {same}"


def _chart(chart: ZeroChart) -> dict[str, Any]:
    learnt = chart.count >= REFERENCE_CHECKS
    return {
        "checks": chart.count,
        "learnt": learnt,
        "reference_N": known_or_none(chart.reference_N),
        "average_N": known_or_none(chart.average_N),
        "moved_N": known_or_none(chart.moved_N),
        "limit_N": known_or_none(chart.limit_N),
        "spread_N": known_or_none(chart.spread_N),
        "height_m": known_or_none(chart.height_m),
        "is_out": chart.is_out,
    }
