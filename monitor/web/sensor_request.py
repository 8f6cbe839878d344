"""What a browser asks of the Sensor page's routes, read once and with plain refusals."""

from __future__ import annotations

import math
from typing import Any

from monitor.report.certificate import Reference

LONGEST_TEXT = 150_000
MOST_NUMBERS = 200
GREATEST_PERCENT = 20.0  # a reference that is known no better is none (our choice)


class AskedError(Exception):
    """A request that cannot be answered; the message says what is expected."""


class Asked:
    """Fields of one request."""

    def __init__(self, fields: Any) -> None:
        if not isinstance(fields, dict):
            raise AskedError("a JSON object is expected")
        self._fields = fields

    def text(self, name: str) -> str:
        """Words, empty where not given."""
        return str(self._fields.get(name) or "")[:LONGEST_TEXT].strip()

    def word(self, name: str) -> str:
        """Words that must be there."""
        found = self.text(name)
        if not found:
            raise AskedError(f"{name} is expected")
        return found

    def flag(self, name: str) -> bool:
        """Yes or no."""
        return bool(self._fields.get(name))

    def counts(self, name: str) -> list[int]:
        """Whole numbers, a few of them."""
        try:
            found = [int(number) for number in self._fields[name]]
        except (KeyError, TypeError, ValueError, OverflowError):
            raise AskedError(f"{name}: whole numbers are expected") from None
        if not 0 < len(found) <= MOST_NUMBERS:
            raise AskedError(f"{name}: 1 to {MOST_NUMBERS} are expected")
        return found

    def reference(self) -> Reference:
        """What gave the loads, and how well it is known."""
        written = self.text("percent").replace(",", ".")
        try:
            percent = float(written) if written else 0.0
        except ValueError:
            percent = math.nan
        if not 0.0 <= percent <= GREATEST_PERCENT:
            raise AskedError(
                f"uncertainty of the reference, {written!r}: percent of the greatest load is "
                f"expected, 0 to {GREATEST_PERCENT:g}"
            )
        return Reference(self.text("reference")[:200], self.text("certificate")[:200], percent)
