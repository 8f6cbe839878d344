"""Read-only queries of the record; safe to share between threads."""

from __future__ import annotations

import json
import os
import sqlite3
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from monitor.model import (
    Alarm,
    AlarmChange,
    CalibrationAct,
    Command,
    EmptyCheck,
    Event,
    Samples,
    SpanNote,
    TripRow,
)
from monitor.store import queries, sql
from monitor.store.columns import (
    alarm_change_of,
    alarm_of,
    calibration_act_of,
    empty_check_of,
    event_of,
    finding_columns,
    trip_row_of,
)
from monitor.store.errors import StoreError
from monitor.store.rows import JournalEntry, Pulse, Rows
from monitor.store.schema import table_columns
from monitor.store.window import window

Arguments = Sequence[Any] | Mapping[str, Any]
RECORD_FILE = "record.sqlite"
_PULSE = (
    "last_seq, last_time_us, arrival_us, heartbeat_us, finished, stopped, "
    "events_revision, trip_revision, alarms_revision"
)
# Two queries, so that each is one look into the index.
_SPAN = "SELECT (SELECT min(time_us) FROM samples), (SELECT max(time_us) FROM samples)"
# The first act wins: SQLite takes who from the row of the least seq.
SEEN = (
    "SELECT text, json_array(who, time_us, min(seq)) FROM commands "
    "WHERE act = 'acknowledge' GROUP BY text"
)
_STATUS_KEYS = (
    "source", "heartbeat_us", "arrival_us", "last_seq", "last_time_us", "finished", "stopped",
    "pid", "inbox_taken", "counts", "status",
)  # fmt: skip


def record_path(path: Path) -> Path:
    """Give the record's file, from itself or the data folder it lies in."""
    return path if path.suffix == ".sqlite" else path / RECORD_FILE


