"""Where people's acts wait until the recorder takes them.

A file of its own beside the record: whoever writes here can never hold the lock the
recorder needs for its rows, however slow or stuck that process is.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from monitor.model import ACTS
from monitor.store.errors import StoreError

INBOX_FILE = "inbox.sqlite"
_Result = TypeVar("_Result")


@dataclass(frozen=True, slots=True)
class Act:
    """One act as it was left: number in SI, NaN where the act has none."""

    id: int
    wall_us: int
    act: str
    number: float
    text: str
    who: str


class Inbox:
    """Acts from the screens: ``Inbox(data_dir)``; made when it is not there.

    Safe to share between threads. A connection lasts one call: acts are rare.
    """

    def __init__(self, path: Path) -> None:
        self.path = path if path.suffix == ".sqlite" else path / INBOX_FILE
        self._guard = threading.Lock()
        self._closed = False
        self._call(_lay_out)

    def put(
        self, act: str, *, number: float = float("nan"), text: str = "", who: str, wall_us: int
    ) -> int:
        """Leave one act (a name in ``model.ACTS``, number in SI) and return its id.

        Taken once ``Reader.status()["inbox_taken"]`` has reached the id.
        """
        if act not in ACTS:
            raise StoreError(f"unknown act {act!r}: one of {', '.join(ACTS)} is expected")

        def insert(connection: sqlite3.Connection) -> int:
            found = connection.execute(
                "INSERT INTO inbox (wall_us, act, number, text, who) VALUES (?, ?, ?, ?, ?)",
                (wall_us, act, number, text, who),
            )
            return int(found.lastrowid or 0)

        return self._call(insert)

    def after(self, last_id: int, limit: int = 100) -> list[Act]:
        """Acts left after the one with ``last_id``, oldest first.

        Never waits: while somebody is writing there is nothing to take yet.
        """

        def select(connection: sqlite3.Connection) -> list[Act]:
            found = connection.execute(
                "SELECT id, wall_us, act, number, text, who FROM inbox WHERE id > ? "
                "ORDER BY id LIMIT ?",
                (last_id, limit),
            )
            return [
                Act(id_, wall_us, act, float("nan") if number is None else number, text, who)
                for id_, wall_us, act, number, text, who in found
            ]

        try:
            return self._call(select, wait_s=0.0)
        except StoreError as error:
            if getattr(error.__cause__, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY:
                return []
            raise

    def close(self) -> None:
        """Later use is an error; closing twice is fine."""
        self._closed = True

    def _call(self, task: Callable[[sqlite3.Connection], _Result], wait_s: float = 2.0) -> _Result:
        if self._closed:
            raise StoreError(f"{self.path}: this inbox was closed")
        try:
            with (
                self._guard,
                closing(
                    sqlite3.connect(self.path, isolation_level=None, timeout=wait_s)
                ) as opened,
            ):
                return task(opened)
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: an act could not be left or read: {error}") from error


def _lay_out(connection: sqlite3.Connection) -> None:
    # A rollback journal, not WAL: the file is tiny and the recorder looks only when it grew.
    connection.execute(
        "CREATE TABLE IF NOT EXISTS inbox (id INTEGER PRIMARY KEY AUTOINCREMENT, "
        "wall_us INTEGER NOT NULL, act TEXT NOT NULL, number REAL, text TEXT NOT NULL, "
        "who TEXT NOT NULL) STRICT"
    )
