"""Quantities as people write them, to SI and back: the only conversions in the project.

This is not a general unit library: it knows what rigs, catalogues and sensor sheets
write. The factors stand in ``unit_table.py``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import overload
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from monitor.unit_table import UNIT_TABLE, STANDARD_GRAVITY_m_s2

__all__ = [
    "DISPLAY_SETS",
    "NO_VALUE",
    "QUANTITIES",
    "STANDARD_GRAVITY_m_s2",
    "Display",
    "UnitError",
    "display_value",
    "example",
    "factor",
    "format_value",
    "from_si",
    "iso_utc",
    "known_units",
    "microseconds",
    "parse_iso",
    "quantity_of",
    "si_symbol",
    "to_si",
    "zone",
]


class UnitError(ValueError):
    """A text that is no quantity of the kind expected; says what would be."""


# A raw transmitter signal may be any of these; which one, the unit says.
_SIGNAL_QUANTITIES = ("current", "voltage", "pressure")
QUANTITIES: tuple[str, ...] = (*UNIT_TABLE, "signal")

# Written often, and meaning two things: refused with the question rather than guessed.
_AMBIGUOUS = {
    "ton": "a short ton (2000 lb) or a metric ton (1000 kg)? write 'short tons' or 'tf'",
    "tons": "short tons (2000 lb) or metric tons (1000 kg)? write 'short tons' or 'tf'",
}


def _key(unit: str) -> str:
    """One form for 'ft-lbf', 'ft.lbf', 'ft·lbf'; 'm³/h', 'm^3/h'; '°C'."""
    text = unit.strip().replace("³", "3").replace("²", "2").replace("°", "deg")
    text = text.replace("µ", "u").replace("μ", "u")
    return re.sub(r"[\s.\-·*^_]", "", text)


def _index() -> dict[str, dict[str, tuple[float, float]]]:
    table: dict[str, dict[str, tuple[float, float]]] = {}
    for quantity, (_, _, units) in UNIT_TABLE.items():
        rows: dict[str, tuple[float, float]] = {}
        for spellings, value in units.items():
            pair = value if isinstance(value, tuple) else (value, 0.0)
            for spelling in spellings.split("|"):
                rows[_key(spelling)] = pair
        table[quantity] = rows
    table["signal"] = {k: v for name in _SIGNAL_QUANTITIES for k, v in table[name].items()}
    return table


_UNITS = _index()


def _lookup(unit: str, quantity: str) -> tuple[float, float] | None:
    """Exact spelling first; then any case ('KLBF'), unless the cases differ in meaning."""
    rows = _UNITS[quantity]
    key = _key(unit)
    if key in rows:
        return rows[key]
    folded = {pair for spelling, pair in rows.items() if spelling.casefold() == key.casefold()}
    return folded.pop() if len(folded) == 1 else None


def _article(quantity: str) -> str:
    words = quantity.replace("_", " ")
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def known_units(quantity: str) -> tuple[str, ...]:
    """Give the unit spellings shown in messages, one for each size of unit."""
    names = _SIGNAL_QUANTITIES if quantity == "signal" else (quantity,)
    return tuple(line.split("|")[0] for name in names for line in UNIT_TABLE[name][2])


def quantity_of(unit: str) -> tuple[str, ...]:
    """Quantities that know this unit; empty when none does."""
    return tuple(name for name in QUANTITIES if _lookup(unit, name) is not None)


def si_symbol(quantity: str) -> str:
    """SI unit of a quantity; for a raw signal it depends on the unit, so it is empty."""
    return "" if quantity == "signal" else UNIT_TABLE[quantity][0]


def example(quantity: str) -> str:
    """How a quantity may be written, for messages."""
    return "4 mA" if quantity == "signal" else UNIT_TABLE[quantity][1]


def factor(unit: str, quantity: str) -> tuple[float, float]:
    """Scale and offset of a unit: ``si = value * scale + offset``.

    >>> factor("degC", "temperature")
    (1.0, 273.15)
    """
    if quantity not in _UNITS:
        raise UnitError(f"{quantity!r} is no quantity; known: {', '.join(QUANTITIES)}")
    pair = _lookup(unit, quantity)
    if pair is not None:
        return pair
    known = ", ".join(known_units(quantity))
    if quantity in ("force", "mass") and _key(unit).casefold() in _AMBIGUOUS:
        raise UnitError(f"unit {unit!r} is ambiguous: {_AMBIGUOUS[_key(unit).casefold()]}")
    others = [name for name in quantity_of(unit) if name != "signal"]
    if others:
        raise UnitError(
            f"unit {unit!r} is {_article(others[0])} unit; "
            f"{_article(quantity)} is expected, in one of: {known}"
        )
    raise UnitError(f"unit {unit!r} is not known for {_article(quantity)}; known units: {known}")


_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FRACTION = re.compile(r"(?:(\d+)[ -]+)?(\d+)/(\d+)(?=[\s\"a-zA-Z]|$)")
_QUANTITY = re.compile(rf"({_NUMBER})\s*(.*)", re.DOTALL)


def _split(text: str) -> tuple[float, str] | None:
    """Split number and unit of a text; diameters may be written '1 3/8 in' or '2-13/16 in'."""
    fraction = _FRACTION.match(text)
    if fraction:
        whole, top, bottom = fraction.groups()
        if int(bottom) == 0:
            return None
        return int(whole or 0) + int(top) / int(bottom), text[fraction.end() :].strip()
    plain = _QUANTITY.fullmatch(text)
    return (float(plain[1]), plain[2].strip()) if plain else None


def to_si(text: str, quantity: str) -> float:
    """Value in SI of a quantity written with its unit.

    >>> to_si("245 kN", "force")
    245000.0
    >>> round(to_si("1 3/8 in", "length"), 6)
    0.034925
    """
    parts = _split(text.strip().replace("\N{MINUS SIGN}", "-"))
    if parts is None:
        raise UnitError(f"{text!r} is no quantity; write it like {example(quantity)!r}")
    number, unit = parts
    if unit.startswith(","):
        raise UnitError(f"{text!r} has a comma; write the number with a point and no grouping")
    if not unit:
        raise UnitError(
            f"{text!r} has no unit; write it like {example(quantity)!r}, "
            f"in one of: {', '.join(known_units(quantity))}"
        )
    scale, offset = factor(unit, quantity)
    value = number * scale + offset
    if not math.isfinite(value):
        raise UnitError(f"{text!r} is too large to be {_article(quantity)}")
    return value


@overload
def from_si(value: float, unit: str, quantity: str) -> float: ...
@overload
def from_si(value: NDArray[np.float64], unit: str, quantity: str) -> NDArray[np.float64]: ...
def from_si(
    value: float | NDArray[np.float64], unit: str, quantity: str
) -> float | NDArray[np.float64]:
    """Convert an SI value, or an array of them, to a unit.

    >>> round(from_si(444822.16152605, "klbf", "force"), 9)
    100.0
    """
    scale, offset = factor(unit, quantity)
    return (value - offset) / scale


@dataclass(frozen=True, slots=True)
class Display:
    """How one kind of value is shown: unit, decimals, and the step of large figures."""

    unit: str
    decimals: int
    step: float = 0.0  # in ``unit``; large figures are rounded to it so that they do not flicker


_METRIC: dict[str, Display] = {
    "force": Display("kN", 1, 5.0),
    "length": Display("m", 1),
    "block_position": Display("m", 2),
    "diameter": Display("mm", 1),
    "area": Display("cm2", 1),
    "angular_speed": Display("rpm", 0),
    "torque": Display("kN.m", 1),
    "flow": Display("L/min", 0),
    "pressure": Display("bar", 0),
    "volume": Display("m3", 2),
    "temperature": Display("degC", 1),
    "current": Display("mA", 3),
    "voltage": Display("V", 3),
    "density": Display("kg/m3", 0),
    "weight_per_length": Display("N/m", 0),
    "mass": Display("kg", 0),
    "angle": Display("deg", 2),
    "time": Display("s", 1),
    "speed": Display("m/s", 2),
    "work": Display("MJ", 0),
    "compliance": Display("mm/kN", 3),
    "stiffness": Display("kN/m", 1),
    "power": Display("kW", 0),
    "acceleration": Display("m/s2", 2),
}
_FIELD: dict[str, Display] = {
    **_METRIC,
    "force": Display("klbf", 1, 1.0),
    "length": Display("ft", 1),
    "block_position": Display("ft", 1),
    "diameter": Display("in", 3),
    "area": Display("in2", 2),
    "torque": Display("kft.lbf", 1),
    "flow": Display("gal/min", 0),
    "pressure": Display("psi", 0),
    "volume": Display("bbl", 1),
    "temperature": Display("degF", 1),
    "density": Display("ppg", 2),
    "weight_per_length": Display("lb/ft", 2),
    "mass": Display("lb", 0),
    "speed": Display("ft/min", 0),
    "work": Display("ton-miles", 1),
    "compliance": Display("in/klbf", 4),
    "stiffness": Display("klbf/ft", 2),
    "power": Display("hp", 0),
    "acceleration": Display("ft/s2", 2),
}
# Keys are quantities, and a few names shown finer or coarser than their quantity.
DISPLAY_SETS: Mapping[str, Mapping[str, Display]] = {
    "metric": _METRIC,
    "field": _FIELD,
    "tonnes": {**_METRIC, "force": Display("tf", 1, 0.5), "work": Display("tonne-km", 1)},
}
_NAMED_QUANTITY = {"block_position": "length", "diameter": "length"}
NO_VALUE = "–"  # what is shown where a value is not known


def display_value(value_si: float, quantity: str, display: str = "metric") -> float:
    """Convert an SI value to the unit of a display set, unrounded."""
    shown = DISPLAY_SETS[display][quantity]
    return from_si(value_si, shown.unit, _NAMED_QUANTITY.get(quantity, quantity))


def format_value(
    value_si: float,
    quantity: str,
    display: str = "metric",
    *,
    large: bool = False,
    with_unit: bool = True,
) -> str:
    """Write a value as shown: unit of the display set, fixed decimals, a dash when not known.

    ``large`` rounds to the set's step for figures read at a distance.

    >>> format_value(1234567.0, "force"), format_value(1234567.0, "force", large=True)
    ('1234.6 kN', '1235 kN')
    """
    shown = DISPLAY_SETS[display][quantity]
    unit = f" {shown.unit}" if with_unit else ""
    if not math.isfinite(value_si):
        return f"{NO_VALUE}{unit}"
    value, decimals = display_value(value_si, quantity, display), shown.decimals
    if large and shown.step:
        value = round(value / shown.step) * shown.step
        decimals = 0 if shown.step >= 1 else decimals
    text = f"{value:.{decimals}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text + unit


_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


def iso_utc(time_us: int) -> str:
    """Time in ISO 8601 UTC: exact, with at least milliseconds.

    >>> iso_utc(1772332805100000), iso_utc(1772332805100250)
    ('2026-03-01T02:40:05.100Z', '2026-03-01T02:40:05.10025Z')
    """
    moment = _EPOCH + timedelta(microseconds=int(time_us))
    fraction = f"{moment.microsecond:06d}"
    seconds = moment.replace(tzinfo=None, microsecond=0).isoformat()
    return f"{seconds}.{fraction[:3]}{fraction[3:].rstrip('0')}Z"


def zone(name: str) -> tzinfo:
    """Time zone by name ('UTC', '+02:00', 'Europe/Oslo'); UnitError when there is none such."""
    text = name.strip()
    if text.upper() in ("UTC", "Z", "GMT"):
        return UTC
    offset = re.fullmatch(r"(?:UTC)?([+-])(\d{1,2})(?::?([0-5]\d))?", text)
    if offset and int(offset[2]) <= 14:
        minutes = int(offset[2]) * 60 + int(offset[3] or 0)
        return timezone(timedelta(minutes=-minutes if offset[1] == "-" else minutes))
    try:
        return ZoneInfo(text)
    except (KeyError, ValueError, OSError):  # OSError: the name of a folder of the database
        raise UnitError(
            f"time zone {name!r} is not known; write 'UTC', '+02:00' or a name like 'Europe/Oslo'"
        ) from None


def microseconds(moment: datetime) -> int:
    """Microseconds since 1970-01-01T00:00:00Z of an aware datetime, exact."""
    return (moment - _EPOCH) // _MICROSECOND


def parse_iso(text: str, zone_name: str = "") -> int:
    """Microseconds UTC of an ISO 8601 time; ``zone_name`` is used where the text has none.

    A local time that occurs twice at the end of summer time is taken as the first.

    >>> parse_iso("2026-03-01T02:40:05.1Z"), parse_iso("2026-03-01 03:40:05.1", "+01:00")
    (1772332805100000, 1772332805100000)
    """
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        raise UnitError(
            f"{text!r} is no ISO 8601 time; write it like '2026-03-01T02:40:05Z'"
        ) from None
    if moment.tzinfo is None:
        if not zone_name:
            raise UnitError(f"{text!r} has no time zone and none is declared")
        moment = moment.replace(tzinfo=zone(zone_name))
    return microseconds(moment)