class Reader:
    """Read-only view of one record, by its data folder or its file: ``Reader(data_dir)``.

    A record that does not exist yet reads as an empty one, so that the web server may start
    before the recorder. Each thread gets its own connection; every call is one short query
    that sees one state of the record.
    """

    def __init__(self, path: Path) -> None:
        self.path = record_path(path)
        self._local = threading.local()
        self._guard = threading.Lock()
        self._opened: dict[int, sqlite3.Connection] = {}
        self._closed = False

    def is_ready(self) -> bool:
        """Whether the record exists."""
        with self._query() as connection:
            return connection is not None

    def pulse(self) -> Pulse:
        """Newest seq, times and revisions: one row, no JSON, cheap enough for every 25 ms."""
        with self._query() as connection:
            if connection is None:
                return Pulse()
            found = connection.execute(f"SELECT {_PULSE} FROM recorder").fetchone()  # noqa: S608
        last_seq, last_time_us, arrival_us, heartbeat_us, finished, stopped, *revisions = found
        return Pulse(
            last_seq,
            last_time_us,
            arrival_us,
            heartbeat_us,
            bool(finished),
            bool(stopped),
            *revisions,
        )

    def last_seq(self) -> int:
        """``seq`` of the newest row or command, 0 when there is none."""
        return self.pulse().last_seq

    def results_since(self, seq: int, limit: int) -> Rows:
        """Give the oldest ``limit`` rows after ``seq``, raw and results side by side."""
        return self._rows("WHERE s.seq > ? ORDER BY s.seq LIMIT ?", (seq, limit))

    def newest(self, limit: int) -> Rows:
        """Give the newest ``limit`` rows, oldest first."""
        found = self._rows("WHERE 1 ORDER BY s.seq DESC LIMIT ?", (limit,))
        return queries.newest_first(found)

    def between(self, from_us: int, to_us: int, limit: int) -> Rows:
        """Give the oldest ``limit`` rows with ``from_us <= time_us < to_us`` (late rows included).

        In the order of time. To read a long span page by page, go on with ``results_since``.
        """
        return self._rows(
            "WHERE s.time_us >= ? AND s.time_us < ? ORDER BY s.time_us, s.seq LIMIT ?",
            (from_us, to_us, limit),
        )

    def raw_since(self, seq: int, limit: int) -> Samples:
        """Raw rows after ``seq`` just as the pipeline was given them.

        Shorter than ``limit`` where the source's set of channels changes; empty at the end.
        """
        with self._query() as connection:
            if connection is None:
                none = np.zeros(0, dtype=np.int64)
                return Samples(none, none, none.astype(np.uint16), {}, {})
            return queries.samples_since(connection, seq, limit)

    def window(
        self, from_us: int, to_us: int, columns: Sequence[str], points: int
    ) -> dict[str, Any]:
        """Chart data of ``from_us <= time < to_us``: at most about ``points`` entries.

        ``step_us`` is 0 when ``time_us`` are single rows, else the width of absolute buckets
        (stamped with their start, whole buckets, so the first may begin before ``from_us``).
        For each column ``C``: ``C`` (last value), ``C_min`` and ``C_max``, lists with None
        where missing; with single rows the three are one list. An entry of None after a gap
        breaks the line. Late rows are left out. A spike of a single row is in ``C_min`` or
        ``C_max`` at any width.
        """
        with self._query() as connection:
            if connection is None:
                empty: dict[str, list[float]] = {
                    f"{name}{end}": [] for name in columns for end in ("", "_min", "_max")
                }
                return {"step_us": 0, "time_us": [], **empty}
            return window(connection, from_us, to_us, columns, points)

    def events(self, limit: int = 50, since_us: int | None = None) -> list[Event]:
        """Newest events first; ``since_us`` keeps those raised or still open since then.

        Who has seen one comes from the acts: the first ``acknowledge`` that names it.
        """
        text = sql.select(
            "events",
            finding_columns(Event),
            "WHERE :since IS NULL OR raised_us >= :since OR end_us IS NULL OR end_us >= :since "
            "ORDER BY raised_us DESC, seq DESC LIMIT :limit",
        )
        with self._query() as connection:
            if connection is None:
                return []
            found = connection.execute(text, {"since": since_us, "limit": limit}).fetchall()
            seen = dict(connection.execute(SEEN).fetchall())
        return [with_seen(event_of(cells), seen) for cells in found]

    def alarms(self, limit: int = 50) -> list[Alarm]:
        """Newest alarms first; those still present are never left out."""
        present = "('unacknowledged', 'acknowledged', 'returned', "
        present += "'latched_unacknowledged', 'latched_acknowledged')"
        text = sql.select(
            "alarms",
            finding_columns(Alarm),
            f"ORDER BY state IN {present} DESC, raised_us DESC, seq DESC LIMIT ?",
        )
        found = [alarm_of(cells) for cells in self._all(text, (limit,))]
        return sorted(found, key=lambda alarm: (alarm.raised_us, alarm.seq), reverse=True)

    def alarm_journal(self, limit: int = 100) -> list[AlarmChange]:
        """Newest changes of the alarms' states first."""
        text = sql.select(
            "alarm_journal", finding_columns(AlarmChange), "ORDER BY seq DESC, rowid DESC LIMIT ?"
        )
        return [alarm_change_of(cells) for cells in self._all(text, (limit,))]

    def trip_rows(self) -> list[TripRow]:
        """All stands in order."""
        text = sql.select("trip_rows", finding_columns(TripRow), "ORDER BY stand")
        return [trip_row_of(cells) for cells in self._all(text, ())]

    def calibrations(self) -> list[CalibrationAct]:
        """Acts on the calibrations that were taken, oldest first; see `calibration_at`."""
        text = sql.select(
            "calibrations", finding_columns(CalibrationAct), "ORDER BY seq LIMIT 10000"
        )
        with self._query() as connection:
            if connection is None or "seq" not in table_columns(connection, "calibrations"):
                return []  # a record made before there were any
            return [calibration_act_of(cells) for cells in connection.execute(text)]

    def empty_checks(self, limit: int = 2000) -> list[EmptyCheck]:
        """Newest weighings of the empty block, oldest first."""
        text = sql.select(
            "empty_checks", finding_columns(EmptyCheck), "ORDER BY seq DESC, direction LIMIT ?"
        )
        with self._query() as connection:
            if connection is None or "seq" not in table_columns(connection, "empty_checks"):
                return []  # a record made before they were kept
            found = connection.execute(text, (limit,)).fetchall()
        return [empty_check_of(cells) for cells in reversed(found)]

    def commands(self, since_seq: int = 0) -> list[Command]:
        """Acts after ``since_seq`` as the pipeline got them."""
        with self._query() as connection:
            return [] if connection is None else queries.commands_since(connection, since_seq)

    def status(self) -> dict[str, Any]:
        """``Pipeline.status()`` plus what the recorder knows.

        Added keys: ``source`` (spec), ``counts`` (of the source: samples, rejected by reason,
        notes), ``heartbeat_us``, ``arrival_us``, ``last_seq``, ``last_time_us``, ``finished``,
        ``stopped``, ``recorder_pid``, ``inbox_taken`` (id of the last act taken from the
        inbox). Empty when there is no record yet.
        """
        found = self._all(sql.select("recorder", _STATUS_KEYS), ())
        if not found:
            return {}
        cells = dict(zip(_STATUS_KEYS, found[0], strict=True))
        status: dict[str, Any] = json.loads(cells.pop("status") or "{}")
        counts = json.loads(cells.pop("counts") or "{}")
        cells["recorder_pid"] = cells.pop("pid")
        cells["finished"], cells["stopped"] = bool(cells["finished"]), bool(cells["stopped"])
        return {**status, **cells, "counts": counts}

    def journal(self, limit: int = 100) -> list[JournalEntry]:
        """Newest entries first."""
        text = (
            "SELECT id, time_us, seq, who, what, before, after FROM journal "
            "ORDER BY id DESC LIMIT ?"
        )
        return [JournalEntry(*cells) for cells in self._all(text, (limit,))]

    def notes(self, from_us: int | None = None, to_us: int | None = None) -> list[SpanNote]:
        """Notes that touch ``from_us <= time < to_us``, in order of the time they are of."""
        text = (
            "SELECT seq, from_us, to_us, text, who, wall_us FROM notes "
            "WHERE (:start IS NULL OR coalesce(to_us, from_us) >= :start) "
            "AND (:stop IS NULL OR from_us < :stop) ORDER BY from_us, seq"
        )
        with self._query() as connection:
            # A record of an older version has no such table until a recorder takes it up.
            if connection is None or not queries.has_table(connection, "notes"):
                return []
            found = connection.execute(text, {"start": from_us, "stop": to_us}).fetchall()
        return [SpanNote(*cells) for cells in found]

    def rig_text(self) -> str:
        """Text of the rig file in force, empty when there is no record yet."""
        found = self._all("SELECT rig_text FROM settings ORDER BY id DESC LIMIT 1", ())
        return str(found[0][0]) if found else ""

    def span_us(self) -> tuple[int, int] | None:
        """First and last data time of the record, None when it has no rows."""
        found = self._all(_SPAN, ())
        return None if not found or found[0][0] is None else (found[0][0], found[0][1])

    def close(self) -> None:
        """Close every connection; later use is an error, closing twice is fine."""
        with self._guard:
            self._closed = True
            for connection in self._opened.values():
                connection.close()
            self._opened.clear()

    def _rows(self, rest: str, arguments: Sequence[Any]) -> Rows:
        with self._query() as connection:
            if connection is None:
                return Rows(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), {})
            return queries.rows(connection, rest, arguments)

    def _all(self, text: str, arguments: Arguments) -> list[tuple[Any, ...]]:
        with self._query() as connection:
            return [] if connection is None else connection.execute(text, arguments).fetchall()

    @contextmanager
    def _query(self) -> Iterator[sqlite3.Connection | None]:
        """One read transaction; None while there is no record."""
        connection = self._connection()
        if connection is None:
            yield None
            return
        try:
            connection.execute("BEGIN")
            yield connection
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: cannot be read: {error}") from error
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")

    def _connection(self) -> sqlite3.Connection | None:
        if self._closed:
            raise StoreError(f"{self.path}: this reader was closed")
        held: sqlite3.Connection | None = getattr(self._local, "connection", None)
        if held is None and self.path.is_file():
            held = _open_read_only(self.path)
            if held is not None:
                self._keep(held)
        return held

    def _keep(self, connection: sqlite3.Connection) -> None:
        self._local.connection = connection
        alive = {thread.ident for thread in threading.enumerate()}
        with self._guard:
            gone = [ident for ident in self._opened if ident not in alive]
            for ident in (*gone, threading.get_ident()):
                ended = self._opened.pop(ident, None)
                if ended is not None:
                    ended.close()
            self._opened[threading.get_ident()] = connection


