"""Free point from several pulls: what it finds, what bounds it, what it refuses."""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.mechanics.free_point import (
    REFUSED,
    STIFFENING,
    FreePoint,
    free_point,
    leg_compliance_m_N,
    string_stiffening,
    student_t,
)
from monitor.mechanics.stretch import stretch_m, tool_joint_stiffening
from monitor.rig.rig import Pipe, Section
from monitor.units import to_si
from tests.published.table import rows

PIPE = Section("drill pipe", None, 0.127, 0.1086104, 330.0)
COLLARS = Section("drill collars", 150.0, 0.2032, 0.0714, 2184.0)
HOIST_m_N = 3e-8
JOINTS = Pipe("S135", tool_joint_length_m=0.5, tool_joint_outside_diameter_m=0.168275)


def compliance(length_m: float, stiffening: float = 1.025) -> float:
    """Of so much drill pipe, with the hoist."""
    return stretch_m(1.0, [PIPE], length_m, stiffening=stiffening) + HOIST_m_N


def found(pulling: list[float], slacking: list[float], depth_m: float = 3000.0) -> FreePoint:
    return free_point(pulling, slacking, [COLLARS, PIPE], depth_m, hoist_compliance_m_N=HOIST_m_N)


@pytest.mark.parametrize("row", rows("student_t"))
def test_student_t(row):
    t = student_t(int(row["degrees_of_freedom"]))
    assert t == pytest.approx(float(row["two_sided_95_percent"]), abs=float(row["tolerance"]))


def test_student_t_needs_a_degree_of_freedom() -> None:
    with pytest.raises(ValueError, match="must be at least 1"):
        student_t(0)


@pytest.mark.parametrize("row", rows("free_lengths"))
def test_interval_holds_the_handbook_length(row) -> None:
    diameters = [to_si(f"{row[k]} in", "length") for k in TUBE]
    tube = Section("tube", None, *diameters, math.nan)
    slope = to_si(f"{row['stretch_in']} in", "length") / to_si(f"{row['pull_lb']} lbf", "force")
    point = free_point([slope] * 3, [slope] * 3, [tube], 5000.0)
    length_m = to_si(f"{row['free_length_ft']} ft", "length")
    assert point.low_m < length_m < point.high_m
    # The handbook's tube has no tool joints: 2.5 % of stiffening is taken in the middle.
    assert point.free_length_m == pytest.approx(1.025 * length_m, rel=0.002)


TUBE = ("outside_diameter_in", "inside_diameter_in")


def test_leg_slope_is_moved_by_no_few_bad_seconds() -> None:
    load = np.linspace(1.0e6, 1.4e6, 25)
    block = 10.0 + 4e-6 * load
    block[[3, 9, 20]] += (0.5, -0.4, 0.9)
    assert leg_compliance_m_N(block, load) == pytest.approx(4e-6, rel=1e-6)


def test_leg_slope_of_one_load_is_unknown() -> None:
    assert math.isnan(leg_compliance_m_N(np.array([1.0, 2.0]), np.array([5.0, 5.0])))
    assert math.isnan(leg_compliance_m_N(np.empty(0), np.empty(0)))


def test_leg_slope_needs_pairs() -> None:
    with pytest.raises(ValueError, match="must agree"):
        leg_compliance_m_N(np.zeros(3), np.zeros(2))


@pytest.mark.parametrize("stiffening", [1.0, 1.025, 1.05])
def test_length_within_5_percent_and_its_interval_for_any_tool_joints(stiffening: float) -> None:
    pulls = [compliance(2000.0, stiffening) * k for k in (0.99, 1.0, 1.01)]
    point = found(pulls, pulls)
    assert point.free_length_m == pytest.approx(2000.0, rel=0.05)
    assert point.low_m < 2000.0 < point.high_m
    assert point.high_m - point.low_m < 0.17 * 2000.0


def test_friction_that_bends_both_senses_cancels_but_widens() -> None:
    true = compliance(2000.0)
    bent = found([0.96 * true] * 3, [1.04 * true] * 3)
    straight = found([true] * 3, [true] * 3)
    assert bent.free_length_m == pytest.approx(straight.free_length_m, rel=1e-6)
    assert bent.low_m < straight.low_m < straight.high_m < bent.high_m


def test_pulls_alone_are_believed_less() -> None:
    true = compliance(2000.0)
    one_way, both = found([true] * 4, []), found([true] * 4, [true] * 4)
    assert one_way.high_m - one_way.low_m > both.high_m - both.low_m


