"""The rig sheet at a bit depth, held against sums by hand and the check values of its formulas."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from monitor.cli import main
from monitor.report.depth_sheet import depth_sheet
from monitor.rig.rig import Pipe, Reeving, Rig, Section, SurveyStation

GEAR_N, MUD = 200e3, 1200.0
PIPE = Section("pipe", None, 0.127, 0.1086104, 343.0)
COLLARS = Section("collars", 100.0, 0.2032, 0.0714, 2184.0)


def rig(**changes: Any) -> Rig:
    settings: dict[str, Any] = {
        "string": (COLLARS, PIPE),
        "mud_density_kg_m3": MUD,
        "pipe": Pipe("S135", "premium", 930.8e6, 1.1),
        "hoist_compliance_m_N": 3e-8,
    }
    return Rig("example", GEAR_N, Reeving(10, 0.985), **{**settings, **changes})


def sheet(on: Rig, depth_m: float = 3000.0) -> dict[str, Any]:
    found = depth_sheet(on, depth_m)
    assert found is not None
    return found


def test_a_vertical_hole_hangs_its_buoyed_string() -> None:
    buoyed = 1.0 - MUD / 7850.0
    weight_N = buoyed * (100.0 * 2184.0 + 2900.0 * 343.0)
    found = sheet(rig())
    assert found["rotating_N"] == pytest.approx(weight_N + GEAR_N, rel=1e-3)
    assert not found["is_curved"]
    assert found["pull"]["margin_of_overpull_N"] == pytest.approx(
        found["pull"]["pull_N"] - GEAR_N - weight_N, rel=1e-3
    )


def test_the_fan_opens_with_friction_about_the_turning_weight() -> None:
    """A straight slant of 60 degrees: w (cos I +- f sin I), textbook statics."""
    slant = (SurveyStation(0.0, math.radians(60), 0.0), SurveyStation(4000.0, math.radians(60), 0))
    found = sheet(rig(string=(PIPE,), survey=slant), 2000.0)
    weight_N = (1.0 - MUD / 7850.0) * 343.0 * 2000.0
    for one in found["weights"]:
        side_N = one["friction_factor"] * weight_N * math.sin(math.radians(60))
        along_N = weight_N * math.cos(math.radians(60))
        assert one["hoisting_N"] - GEAR_N == pytest.approx(along_N + side_N, rel=2e-3)
        assert one["lowering_N"] - GEAR_N == pytest.approx(along_N - side_N, rel=2e-3)


def test_stretch_and_warmth_by_hand() -> None:
    """F L / (E A) with 30e6 psi; 6.9e-6 per degree F and 10 K, held: -growth over all give."""
    found = sheet(rig(string=(PIPE,)))["stretch"]
    area_m2 = math.pi / 4.0 * (0.127**2 - 0.1086104**2)
    per_N = 3000.0 / (30e6 * 6894.757 * area_m2)
    growth_m = 6.9e-6 * 1.8 * 10.0 * 3000.0
    assert found["plain_tube_m"] == pytest.approx(100e3 * per_N, rel=2e-3)
    assert found["with_tool_joints_m"] == pytest.approx(100e3 * per_N / 1.04, rel=2e-3)
    assert found["growth_m"] == pytest.approx(growth_m, rel=5e-3)  # printed to two figures
    assert found["held_N"] == pytest.approx(-growth_m / (per_N + 3e-8), rel=5e-3)


def test_line_work_is_the_formula_of_the_standard_in_its_own_units() -> None:
    """API RP 9B: D (Ls + D) Wm / 10 560 000 + D (M + C / 2) / 2 640 000, ton-miles of ft, lb."""
    ft, lb = 0.3048, 4.4482216152605
    found = sheet(rig())["line_work"]
    buoyed = 1.0 - MUD / 7850.0
    d, ls, m = 3000.0 / ft, 28.5 / ft, GEAR_N / lb
    wm = buoyed * 343.0 / lb * ft
    c = buoyed * 100.0 * (2184.0 - 343.0) / lb
    ton_miles = d * (ls + d) * wm / 10_560_000 + d * (m + c / 2.0) / 2_640_000
    assert found["round_trip_J"] == pytest.approx(ton_miles * 2000.0 * lb * 5280 * ft, rel=2e-3)
    assert found["drilling_stand_kelly_J"] == pytest.approx(1.5 * found["coring_stand_J"])


def test_the_command_prints_it_and_refuses_a_depth_that_cannot_be(
    capsys: pytest.CaptureFixture[str], pytestconfig: pytest.Config
) -> None:
    path = str(Path(pytestconfig.rootpath) / "config" / "floating_rig.toml")
    assert main(["rig", path, "--bit-depth", "9000 ft", "--display", "field"]) == 0
    text = capsys.readouterr().out
    for words in ("friction 0.4", "margin of overpull", "ton-miles", "10 K warmer"):
        assert words in text
    assert main(["rig", path, "--bit-depth", "2000 m", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["at_depth"]["bit_depth_m"] == 2000.0
    assert main(["rig", path, "--bit-depth", "-3 m"]) == 2
    assert "--bit-depth -3 m: must be above 0 m" in capsys.readouterr().err
