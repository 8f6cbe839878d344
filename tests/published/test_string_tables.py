"""The string in the hole against the tables beside this file: survey, drag, strength, volumes."""

from __future__ import annotations

import pytest

from monitor.mechanics import drag, pipe, pipe_strength, pipe_volume, survey, thermal
from monitor.mechanics.soft_string import Hole
from monitor.rig.rig import Section, SurveyStation
from monitor.units import STANDARD_GRAVITY_m_s2, from_si, to_si
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


def _tube(row):
    diameters = (_si(row, f"{side}_diameter_in", "in", "length") for side in ("outside", "inside"))
    return (*diameters, _si(row, "yield_ksi", "ksi", "pressure"), row["class"])


@pytest.mark.parametrize("row", rows("torsional_capacities"))
def test_torsional_capacity(row):
    found = from_si(pipe_strength.torsional_capacity_Nm(*_tube(row)), "ft-lbf", "torque")
    tolerance = float(row["relative_tolerance"])
    assert found == pytest.approx(float(row["capacity_ft_lb"]), rel=tolerance)


@pytest.mark.parametrize("row", rows("torque_with_pull"))
def test_torque_with_pull(row):
    factor = float(row["design_factor"])
    found_Nm = pipe_strength.torsional_capacity_under_tension_Nm(
        _si(row, "pull_lb", "lbf", "force"),
        pipe.tensile_capacity_N(*_tube(row), factor),
        pipe_strength.torsional_capacity_Nm(*_tube(row), factor),
    )
    found = from_si(float(found_Nm), "ft-lbf", "torque")
    tolerance = float(row["relative_tolerance"])
    assert found == pytest.approx(float(row["torque_ft_lb"]), rel=tolerance)


@pytest.mark.parametrize("row", rows("overpull_margins"))
def test_margin_of_overpull(row):
    margin_N = pipe_strength.margin_of_overpull_N(
        _si(row, "capacity_lb", "lbf", "force"),
        _si(row, "hanging_lb", "lbf", "force"),
        1 / float(row["share_allowed"]),
    )
    found = from_si(float(margin_N), "lbf", "force")
    assert found == pytest.approx(float(row["margin_lb"]), abs=float(row["tolerance_lb"]))


def _per_foot(volume_m3_m):
    return from_si(volume_m3_m, "bbl", "volume") * to_si("1 ft", "length")


def _per_metre(row, name):
    return _si(row, name, "bbl", "volume") / to_si("1 ft", "length")


@pytest.mark.parametrize("row", rows("pipe_volumes"))
def test_pipe_volume(row):
    tolerance = float(row["relative_tolerance"])
    inside = _si(row, "inside_diameter_in", "in", "length")
    capacity = _per_foot(pipe_volume.pipe_capacity_m3_m(inside))
    assert capacity == pytest.approx(float(row["capacity_bbl_ft"]), rel=tolerance)
    weight = _si(row, "weight_lb_ft", "lb/ft", "weight_per_length")
    displacement = _per_foot(pipe_volume.pipe_displacement_m3_m(weight))
    assert displacement == pytest.approx(float(row["displacement_bbl_ft"]), rel=tolerance)


@pytest.mark.parametrize("row", rows("unfilled_trips"))
def test_unfilled_trip(row):
    length = _si(row, "length_ft", "ft", "length")
    displacement, inside = (_per_metre(row, f"{n}_bbl_ft") for n in ("displacement", "capacity"))
    taken = from_si(length * (displacement + inside), "bbl", "volume")
    assert taken == pytest.approx(float(row["volume_bbl"]), abs=0.006)  # printed to 0.01
    fall = pipe_volume.unfilled_level_fall_m(
        length, _per_metre(row, "casing_bbl_ft"), displacement, inside
    )
    gradient = _si(row, "mud_ppg", "ppg", "density") * STANDARD_GRAVITY_m_s2
    pressure = from_si(float(fall) * gradient, "psi", "pressure")
    assert pressure == pytest.approx(float(row["pressure_psi"]), abs=float(row["tolerance_psi"]))


@pytest.mark.parametrize("row", rows("thermal_stretches"))
def test_thermal_stretch(row):
    length = _si(row, "length_ft", "ft", "length")
    surface, bottom = (
        _si(row, f"{end}_degF", "degF", "temperature") for end in ("surface", "bottom")
    )
    change = thermal.mean_temperature_change_K([0.0, length], [0.0, bottom - surface], length)
    found = from_si(thermal.thermal_stretch_m(length, change), "in", "length")
    assert found == pytest.approx(float(row["stretch_in"]), abs=float(row["tolerance_in"]))
