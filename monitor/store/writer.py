"""The only way rows, results and findings get into the record."""

from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from monitor.model import (
    CHANNELS,
    RESULT_COLUMNS,
    Alarm,
    AlarmChange,
    CalibrationAct,
    Command,
    EmptyCheck,
    Event,
    Output,
    Quality,
    Samples,
    TripRow,
)
from monitor.notes import note_of
from monitor.store import queries, schema, sql
from monitor.store.buckets import Buckets, OpenBucket, single_rows
from monitor.store.columns import (
    PUBLIC_NAMES,
    ROLLUP_COLUMNS,
    finding_cells,
    finding_columns,
    quality_column,
    stored_columns,
)
from monitor.store.entry import Entry, Note, Resumed, Settings, Taken
from monitor.store.errors import StoreError
from monitor.store.lock import RecordLock
from monitor.store.reader import record_path

LOCK_FILE = "record.lock"
_PLACE = {name: place for place, name in enumerate(ROLLUP_COLUMNS)}
_BUCKET_COLUMNS = ("start_us", "first_seq", "last_seq", "n", "gaps")


class Writer:
    """Opens (or makes) the record in ``path``, holds its lock, and writes in transactions.

    For one thread at a time.
    """

    def __init__(self, path: Path) -> None:
        self.path = record_path(path)
        self._closed = False
        folder = self.path.parent
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._lock = RecordLock(folder / LOCK_FILE)
        except OSError as error:
            raise StoreError(
                f"{folder}: cannot write the record here ({error.strerror}); "
                "make the folder writable, or choose another with --data"
            ) from error
        try:
            self._connection = sqlite3.connect(
                self.path, isolation_level=None, timeout=5.0, check_same_thread=False
            )
            self._connection.execute("PRAGMA journal_mode = WAL")
            self.set_durable(True)
            schema.migrate(self._connection)
            self._channels = set(queries.channels_of(self._connection))
            self._ten_seconds, self._ten_minutes = self._open_buckets()
        except sqlite3.Error as error:
            self._lock.close()
            raise StoreError(f"{self.path}: cannot be opened for recording: {error}") from error
        except StoreError as error:
            self._lock.close()
            raise StoreError(f"{self.path}: {error}") from None

    def set_durable(self, durable: bool) -> None:
        """Whether a commit waits for the disk (FULL) or leaves that to a later one (NORMAL)."""
        self._connection.execute(f"PRAGMA synchronous = {'FULL' if durable else 'NORMAL'}")

    def resumed(self) -> Resumed:
        """Read what the last recorder left behind."""
        cells = self._connection.execute(
            "SELECT last_seq, last_time_us, inbox_taken, cursor, stopped FROM recorder"
        ).fetchone()
        settings = self._connection.execute(
            "SELECT source, rig_text, bit_depth_m FROM settings ORDER BY id DESC LIMIT 1"
        ).fetchone()
        first = self._connection.execute(
            "SELECT bit_depth_m FROM settings ORDER BY id LIMIT 1"
        ).fetchone()
        snapshot = self._connection.execute("SELECT seq, state FROM snapshot").fetchone()
        return Resumed(
            last_seq=cells[0],
            last_time_us=cells[1],
            inbox_taken=cells[2],
            settings=Settings(*settings) if settings else None,
            cursor=json.loads(cells[3]) if cells[3] else None,
            snapshot_seq=snapshot[0] if snapshot else 0,
            snapshot=json.loads(snapshot[1]) if snapshot else None,
            stopped=bool(cells[4]),
            first_bit_depth_m=first[0] if first else None,
        )

    def start(self, settings: Settings, wall_us: int) -> None:
        """Note who records what with which rig from here on; a change of it is a new row."""
        with schema.atomic(self._connection):
            self._connection.execute(
                "UPDATE recorder SET pid = ?, source = ?, finished = 0, stopped = 0, "
                "heartbeat_us = ?",
                (os.getpid(), settings.source, wall_us),
            )
            if self.resumed().settings != settings:
                self._connection.execute(
                    "INSERT INTO settings (time_us, source, rig_text, bit_depth_m) "
                    "VALUES (?, ?, ?, ?)",
                    (wall_us, settings.source, settings.rig_text, settings.bit_depth_m),
                )

    def history(self, after_seq: int) -> Iterator[tuple[Samples, list[Command]]]:
        """Rows and commands after ``after_seq`` in pieces, as a pipeline takes them."""
        return queries.history(self._connection, after_seq)

    def event_ids(self) -> set[str]:
        """Ids of the events in the record."""
        return {id_ for (id_,) in self._connection.execute("SELECT id FROM events")}

    def append(self, entry: Entry) -> float:
        """Write one transaction; return the seconds its COMMIT took."""
        if self._closed:
            raise StoreError(f"{self.path}: this writer was closed")
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                self._write(entry)
                begun = time.perf_counter()
                self._connection.execute("COMMIT")
                return time.perf_counter() - begun
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                # What rolled back is no longer in the open buckets' carry: read it again.
                self._ten_seconds, self._ten_minutes = self._open_buckets()
                raise
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: cannot be written: {error}") from error

    def replace_findings(
        self,
        events: Iterable[Event],
        trip_rows: Iterable[TripRow],
        note: Note,
        alarms: Iterable[Alarm] = (),
        changes: Iterable[AlarmChange] = (),
    ) -> None:
        """Put the findings of a rebuild in place of the old ones; results stay as seen."""
        with schema.atomic(self._connection):
            self._connection.execute("DELETE FROM events")
            self._connection.execute("DELETE FROM trip_rows")
            self._connection.execute("DELETE FROM alarms")
            self._connection.execute("DELETE FROM alarm_journal")
            self._write_events(events)
            self._write_trip_rows(trip_rows)
            self._write_alarms(alarms, changes)
            self._connection.execute(
                "UPDATE recorder SET events_revision = events_revision + 1, "
                "trip_revision = trip_revision + 1, alarms_revision = alarms_revision + 1"
            )
            self._write_notes([note])

    def close(self) -> None:
        """Close the record and let go of the lock; closing twice is fine."""
        if self._closed:
            return
        self._closed = True
        try:
            # Into the main file, also while screens still read: so it can be copied alone.
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            self._connection.close()
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: cannot be closed properly: {error}") from error
        finally:
            self._lock.close()

    def _write(self, entry: Entry) -> None:
        state: dict[str, Any] = {"heartbeat_us": entry.heartbeat_us}
        for name in ("cursor", "counts", "status"):
            value = getattr(entry, name)
            if value is not None:
                state[name] = json.dumps(value)
        for samples, output in entry.chunks:
            if len(samples):
                state["last_time_us"] = int(samples.time_us[-1])
                state["arrival_us"] = entry.arrival_us
                self._write_rows(samples, output)
            self._write_findings(output)
        self._write_commands(entry.commands)
        if entry.commands:
            state["inbox_taken"] = entry.commands[-1].inbox_id
        state["last_seq"] = self._last_seq(entry)
        state["finished"], state["stopped"] = int(entry.finished), int(entry.stopped)
        self._update(state)
        self._write_notes(entry.notes)
        if entry.snapshot is not None:
            self._connection.execute(
                "INSERT INTO snapshot (id, seq, state) VALUES (1, ?, ?) "
                "ON CONFLICT (id) DO UPDATE SET seq = excluded.seq, state = excluded.state",
                (state["last_seq"], json.dumps(entry.snapshot)),
            )

    def _last_seq(self, entry: Entry) -> int:
        newest: int = self._connection.execute("SELECT last_seq FROM recorder").fetchone()[0]
        ends = [int(samples.seq[-1]) for samples, _ in entry.chunks if len(samples)]
        return max([newest, *ends, *(taken.command.seq for taken in entry.commands)])

    def _update(self, state: Mapping[str, Any]) -> None:
        self._connection.execute(sql.update("recorder", list(state)), list(state.values()))

    def _write_rows(self, samples: Samples, output: Output) -> None:
        if not np.array_equal(output.seq, samples.seq):
            raise ValueError("samples and their results must have the same seq")
        self._note_channels(samples)
        raw: dict[str, Any] = {"seq": samples.seq, "time_us": samples.time_us, "row": samples.row}
        for name, column in samples.values.items():
            raw[CHANNELS[name].column] = column
            raw[quality_column(name)] = samples.quality[name]
        self._connection.executemany(
            sql.insert("samples", list(raw)), zip(*stored_columns(raw), strict=True)
        )
        derived: dict[str, Any] = {"seq": output.seq}
        derived.update((name, output.columns[name]) for name in RESULT_COLUMNS)
        self._connection.executemany(
            sql.insert("results", list(derived)), zip(*stored_columns(derived), strict=True)
        )
        self._roll_up(_matrix(samples, output))

    def _note_channels(self, samples: Samples) -> None:
        for name in samples.values:
            if name not in self._channels:
                self._connection.execute(
                    "INSERT OR IGNORE INTO channels (name) VALUES (?)", (name,)
                )
        self._channels.update(samples.values)

    def _open_buckets(self) -> tuple[OpenBucket, OpenBucket]:
        """Take up the open buckets where the last recorder, or a rolled back write, left them."""
        fine, coarse = (OpenBucket(step_us) for step_us in schema.LEVELS.values())
        after = "WHERE first_seq > ? ORDER BY first_seq"
        fine_name, coarse_name = schema.LEVELS
        coarse_seq = queries.last_closed_seq(self._connection, coarse_name)
        closed = queries.level_buckets(
            self._connection, fine_name, ROLLUP_COLUMNS, after, (coarse_seq,)
        )
        coarse.closed_by(closed)
        fine_seq = queries.last_closed_seq(self._connection, fine_name)
        rows = queries.row_buckets(
            self._connection, ROLLUP_COLUMNS, "WHERE s.seq > ? ORDER BY s.seq", (fine_seq,)
        )
        fine.closed_by(rows)
        return fine, coarse

    def _roll_up(self, rows: Buckets) -> None:
        fine_name, coarse_name = schema.LEVELS
        closed = self._ten_seconds.closed_by(rows)
        if len(closed):
            self._write_buckets(fine_name, closed)
            self._write_buckets(coarse_name, self._ten_minutes.closed_by(closed))

    def _write_buckets(self, level: str, closed: Buckets) -> None:
        columns: list[str] = list(_BUCKET_COLUMNS)
        cells: list[list[Any]] = [getattr(closed, name).tolist() for name in _BUCKET_COLUMNS]
        for what, matrix in (
            ("min", closed.least), ("max", closed.greatest), ("last", closed.last)
        ):  # fmt: skip
            for place, name in enumerate(ROLLUP_COLUMNS):
                if not np.isnan(matrix[place]).all():
                    columns.append(f"{name}_{what}")
                    cells.append(matrix[place].tolist())
        self._connection.executemany(sql.insert(level, columns), zip(*cells, strict=True))

    def _write_commands(self, commands: Sequence[Taken]) -> None:
        self._connection.executemany(
            "INSERT INTO commands (seq, time_us, act, number, text, who, inbox_id, wall_us) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [
                (c.seq, c.time_us, c.act, c.number, c.text, c.who, taken.inbox_id, taken.wall_us)
                for taken in commands
                for c in (taken.command,)
            ],
        )
        kept = [note_of(taken.command, taken.wall_us) for taken in commands]
        self._connection.executemany(
            "INSERT INTO notes (seq, from_us, to_us, text, who, wall_us) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            [(n.seq, n.from_us, n.to_us, n.text, n.who, n.wall_us) for n in kept if n],
        )
        if any(taken.command.act == "acknowledge" for taken in commands):
            self._connection.execute("UPDATE recorder SET events_revision = events_revision + 1")

    def _write_findings(self, output: Output) -> None:
        if output.events:
            self._write_events(output.events)
            self._connection.execute("UPDATE recorder SET events_revision = events_revision + 1")
        if output.trip_rows:
            self._write_trip_rows(output.trip_rows)
            self._connection.execute("UPDATE recorder SET trip_revision = trip_revision + 1")
        self._connection.executemany(
            sql.upsert("calibrations", "seq", list(finding_columns(CalibrationAct))),
            [finding_cells(act) for act in output.calibrations],
        )
        self._connection.executemany(
            sql.upsert("empty_checks", "id", ["id", *finding_columns(EmptyCheck)]),
            [[check.id, *finding_cells(check)] for check in output.checks],
        )

        if output.alarms or output.alarm_changes:
            self._write_alarms(output.alarms, output.alarm_changes)
            self._connection.execute("UPDATE recorder SET alarms_revision = alarms_revision + 1")

    def _write_alarms(self, alarms: Iterable[Alarm], changes: Iterable[AlarmChange]) -> None:
        for table, kind, found in (
            ("alarms", Alarm, alarms),
            ("alarm_journal", AlarmChange, changes),
        ):
            self._connection.executemany(
                sql.upsert(table, "id", ["id", *finding_columns(kind)]),
                [[each.id, *finding_cells(each)] for each in found],
            )

    def _write_events(self, events: Iterable[Event]) -> None:
        self._connection.executemany(
            sql.upsert("events", "id", ["id", *finding_columns(Event)]),
            [[event.id, *finding_cells(event)] for event in events],
        )

    def _write_trip_rows(self, trip_rows: Iterable[TripRow]) -> None:
        self._connection.executemany(
            sql.upsert("trip_rows", "stand", list(finding_columns(TripRow))),
            [finding_cells(row) for row in trip_rows],
        )

    def _write_notes(self, notes: Iterable[Note]) -> None:
        seq = self._connection.execute("SELECT last_seq FROM recorder").fetchone()[0]
        self._connection.executemany(
            "INSERT INTO journal (time_us, seq, who, what, before, after) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            [(n.time_us, seq, n.who, n.what, n.before, n.after) for n in notes],
        )


def _matrix(samples: Samples, output: Output) -> Buckets:
    """Rows as single buckets, late rows left out: raw channels first, then the results."""
    values = np.full((len(ROLLUP_COLUMNS), len(samples)), np.nan)
    for name, column in samples.values.items():
        values[_PLACE[PUBLIC_NAMES[name]]] = column
    for name in RESULT_COLUMNS:
        values[_PLACE[name]] = output.columns[name]
    values += 0.0  # the record keeps -0.0 as 0.0
    kept = (samples.row & Quality.LATE) == 0
    gap = (samples.row & Quality.GAP) != 0
    if kept.all():
        return single_rows(samples.seq, samples.time_us, gap, values)
    return single_rows(samples.seq[kept], samples.time_us[kept], gap[kept], values[:, kept])
