"""A line of the written sequence: words with places for figures, linked to its moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

# Value in SI, and the quantity by which the display set knows its unit.
Figure = tuple[float, str]


@dataclass(frozen=True, slots=True)
class Line:
    """``text`` names its figures in braces; who shows it fills them in, in its own units."""

    time_us: int
    # record, stands, drag, stuck, pull, set-down, blow, rest, free, act, note, limit, event, gap
    kind: str
    text: str
    figures: Mapping[str, Figure] = field(default_factory=dict)
    is_key: bool = False  # one of the few that tell the story


def force(value_N: float) -> Figure:
    """Give a load."""
    return value_N, "force"


def length(value_m: float) -> Figure:
    """Give a depth or a length."""
    return value_m, "length"


def about(value_m: float) -> Figure:
    """Give a length that is known to some metres only: no decimals are shown."""
    return value_m, "whole_length"


def travel(value_m: float) -> Figure:
    """Give a block position or travel, shown finer."""
    return value_m, "block_position"


def duration(seconds: float) -> str:
    """Time as people say it; whole seconds, as a figure of a sequence is read.

    >>> duration(42.3), duration(200.0), duration(3720.0)
    ('42 s', '3 min 20 s', '1 h 02 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        return f"{minutes} min {rest:02d} s" if rest else f"{minutes} min"
    minutes = round(seconds / 60.0)
    return f"{minutes // 60} h {minutes % 60:02d} min"


def count(number: int, one: str, many: str = "") -> str:
    """Number with its noun.

    >>> count(1, "stand"), count(3, "stand")
    ('1 stand', '3 stands')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
