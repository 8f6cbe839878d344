"""Chart data of a long span, put together by the database itself.

Only closed rollup buckets are read, so the newest ten seconds (ten minutes in a span of days)
may lack: less than a pixel of such a span. Least and greatest keep every spike.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Any

from monitor.store.columns import ROLLUP_COLUMNS
from monitor.store.errors import StoreError
from monitor.store.schema import LEVELS

# What one chart may read of a level: beyond this the coarser one serves.
MOST_BUCKETS = 20_000
_FINE, _COARSE = sorted(LEVELS, key=lambda level: LEVELS[level])


def coarse_step_us(span_us: int, points: int) -> int:
    """Smallest width, in whole buckets of a level, that needs at most about ``points`` entries.

    >>> coarse_step_us(86_400_000_000, 1000), coarse_step_us(30 * 86_400_000_000, 1000)
    (90000000, 3000000000)
    """
    level_us = LEVELS[_level(span_us)]
    return max(1, -(-span_us // (level_us * max(points, 1)))) * level_us


def coarse_window(
    connection: sqlite3.Connection,
    from_us: int,
    to_us: int,
    envelopes: Sequence[str],
    last: str,
    points: int,
) -> dict[str, Any]:
    """``step_us``, ``time_us``, ``C_min`` and ``C_max`` of ``envelopes``, the values of ``last``.

    As ``Reader.window`` gives them for whole buckets that are closed; ``last`` is that of the
    newest bucket of a level within each.
    """
    unknown = [name for name in (*envelopes, last) if name not in ROLLUP_COLUMNS]
    if unknown:
        raise StoreError(f"the record has no column {unknown[0]!r}")
    step_us, level = coarse_step_us(to_us - from_us, points), _level(to_us - from_us)
    begin, end = from_us // step_us * step_us, -(-to_us // step_us) * step_us
    wanted = ", ".join(f'min("{name}_min"), max("{name}_max")' for name in envelopes)
    where = f'FROM "{level}" WHERE start_us >= ? AND start_us < ? GROUP BY 1 ORDER BY 1'
    width = (step_us, step_us, begin, end)
    cells = connection.execute(
        f"SELECT start_us / ? * ?, {wanted} {where}",
        width,
    ).fetchall()
    # With one max() SQLite takes the other columns from the row that has it.
    newest = connection.execute(
        f'SELECT start_us / ? * ?, max(first_seq), "{last}_last" {where}',
        width,
    ).fetchall()
    columns = list(zip(*cells, strict=True)) if cells else [()] * (1 + 2 * len(envelopes))
    chart: dict[str, Any] = {"step_us": step_us, "time_us": list(columns[0])}
    for place, name in enumerate(envelopes):
        chart[f"{name}_min"] = list(columns[1 + 2 * place])
        chart[f"{name}_max"] = list(columns[2 + 2 * place])
    chart[last] = [value for _, _, value in newest]
    return chart


def _level(span_us: int) -> str:
    return _FINE if span_us // LEVELS[_FINE] <= MOST_BUCKETS else _COARSE
