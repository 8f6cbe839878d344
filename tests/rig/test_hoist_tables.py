"""The rig file's tables of the hoist."""

import pytest

from monitor.rig.file import ConfigError, parse_rig, rig_warnings
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


DRUM = """
[line]
diameter = "1 3/8 in"
[drum]
diameter = "30 in"
width = "52 in"
flange_depth = "8 in"
line_on_drum = "46 m"
at_block_height = "0.5 m"
survey = [["0 m", "0 m"], ["20 m", "20.1 m"]]
"""


def test_drum_turns_its_flange_depth_into_layers():
    drum = parse_rig(LEAST + DRUM).drum
    # 8 in = 1 + 5.57 nested rises of 0.866 line diameters.
    assert (drum.layers, drum.least_wraps) == (6, 6.0)
    assert (drum.shown_m, drum.surveyed_m) == ((0.0, 20.0), (0.0, 20.1))
    assert parse_rig(LEAST + DRUM.replace('flange_depth = "8 in"', "layers = 3")).drum.layers == 3


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('diameter = "30 in"', 'diameter = "12 in"', 'drum.diameter: "12 in": ten line diam'),
        ('"52 in"', '"52 ft"', 'drum.width: "52 ft": at least 0.2 m and at most 5 m'),
        ('at_block_height = "0.5 m"', "", 'drum.line_on_drum: "46 m": line_on_drum and at_blo'),
        ('"20 m", "20.1 m"', '"0 m", "20.1 m"', "point 2: both heights above"),
        (', ["20 m", "20.1 m"]', "", "at least two points"),
        (', ["20 m", "20.1 m"]', ", [5]", "point 2: points like"),
        ('flange_depth = "8 in"', "least_wraps = 1", "wraps, from 3 to below 30"),
        ('flange_depth = "8 in"', "layers = 20", "layers of line, a whole number from 1 to 12"),
    ],
)
def test_drum_refuses(old, new, expected):
    with pytest.raises(ConfigError, match="rig.toml: ") as raised:
        parse_rig(LEAST + DRUM.replace(old, new), "rig.toml")
    assert any(expected in fault for fault in raised.value.faults)


def test_drum_without_a_line_cannot_count_layers():
    assert "needs [line] diameter" in fault_of(DRUM[DRUM.index("[drum]") :])


def test_drawworks_and_hook_have_stated_defaults():
    rig = parse_rig(LEAST + '[drawworks]\npower = "1000 hp"\n[hook]\nrotation_lock = "locked"\n')
    assert rig.drawworks.power_W == pytest.approx(745_699.87, rel=1e-6)
    assert (rig.drawworks.brake_deceleration_m_s2, rig.drawworks.reaction_time_s) == (None, 1.0)
    assert (rig.hook.kind, rig.hook.positioner) == ("combined", "")
    assert (rig.hook.rotation_lock_for_trips, rig.hook.positioner_for_trips) == (
        "free",
        "engaged",
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('[drawworks]\npower = "1000 W"', 'drawworks.power: "1000 W": at least 10000 W'),
        ('[drawworks]\nbrake_deceleration = "-1 m/s2"', "at least 0.1 m/s2"),
        ('[hook]\nrotation_lock = "shut"', "one of: locked, free"),
        ('[hook]\nkind = "both"', "one of: combined, separate"),
        ('[line_work]\ngoal = "1500 MJ"', ""),
        ('[line_work]\ngoal = "15 kN"', "is a force unit"),
        ('[line_work]\ncut_length = "-30 m"', "at least 1 m"),
        ('[[line_work.cut]]\nwhen = "2026-01-01"', "line_work.cut[1].length: missing"),
    ],
)
def test_other_tables_refuse(text, expected):
    if not expected:
        assert parse_rig(LEAST + text).line_work.goal_J == 1.5e9
        return
    assert expected in fault_of(text)


def test_the_log_of_cuts_runs_forward():
    cut = '[[line_work.cut]]\nwhen = "{}"\nlength = "30 m"\nwork = "1200 ton-miles"\n'
    read = parse_rig(LEAST + cut.format("2026-01-01") + cut.format("2026-02-01")).line_work
    assert [each.when for each in read.cuts] == ["2026-01-01", "2026-02-01"]
    assert "later than the cut before" in fault_of(
        cut.format("2026-02-01") + cut.format("2026-01-01")
    )


def test_a_cut_of_whole_laps_is_warned_of():
    text = '[line_work]\nlap_length = "2.5 m"\ncut_length = "30 m"\n'
    assert "multiple of the lap" in rig_warnings(parse_rig(LEAST + text))[0]
    assert rig_warnings(parse_rig(LEAST + text.replace("30 m", "31.2 m"))) == []


def test_an_odd_count_has_no_turning_dead_line_sheave():
    text = LEAST.replace("= 10", "= 9")
    assert parse_rig(text).reeving.lines_strung == 9
    with pytest.raises(ConfigError, match="with 9 lines the line ends at the travelling block"):
        parse_rig(text + 'dead_line_sheave = "turning"\n')


def test_sections_below_may_have_a_grade_of_their_own():
    section = (
        '[[string]]\nname = "pipe"\nlength = "rest"\noutside_diameter = "5 in"\n'
        'inside_diameter = "4.276 in"\nweight_in_air = "330 N/m"\n'
    )
    read = parse_rig(LEAST + section + 'grade = "G-105"\nclass = "new"\n').string[0]
    assert read.yield_Pa == pytest.approx(105_000 * 6894.757293168361)
    assert read.pipe_class == "new"
    assert "string[1].grade" in fault_of(section + 'grade = "Z"\n')
