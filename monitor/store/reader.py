"""Read-only queries of the record; safe to share between threads."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from monitor.model import Command, Event, Samples, TripRow
from monitor.store.rows import JournalEntry, Pulse, Rows


class Reader:
    """Read-only view of one record: ``Reader(data_dir)`` or ``Reader(data_dir / "record.sqlite")``.

    A record that does not exist yet reads as an empty one, so that the web server may start
    before the recorder. Each thread gets its own connection; every call is one short query.
    """

    def __init__(self, path: Path) -> None:
        raise NotImplementedError

    def is_ready(self) -> bool:
        """Whether the record exists."""
        raise NotImplementedError

    def pulse(self) -> Pulse:
        """Newest seq, times and revisions: one row, no JSON, cheap enough for every 25 ms."""
        raise NotImplementedError

    def last_seq(self) -> int:
        """``seq`` of the newest row or command, 0 when there is none."""
        raise NotImplementedError

    def results_since(self, seq: int, limit: int) -> Rows:
        """The oldest ``limit`` rows after ``seq``, raw and results side by side."""
        raise NotImplementedError

    def newest(self, limit: int) -> Rows:
        """The newest ``limit`` rows, oldest first."""
        raise NotImplementedError

    def raw_since(self, seq: int, limit: int) -> Samples:
        """Raw rows after ``seq`` just as the pipeline was given them, channels this record has."""
        raise NotImplementedError

    def between(self, from_us: int, to_us: int, limit: int) -> Rows:
        """The oldest ``limit`` rows with ``from_us <= time_us < to_us`` (late rows included)."""
        raise NotImplementedError

    def window(
        self, from_us: int, to_us: int, columns: Sequence[str], points: int
    ) -> dict[str, Any]:
        """Chart data of a span: at most about ``points`` entries, spikes kept.

        ``step_us`` is 0 when ``time_us`` are single rows, else the width of absolute buckets
        (stamped with their start). For each column ``C``: ``C`` (last value), ``C_min`` and
        ``C_max``, lists with None where missing; with single rows the three are one list.
        An entry of None after a gap breaks the line. Late rows are left out.
        """
        raise NotImplementedError

    def events(self, limit: int = 50, since_us: int | None = None) -> list[Event]:
        """Newest events first; ``since_us`` keeps those raised or still open since then."""
        raise NotImplementedError

    def trip_rows(self) -> list[TripRow]:
        """All stands in order."""
        raise NotImplementedError

    def commands(self, since_seq: int = 0) -> list[Command]:
        """Acts after ``since_seq`` as the pipeline got them."""
        raise NotImplementedError

    def status(self) -> dict[str, Any]:
        """``Pipeline.status()`` plus what the recorder knows.

        Added keys: ``source`` (spec), ``counts`` (of the source: samples, rejected by reason,
        notes), ``heartbeat_us``, ``arrival_us``, ``last_seq``, ``last_time_us``, ``finished``,
        ``stopped``, ``recorder_pid``, ``inbox_taken`` (id of the last act taken from the
        inbox). Empty when there is no record yet.
        """
        raise NotImplementedError

    def journal(self, limit: int = 100) -> list[JournalEntry]:
        """Newest entries first."""
        raise NotImplementedError

    def rig_text(self) -> str:
        """Text of the rig file in force, empty when there is no record yet."""
        raise NotImplementedError

    def span_us(self) -> tuple[int, int] | None:
        """First and last data time of the record, None when it has no rows."""
        raise NotImplementedError

    def close(self) -> None:
        """Close every connection; later use is an error."""
        raise NotImplementedError
