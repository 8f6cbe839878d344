"""The rig file: what it says, and every fault at once."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from monitor.rig.file import ConfigError, parse_rig, rig_warnings
from monitor.rig.rig import AlarmLimits, ColumnMap, EventLimits

CONFIG = Path(__file__).parents[2] / "config"
LEAST = """
[rig]
name = "Test (invented)"
travelling_weight = "245 kN"
[reeving]
lines_strung = 10
sheave_efficiency = 0.985
"""
COLLARS = """
[[string]]
name = "drill collars"
length = "85 m"
outside_diameter = "8 in"
inside_diameter = "2.813 in"
weight_in_air = "{weight}"
"""
PIPE = """
[[string]]
name = "drill pipe"
length = "rest"
outside_diameter = "5 in"
inside_diameter = "4.276 in"
weight_in_air = "330 N/m"
"""


def faults(text: str) -> tuple[str, ...]:
    with pytest.raises(ConfigError, match="rig.toml: ") as caught:
        parse_rig(text, "rig.toml")
    return caught.value.faults


def only_fault(text: str) -> str:
    found = faults(text)
    assert len(found) == 1, found
    return found[0]


def test_the_least_that_works():
    rig = parse_rig(LEAST)
    assert rig.travelling_weight_N == 245e3
    assert (rig.reeving.lines_strung, rig.reeving.dead_line_sheave) == (10, "fixed")
    assert rig.events == EventLimits(40e3, 40e3)
    assert rig.alarms == AlarmLimits(None, None)
    assert rig.string == ()
    assert rig.line is None
    assert rig.mud_density_kg_m3 is None
    assert len(rig.text_hash) == 64
    assert rig_warnings(rig) == []


def test_a_mark_at_the_start_and_other_line_ends_are_read():
    assert parse_rig("\ufeff" + LEAST.replace("\n", "\r\n")).name == "Test (invented)"


@pytest.mark.parametrize("name", ["land_rig", "floating_rig"])
def test_rigs_that_come_with_the_monitor(name):
    rig = parse_rig((CONFIG / f"{name}.toml").read_text(encoding="utf-8"))
    assert rig_warnings(rig) == []
    assert "invented" in rig.name
    assert rig.string[-1].length_m is None
    assert rig.equipment
    assert rig.depth_marks


def test_everything_a_rig_file_may_say():
    rig = parse_rig(
        LEAST
        + """
[events]
overpull = "50 kN"
[agreed]
overpull = "150 kN"
who = "company man"
when = 2026-03-01T06:00:00Z
[mud]
density = "10 ppg"
[hoist]
compliance = "0.03 mm/kN"
[line]
diameter = "1 3/8 in"
grade = "EIPS"
[sensor]
span = "400 kN"
signal = "0-10 V"
[limits]
floor = "0.5 m"
crown = "38 m"
[pipe]
grade = "S-135"
[hole]
casing_shoe = "1450 m"
[[depth_mark]]
name = "ledge"
depth = "900 m"
[survey]
stations = [["0 m", "0 deg", "0 deg"], {depth="100 m", inclination="90 deg", azimuth="0 deg"}]
[equipment.crown_block]
rating = "500 short tons"
rated_for = "crown total"
[input]
time_zone = "+02:00"
null_values = ["NULL", -999.25]
decimal = ","
separator = "semicolon"
[input.columns]
"HKLD" = { channel = "hook_load", unit = "klbf" }
"BPOS (ft)" = { channel = "block_position" }
"time_utc" = { channel = "time", zone = "UTC", format = "%d/%m/%Y %H:%M:%S" }
"""
    )
    assert rig.events == EventLimits(50e3, 40e3)
    assert (rig.agreed.who, rig.agreed.when) == ("company man", "2026-03-01T06:00:00+00:00")
    assert rig.mud_density_kg_m3 == pytest.approx(1198.264, abs=0.001)
    assert rig.hoist_compliance_m_N == pytest.approx(3e-8)
    assert rig.line is not None
    assert rig.line.weight_N_m == pytest.approx(3.5 * 14.5939, rel=1e-5)  # 3.50 lb/ft
    assert rig.line.strength_N == pytest.approx(192_000 * 4.4482216152605)
    assert (rig.sensor.signal_quantity, rig.sensor.signal_high) == ("voltage", 10.0)
    assert rig.pipe is not None
    assert rig.pipe.yield_Pa == pytest.approx(135_000 * 6894.757293168361)
    assert [(mark.name, mark.depth_m) for mark in rig.depth_marks] == [
        ("ledge", 900.0),
        ("casing shoe", 1450.0),
    ]
    assert rig.survey[1].inclination_rad == pytest.approx(math.pi / 2)
    block = rig.equipment[0]
    assert (block.name, block.rated_for, block.printed) == (
        "crown block",
        "crown total",
        "500 short tons",
    )
    assert block.rating_N == pytest.approx(4448221.6152605)
    assert rig.input.null_values == ("NULL", "-999.25")
    assert (rig.input.decimal, rig.input.separator) == (",", ";")
    assert rig.input.columns["HKLD"] == ColumnMap("hook_load", "klbf")
    assert rig.input.columns["BPOS (ft)"] == ColumnMap("block_position", "ft")
    assert rig.input.columns["time_utc"].zone == "UTC"


def test_every_fault_is_listed_at_once():
    found = faults(
        """
