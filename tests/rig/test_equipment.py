"""Rated equipment, sets of travelling gear, and what is refused of them."""

import pytest

from monitor import units
from monitor.rig.file import ConfigError, parse_rig, rig_warnings
from tests.rig.test_hoist_tables import LEAST, fault_of

CROWN = """
[equipment.crown_block]
rating = "500 short tons"
rated_for = "crown total"
sheaves = 6
sheave_diameter = "60 in"
"""
GEAR = """
[gear.pipe_tools]
weight = "245 kN"
equipment = ["elevators"]
elevator = "bottleneck"
tubular = "drill pipe"
[gear.casing_tools]
weight = "302 kN"
elevator = "spider"
tubular = "casing"
[equipment.elevators]
rating = "350 short tons"
rated_for = "below hook"
"""


def test_sheaves_and_printed_rating_are_kept():
    block = parse_rig(LEAST + CROWN).equipment[0]
    assert (block.sheaves, block.printed) == (6, "500 short tons")
    assert block.sheave_diameter_m == pytest.approx(1.524)


def test_ten_lines_on_a_crown_of_five_sheaves_are_refused():
    fault = fault_of(CROWN.replace("sheaves = 6", "sheaves = 5"))
    assert fault == (
        "rig.toml: reeving.lines_strung: 10: 8 lines at most on a crown block of 5 sheaves "
        "([equipment.crown_block] sheaves): 10 lines need 6"
    )


def test_a_derrick_is_rated_by_lines_strung():
    text = LEAST + (
        '[equipment.derrick]\nrated_for = "hook load"\n[equipment.derrick.rating_by_lines]\n'
        '8 = "1000 kN"\n10 = "100 t"\n'
    )
    derrick = parse_rig(text).equipment[0]
    assert derrick.rating_at(8) == 1000e3
    assert derrick.rating_at(10) == pytest.approx(980665.0)
    assert (derrick.rating_at(12), derrick.printed_at(10)) == (derrick.rating_at(10), "100 t")
    assert derrick.printed_at(12) == "100 t, that of 10 lines"
    assert "no rating for 12 lines" in rig_warnings(parse_rig(text.replace("= 10\n", "= 12\n")))[0]


@pytest.mark.parametrize(
    ("rating", "rated_for"),
    [
        ("500 lbf", "hook load"),
        ("245 kN", "hook load"),
        ("24 kN", "fast line"),
        ("24.5 kN", "dead line"),
        ("290 kN", "crown total"),
    ],
)
def test_a_rating_below_the_travelling_weight_is_refused(rating, rated_for):
    fault = fault_of(f'[equipment.piece]\nrating = "{rating}"\nrated_for = "{rated_for}"\n')
    assert f'equipment.piece.rating: "{rating}": above the travelling weight' in fault


def test_a_light_elevator_may_be_rated_below_the_gear_above_it():
    text = '[equipment.elevators]\nrating = "40 short tons"\nrated_for = "below hook"\n'
    assert parse_rig(LEAST + text).equipment[0].name == "elevators"


@pytest.mark.parametrize("rating", ["350 tons", "350", "350 m", "-350 kN", "0 kN"])
def test_a_rating_in_doubtful_units_is_refused(rating):
    text = f'[equipment.hook]\nrating = "{rating}"\nrated_for = "below block"\n'
    assert fault_of(text).startswith(f'rig.toml: equipment.hook.rating: "{rating}": ')


# Common practice, no source; catalogue figures are rounded, so within 6 %. Ratings stay in
# the unit they were given in and are converted exactly.
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("420 short tons", "380 t"),
        ("1400 short tons", "1300 t"),
        ("175 short tons", "160 t"),
        ("650 short tons", "590 t"),
        ("100 short tons", "90 t"),
        ("1250 short tons", "1125 t"),
        ("350 short tons", "300 t"),
        ("1000 short tons", "900 t"),
        ("500 short tons", "450 metric tons"),
        ("400000 lbf", "180000 kgf"),
        ("600000 lbf", "270000 kgf"),
    ],
)
def test_pairs_of_catalogue_ratings_agree(one, other):
    # Hooks of "350 short tons = 300 t" are printed 5.5 % apart.
    assert units.to_si(one, "force") == pytest.approx(units.to_si(other, "force"), rel=0.06)


@pytest.mark.parametrize(
    ("one", "other"),
    [("42 in", "107 cm"), ("72 in", "180 cm"), ("15 ft", "4.5 m"), ("25 ft", "7.5 m")],
)
def test_pairs_of_catalogue_lengths_agree(one, other):
    assert units.to_si(one, "length") == pytest.approx(units.to_si(other, "length"), rel=0.06)


