from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from monitor.store import schema
from monitor.store.columns import result_columns, sample_columns
from monitor.store.entry import Entry
from monitor.store.errors import StoreError
from monitor.store.reader import Reader
from monitor.store.writer import Writer
from tests.store.invented import START_us, results, rows


def connected(path):
    return closing(sqlite3.connect(path, isolation_level=None))


def test_every_step_is_recorded_and_done_once(tmp_path):
    with connected(tmp_path / "a.sqlite") as connection:
        schema.migrate(connection)
        first = connection.execute("SELECT * FROM migrations ORDER BY name").fetchall()
        schema.migrate(connection)
        assert connection.execute("SELECT * FROM migrations ORDER BY name").fetchall() == first
    assert {name for name, _ in first} == {name for name, _ in schema.MIGRATIONS}


def test_a_step_that_fails_half_way_leaves_nothing(tmp_path, monkeypatch):
    def broken(connection: sqlite3.Connection) -> None:
        connection.execute("CREATE TABLE half (a INTEGER) STRICT")
        connection.execute("CREATE TABLE half (a INTEGER) STRICT")

    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, ("broken", broken)))
    with connected(tmp_path / "a.sqlite") as connection:
        with pytest.raises(sqlite3.OperationalError, match="already exists"):
            schema.migrate(connection)
        tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
        done = {name for (name,) in connection.execute("SELECT name FROM migrations")}
    assert "half" not in tables
    assert "broken" not in done
    assert "samples" in tables


def test_a_record_of_a_newer_version_is_refused(tmp_path):
    Writer(tmp_path).close()
    with connected(tmp_path / "record.sqlite") as connection:
        connection.execute("INSERT INTO migrations (name) VALUES ('from the future')")
    with pytest.raises(StoreError, match=r"record\.sqlite: .*newer version.*from the future"):
        Writer(tmp_path)


def test_a_record_from_before_a_channel_and_a_result_were_added_gains_their_columns(tmp_path):
    Writer(tmp_path).close()
    with connected(tmp_path / "record.sqlite") as connection:
        connection.execute('ALTER TABLE samples DROP COLUMN "torque_Nm"')
        connection.execute('ALTER TABLE results DROP COLUMN "tare_N"')
        connection.execute('ALTER TABLE rollup_10s DROP COLUMN "tare_N_max"')
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        writer.append(Entry(START_us, [(rows(5), results(rows(5)))]))
        assert len(reader.results_since(0, 10)) == 5
    with connected(tmp_path / "record.sqlite") as connection:
        assert set(sample_columns()) <= schema.table_columns(connection, "samples")
        assert set(result_columns()) <= schema.table_columns(connection, "results")
        noted = connection.execute("SELECT count(*) FROM migrations WHERE name LIKE 'column %'")
        assert noted.fetchone() == (3,)


def test_tables_are_strict_and_values_nullable(tmp_path):
    with connected(tmp_path / "a.sqlite") as connection:
        schema.migrate(connection)
        tables = connection.execute("SELECT name, strict FROM pragma_table_list")
        strict = {name: is_strict for name, is_strict in tables if not name.startswith("sqlite")}
        not_null = connection.execute(
            "SELECT name FROM pragma_table_info('results') WHERE \"notnull\""
        ).fetchall()
    assert set(strict.values()) == {1}
    assert not_null == []
