"""The fan of the trip sheet against textbook statics, and the words beside it."""

from __future__ import annotations

import math
from typing import Any

import pytest

from monitor.report.friction_fan import friction_fan, friction_words
from monitor.report.summary import results_part
from monitor.rig.rig import Reeving, Rig, Section, SurveyStation
from monitor.web.figures.trip_plots import depth_span_m, trip_plots
from tests.web.synthetic import stands

GEAR_N, MUD = 200e3, 1200.0
SLANT = math.radians(60.0)
RIG = Rig(
    "example",
    GEAR_N,
    Reeving(10, 0.985),
    string=(Section("pipe", None, 0.127, 0.1086104, 343.0),),
    mud_density_kg_m3=MUD,
    survey=(SurveyStation(0.0, SLANT, 0.0), SurveyStation(4000.0, SLANT, 0.0)),
)


def told(**changes: Any) -> dict[str, Any]:
    known = {"friction_factor": 0.27, "half_width": 0.05, "stands": 12, "learning": False}
    new = {"friction_factor": 0.25, "half_width": 0.16, "stands": 0, "learning": True}
    return {
        "fits": True, "mud_density_kg_m3": MUD, "hoisting": known, "lowering": new, **changes
    }  # fmt: skip


def test_the_fan_of_a_slant_is_its_side_force() -> None:
    """w L (cos I +- f sin I), and half a stand of 28.5 m in air above the floor."""
    fan = friction_fan(RIG, told(), GEAR_N, 1000.0, 2000.0)
    assert fan is not None
    buoyed = 1.0 - MUD / 7850.0
    rest_N = GEAR_N + 343.0 * 28.5 / 2
    for index, depth_m in ((0, 1000.0), (-1, 2000.0)):
        assert fan["depth_m"][index] == pytest.approx(depth_m)
        weight_N = buoyed * 343.0 * depth_m
        along_N, across_N = weight_N * math.cos(SLANT), weight_N * math.sin(SLANT)
        assert fan["turning_N"][index] == pytest.approx(rest_N + along_N, rel=1e-3)
        for one in fan["usual"]:
            drag_N = one["friction_factor"] * across_N
            assert one["hoisting"][index] == pytest.approx(rest_N + along_N + drag_N, rel=1e-3)
            assert one["lowering"][index] == pytest.approx(rest_N + along_N - drag_N, rel=1e-3)
        found_N = rest_N + along_N + 0.27 * across_N
        assert fan["found"]["hoisting"][index] == pytest.approx(found_N, rel=1e-3)
    # No curve of a factor that is not known yet.
    assert set(fan["found"]) == {"hoisting"}


def test_without_a_survey_there_is_neither_fan_nor_word() -> None:
    assert friction_fan(RIG, None, GEAR_N, 1000.0, 2000.0) is None
    assert friction_fan(RIG, told(), GEAR_N, 0.0, 0.0) is None
    assert friction_words(None) == ""
    assert results_part({}, [])["friction"] is None


def test_the_words_say_factor_doubt_and_stands_or_learning() -> None:
    assert friction_words(told()) == (
        "Friction factor hoisting 0.27 ± 0.05 (12 stands), lowering learning"
    )
    begun = told(lowering={**told()["lowering"], "stands": 1})
    assert friction_words(begun).endswith("lowering learning (1 stand)")
    assert "do not fit" in friction_words(told(fits=False))


def test_the_fan_lies_behind_the_stands_and_is_bounded() -> None:
    rows = stands(1_772_332_805_000_000, 30)
    low_m, high_m = depth_span_m(rows)
    fan = friction_fan(RIG, told(), GEAR_N, low_m, high_m)
    plot = trip_plots(rows, "metric", (), fan)["weights"]["data"]
    plain = trip_plots(rows, "metric")["weights"]["data"]
    curves = plot[: len(plot) - len(plain)]
    assert plot[len(curves) :] == plain
    names = [curve["name"] for curve in curves if curve["showlegend"]]
    assert names == ["friction 0.1 to 0.4", "turning", "found hoisting"]
    assert all(len(curve["x"]) == len(curve["y"]) <= 31 for curve in curves)
