"""What belongs to a later version, refused by name."""

from __future__ import annotations

from monitor.commands.errors import UseError

LATER_SOURCES = ("las", "wits", "wits-listen")
LATER_SUFFIXES = (".xlsx", ".las")


def refuse_later_source(spec: str) -> None:
    """Refuse a source kind that is planned and not built."""
    kind = spec.partition(":")[0]
    if kind in LATER_SOURCES:
        raise UseError(f"source {kind}: not in this version")


def refuse_later_suffix(suffix: str) -> None:
    """Refuse an export format that is planned and not built."""
    if suffix.lower() in LATER_SUFFIXES:
        raise UseError(f"export to {suffix}: not in this version")