def test_unknown_hoist_only_makes_the_low_side_lower() -> None:
    pulls = [compliance(2000.0) - HOIST_m_N] * 3
    unknown = free_point(pulls, pulls, [PIPE], 3000.0)
    known = free_point(
        [p + HOIST_m_N for p in pulls],
        [p + HOIST_m_N for p in pulls],
        [PIPE],
        3000.0,
        hoist_compliance_m_N=HOIST_m_N,
    )
    assert unknown.free_length_m == pytest.approx(known.free_length_m, rel=1e-9)
    assert unknown.low_m < known.low_m


def test_pipe_above_the_floor_is_not_counted() -> None:
    pulls = [compliance(2000.0)] * 3
    above = free_point(
        pulls, pulls, [PIPE], 3000.0, above_floor_m=20.0, hoist_compliance_m_N=HOIST_m_N
    )
    below = free_point(pulls, pulls, [PIPE], 3000.0, hoist_compliance_m_N=HOIST_m_N)
    assert above.free_length_m == pytest.approx(below.free_length_m - 20.0)


def test_never_below_the_bit() -> None:
    whole = stretch_m(1.0, [COLLARS, PIPE], 2000.0) + HOIST_m_N
    point = found([whole] * 3, [whole] * 3, 2000.0)
    assert point.free_length_m == 2000.0
    assert point.low_m < 2000.0 < point.high_m <= 2002.0


@pytest.mark.parametrize(
    ("pulling", "slacking", "why"),
    [
        ([1.0, 1.0], [1.0, 1.0, 1.0], "two pulls"),
        ([0.7, 1.0, 1.3], [0.7, 1.0, 1.3], "pulls that disagree"),
        ([0.8, 0.8, 0.8], [1.2, 1.2, 1.2], "friction rules"),
        ([2.0, 2.0, 2.0], [2.0, 2.0, 2.0], "more movement than the string can stretch"),
        ([-1.0, -1.0, -1.0], [-1.0, -1.0, -1.0], "no stretch"),
        ([1.0, math.nan, 1.0], [1.0, 1.0, 1.0], "a slope that is not known"),
    ],
)
def test_refuses(pulling: list[float], slacking: list[float], why: str) -> None:
    true = compliance(2000.0)
    point = found([true * k for k in pulling], [true * k for k in slacking])
    assert repr(point) == repr(REFUSED), why


def test_refuses_without_string_or_depth() -> None:
    pulls = [compliance(2000.0)] * 3
    assert repr(free_point(pulls, pulls, [], 3000.0)) == repr(REFUSED)
    assert repr(found(pulls, pulls, math.nan)) == repr(REFUSED)


@pytest.mark.parametrize("bore_m", [0.1086104, 0.0825])
def test_described_tool_joints_are_springs_in_series(bore_m: float) -> None:
    """Stretch of a joint of 5-in pipe by hand, tube and tool joint apart; any bore of it."""
    tube, joint = (
        math.pi / 4 * (d * d - b * b) for d, b in ((0.127, 0.1086104), (0.168275, bore_m))
    )
    by_hand = (9.1 / tube + 0.5 / joint) / (9.6 / tube)
    stiff = string_stiffening([COLLARS, PIPE], JOINTS)
    assert stiff.is_described
    assert stiff.low[-1] < 1.0 / by_hand < stiff.high[-1]
    assert stiff.middle[0] == STIFFENING
    # Upsets: 0.3 m of 1.25 times the tube's steel in each joint (common practice) add 0.6 %.
    assert stiff.middle[-1] + 0.006 < stiff.high[-1]


def test_described_tool_joints_narrow_the_interval_and_lose_the_bias() -> None:
    jointed = tool_joint_stiffening(0.127, 0.1086104, 0.5, 0.168275)
    pulls = [compliance(2000.0, jointed)] * 3
    unknown = free_point(pulls, pulls, [PIPE], 3000.0, hoist_compliance_m_N=HOIST_m_N)
    known = free_point(pulls, pulls, [PIPE], 3000.0, hoist_compliance_m_N=HOIST_m_N, pipe=JOINTS)
    assert known.free_length_m == pytest.approx(2000.0, abs=0.1)
    assert unknown.free_length_m < 0.99 * 2000.0
    assert unknown.low_m < 2000.0 < unknown.high_m
    assert (known.high_m - known.low_m) < 0.75 * (unknown.high_m - unknown.low_m)


def test_tool_joint_of_no_use_is_refused() -> None:
    with pytest.raises(ValueError, match="tool_joint_outside_diameter_m is 0.12"):
        tool_joint_stiffening(0.127, 0.1086, 0.5, 0.12)
    with pytest.raises(ValueError, match="tool_joint_length_m is 10"):
        tool_joint_stiffening(0.127, 0.1086, 10.0, 0.168)
    with pytest.raises(ValueError, match="stiffening has 1 values"):
        stretch_m(1.0, [COLLARS, PIPE], 100.0, stiffening=[1.0])
