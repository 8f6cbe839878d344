"""A quantity given as an option."""

from __future__ import annotations

from monitor.commands.errors import UseError
from monitor.units import UnitError, to_si


def quantity(text: str | None, kind: str, option: str) -> float | None:
    """SI value of an option, None where it was not given; a fault names the option."""
    if text is None:
        return None
    try:
        return to_si(text, kind)
    except UnitError as error:
        raise UseError(f"{option}: {error}") from error