[rig]
nam = "x"
travelling_weight = "245 m"
[reeving]
lines_strung = "10"
sheave_efficiency = 1.02
dead_line_sheave = "loose"
[events]
overpull = "-40 kN"
slack_off = 40
[evnts]
"""
    )
    assert len(found) == 9
    text = "\n".join(found)
    assert "rig.toml: rig.name: missing: required: the rig's name" in text
    assert 'rig.toml: rig.nam: "x": not a known setting; did you mean name?' in text
    assert "rig.travelling_weight: \"245 m\": unit 'm' is a length unit" in text
    assert 'reeving.lines_strung: "10": lines at the travelling block, a whole number' in text
    assert "reeving.sheave_efficiency: 1.02: efficiency of one turning sheave" in text
    assert 'reeving.dead_line_sheave: "loose": one of: fixed, turning' in text
    assert 'events.overpull: "-40 kN": above 0 N' in text
    assert 'events.slack_off: 40: a force with its unit, like "245 kN", in quotes' in text
    assert "evnts: a table: not a known setting; did you mean events?" in text


def test_nothing_at_all_lists_what_is_required():
    places = [fault.split(": ")[1] for fault in faults("")]
    assert places == [
        "rig.name",
        "rig.travelling_weight",
        "reeving.lines_strung",
        "reeving.sheave_efficiency",
    ]


def test_text_that_is_no_toml():
    assert "not readable as TOML" in only_fault("[rig\nname = 1")


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("lines_strung = 10", "lines_strung = 1", "from 2 to 16"),
        ("lines_strung = 10", "lines_strung = 18", "from 2 to 16"),
        ("lines_strung = 10", "lines_strung = 10.0", "from 2 to 16"),
        ("lines_strung = 10", "lines_strung = true", "from 2 to 16"),
        ("0.985", "1.0", "at least 0.9 and below 1"),
        ("0.985", "0.89", "at least 0.9 and below 1"),
        ("0.985", "nan", "at least 0.9 and below 1"),
        ("0.985", '"0.985"', "a plain number"),
        ('"245 kN"', '"0 kN"', "above 0 N"),
        ('"245 kN"', '"245"', "has no unit"),
        ('"245 kN"', '"25 tons"', "ambiguous"),
        ('"Test (invented)"', '" "', "the rig's name"),
        ('"Test (invented)"', "7", "the rig's name, in quotes"),
    ],
)
def test_refuses_in_the_least_file(old, new, expected):
    assert expected in only_fault(LEAST.replace(old, new))


@pytest.mark.parametrize(
    ("addition", "expected"),
    [
        ("string = 5", "tables, each written [[string]]"),
        ("rig2 = 5", "not a known setting"),
    ],
)
def test_refuses_at_the_top(addition, expected):
    assert expected in only_fault(addition + "\n" + LEAST)


@pytest.mark.parametrize(
    ("addition", "place", "expected"),
    [
        ('[mud]\ndensity = "65 ppg"', "mud.density", "at most 3000 kg/m3"),
        ('[line]\nlength = "9 m"', "line.diameter", "required: a length"),
        ('[line]\ndiameter = "11 mm"\ngrade = "IPS"', "line.grade", "give strength"),
        ('[sensor]\nsignal = "4-20"', "sensor.signal", 'like "4-20 mA"'),
        ('[sensor]\nsignal = "20-4 mA"', "sensor.signal", "the low end first"),
        ('[pipe]\ngrade = "Z9"', "pipe.grade", "one of: E75, X95, G105, S135"),
        ('[limits]\nfloor = "9 m"\ncrown = "8 m"', "limits.crown", "above the floor"),
        ('[equipment.hook]\nrating = "9 kN"', "equipment.hook.rated_for", "required: where"),
        ('[equipment]\nhook = "9 kN"', "equipment.hook", "written [equipment.hook]"),
        ("[survey]\nstations = [5]", "survey.stations", "station 1: stations like"),
        ('[rig.notes]\na = "b"', "rig.notes", "not a known setting"),
        ('[input]\ntime_zone = "Nowhere"', "input.time_zone", "is not known"),
        ('[input]\ndecimal = ","\nseparator = ","', "input.separator", "another separator"),
        ("[input]\nnull_values = [true]", "input.null_values", "an array of texts"),
        ('[input.columns]\nW = "hook_load"', "input.columns.W", "a table like"),
        (
            '[input.columns]\nW = { channel = "hookload", unit = "kN" }',
            "input.columns.W.channel",
            "did you mean hook_load?",
        ),
        (
            '[input.columns]\nW = { channel = "hook_load", unit = "ft" }',
            "input.columns.W.unit",
            "a force is expected",
        ),
        (
            '[input.columns]\nW = { channel = "hook_load" }',
            "input.columns.W.unit",
            "required: the unit",
        ),
        (
            '[input.columns]\nW = { channel = "hook_load", unit = "kN", zone = "UTC" }',
            "input.columns.W.zone",
            "only for the time column",
        ),
        (
            '[input.columns]\nT = { channel = "time", format = "dd.mm.yyyy" }',
            "input.columns.T.format",
            "a time format",
        ),
        (
            '[input.columns]\nA = { channel = "time" }\nB = { channel = "time" }',
            "input.columns.B",
            "taken by 'A' already",
        ),
    ],
)
def test_refuses_in_optional_tables(addition, place, expected):
    fault = only_fault(LEAST + addition)
    assert fault.startswith(f"rig.toml: {place}: ")
    assert expected in fault


def test_only_the_uppermost_section_is_the_rest():
    assert 'string[1].length: "rest": only the uppermost' in only_fault(LEAST + PIPE + PIPE)


def test_survey_runs_downwards():
    rows = '[["0 m", "0 deg", "0 deg"], ["0 m", "1 deg", "0 deg"]]'
    assert "station 2: deeper" in only_fault(f"{LEAST}[survey]\nstations = {rows}")


@pytest.mark.parametrize(
    ("weight", "warns"),
    [("2184 N/m", False), ("1900 N/m", True), ("2900 N/m", False), ("3000 N/m", True)],
)
def test_warns_of_a_weight_far_from_its_steel(weight, warns):
    # 8 x 2.813 in of steel weighs 2188 N/m: -10 % is 1969, +35 % is 2954.
    found = rig_warnings(parse_rig(LEAST + COLLARS.format(weight=weight) + PIPE))
    assert any("drill collars" in text for text in found) is warns


@pytest.mark.parametrize("weight", ["1000 N/m", "4500 N/m", "2184 kg/m"])
def test_refuses_a_weight_beyond_a_factor_of_two(weight):
    fault = only_fault(LEAST + COLLARS.format(weight=weight) + PIPE)
    assert "string[1].weight_in_air" in fault
    assert "factor of two of 2188 N/m" in fault


def test_warns_of_settings_that_do_not_go_together():
    text = LEAST.replace("0.985", "0.93") + '[alarms]\noverpull = "30 kN"\n'
    text += '[agreed]\noverpull = "90 kN"\n' + COLLARS.format(weight="2184 N/m")
    found = "\n".join(rig_warnings(parse_rig(text)))
    assert "sheave efficiency 0.93" in found
    assert "[alarms] overpull is less than [events] overpull" in found
    assert "[agreed] does not say who" in found
    assert 'not "rest"' in found


def test_the_hash_follows_the_text():
    assert parse_rig(LEAST).text_hash == parse_rig(LEAST, "other name").text_hash
    assert parse_rig(LEAST).text_hash != parse_rig(LEAST + "# note").text_hash


def test_a_tool_joint_thinner_than_its_pipe_is_refused():
    thin = '[pipe]\ngrade = "S135"\ntool_joint_length = "0.5 m"\n'
    fault = only_fault(LEAST + PIPE + thin + 'tool_joint_outside_diameter = "4 in"\n')
    assert "pipe.tool_joint_outside_diameter" in fault
    assert "at least the outside diameter of drill pipe" in fault
