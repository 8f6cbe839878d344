"""Reading a table of settings with every fault collected, none of them fatal on its own.

A fault reads ``file: section.key: value: what is expected``. Values that could not be read
come back as a stand-in, so that reading goes on and the whole list appears at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from monitor import units


class ConfigError(Exception):
    """Every fault of one configuration file, a line each."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(self.faults))


def written(value: Any) -> str:
    """Show a value as it stands in the file, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, Mapping):
        text = "a table"
    else:
        text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def nearest(word: str, known: Sequence[str]) -> str:
    """End a fault with the known word that was perhaps meant, or with all of them."""
    close = get_close_matches(word, known, n=1, cutoff=0.6)
    if close:
        return f"did you mean {close[0]}?"
    return f"known here: {', '.join(known)}" if known else "nothing is expected here"


class Table:
    """One table of the file. Remembers which keys were asked for; ``close`` names the others."""

    def __init__(self, content: Mapping[str, Any], path: str, file: str, faults: list[str]):
        self.content = content
        self.path = path
        self.file = file
        self.faults = faults
        self._known: list[str] = []

    def __contains__(self, key: str) -> bool:
        """Tell whether the file gives this key."""
        return key in self.content

    def _place(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def fault(self, key: str, expected: str) -> None:
        """Note a fault of one key."""
        shown = written(self.content[key]) if key in self.content else "missing"
        self.faults.append(f"{self.file}: {self._place(key)}: {shown}: {expected}")

    def known(self, *keys: str) -> None:
        """Count keys as known that are read by other means."""
        self._known.extend(keys)

    def keys(self) -> Iterator[str]:
        """Keys as they stand in the file."""
        return iter(self.content)

    def close(self) -> None:
        """Note each key nobody asked for, with the nearest known one."""
        for key in self.content:
            if key not in self._known:
                self.fault(key, f"not a known setting; {nearest(key, self._known)}")

    def quantity(
        self,
        key: str,
        quantity: str,
        *,
        required: bool = False,
        above: float | None = None,
        low: float = -math.inf,
        high: float = math.inf,
        meaning: str = "",
    ) -> float | None:
        """Value in SI of a text with its unit; ``above`` is excluded, ``low``, ``high`` are not.

        ``meaning`` is added in words to a fault of range. Missing gives None, a required
        one a fault as well.
        """
        self._known.append(key)
        form = f'{quantity.replace("_", " ")} with its unit, like "{units.example(quantity)}"'
        if key not in self.content:
            if required:
                self.fault(key, f"required: a {form}")
            return None
        value = self.content[key]
        if not isinstance(value, str):
            self.fault(key, f"a {form}, in quotes")
            return None
        try:
            number = units.to_si(value, quantity)
        except units.UnitError as error:
            self.fault(key, str(error))
            return None
        if (above is not None and number <= above) or not low <= number <= high:
            self.fault(key, _range_text(quantity, above, low, high, meaning))
            return None
        return number

    def number(self, key: str, *, default: float, low: float, below: float, meaning: str) -> float:
        """Plain number from ``low`` (included) to ``below`` (excluded)."""
        self._known.append(key)
        if key not in self.content:
            return default
        value = self.content[key]
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fault(key, f"a plain number, {meaning}")
            return default
        if not low <= value < below:
            self.fault(key, meaning)
            return default
        return float(value)

    def integer(self, key: str, *, default: int | None, low: int, high: int, meaning: str) -> int:
        """Whole number in a range; required where ``default`` is None."""
        self._known.append(key)
        stand_in = low if default is None else default
        if key not in self.content:
            if default is None:
                self.fault(key, f"required: {meaning}, a whole number from {low} to {high}")
            return stand_in
        value = self.content[key]
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            self.fault(key, f"{meaning}, a whole number from {low} to {high}, without quotes")
            return stand_in
        return value

    def text(
        self,
        key: str,
        *,
        default: str = "",
        required: bool = False,
        choices: Sequence[str] = (),
        meaning: str = "a text",
    ) -> str:
        """Text, one of ``choices`` where given; stamps and dates are taken as written."""
        self._known.append(key)
        if key not in self.content:
            if required:
                self.fault(key, f"required: {meaning}")
            return default
        value = self.content[key]
        if hasattr(value, "isoformat"):
            return str(value.isoformat())
        if not isinstance(value, str) or (required and not value.strip()):
            self.fault(key, f"{meaning}, in quotes")
            return default
        if choices and value not in choices:
            self.fault(key, f"one of: {', '.join(choices)}")
            return default
        return value

    def zone(self, key: str) -> str:
        """Time zone by name; empty when not given."""
        text = self.text(key, meaning="a time zone such as UTC or +02:00")
        if text:
            try:
                units.zone(text)
            except units.UnitError as error:
                self.fault(key, str(error))
        return text

    def array(self, key: str, meaning: str) -> list[Any]:
        """Array of whatever ``meaning`` says; empty when not given."""
        self._known.append(key)
        value = self.content.get(key, [])
        if not isinstance(value, list):
            self.fault(key, f"an array of {meaning}")
            return []
        return value

    def table(self, key: str) -> Table:
        """Table inside this one; an empty one when not given."""
        self._known.append(key)
        value = self.content.get(key, {})
        if not isinstance(value, Mapping):
            self.fault(key, f"a table, written [{self._place(key)}]")
            value = {}
        return Table(value, self._place(key), self.file, self.faults)

    def tables(self, key: str) -> list[Table]:
        """Tables of an array of tables, numbered from 1 in faults."""
        self._known.append(key)
        value = self.content.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, Mapping) for item in value):
            self.fault(key, f"tables, each written [[{self._place(key)}]]")
            return []
        return [
            Table(item, f"{self._place(key)}[{number}]", self.file, self.faults)
            for number, item in enumerate(value, 1)
        ]


def _range_text(quantity: str, above: float | None, low: float, high: float, meaning: str) -> str:
    symbol = units.si_symbol(quantity)
    parts = []
    if above is not None:
        parts.append(f"above {above:.10g} {symbol}")
    if low > -math.inf:
        parts.append(f"at least {low:.10g} {symbol}")
    if high < math.inf:
        parts.append(f"at most {high:.10g} {symbol}")
    return f"{' and '.join(parts)} is expected{f', {meaning}' if meaning else ''}"
