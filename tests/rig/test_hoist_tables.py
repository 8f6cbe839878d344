"""The rig file's tables of the hoist."""

import pytest

from monitor.rig.file import ConfigError, parse_rig
from monitor.rig.hoisting import Compensator

LEAST = """
[rig]
name = "Test (invented)"
travelling_weight = "245 kN"
[reeving]
lines_strung = 10
sheave_efficiency = 0.985
"""
COMPENSATOR = """
[compensator]
kind = "in-line"
stroke_limit = "25 ft"
load_limit = "600 klbf"
"""


def fault_of(addition: str) -> str:
    """Return the single fault of the least file with an addition."""
    with pytest.raises(ConfigError, match="rig.toml: ") as raised:
        parse_rig(LEAST + addition, "rig.toml")
    assert len(raised.value.faults) == 1
    return raised.value.faults[0]


def test_a_land_rig_has_no_compensator():
    assert parse_rig(LEAST).compensator is None


def test_compensator_begins_open_and_its_stiffness_is_not_known():
    read = parse_rig(LEAST + COMPENSATOR).compensator
    assert read == Compensator("in-line", pytest.approx(7.62), pytest.approx(2668932.97))
    assert (read.stiffness_N_m, read.state) == (None, "open")


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('"in-line"', '"hook"', 'compensator.kind: "hook": one of: in-line, crown'),
        ('"25 ft"', '"25 in"', 'compensator.stroke_limit: "25 in": at least 1 m'),
        ('"600 klbf"', '"600 lbf"', 'compensator.load_limit: "600 lbf": at least 100000 N'),
        ('"600 klbf"', '"25 ft"', "is a length unit; a force is expected"),
        ('kind = "in-line"', "", "compensator.kind: missing: required: in-line or crown"),
        ('"in-line"', '"in-line"\nstate = "shut"', "one of: open, locked"),
        ('"in-line"', '"in-line"\nstiffness = "-2 kN/m"', "above 0 N/m"),
    ],
)
def test_compensator_refuses(old, new, expected):
    assert expected in fault_of(COMPENSATOR.replace(old, new))
