"""Free length from pulls: the handbook's arithmetic, and plain words where there is none."""

import dataclasses
import math

import pytest

from monitor.mechanics.stretch import free_length_m
from monitor.review.free_length import free_length
from monitor.review.pulls import Pull, find_pulls
from monitor.rig.rig import Reeving, Rig, Section
from tests.review.held_string import HELD, loops, span_of

INCH, POUND, FOOT = 0.0254, 4.4482216152605, 0.3048
# Printed: pipe or tubing OD and ID [in], stretch [in], pull [lbf], free length [ft].
HANDBOOK = [
    pytest.param(5.0, 4.276, 24.0, 30_000.0, 10_547.0, id="5-in drill pipe"),
    pytest.param(2.875, 2.441, 25.0, 20_000.0, 5_663.0, id="2 7/8-in tubing"),
    pytest.param(3.5, 2.992, 20.0, 25_000.0, 5_180.0, id="3 1/2-in tubing"),
]
PIPE = Section("drill pipe", None, 0.127, 0.1086104, 343.25)


def rig(*sections: Section) -> Rig:
    return Rig("example", 245e3, Reeving(10, 0.985), string=sections, hoist_compliance_m_N=3e-8)


@pytest.mark.parametrize(("outside", "inside", "stretch", "pull", "feet"), HANDBOOK)
def test_handbook_example(
    outside: float, inside: float, stretch: float, pull: float, feet: float
) -> None:
    section = Section("pipe", None, outside * INCH, inside * INCH, 100.0)
    found = free_length_m(stretch * INCH, pull * POUND, [section], 5000.0) / FOOT
    # The printed constants are rounded (3.4 lb/ft per square inch of steel): 3 ft.
    assert found == pytest.approx(feet, abs=3.0)


def made_pulls(count: int, compliance_m_N: float = 2.8e-6) -> list[Pull]:
    tops = [1300e3 + 10e3 * number for number in range(count)]
    return find_pulls(span_of(*loops(tops, compliance_m_N=compliance_m_N)), HELD)


def test_pulls_tell_the_length_they_were_made_with() -> None:
    found = free_length(made_pulls(4), rig(PIPE), 3000.0, 9.0)
    true_m = free_length_m(
        2.8e-6, 1.0, [PIPE], 3000.0, above_floor_m=9.0, hoist_compliance_m_N=3e-8, stiffening=1.025
    )
    assert found.is_supported
    assert found.free_length_m == pytest.approx(true_m, rel=0.01)
    assert found.low_m < true_m < found.high_m
    assert found.pulls == (1, 2, 3, 4)
    assert len(found.legs) == 8


def test_only_chosen_pulls_are_used() -> None:
    found = free_length(made_pulls(5), rig(PIPE), 3000.0, 9.0, chosen={1, 3, 5})
    assert found.pulls == (1, 3, 5)


def test_too_few_pulls_give_an_interval_and_no_figure() -> None:
    found = free_length(made_pulls(2), rig(PIPE), 3000.0, 9.0)
    assert math.isnan(found.free_length_m)
    assert found.has_interval
    assert "2 of 2 pulls can be used and 3 are needed" in found.why


def test_no_pull_gives_no_interval() -> None:
    found = free_length([], rig(PIPE), 3000.0, 9.0)
    assert not found.has_interval
    assert found.why


def test_friction_that_rules_is_said() -> None:
    pulls = [
        dataclasses.replace(pull, slack_compliance_m_N=1.6e-6)
        for pull in made_pulls(4)
        if pull.kind == "pull"
    ]
    found = free_length(pulls, rig(PIPE), 3000.0, 9.0)
    assert "friction dominates" in found.why
    assert found.has_interval


def test_pulls_that_disagree_are_said() -> None:
    pulls = [pull for pull in made_pulls(4) if pull.kind == "pull"]
    pulls = [
        dataclasses.replace(pull, compliance_m_N=pull.compliance_m_N * (1.0 + 0.3 * at))
        for at, pull in enumerate(pulls)
    ]
    assert "disagree" in free_length(pulls, rig(PIPE), 3000.0, 9.0).why


def test_missing_string_and_depth_are_said() -> None:
    assert "does not describe the string" in free_length(made_pulls(4), rig(), 3000.0, 9.0).why
    assert "bit depth" in free_length(made_pulls(4), rig(PIPE), math.nan, 9.0).why