def test_the_first_gear_is_in_use_unless_another_is_named():
    assert parse_rig(LEAST + GEAR).first_gear.name == "pipe tools"
    casing = LEAST.replace("[reeving]", 'gear = "casing_tools"\n[reeving]').replace("245", "302")
    rig = parse_rig(casing + GEAR)
    assert (rig.first_gear.name, rig.first_gear.duty) == ("casing tools", "setting casing")


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('weight = "245 kN"', 'weight = "302 kN"', "within 3 %; or name another"),
        ('["elevators"]', '["elevator"]', "gear.pipe_tools.equipment: ['elevator']: no [equipm"),
        ('["elevators"]', "[5]", "an array of names"),
        ('"bottleneck"', '"bottle"', "one of: bottleneck, collar, slip, heavy casing, spider"),
        ('"drill pipe"', '"rods"', "one of: drill pipe, drill collars, tubing, casing"),
        ('weight = "302 kN"', "", "gear.casing_tools.weight: missing: required: a force"),
    ],
)
def test_gear_refuses(old, new, expected):
    assert expected in fault_of(GEAR.replace(old, new))


def test_gear_that_is_not_there_is_refused():
    with pytest.raises(ConfigError, match="kelly.: one of the sets of"):
        parse_rig(LEAST.replace("[reeving]", 'gear = "kelly"\n[reeving]') + GEAR)


@pytest.mark.parametrize(
    ("elevator", "tubular", "right"),
    [
        ("bottleneck", "drill pipe", ""),
        ("collar", "drill collars", ""),
        ("slip", "tubing", ""),
        ("heavy casing", "casing", ""),
        ("spider", "casing", ""),
        ("bottleneck", "casing", "casing takes heavy casing or spider"),
        ("collar", "drill pipe", "drill pipe takes bottleneck"),
        ("slip", "drill collars", "drill collars takes collar"),
    ],
)
def test_the_elevator_is_held_against_the_tubular(elevator, tubular, right):
    text = GEAR.replace('"bottleneck"', f'"{elevator}"').replace('"drill pipe"', f'"{tubular}"')
    found = rig_warnings(parse_rig(LEAST + text))
    assert [right in warning for warning in found] == ([True] if right else [])


def test_warns_of_a_rating_in_an_unusual_place():
    text = '[equipment.hook]\nrating = "350 t"\nrated_for = "crown total"\n'
    assert rig_warnings(parse_rig(LEAST + text)) == [
        "hook is rated for crown total; usual is below block or below hook"
    ]


BLOCK = '[equipment.travelling_block]\nrating = "400 t"\nrated_for = "hook load"\nsheaves = 4\n'
COMPENSATOR = '[compensator]\nkind = "in-line"\nstroke_limit = "25 ft"\nload_limit = "200 kN"\n'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (BLOCK, "8 lines at most on a travelling block of 4 sheaves: 10 lines need 5"),
        (COMPENSATOR, 'compensator.load_limit: "200 kN": above the travelling weight'),
        (
            GEAR.replace("302 kN", "302 N"),
            'gear.casing_tools.weight: "302 N": within a factor of 5 of the travelling weight',
        ),
        (
            GEAR.replace("350 short tons", "350 N"),
            'equipment.elevators.rating: "350 N": above the travelling weight, 245.0 kN',
        ),
    ],
)
def test_nonsense_is_refused_with_key_value_and_mend(text, says):
    assert says in fault_of(text)


def test_plain_bearings_and_mud_as_light_as_air_are_looked_at_again():
    plain = LEAST.replace("0.985", '0.985\nsheave_bearings = "plain"')
    (higher,) = rig_warnings(parse_rig(plain))
    assert "higher than sheaves with plain bearings" in higher
    assert rig_warnings(parse_rig(plain.replace("0.985", "0.925"))) == []
    (lower,) = rig_warnings(parse_rig(LEAST.replace("0.985", "0.925")))
    assert 'say sheave_bearings = "plain"' in lower
    (air,) = rig_warnings(parse_rig(LEAST + '[mud]\ndensity = "1.2 kg/m3"\n'))
    assert "lighter than any oil" in air


def test_a_fibre_core_has_its_own_strengths():
    line = '[line]\ndiameter = "1 3/8 in"\ngrade = "IPS"\n'
    wire, fibre = (parse_rig(LEAST + line + core).line for core in ("", 'core = "fibre"\n'))
    assert wire.strength_N == pytest.approx(units.to_si("83.5 short tons", "force"))
    assert fibre.strength_N == pytest.approx(units.to_si("155400 lbf", "force"))
    assert "no strength is known" in fault_of(line.replace('"IPS"', '"EIPS"\ncore = "fibre"'))
