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
    same = block_section(stands([28.4 + one for one in noise]), "metric")
    assert re.match(r"20 stands of 28\.[34]\d m", same.lines[0])
    assert not same.asks
    jumped = [28.4 + one + (0.6 if n >= 12 else 0.0) for n, one in enumerate(noise)]
    told = block_section(stands(jumped), "metric")
    assert told.asks
    assert re.search(r"stepped by 0\.(5[5-9]|6[0-5]) m", told.findings[0]["what"])
    assert "00:37:30" in told.findings[0]["what"]  # slips of the thirteenth stand
    assert "2 stands tripped so far" in block_section(stands([28.4, 28.5]), "metric").lines[0]


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
    assert survey_answer("", "metric")["lines"] == [""]
