"""Sheaves and block in sentences: what comes again, what a tape says, what is refused."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from monitor.metrology.calibration import fit_calibration
from monitor.model import TripRow
from monitor.report.sensor_geometry import (
    block_section,
    friction_section,
    geometry_section,
    survey_answer,
)
from monitor.review.span import Span
from monitor.simulate.demo_rig import demo_rig_with_signal
from tests.report.test_sensor_sections import checks

RIG = demo_rig_with_signal()
STAND_US = 180_000_000


def stands(lengths_m: list[float]) -> list[TripRow]:
    rows = []
    for number, length_m in enumerate(lengths_m):
        at_us = number * STAND_US
        rows.append(
            TripRow(
                number, "out", at_us, at_us + 90_000_000, 2000.0, length_m, 9e5, 9e5, 0, 0, 0.5
            )
        )
    return rows


def pairs(up_N: float, down_N: float, n: int = 8) -> list[Any]:
    """The empty block weighed both ways in each of some in-slips periods."""
    noise = 20.0 * np.random.default_rng(4).standard_normal((n, 2))
    found = []
    for number, (a, b) in enumerate(noise.tolist()):
        for way, tension in (("up", up_N + a), ("down", down_N + b)):
            (one,) = checks([245e3], direction=way, tension_N=tension)
            found.append(replace(one, seq=number))
    return found


def told_efficiency(line: str) -> float:
    """The figure in a sentence; 20 N of noise in 22.8 kN tell it to 1e-4."""
    found = re.search(r"Efficiency of a sheave (\d\.\d+)", line)
    assert found is not None
    return float(found[1])


def test_the_empty_block_both_ways_gives_the_efficiency_of_the_tensions() -> None:
    # One load, no drag: tension up over tension down is e^9 with ten lines, a fixed dead line.
    up, down = 22.8e3, 22.8e3 / 0.985**9
    agrees = friction_section(pairs(up, down), RIG, 10, "metric")
    assert told_efficiency(agrees.lines[0]) == pytest.approx(0.985, abs=2e-4)
    other = friction_section(pairs(up, 22.8e3 / 0.975**9), RIG, 10, "metric")
    assert told_efficiency(other.lines[0]) == pytest.approx(0.975, abs=2e-4)
    assert "Proposed, not applied" in " ".join(other.lines)


def test_impossible_sheaves_are_refused_with_the_reason() -> None:
    told = friction_section(pairs(24e3, 23e3), RIG, 10, "metric")
    assert told.lines[0].startswith("Refused")
    assert "rails" in told.findings[0]["check"]
    none = friction_section([], RIG, 10, "metric")
    assert "at least 3 are needed" in none.lines[0]
    assert not none.findings


def test_stands_that_come_again_and_a_counter_that_jumped() -> None:
    noise = (0.05 * np.random.default_rng(5).standard_normal(20)).tolist()
    same = block_section(stands([28.4 + one for one in noise]), None, "metric")
    assert re.match(r"Stands of 28\.[34]\d m, 20 of them", same.lines[0])
    assert not same.asks
    jumped = [28.4 + one + (0.6 if n >= 12 else 0.0) for n, one in enumerate(noise)]
    told = block_section(stands(jumped), None, "metric")
    assert told.asks
    assert re.search(r"stepped by 0\.(5[5-9]|6[0-5]) m", told.findings[0]["what"])
    assert "00:37:30" in told.findings[0]["what"]  # slips of the thirteenth stand
    assert "Too few stands" in block_section(stands([28.4, 28.5]), None, "metric").lines[0]


def test_slips_running_in_come_again_at_one_height() -> None:
    rows = [replace(row, direction="in") for row in stands([28.4] * 12)]
    times = np.array([row.in_slips_us for row in rows], dtype=np.int64)
    heights = 1.2 + 0.03 * np.random.default_rng(6).standard_normal(12)
    told = block_section(rows, Span(times, {"block_position": heights}), "metric")
    assert re.match(r"Slips set at 1\.[12]\d m, 12 of them", told.lines[0])
    assert not told.findings
    told = block_section(
        rows, Span(times, {"block_position": heights + 0.05 * np.arange(12)}), "metric"
    )
    assert told.findings[0]["what"] == "heights of slips wander"


def test_a_tally_tells_the_counters_scale() -> None:
    rows = stands([28.4, 28.5, 28.3, 28.6, 28.4, 28.5, 28.2, 28.4])
    tally = "\n".join(f"{row.length_m * 0.99:.3f}" for row in rows)
    words = survey_answer("", "metric", rows, tally)["lines"]
    # 1 % of 227.3 m.
    assert "Tally over counter 0.9900" in words[0]
    assert "2.27 m more" in words[0]
    assert "at least 6 stands" in survey_answer("", "metric", rows, "28.4\n28.4")["lines"][0]
    assert "one length a line" in survey_answer("", "metric", rows, "long")["lines"][0]


def test_arm_and_area_against_the_calibrated_gain() -> None:
    sensor = replace(
        RIG.sensor, signal_quantity="pressure", signal_low=0.0, signal_high=1e7,
        arm_ratio=0.4, effective_area_m2=0.0129,
    )  # fmt: skip
    rig = replace(RIG, sensor=sensor)
    loads = np.array([0.0, 1e5, 2e5])
    right = fit_calibration(loads, loads * 0.4 / 0.0129)
    told = geometry_section(rig, right, "metric")
    # 100 kN times 0.4 over 129 cm2 is 3.1 MPa, 31 bar.
    assert told.lines[1] == "100 kN of line should give 31 bar."
    assert not told.asks
    other = geometry_section(rig, fit_calibration(loads, loads * 0.36 / 0.0129), "metric")
    assert other.lines[2] == "The gain in force is off that by \u221210.0%."
    assert other.asks
    assert "gives neither" in geometry_section(RIG, None, "metric").lines[0]


def test_a_tape_tells_scale_zero_and_play() -> None:
    shown = np.linspace(1.0, 33.0, 9)
    rows = [f"{1.01 * h + 0.2:.4f},{h:.4f},up" for h in shown]
    rows += [f"{1.01 * h + 0.2:.4f},{h - 0.03:.4f},down" for h in shown[::-1]]
    told = survey_answer("\n".join(rows), "metric")
    words = " ".join(told["lines"])
    assert told["points"] == 18
    assert "Tape over counter 1.010" in words
    assert "Going up it shows 0.03 m more" in words
    assert told["asks"]
    # The same in feet.
    feet = survey_answer("\n".join(rows), "field")
    assert "Tape over counter 1.010" in " ".join(feet["lines"])


def test_a_survey_that_cannot_be_judged_says_why() -> None:
    told = survey_answer("10,10.1,up\nhigh,3\n", "metric")
    assert told["faults"] == ["line 2: taped height, shown height, up or down is expected"]
    assert "at least 4 are needed" in told["lines"][0]
    assert survey_answer("", "metric")["lines"] == []
