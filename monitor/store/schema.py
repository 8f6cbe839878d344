"""The record's tables and how older records are brought up to date."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

from monitor.model import Alarm, AlarmChange, CalibrationAct, EmptyCheck, Event, TripRow
from monitor.store import columns, sql
from monitor.store.errors import StoreError

LEVELS: Mapping[str, int] = {"rollup_10s": 10_000_000, "rollup_10min": 600_000_000}

_BUCKET_KEYS = (
    "first_seq INTEGER PRIMARY KEY, start_us INTEGER NOT NULL, last_seq INTEGER NOT NULL, "
    "n INTEGER NOT NULL, gaps INTEGER NOT NULL"
)


@contextmanager
def atomic(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that takes the write lock at once; undone whole when anything fails."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _rows_and_results(connection: sqlite3.Connection) -> None:
    connection.execute(
        sql.create(
            "samples",
            "seq INTEGER PRIMARY KEY, time_us INTEGER NOT NULL, row INTEGER NOT NULL",
            columns.sample_columns(),
        )
    )
    connection.execute("CREATE INDEX samples_by_time ON samples (time_us)")
    connection.execute(sql.create("results", "seq INTEGER PRIMARY KEY", columns.result_columns()))
    connection.execute("CREATE TABLE channels (name TEXT PRIMARY KEY) STRICT")
    for level in LEVELS:
        connection.execute(sql.create(level, _BUCKET_KEYS, columns.rollup_columns()))
        connection.execute(f"CREATE INDEX {level}_by_time ON {level} (start_us)")


def _findings(connection: sqlite3.Connection) -> None:
    connection.execute(sql.create("events", "id TEXT PRIMARY KEY", columns.finding_columns(Event)))
    connection.execute("CREATE INDEX events_by_time ON events (raised_us)")
    stands = columns.finding_columns(TripRow)
    stands.pop("stand")
    connection.execute(sql.create("trip_rows", "stand INTEGER PRIMARY KEY", stands))


def _acts_and_state(connection: sqlite3.Connection) -> None:
    connection.execute(
        "CREATE TABLE commands (seq INTEGER PRIMARY KEY, time_us INTEGER NOT NULL, "
        "act TEXT NOT NULL, number REAL, text TEXT NOT NULL, who TEXT NOT NULL, "
        "inbox_id INTEGER, wall_us INTEGER) STRICT"
    )
    connection.execute(
        "CREATE TABLE journal (id INTEGER PRIMARY KEY, time_us INTEGER NOT NULL, "
        "seq INTEGER NOT NULL, who TEXT NOT NULL, what TEXT NOT NULL, before TEXT NOT NULL, "
        "after TEXT NOT NULL) STRICT"
    )
    connection.execute(
        "CREATE TABLE settings (id INTEGER PRIMARY KEY, time_us INTEGER NOT NULL, "
        "source TEXT NOT NULL, rig_text TEXT NOT NULL, bit_depth_m REAL) STRICT"
    )
    connection.execute(
        "CREATE TABLE snapshot (id INTEGER PRIMARY KEY CHECK (id = 1), seq INTEGER NOT NULL, "
        "state TEXT NOT NULL) STRICT"
    )
    connection.execute(
        "CREATE TABLE recorder (id INTEGER PRIMARY KEY CHECK (id = 1), pid INTEGER, "
        "source TEXT NOT NULL DEFAULT '', cursor TEXT, counts TEXT, status TEXT, "
        "last_seq INTEGER NOT NULL DEFAULT 0, last_time_us INTEGER, arrival_us INTEGER, "
        "heartbeat_us INTEGER, inbox_taken INTEGER NOT NULL DEFAULT 0, "
        "finished INTEGER NOT NULL DEFAULT 0, stopped INTEGER NOT NULL DEFAULT 0, "
        "events_revision INTEGER NOT NULL DEFAULT 0, "
        "trip_revision INTEGER NOT NULL DEFAULT 0) STRICT"
    )
    connection.execute("INSERT INTO recorder (id) VALUES (1)")


def _calibrations(connection: sqlite3.Connection) -> None:
    acts = columns.finding_columns(CalibrationAct)
    acts.pop("seq")
    connection.execute(sql.create("calibrations", "seq INTEGER PRIMARY KEY", acts))


def _empty_checks(connection: sqlite3.Connection) -> None:
    connection.execute(
        sql.create("empty_checks", "id TEXT PRIMARY KEY", columns.finding_columns(EmptyCheck))
    )
    connection.execute("CREATE INDEX empty_checks_by_time ON empty_checks (time_us)")


def _notes(connection: sqlite3.Connection) -> None:
    connection.execute(
        "CREATE TABLE notes (seq INTEGER PRIMARY KEY, from_us INTEGER NOT NULL, "
        "to_us INTEGER, text TEXT NOT NULL, who TEXT NOT NULL, wall_us INTEGER) STRICT"
    )
    connection.execute("CREATE INDEX notes_by_time ON notes (from_us)")


def _alarms(connection: sqlite3.Connection) -> None:
    for table, kind in (("alarms", Alarm), ("alarm_journal", AlarmChange)):
        connection.execute(sql.create(table, "id TEXT PRIMARY KEY", columns.finding_columns(kind)))
    connection.execute("CREATE INDEX alarms_by_time ON alarms (raised_us)")
    connection.execute("CREATE INDEX alarm_journal_by_seq ON alarm_journal (seq)")
    connection.execute(
        "ALTER TABLE recorder ADD COLUMN alarms_revision INTEGER NOT NULL DEFAULT 0"
    )


# Never edit one that a released version has run; add another.
MIGRATIONS: tuple[tuple[str, Callable[[sqlite3.Connection], None]], ...] = (
    ("rows and results", _rows_and_results),
    ("findings", _findings),
    ("acts and state", _acts_and_state),
    ("calibrations", _calibrations),
    ("empty checks", _empty_checks),
    ("notes", _notes),
    ("alarms", _alarms),
)


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the tables up to date; each step is one transaction with the row that records it."""
    with atomic(connection):
        connection.execute(
            "CREATE TABLE IF NOT EXISTS migrations (name TEXT PRIMARY KEY, "
            "done_at TEXT NOT NULL DEFAULT (datetime('now'))) STRICT"
        )
    done = {name for (name,) in connection.execute("SELECT name FROM migrations")}
    unknown = sorted(done - {name for name, _ in MIGRATIONS} - set(_added(done)))
    if unknown:
        raise StoreError(
            f"this record was written by a newer version of the program ({unknown[0]}); "
            "use that version, or record into another folder with --data"
        )
    for name, step in MIGRATIONS:
        if name not in done:
            with atomic(connection):
                step(connection)
                connection.execute("INSERT INTO migrations (name) VALUES (?)", (name,))
    _add_missing_columns(connection)


