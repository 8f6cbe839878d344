"""The rig sheet's part of the hoist."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from monitor.report.rig_sheet import rig_sheet, rig_sheet_text
from monitor.rig.file import parse_rig
from monitor.rig.rig import Reeving, Rig

CONFIG = Path(__file__).parents[2] / "config"
LAND = (CONFIG / "land_rig.toml").read_text(encoding="utf-8")
FLOATING = (CONFIG / "floating_rig.toml").read_text(encoding="utf-8")


def test_a_bare_rig_has_only_its_sheaves() -> None:
    sheet = rig_sheet(Rig("Bare (invented)", 245e3, Reeving(9, 0.985)))["hoist"]
    # Nine lines end at the travelling block: five crown sheaves, four below.
    assert (sheet["crown_sheaves_used"], sheet["travelling_sheaves_used"]) == (5, 4)
    assert [key for key, value in sheet.items() if value is None] == [
        "drilling_line", "line_work", "drum", "brake", "hoisting_speed_m_s", "compensator", "hook",
    ]  # fmt: skip


@pytest.mark.parametrize("text", [LAND, FLOATING])
@pytest.mark.parametrize("display", ["metric", "field", "tonnes"])
def test_the_example_rigs_print_everything(text: str, display: str) -> None:
    sheet = rig_sheet(parse_rig(text))
    json.dumps(sheet, allow_nan=False)
    printed = rig_sheet_text(sheet, display)
    for word in (
        "Sheaves in use",
        "Gear casing tools",
        "Drilling line",
        "Line allows",
        "Slip and cut",
        "wraps left at the lowest block",
        "Power allows",
        "Stops from",
        "Volume of drill collars",
    ):
        assert word in printed
    assert ("Compensator" in printed) is (text is FLOATING)
    assert sheet["warnings"] == []


def test_figures_of_the_land_rig() -> None:
    sheet = rig_sheet(parse_rig(LAND))["hoist"]
    # 46 m on a first layer of pi (0.762 + 0.034925) m a wrap.
    assert sheet["drum"]["wraps_lowest"] == pytest.approx(46.0 / 2.50361, rel=1e-4)
    pulls = sheet["drilling_line"]["pull_by_duty_N"]
    assert pulls["setting casing"] == pytest.approx(1.5 * pulls["tripping"])
    # W v = P x (1 - 0.985^10) / (10 x (1 - 0.985)) x 0.985: power times efficiency.
    speed = sheet["hoisting_speed_m_s"]["empty block"]
    assert speed * 245e3 / (1500 * 745.69987) == pytest.approx(0.921, abs=0.001)
    # v 0.8 + v2 / 3.2 = 3 m
    stops = sheet["brake"]["greatest_speed_m_s"]["3 m"]
    assert stops * 0.8 + stops**2 / 3.2 == pytest.approx(3.0)


def test_few_wraps_many_layers_and_small_sheaves_are_warned_of() -> None:
    text = LAND.replace('line_on_drum = "46 m"', 'line_on_drum = "12 m"')
    text = text.replace('sheave_diameter = "60 in"', 'sheave_diameter = "36 in"')
    found = "\n".join(rig_sheet(parse_rig(text))["warnings"])
    assert "4.8 wraps are left on the drum at the lowest block; at least 6 are wanted" in found
    assert "sheaves are 26.2 line diameters: too small" in found
    shallow = LAND.replace('flange_depth = "8 in"', 'flange_depth = "4 in"')
    assert "the drum holds 3" in rig_sheet(parse_rig(shallow))["warnings"][0]
