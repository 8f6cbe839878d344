"""The one error of reading: a file or source that cannot be used, said once and clearly."""

from __future__ import annotations


class InputError(Exception):
    """Input that cannot be used. The text names file, line, column, value and the mend."""


def message(
    file: str,
    what: str,
    *,
    line: int | None = None,
    column: str | None = None,
    value: str | None = None,
    mend: str = "",
) -> str:
    """One message in the one form: where, which column, which value, what is wrong, the mend."""
    parts = [f"{file}, line {line}" if line is not None else file]
    if column is not None:
        parts.append(f'column "{column}"')
    if value is not None:
        shown = value if len(value) <= 60 else value[:57] + "..."
        parts.append(f'value "{shown}"')
    text = ": ".join([*parts, what])
    return f"{text}; {mend}" if mend else text