def calibration_at(acts: Sequence[CalibrationAct], seq: int) -> int:
    """Version that made the result row ``seq``; 0 is the rig file's."""
    return next((act.in_force for act in reversed(acts) if act.seq <= seq), 0)


def with_seen(event: Event, seen: Mapping[str, str]) -> Event:
    """Give the event with who has seen it, where an act says so."""
    if event.acknowledged_by or event.id not in seen:
        return event
    who, time_us, _seq = json.loads(seen[event.id])
    return replace(event, acknowledged_by=who, acknowledged_us=time_us)


def _open_read_only(path: Path) -> sqlite3.Connection | None:
    """Connect, or give None while the recorder is still laying out the tables."""
    # A finished record on a medium nobody can write has no log that could be read.
    is_frozen = not os.access(path.parent, os.W_OK) and not _log_of(path).exists()
    connection = _connect(path, "mode=ro&immutable=1" if is_frozen else "mode=ro")
    try:
        found = connection.execute(
            "SELECT count(*) FROM sqlite_master "
            "WHERE name IN ('recorder', 'migrations', 'alarm_journal')"
        ).fetchone()
    except sqlite3.DatabaseError as error:
        connection.close()
        raise StoreError(f"{path}: cannot be read as a record: {error}") from error
    if found[0] == 3:
        return connection
    connection.close()
    return None


def _log_of(path: Path) -> Path:
    return path.with_name(f"{path.name}-wal")


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?{mode}",
        uri=True,
        isolation_level=None,
        check_same_thread=False,
        timeout=2.0,
    )
    connection.execute("PRAGMA query_only = ON")
    return connection