def _added(done: set[str]) -> list[str]:
    return [name for name in done if name.startswith("column ")]


def _wide_tables() -> dict[str, dict[str, str]]:
    return {
        "samples": columns.sample_columns(),
        "results": columns.result_columns(),
        "events": columns.finding_columns(Event),
        "trip_rows": columns.finding_columns(TripRow),
        "alarms": columns.finding_columns(Alarm),
        "alarm_journal": columns.finding_columns(AlarmChange),
        **dict.fromkeys(LEVELS, columns.rollup_columns()),
    }


def _add_missing_columns(connection: sqlite3.Connection) -> None:
    """Add what the model has gained since this record was made: a channel, a result, a field."""
    for table, wanted in _wide_tables().items():
        present = table_columns(connection, table)
        for name, kind in wanted.items():
            if name not in present:
                with atomic(connection):
                    connection.execute(f'ALTER TABLE "{table}" ADD COLUMN "{name}" {kind}')
                    connection.execute(
                        "INSERT INTO migrations (name) VALUES (?)", (f"column {table}.{name}",)
                    )


def table_columns(connection: sqlite3.Connection, table: str) -> set[str]:
    """Names of the columns a table of this record has."""
    found = connection.execute("SELECT name FROM pragma_table_info(?)", (table,))
    return {name for (name,) in found}
