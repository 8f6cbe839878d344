"""The string in the hole against the tables beside this file: survey, drag, strength, volumes."""

from __future__ import annotations

import pytest

from monitor.mechanics import drag, survey
from monitor.mechanics.soft_string import Hole
from monitor.rig.rig import Section, SurveyStation
from monitor.units import from_si, to_si
from tests.published.table import rows


def _si(row, name, unit, quantity):
    return to_si(f"{row[name]} {unit}", quantity)


@pytest.mark.parametrize("row", rows("survey_arcs"))
def test_survey_arc(row):
    stations = [
        SurveyStation(
            _si(row, f"depth_{k}_ft", "ft", "length"),
            _si(row, f"inclination_{k}_deg", "deg", "angle"),
            _si(row, f"azimuth_{k}_deg", "deg", "angle"),
        )
        for k in (1, 2)
    ]
    path = survey.well_path(stations)
    dogleg = from_si(float(path.dogleg_rad[-1]), "deg", "angle")
    assert dogleg == pytest.approx(float(row["dogleg_deg"]), abs=float(row["tolerance_deg"]))
    steps = from_si(path.position_m[-1] - path.position_m[-2], "ft", "length")
    for step, name in zip(steps, ("north_ft", "east_ft", "vertical_ft"), strict=True):
        assert step == pytest.approx(float(row[name]), abs=float(row["tolerance_ft"])), name


@pytest.mark.parametrize("row", rows("drag_forces"))
def test_drag_force(row):
    length = _si(row, "length_ft", "ft", "length")
    stations = [
        SurveyStation(
            depth,
            _si(row, f"inclination_{end}_deg", "deg", "angle"),
            _si(row, f"azimuth_{end}_deg", "deg", "angle"),
        )
        for depth, end in ((0.0, "top"), (length, "bottom"))
    ]
    weight = _si(row, "weight_lb_ft", "lb/ft", "weight_per_length")
    tension_N = drag.moving_weight_N(
        [Section("string", None, 0.127, 0.1086, weight)],
        Hole(survey.well_path(stations)),
        length,
        float(row["friction_factor"]),
        row["direction"],
        weight_on_bit_N=-_si(row, "pull_at_bottom_lb", "lbf", "force"),
    )
    # Tolerances of 1 and 2 lb: 30 m elements by the midpoint rule, about 1e-5.
    in_lb = from_si(float(tension_N), "lbf", "force")
    assert in_lb == pytest.approx(float(row["tension_lb"]), abs=float(row["tolerance_lb"]))
