"""Rows, raw rows and rollups out of a connection, as numpy columns."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.model import (
    CHANNELS,
    INTEGER_RESULTS,
    RESULT_COLUMNS,
    Command,
    Flags,
    Floats,
    Ints,
    Quality,
    Samples,
)
from monitor.store import sql
from monitor.store.buckets import Buckets, single_rows
from monitor.store.columns import (
    CHANNEL_OF,
    PUBLIC_NAMES,
    floats,
    integers,
    quality_column,
)
from monitor.store.rows import Rows

_KEYS = ("seq", "time_us", "row")


def channels_of(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Channels this record has ever had, in the model's order."""
    present = {name for (name,) in connection.execute("SELECT name FROM channels")}
    return tuple(name for name in CHANNELS if name in present)


def has_table(connection: sqlite3.Connection, name: str) -> bool:
    """Whether the record has this table."""
    found = connection.execute(
        "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?", (name,)
    )
    return found.fetchone() is not None


def _columns(cells: list[tuple[Any, ...]], width: int) -> list[Sequence[Any]]:
    return list(zip(*cells, strict=True)) if cells else [() for _ in range(width)]


def rows(connection: sqlite3.Connection, rest: str, arguments: Sequence[Any]) -> Rows:
    """Raw channels and results side by side; ``rest`` starts with WHERE and may sort."""
    channels = channels_of(connection)
    raw = (*_KEYS, *(CHANNELS[name].column for name in channels))
    text = sql.select_rows(raw, RESULT_COLUMNS, rest)
    cells = _columns(
        connection.execute(text, arguments).fetchall(), len(raw) + len(RESULT_COLUMNS)
    )
    columns: dict[str, NDArray[np.generic]] = {"row": integers(cells[2])}
    for name, column in zip(channels, cells[3 : len(raw)], strict=True):
        columns[PUBLIC_NAMES[name]] = floats(column)
    for name, column in zip(RESULT_COLUMNS, cells[len(raw) :], strict=True):
        columns[name] = integers(column) if name in INTEGER_RESULTS else floats(column)
    return Rows(integers(cells[0]), integers(cells[1]), columns)


def newest_first(found: Rows) -> Rows:
    """Turn the order of rows."""
    turned = {name: column[::-1] for name, column in found.columns.items()}
    return Rows(found.seq[::-1], found.time_us[::-1], turned)


def samples_since(connection: sqlite3.Connection, seq: int, limit: int) -> Samples:
    """Raw rows after ``seq``, ended early where the set of channels changes.

    A channel a row's source did not have is NULL in its quality too, which is how a rebuild
    knows an absent channel from a missing value.
    """
    channels = channels_of(connection)
    wanted = [*_KEYS]
    for name in channels:
        wanted += [CHANNELS[name].column, quality_column(name)]
    text = sql.select("samples", wanted, "WHERE seq > ? ORDER BY seq LIMIT ?")
    cells = _columns(connection.execute(text, (seq, limit)).fetchall(), len(wanted))
    present = {
        name: np.array([flag is not None for flag in cells[4 + 2 * place]], dtype=bool)
        for place, name in enumerate(channels)
    }
    stop = _first_change(list(present.values()), len(cells[0]))
    values: dict[str, Floats] = {}
    quality: dict[str, Flags] = {}
    for place, name in enumerate(channels):
        if stop and present[name][0]:
            values[name] = floats(cells[3 + 2 * place][:stop])
            quality[name] = integers(cells[4 + 2 * place][:stop]).astype(np.uint16)
    return Samples(
        integers(cells[0][:stop]),
        integers(cells[1][:stop]),
        integers(cells[2][:stop]).astype(np.uint16),
        values,
        quality,
    )


def _first_change(masks: list[NDArray[np.bool_]], n_rows: int) -> int:
    changes = [np.flatnonzero(mask != mask[0]) for mask in masks] if n_rows else []
    return min((int(found[0]) for found in changes if len(found)), default=n_rows)


def row_buckets(
    connection: sqlite3.Connection, names: Sequence[str], rest: str, arguments: Sequence[Any]
) -> Buckets:
    """Single rows as buckets, late rows left out; a name the record has not is missing."""
    known = set(channels_of(connection))
    raw = [name for name in names if CHANNEL_OF.get(name) in known]
    results = [name for name in names if name in RESULT_COLUMNS]
    text = sql.select_rows(
        [*_KEYS, *(CHANNELS[CHANNEL_OF[name]].column for name in raw)], results, rest
    )
    fetched = connection.execute(text, arguments).fetchall()
    cells = _columns(fetched, 3 + len(raw) + len(results))
    flags = integers(cells[2])
    values = np.full((len(names), len(flags)), np.nan)
    for name, column in zip([*raw, *results], cells[3:], strict=True):
        values[list(names).index(name)] = floats(column)
    kept = (flags & Quality.LATE) == 0
    gap = (flags & Quality.GAP) != 0
    return single_rows(
        integers(cells[0])[kept], integers(cells[1])[kept], gap[kept], values[:, kept]
    )


def level_buckets(
    connection: sqlite3.Connection,
    level: str,
    names: Sequence[str],
    rest: str,
    arguments: Sequence[Any],
) -> Buckets:
    """Read closed buckets of one rollup."""
    keys = ("start_us", "first_seq", "last_seq", "n", "gaps")
    wanted = [*keys, *(f"{name}_{what}" for what in ("min", "max", "last") for name in names)]
    fetched = connection.execute(sql.select(level, wanted, rest), arguments).fetchall()
    cells = _columns(fetched, len(wanted))
    heads: list[Ints] = [integers(column) for column in cells[:5]]
    body = np.array([floats(column) for column in cells[5:]])
    body = body.reshape(3, len(names), len(fetched))
    return Buckets(heads[0], heads[1], heads[2], heads[3], heads[4], body[0], body[1], body[2])


def commands_since(connection: sqlite3.Connection, seq: int) -> list[Command]:
    """Acts after ``seq`` as the pipeline got them."""
    found = connection.execute(
        "SELECT seq, time_us, act, number, text, who FROM commands WHERE seq > ? ORDER BY seq",
        (seq,),
    )
    return [
        Command(at, time_us, act, float("nan") if number is None else number, text, who)
        for at, time_us, act, number, text, who in found
    ]


def history(
    connection: sqlite3.Connection, after_seq: int, rows_a_piece: int = 50_000
) -> Iterator[tuple[Samples, list[Command]]]:
    """Rows and commands after ``after_seq`` in pieces, as a pipeline takes them."""
    commands = commands_since(connection, after_seq)
    seq = after_seq
    while len(samples := samples_since(connection, seq, rows_a_piece)):
        seq = int(samples.seq[-1])
        due = [command for command in commands if command.seq < seq]
        commands = commands[len(due) :]
        yield samples, due
    if commands:
        yield samples, commands


def last_closed_seq(connection: sqlite3.Connection, level: str) -> int:
    """``last_seq`` of the newest closed bucket, 0 when none is closed yet."""
    text = sql.select(level, ["last_seq"], "ORDER BY first_seq DESC LIMIT 1")
    found = connection.execute(text).fetchone()
    return int(found[0]) if found else 0
