"""Quantities as people write them, shown values and stamps."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor import units
from monitor.units import UnitError, format_value, from_si, iso_utc, parse_iso, to_si


@pytest.mark.parametrize(
    ("text", "quantity", "expected"),
    [
        ("245 kN", "force", 245e3),
        ("245kN", "force", 245e3),
        ("-12.5 kN", "force", -12.5e3),
        ("\N{MINUS SIGN}12.5 kN", "force", -12.5e3),
        ("1e3 N", "force", 1e3),
        (".5 kN", "force", 500.0),
        ("300 KLBF", "force", 300 * 4448.2216152605),
        ("300 klb", "force", 300 * 4448.2216152605),
        ("30 KDN", "force", 300e3),
        ("25 t", "force", 25 * 9806.65),
        ("25 metric tons", "force", 25 * 9806.65),
        ("1 3/8 in", "length", 1.375 * 0.0254),
        ("2-13/16 in", "length", 2.8125 * 0.0254),
        ("1/2 in", "length", 0.0127),
        ("8 m³/h", "flow", 8 / 3600),
        ("2000 L/min", "flow", 2 / 60),
        ("12 kN·m", "torque", 12e3),
        ("20 °C", "temperature", 293.15),
        ("4 mA", "signal", 0.004),
        ("1500 psi", "signal", 1500 * 6894.757293168361),
        ("10 V", "signal", 10.0),
        ("1.2 sg", "density", 1200.0),
        ("0.05 mm/kN", "compliance", 5e-8),
        ("22 kN/m", "stiffness", 22e3),
        ("2000 hp", "power", 2000 * 550 * 0.3048 * 4.4482216152605),  # 550 ft.lbf/s
        ("2 ft/s2", "acceleration", 0.6096),
    ],
)
def test_reads_what_people_write(text, quantity, expected):
    assert to_si(text, quantity) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity", "match"),
    [
        ("245", "force", "has no unit; write it like '245 kN'"),
        ("245 m", "force", "'m' is a length unit; a force is expected"),
        ("245 kn/m2", "force", "not known for a force; known units: N, daN, kN"),
        ("500 tons", "force", "ambiguous: short tons"),
        ("10,5 m", "length", "has a comma"),
        ("about 5 m", "length", "is no quantity"),
        ("", "length", "is no quantity"),
        ("nan m", "length", "is no quantity"),
        ("inf m", "length", "is no quantity"),
        ("1/0 in", "length", "is no quantity"),
        ("1e400 m", "length", "too large"),
        ("200 mpa", "pressure", "not known"),  # millipascal or megapascal: not guessed
        ("5 m", "loudness", "is no quantity; known"),
    ],
)
def test_refuses_with_the_mend(text, quantity, match):
    with pytest.raises(UnitError, match=match):
        to_si(text, quantity)


@pytest.mark.parametrize(
    ("unit", "quantity", "scale"),
    [
        ("KLB", "force", 4448.2216152605),
        ("1000 lbf", "force", 4448.2216152605),
        ("1000 kgf", "force", 9806.65),
        ("KKGF", "force", 9806.65),
        ("MPA", "pressure", 1e6),
        ("M", "length", 1.0),
        ("kft-lbf", "torque", 1355.8179483314004),
        ("KFLB", "torque", 1355.8179483314004),
        ("m^3/hr", "flow", 1 / 3600),
        ("l/min", "flow", 1e-3 / 60),
        ("GPM", "flow", 6.30901964e-5),
    ],
)
def test_reads_the_units_of_foreign_headers(unit, quantity, scale):
    assert units.factor(unit, quantity) == (pytest.approx(scale, rel=1e-9), 0.0)


def test_case_decides_where_it_must():
    assert to_si("1 mPa", "pressure") == 1e-3
    assert to_si("1 MPa", "pressure") == 1e6


@pytest.mark.parametrize("quantity", [q for q in units.QUANTITIES if q != "signal"])
def test_every_unit_goes_there_and_back(quantity):
    for unit in units.known_units(quantity):
        scale, offset = units.factor(unit, quantity)
        assert scale > 0
        values = np.array([-3.0, 0.0, 7.25, math.nan])
        back = from_si(values * scale + offset, unit, quantity)
        np.testing.assert_allclose(back, values, rtol=1e-9, atol=1e-9)
    example_si = to_si(units.example(quantity), quantity)
    assert math.isfinite(example_si)
    assert units.factor(units.si_symbol(quantity), quantity) == (1.0, 0.0)


def test_quantities_of_a_unit():
    assert units.quantity_of("kN") == ("force",)
    assert units.quantity_of("mA") == ("current", "signal")
    assert units.quantity_of("furlong") == ()


@pytest.mark.parametrize("display", units.DISPLAY_SETS)
def test_every_display_set_shows_every_quantity(display):
    for quantity in units.QUANTITIES:
        if quantity != "signal":
            assert units.DISPLAY_SETS[display][quantity].unit in format_value(
                1.0, quantity, display
            )


@pytest.mark.parametrize(
    ("value", "quantity", "display", "large", "expected"),
    [
        (1234567.0, "force", "metric", False, "1234.6 kN"),
        (1234567.0, "force", "metric", True, "1235 kN"),
        (1234567.0, "force", "field", True, "278 klbf"),
        (1234567.0, "force", "tonnes", True, "126.0 tf"),
        (-1.0, "force", "metric", False, "0.0 kN"),  # never "-0.0"
        (math.nan, "force", "metric", False, "– kN"),
        (30.0, "block_position", "field", False, "98.4 ft"),
        (0.034925, "diameter", "field", False, "1.375 in"),
    ],
)
def test_shows(value, quantity, display, large, expected):
    assert format_value(value, quantity, display, large=large) == expected


def test_shows_without_unit():
    assert format_value(1000.0, "force", with_unit=False) == "1.0"


# Years 1 to 9999, as far as the calendar of ISO 8601 is written with four digits.
@given(st.integers(min_value=-62_135_596_800_000_000, max_value=253_402_300_799_999_999))
def test_stamps_go_there_and_back_exactly(time_us):
    text = iso_utc(time_us)
    assert parse_iso(text) == time_us
    assert text.endswith("Z")
    assert len(text.split(".")[1]) >= 4  # milliseconds at least


@pytest.mark.parametrize(
    ("text", "zone", "expected"),
    [
        ("2026-03-01T02:40:05.100Z", "", "2026-03-01T02:40:05.100Z"),
        ("2026-03-01 02:40:05", "UTC", "2026-03-01T02:40:05.000Z"),
        ("2026-03-01T02:40:05", "+02:00", "2026-03-01T00:40:05.000Z"),
        ("2026-07-01T02:40:05", "Europe/Oslo", "2026-07-01T00:40:05.000Z"),
        ("2026-01-01T02:40:05", "Europe/Oslo", "2026-01-01T01:40:05.000Z"),
        ("2026-03-01T02:40:05-06:00", "UTC", "2026-03-01T08:40:05.000Z"),  # its own zone wins
        ("2026-03-01T02:40:05.000250Z", "", "2026-03-01T02:40:05.00025Z"),
    ],
)
def test_reads_stamps(text, zone, expected):
    assert iso_utc(parse_iso(text, zone)) == expected


@pytest.mark.parametrize(
    ("text", "zone", "match"),
    [
        ("2026-03-01T02:40:05", "", "has no time zone"),
        ("01/03/2026 02:40", "UTC", "no ISO 8601 time"),
        ("2026-03-01T02:40:05", "Middle/Earth", "time zone 'Middle/Earth' is not known"),
        ("2026-03-01T02:40:05", "../etc", "is not known"),
        ("2026-03-01T02:40:05", "Europe", "is not known"),
        ("2026-03-01T02:40:05", "+25:00", "is not known"),
    ],
)
def test_refuses_stamps(text, zone, match):
    with pytest.raises(UnitError, match=match):
        parse_iso(text, zone)


def test_examples_in_the_docstrings():
    assert doctest.testmod(units).failed == 0
