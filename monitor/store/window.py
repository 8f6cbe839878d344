"""Chart data of any span from a bounded number of points, with every spike kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.model import Floats, Ints
from monitor.store import sql
from monitor.store.buckets import Buckets, joined, regrouped
from monitor.store.columns import ROLLUP_COLUMNS
from monitor.store.errors import StoreError
from monitor.store.queries import last_closed_seq, level_buckets, row_buckets
from monitor.store.schema import LEVELS

# Absolute widths a reader can name, so that buckets stand still while a window slides.
_STEPS_S = (
    0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800,
    3600, 7200, 10800, 21600, 43200, 86400,
)  # fmt: skip
# What one chart may read: beyond this the next level serves, with fewer points.
_MOST_ROWS = 60_000
_MOST_BUCKETS = 20_000
_DAY_US = 86_400_000_000
_IN_SPAN = "WHERE s.time_us >= ? AND s.time_us < ? ORDER BY s.time_us, s.seq"
_AFTER = "WHERE s.seq > ? AND s.time_us >= ? AND s.time_us < ? ORDER BY s.seq"


def window(
    connection: sqlite3.Connection,
    from_us: int,
    to_us: int,
    names: Sequence[str],
    points: int,
) -> dict[str, Any]:
    """See ``Reader.window``; the connection is inside one read transaction."""
    unknown = [name for name in names if name not in ROLLUP_COLUMNS]
    if unknown:
        raise StoreError(f"the record has no column {unknown[0]!r}")
    points = max(points, 2)
    extent = _extent(connection, from_us, to_us)
    if extent is None:
        return _chart(0, row_buckets(connection, names, "WHERE 0", ()), names)
    low_us, high_us, n_rows = extent
    if n_rows <= points:
        found = row_buckets(connection, names, _IN_SPAN, (from_us, to_us))
        return _chart(0, _in_time_order(found), names)
    step_us = max(_step_us(high_us - low_us, points), _affordable_us(high_us - low_us, n_rows))
    from_us, to_us = from_us // step_us * step_us, -(-to_us // step_us) * step_us
    found = _finest(connection, step_us, from_us, to_us, names)
    return _chart(step_us, regrouped(_in_time_order(found), step_us), names)


def _extent(
    connection: sqlite3.Connection, from_us: int, to_us: int
) -> tuple[int, int, int] | None:
    """First and last time of the data inside the span, and how many rows lie between."""
    span = "WHERE time_us >= ? AND time_us < ? ORDER BY time_us"
    ends = [
        connection.execute(
            sql.select("samples", ("time_us", "seq"), f"{span} {order} LIMIT 1"), (from_us, to_us)
        ).fetchone()
        for order in ("ASC", "DESC")
    ]
    if ends[0] is None:
        return None
    (low_us, low_seq), (high_us, high_seq) = ends
    return low_us, high_us, abs(high_seq - low_seq) + 1


def _step_us(span_us: int, points: int) -> int:
    """Give the smallest absolute width that needs at most ``points`` buckets."""
    least = span_us / max(points - 1, 1)
    for step_s in _STEPS_S:
        if step_s * 1e6 >= least:
            return int(step_s * 1e6)
    return -(-int(least) // _DAY_US) * _DAY_US


def _affordable_us(span_us: int, n_rows: int) -> int:
    """Give the width of the finest level that can be read in a few tens of milliseconds."""
    fine_us, coarse_us = LEVELS.values()
    if n_rows <= _MOST_ROWS:
        return 0
    return fine_us if span_us // fine_us <= _MOST_BUCKETS else coarse_us


def _finest(
    connection: sqlite3.Connection, step_us: int, from_us: int, to_us: int, names: Sequence[str]
) -> Buckets:
    """Read what the step is put together from: rollups while closed, rows for the rest."""
    seq = 0
    found: Buckets | None = None
    for level in sorted(LEVELS, key=lambda name: -LEVELS[name]):
        if step_us % LEVELS[level] == 0:
            part = level_buckets(
                connection,
                level,
                names,
                "WHERE +first_seq > ? AND start_us >= ? AND start_us < ? ORDER BY start_us",
                (seq, from_us, to_us),
            )
            found = part if found is None else joined(found, part)
            seq = last_closed_seq(connection, level)
    if found is None:
        return row_buckets(connection, names, _IN_SPAN, (from_us, to_us))
    return joined(found, row_buckets(connection, names, _AFTER, (seq, from_us, to_us)))


def _in_time_order(parts: Buckets) -> Buckets:
    """Sorted by time; rows keep their order within equal times."""
    if np.all(np.diff(parts.start_us) >= 0):
        return parts
    order = np.argsort(parts.start_us, kind="stable")
    return Buckets(
        parts.start_us[order],
        parts.first_seq[order],
        parts.last_seq[order],
        parts.n[order],
        parts.gaps[order],
        parts.least[:, order],
        parts.greatest[:, order],
        parts.last[:, order],
    )


def _chart(step_us: int, parts: Buckets, names: Sequence[str]) -> dict[str, Any]:
    breaks = _breaks(step_us, parts)
    chart: dict[str, Any] = {
        "step_us": step_us,
        "time_us": np.insert(parts.start_us, breaks, parts.start_us[breaks - 1] + step_us).tolist()
        if len(breaks)
        else parts.start_us.tolist(),
    }
    for place, name in enumerate(names):
        chart[name] = _cells(parts.last[place], breaks)
        single = step_us == 0
        chart[f"{name}_min"] = chart[name] if single else _cells(parts.least[place], breaks)
        chart[f"{name}_max"] = chart[name] if single else _cells(parts.greatest[place], breaks)
    return chart


def _breaks(step_us: int, parts: Buckets) -> Ints:
    """Where an empty entry must break the line: a gap that left whole buckets empty."""
    if step_us == 0 or len(parts) < 2:
        return np.zeros(0, dtype=np.int64)
    empty_after = (np.diff(parts.start_us) > step_us) & (parts.gaps[:-1] > 0)
    return np.flatnonzero(empty_after).astype(np.int64) + 1


def _cells(values: Floats, breaks: Ints) -> list[float | None]:
    if len(breaks):
        values = np.insert(values, breaks, np.nan)
    return [None if value != value else value for value in values.tolist()]
