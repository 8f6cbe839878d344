"""One calm section of the Sensor page: sentences, findings, remarks, a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass

from monitor.units import DISPLAY_SETS, display_value


@dataclass(frozen=True, slots=True)
class Section:
    """Lines in sentences, findings as (what, what to check), remarks, a drawing."""

    lines: tuple[str, ...]
    findings: tuple[dict[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    chart: str = ""
    asks: bool = False  # something here asks for action


def finding(what: str, check: str) -> dict[str, str]:
    """What was found, and where to look."""
    return {"what": what, "check": check}


def force(value_N: float | None, display: str, digits: int = 2) -> str:
    """Give a load in so many digits, with its unit."""
    unit = DISPLAY_SETS[display]["force"].unit
    if value_N is None or not math.isfinite(value_N):
        return f"\u2013 {unit}"
    shown = display_value(value_N, "force", display)
    if shown == 0.0:
        return f"0 {unit}"
    places = max(0, digits - 1 - math.floor(math.log10(abs(shown))))
    return f"{shown:,.{places}f} {unit}".replace("-", "\u2212")
