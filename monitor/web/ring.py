"""The newest rows, numbered, so that every browser can be given exactly what it lacks."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

Row = list[Any]  # seq, time_us, then the live columns


@dataclass(frozen=True, slots=True)
class Batch:
    """Rows that follow ``after``; a browser whose last number differs has a hole."""

    after: int
    rows: Sequence[Row]


class Ring:
    """Rows in order of ``seq``.

    Numbers may skip (acts share the counter), so each batch bears the number of the row
    before it.
    """

    def __init__(self, capacity: int) -> None:
        self.capacity = capacity
        self.floor = 0  # everything after this number, up to ``last``, is held
        self._seqs: list[int] = []
        self._rows: list[Row] = []

    def __len__(self) -> int:
        return len(self._seqs)

    @property
    def last(self) -> int:
        """Number of the newest row, or the floor when nothing is held."""
        return self._seqs[-1] if self._seqs else self.floor

    @property
    def newest(self) -> Row | None:
        """The newest row."""
        return self._rows[-1] if self._rows else None

    def start_at(self, floor: int) -> None:
        """Forget everything; the next rows follow ``floor``."""
        self.floor = floor
        self._seqs, self._rows = [], []

    def extend(self, rows: Sequence[Row]) -> None:
        """Add rows in order; the oldest are dropped in lumps, which keeps adding cheap."""
        for row in rows:
            if row[0] > self.last:
                self._seqs.append(row[0])
                self._rows.append(row)
        surplus = len(self._seqs) - self.capacity
        if surplus > self.capacity // 4:
            self.floor = self._seqs[surplus - 1]
            del self._seqs[:surplus]
            del self._rows[:surplus]

    def after(self, seq: int, limit: int) -> Batch | None:
        """Give the oldest ``limit`` rows after ``seq``; None when they are no longer held."""
        if seq < self.floor or seq > self.last:
            return None
        at = bisect_right(self._seqs, seq)
        return Batch(seq, self._rows[at : at + limit])
