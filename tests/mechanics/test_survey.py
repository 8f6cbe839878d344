"""Minimum curvature against arcs written out another way, and its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.mechanics.survey import (
    direction_at,
    dogleg_rad,
    dogleg_severity_rad_m,
    position_at_m,
    ratio_factor,
    vertical_depth_m,
    well_path,
)
from monitor.rig.rig import SurveyStation

DEGREE = math.pi / 180
SPIRAL = [
    SurveyStation(30.0 * k, min(0.02 * k, 1.4), 0.6 + 0.015 * k) for k in range(1, 100)
]  # fmt: skip

angles = st.floats(0.0, 3.0)
stations = st.lists(
    st.tuples(st.floats(1.0, 200.0), st.floats(0.0, 1.5), st.floats(0.0, 0.7)), max_size=8
)


def _survey(rows):
    depth, azimuth, survey = 0.0, 0.0, []
    for step, inclination, turn in rows:
        depth, azimuth = depth + step, azimuth + turn
        survey.append(SurveyStation(depth, inclination, azimuth))
    return survey


def test_dogleg_is_the_angle_between_the_directions():
    one, other = (0.3, 1.0), (1.2, 2.5)

    def vector(inclination, azimuth):
        return np.array(
            [
                math.sin(inclination) * math.cos(azimuth),
                math.sin(inclination) * math.sin(azimuth),
                math.cos(inclination),
            ]
        )

    expected = math.acos(vector(*one) @ vector(*other))
    assert dogleg_rad(*one, *other) == pytest.approx(expected, rel=1e-12)


def test_a_tiny_dogleg_keeps_its_digits():
    """Through the arc cosine of 1 - 5e-17 nothing would be left of it."""
    assert dogleg_rad(1.0, 0.5, 1.0 + 1e-8, 0.5) == pytest.approx(1e-8, rel=1e-7)


@given(angles, angles, angles, angles)
def test_dogleg_is_the_same_both_ways_and_within_the_angles(i1, a1, i2, a2):
    bend = float(dogleg_rad(i1, a1, i2, a2))
    assert bend == pytest.approx(float(dogleg_rad(i2, a2, i1, a1)), abs=1e-12)
    assert bend >= abs(i1 - i2) - 1e-7
    assert bend <= abs(i1 - i2) + abs(a1 - a2) + 1e-7


def test_ratio_factor_has_no_step_where_the_series_ends():
    below, above = ratio_factor(np.array([0.99999e-4, 1.00001e-4]))
    assert 0.0 <= above - below < 1e-13
    assert ratio_factor(0.0) == 1.0
    assert ratio_factor(1.0) == pytest.approx(math.tan(0.5) / 0.5)


def test_quarter_circle_to_the_side():
    """A circle in a horizontal plane: only its radius and the angle are needed."""
    radius = 500.0
    length = radius * math.pi / 2
    path = well_path(
        [
            SurveyStation(0.0, math.pi / 2, 0.0),
            SurveyStation(length / 2, math.pi / 2, math.pi / 4),
            SurveyStation(length, math.pi / 2, math.pi / 2),
        ]
    )
    for share in (0.1, 0.5, 0.77, 1.0):
        angle = share * math.pi / 2
        expected = [radius * math.sin(angle), radius * (1 - math.cos(angle)), 0.0]
        np.testing.assert_allclose(position_at_m(path, share * length), expected, atol=1e-9)
        assert direction_at(path, share * length)[1] == pytest.approx(angle)


def test_position_is_the_integral_of_direction():
    path = well_path(SPIRAL)
    depth = np.linspace(0.0, 3500.0, 70_001)
    inclination, azimuth = direction_at(path, depth)
    steps = np.diff(depth)[:, None]
    tangent = np.stack(
        (
            np.sin(inclination) * np.cos(azimuth),
            np.sin(inclination) * np.sin(azimuth),
            np.cos(inclination),
        ),
        axis=1,
    )
    summed = np.cumsum((tangent[1:] + tangent[:-1]) / 2 * steps, axis=0)
    np.testing.assert_allclose(position_at_m(path, depth[1:]), summed, atol=2e-5)


def test_stations_are_met_and_the_hole_runs_straight_on_below():
    path = well_path(SPIRAL)
    for station in SPIRAL:
        inclination, azimuth = direction_at(path, station.depth_m)
        assert inclination == pytest.approx(station.inclination_rad, abs=1e-9)
        assert azimuth == pytest.approx((station.azimuth_rad + math.pi) % math.tau - math.pi)
    last = SPIRAL[-1]
    beyond = vertical_depth_m(path, last.depth_m + 100.0) - vertical_depth_m(path, last.depth_m)
    assert beyond == pytest.approx(100.0 * math.cos(last.inclination_rad))


def test_without_a_survey_the_hole_is_vertical():
    path = well_path(())
    assert path.is_vertical
    assert position_at_m(path, 1234.5).tolist() == [0.0, 0.0, 1234.5]
    assert not well_path(SPIRAL).is_vertical


def test_a_first_station_below_the_surface_is_reached_on_an_arc():
    path = well_path([SurveyStation(600.0, 30 * DEGREE, 1.0)])
    inclination, azimuth = direction_at(path, 300.0)
    assert inclination == pytest.approx(15 * DEGREE)
    assert azimuth == pytest.approx(1.0)
    assert dogleg_severity_rad_m(path)[0] == pytest.approx(30 * DEGREE / 600.0)


@given(stations, st.floats(0.0, 1.0), st.floats(0.0, 50.0))
def test_a_hole_is_never_deeper_than_it_is_long(rows, share, further):
    survey = _survey(rows)
    path = well_path(survey)
    depth = share * float(path.depth_m[-1])
    one, two = position_at_m(path, np.array([depth, depth + further]))
    assert np.linalg.norm(two - one) <= further * (1 + 1e-9) + 1e-9
    assert two[2] <= depth + further + 1e-9


@given(stations, st.floats(0.05, 0.95))
def test_a_station_put_on_an_arc_changes_nothing(rows, share):
    survey = _survey([(50.0, 0.4, 0.2), *rows])
    whole = well_path(survey)
    depth = share * 50.0
    inclination, azimuth = direction_at(whole, depth)
    more = well_path([SurveyStation(depth, float(inclination), float(azimuth)), *survey])
    at = np.linspace(0.0, whole.depth_m[-1] + 20.0, 40)
    np.testing.assert_allclose(position_at_m(more, at), position_at_m(whole, at), atol=1e-6)


def test_not_a_number_stays_so():
    path = well_path(SPIRAL)
    found = position_at_m(path, np.array([10.0, math.nan]))
    assert np.isfinite(found[0]).all()
    assert np.isnan(found[1]).all()
    assert math.isnan(direction_at(path, math.nan)[0])
    unknown = well_path([SurveyStation(100.0, math.nan, 0.0)])
    assert math.isnan(vertical_depth_m(unknown, 50.0))


def test_refuses_what_is_no_survey():
    with pytest.raises(ValueError, match="inclination_rad of station 1 is 3.5; must be 0 to pi"):
        well_path([SurveyStation(10.0, 3.5, 0.0)])
    with pytest.raises(ValueError, match="depth_m 10.0 follows 20.0"):
        well_path([SurveyStation(20.0, 0.1, 0.0), SurveyStation(10.0, 0.1, 0.0)])
    with pytest.raises(ValueError, match="depth_m -5.0 follows 0.0"):
        well_path([SurveyStation(-5.0, 0.1, 0.0)])
    with pytest.raises(ValueError, match="depth_m is -1.0; must be at least 0"):
        position_at_m(well_path(()), -1.0)
    with pytest.raises(ValueError, match="must be at least 0 and below pi"):
        ratio_factor(math.pi)
    with pytest.raises(ValueError, match="below pi"):
        well_path([SurveyStation(0.0, 0.0, 0.0), SurveyStation(10.0, math.pi, 0.0)])
