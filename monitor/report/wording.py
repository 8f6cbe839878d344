"""How the report writes figures, moments and lines of the sequence."""

from __future__ import annotations

import math
from html import escape

from monitor.review.line import Line
from monitor.units import DISPLAY_SETS, NO_VALUE, display_value, format_value, iso_utc


def unit(quantity: str, display: str) -> str:
    """Unit in which a display set shows a quantity."""
    known = "length" if quantity == "whole_length" else quantity
    return DISPLAY_SETS[display][known].unit


def figure(value_si: float, quantity: str, display: str) -> str:
    """Value with its unit; a dash where it is not known."""
    if not math.isfinite(value_si):
        return NO_VALUE
    if quantity == "whole_length":
        return f"{display_value(value_si, 'length', display):.0f} {unit('length', display)}"
    # Loads are known to a kilonewton at best: no decimals where the unit is that small.
    if quantity == "force" and unit("force", display) == "kN":
        return f"{display_value(value_si, quantity, display):.0f} kN"
    return format_value(value_si, quantity, display)


def bare(value_si: float, quantity: str, display: str) -> str:
    """Value alone, for a column whose head names the unit."""
    return figure(value_si, quantity, display).removesuffix(f" {unit(quantity, display)}")


def clock(time_us: int, *, seconds: bool = True) -> str:
    """Time of day, UTC."""
    text = iso_utc(time_us)
    return text[11:19] if seconds else text[11:16]


def day_and_time(time_us: int) -> str:
    """Date and time of day, UTC, to the second."""
    text = iso_utc(time_us)
    return f"{text[:10]} {text[11:19]}"


def sentence(line: Line, display: str) -> str:
    """Text of a line with its figures in the units of a display set."""
    filled = {name: figure(*value, display) for name, value in line.figures.items()}
    return line.text.format(**filled)


def sentence_html(line: Line, display: str) -> str:
    """Give the same for a page; value and unit are never parted at the end of a line."""
    filled = {
        name: figure(*value, display).replace(" ", "\u00a0")
        for name, value in line.figures.items()
    }
    return escape(line.text.format(**filled))
