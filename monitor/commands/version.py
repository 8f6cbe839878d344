"""What belongs to a later version, refused by name."""

from __future__ import annotations

from monitor.commands.errors import UseError

LATER_SUFFIXES = (".las",)


def refuse_later_suffix(suffix: str) -> None:
    """Refuse an export format that is planned and not built."""
    if suffix.lower() in LATER_SUFFIXES:
        raise UseError(f"export to {suffix}: not in this version")
