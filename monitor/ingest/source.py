"""Live sources by their SPEC: one protocol, whatever stands behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Protocol
from urllib.parse import parse_qsl

from monitor.ingest.counts import Counts
from monitor.ingest.errors import InputError
from monitor.model import Samples
from monitor.rig.rig import Rig

FORMS = "simulate:SCENARIO?seed=7&speed=1, csv:PATH, csv-follow:PATH"
_LATER = ("las", "wits", "wits-listen")


class Source(Protocol):
    """What the recorder asks of a source."""

    counts: Counts

    @property
    def finished(self) -> bool:
        """Whether nothing more will come."""

    def read(self, timeout_s: float) -> Samples | None:
        """Give rows; None when none came within the time. With 0 it does not wait."""

    def cursor(self) -> dict[str, Any]:
        """Tell where to go on after what was read so far, as JSON."""

    def close(self) -> None:
        """Let go of files."""


@dataclass(slots=True)
class Spec:
    """A SPEC taken apart; asking for an option uses it up, ``close`` refuses those left."""

    text: str
    kind: str
    target: str
    options: dict[str, list[str]] = field(default_factory=dict)

    @classmethod
    def parse(cls, text: str) -> Spec:
        """Take apart ``kind:target?name=value&name=value``."""
        kind, colon, rest = text.partition(":")
        if not colon or not rest:
            raise InputError(f"source {text!r}: write it as one of: {FORMS}")
        target, mark, query = rest.rpartition("?")
        if not mark or "=" not in query:  # a name may hold a question mark
            return cls(text, kind, rest)
        options: dict[str, list[str]] = {}
        for name, value in parse_qsl(query, keep_blank_values=True):
            options.setdefault(name, []).append(value)
        return cls(text, kind, target, options)

    def text_option(self, name: str) -> str | None:
        """Take an option as it is written."""
        return self.options.pop(name, [None])[-1]

    def text_options(self, name: str) -> list[str]:
        """Take an option that may be given several times."""
        return self.options.pop(name, [])

    def number(self, name: str, default: float, low: float, high: float) -> float:
        """Take an option that is a number."""
        written = self.text_option(name)
        if written is None:
            return default
        try:
            value = float(written)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            raise InputError(
                f"source {self.text!r}: {name}: {written!r}: "
                f"a number from {low:g} to {high:g} is expected"
            )
        return value

    def close(self) -> None:
        """Refuse options that nobody asked for."""
        if self.options:
            names = ", ".join(sorted(self.options))
            raise InputError(f"source {self.text!r}: {names}: no such option")


def open_source(spec: str, rig: Rig, resume: dict[str, Any] | None = None) -> Source:
    """Open a live source; ``resume`` is the cursor of an earlier run of the same SPEC."""
    parts = Spec.parse(spec)
    if parts.kind == "simulate":
        from monitor.ingest.simulated import Simulated

        return Simulated(parts, rig, resume)
    if parts.kind == "csv":
        from monitor.ingest.csv_replay import CsvReplay

        return CsvReplay(parts, rig, resume)
    if parts.kind == "csv-follow":
        from monitor.ingest.csv_follow import CsvFollow

        return CsvFollow(parts, rig, resume)
    if parts.kind in _LATER:
        raise InputError(f"source {spec!r}: {parts.kind} is not in this version; use: {FORMS}")
    raise InputError(f"source {spec!r}: {parts.kind!r} is no kind of source; use: {FORMS}")
