"""Queries for looking at one moment of a record, however long it is: each a look into an index."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence

import numpy as np

from monitor.model import Event, Quality, TripRow
from monitor.store import queries, sql
from monitor.store.columns import event_of, finding_columns, trip_row_of
from monitor.store.reader import SEEN, Reader, with_seen
from monitor.store.rows import Rows

_LATE = int(Quality.LATE)
_AT = (
    "SELECT seq FROM samples WHERE time_us <= ? AND (row & ?) = 0 "
    "ORDER BY time_us DESC, seq DESC LIMIT 1"
)
_ENDS = "SELECT seq FROM samples WHERE time_us >= ? AND time_us < ? ORDER BY time_us"
_STEPS = {
    1: "SELECT time_us FROM samples WHERE time_us > ? AND (row & ?) = 0 "
    "ORDER BY time_us, seq LIMIT 1",
    -1: "SELECT time_us FROM samples WHERE time_us < ? AND (row & ?) = 0 "
    "ORDER BY time_us DESC, seq DESC LIMIT 1",
}
_JUMPS = {
    ("event", 1): "SELECT min(start_us) FROM events WHERE start_us > ?",
    ("event", -1): "SELECT max(start_us) FROM events WHERE start_us < ?",
    ("stand", 1): "SELECT min(out_of_slips_us) FROM trip_rows "
    "WHERE out_of_slips_us > ? AND NOT coalesce(void, 0)",
    ("stand", -1): "SELECT max(out_of_slips_us) FROM trip_rows "
    "WHERE out_of_slips_us < ? AND NOT coalesce(void, 0)",
}
JUMPS = ("event", "stand")
MOST_FRAMES = 200


class Moments(Reader):
    """A record asked for moments; everything is read as it was stored, nothing made anew."""

    def frames(self, times_us: Sequence[int]) -> Rows:
        """Give the row that was newest at each of these moments, each row once; no late rows."""
        with self._query() as connection:
            if connection is None:
                return _no_rows()
            found: set[int] = set()
            for time_us in times_us[:MOST_FRAMES]:
                cells = connection.execute(_AT, (time_us, _LATE)).fetchone()
                if cells is not None:
                    found.add(int(cells[0]))
            marks = ", ".join("?" * len(found))
            rest = f"WHERE s.seq IN ({marks}) ORDER BY s.time_us, s.seq"
            return queries.rows(connection, rest, sorted(found))

    def row_at(self, time_us: int) -> Rows:
        """Give the one row that was newest at this moment; none before the record begins."""
        return self.frames([time_us])

    def rows_between(self, from_us: int, to_us: int) -> int:
        """About how many rows lie in ``from_us <= time < to_us``, without counting them."""
        ends = [
            self._time(f"{_ENDS} {order} LIMIT 1", (from_us, to_us)) for order in ("ASC", "DESC")
        ]
        return 0 if ends[0] is None or ends[1] is None else abs(ends[1] - ends[0]) + 1

    def step_from(self, time_us: int, direction: int) -> int | None:
        """Time of the next row (1) or the one before (-1)."""
        return self._time(_STEPS[direction], (time_us, _LATE))

    def jump_from(self, time_us: int, what: str, direction: int) -> int | None:
        """Start of the next (1) or the previous (-1) event or stand."""
        return self._time(_JUMPS[what, direction], (time_us,))

    def events_touching(self, from_us: int, to_us: int, limit: int) -> list[Event]:
        """Newest events first that were open at any time of the span."""
        text = sql.select(
            "events",
            finding_columns(Event),
            "WHERE start_us < ? AND (end_us IS NULL OR end_us >= ?) "
            "ORDER BY start_us DESC, seq DESC LIMIT ?",
        )
        return self._events(text, (to_us, from_us, limit))

    def events_known_at(self, time_us: int, limit: int) -> list[Event]:
        """Newest events first of those raised by this moment."""
        text = sql.select(
            "events",
            finding_columns(Event),
            "WHERE raised_us <= ? ORDER BY raised_us DESC, seq DESC LIMIT ?",
        )
        return self._events(text, (time_us, limit))

    def events_open_at(self, time_us: int, limit: int) -> list[Event]:
        """Events that went on at this moment, by what is known now."""
        text = sql.select(
            "events",
            finding_columns(Event),
            "WHERE start_us <= ? AND (end_us IS NULL OR end_us >= ?) "
            "ORDER BY start_us DESC LIMIT ?",
        )
        return self._events(text, (time_us, time_us, limit))

    def events_of(self, kind: str, from_us: int, to_us: int, limit: int) -> list[Event]:
        """Oldest first, events of one kind that begin in the span."""
        text = sql.select(
            "events",
            finding_columns(Event),
            "WHERE kind = ? AND start_us >= ? AND start_us < ? ORDER BY start_us LIMIT ?",
        )
        return self._events(text, (kind, from_us, to_us, limit))

    def stands_touching(self, from_us: int, to_us: int, limit: int) -> list[TripRow]:
        """Stands in order that were out of slips at any time of the span."""
        text = sql.select(
            "trip_rows",
            finding_columns(TripRow),
            "WHERE NOT coalesce(void, 0) AND out_of_slips_us < ? "
            "AND (in_slips_us IS NULL OR in_slips_us >= ?) ORDER BY stand LIMIT ?",
        )
        return [trip_row_of(cells) for cells in self._all(text, (to_us, from_us, limit))]

    def stand_begun_by(self, time_us: int) -> TripRow | None:
        """Give the newest stand that had begun at this moment."""
        text = sql.select(
            "trip_rows",
            finding_columns(TripRow),
            "WHERE NOT coalesce(void, 0) AND out_of_slips_us <= ? "
            "ORDER BY out_of_slips_us DESC LIMIT 1",
        )
        found = self._all(text, (time_us,))
        return trip_row_of(found[0]) if found else None

    def _time(self, text: str, arguments: Sequence[int]) -> int | None:
        found = self._all(text, arguments)
        return None if not found or found[0][0] is None else int(found[0][0])

    def _events(self, text: str, arguments: Sequence[object]) -> list[Event]:
        with self._query() as connection:
            if connection is None:
                return []
            found = connection.execute(text, arguments).fetchall()
            seen = _seen(connection, bool(found))
        return [with_seen(event_of(cells), seen) for cells in found]


def _seen(connection: sqlite3.Connection, is_asked: bool) -> dict[str, str]:
    return dict(connection.execute(SEEN).fetchall()) if is_asked else {}


def _no_rows() -> Rows:
    return Rows(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), {})
