"""SQL text from the model's column names.

Values always go in as parameters; only names that stand in this package or in
``monitor.model`` become part of a statement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence


def _names(columns: Iterable[str]) -> str:
    return ", ".join(f'"{column}"' for column in columns)


def create(table: str, keys: str, columns: Mapping[str, str]) -> str:
    """Make a strict table: ``keys`` as written, then ``columns`` by name and type."""
    named = "".join(f', "{name}" {kind}' for name, kind in columns.items())
    return f'CREATE TABLE "{table}" ({keys}{named}) STRICT'


def insert(table: str, columns: Sequence[str]) -> str:
    """Insert one row into the named columns."""
    marks = ", ".join("?" * len(columns))
    return f'INSERT INTO "{table}" ({_names(columns)}) VALUES ({marks})'  # noqa: S608


def upsert(table: str, key: str, columns: Sequence[str]) -> str:
    """Insert one row, or overwrite the one with the same key."""
    new = ", ".join(f'"{name}" = excluded."{name}"' for name in columns if name != key)
    return f'{insert(table, columns)} ON CONFLICT ("{key}") DO UPDATE SET {new}'


def update(table: str, columns: Sequence[str]) -> str:
    """Overwrite the named columns of a table of one row."""
    new = ", ".join(f'"{name}" = ?' for name in columns)
    return f'UPDATE "{table}" SET {new}'  # noqa: S608


def select(table: str, columns: Iterable[str], rest: str = "") -> str:
    """Select the named columns; ``rest`` is what follows the table's name."""
    return f'SELECT {_names(columns)} FROM "{table}" {rest}'  # noqa: S608


def select_rows(samples: Iterable[str], results: Iterable[str], rest: str) -> str:
    """Raw rows and their results side by side."""
    wanted = [f's."{name}"' for name in samples] + [f'r."{name}"' for name in results]
    listed = ", ".join(wanted)
    return (
        f"SELECT {listed} FROM samples AS s "  # noqa: S608
        f"LEFT JOIN results AS r ON r.seq = s.seq {rest}"
    )
