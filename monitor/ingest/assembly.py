"""Puts numbered samples together from runs of rows, markers and a row held over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.ingest.rows import Rows
from monitor.model import Ints, Quality, Samples

MARKER = -1
HELD = -2


@dataclass(frozen=True, slots=True)
class HeldRow:
    """One row kept over a cut of the stream; plain numbers, so that it can be written down."""

    time_us: int
    line: int
    values: dict[str, float | None]
    quality: dict[str, int]

    @classmethod
    def of(cls, rows: Rows, index: int) -> HeldRow:
        """Row ``index`` of some rows."""
        cells = {name: float(column[index]) for name, column in rows.values.items()}
        return cls(
            int(rows.time_us[index]),
            int(rows.line[index]),
            {name: value if value == value else None for name, value in cells.items()},
            {name: int(column[index]) for name, column in rows.quality.items()},
        )


class Assembly:
    """The output of one feed in the making: where each row comes from, its stamp and flag."""

    def __init__(self, rows: Rows) -> None:
        self._rows = rows
        self._pieces: list[tuple[int, int, int, int]] = []  # source, length, stamp, flag
        self._held: list[HeldRow] = []

    @classmethod
    def empty(cls, channels: Sequence[str]) -> Assembly:
        """Start an output without new rows."""
        none = np.zeros(0, np.int64)
        floats = {name: np.zeros(0) for name in channels}
        return cls(Rows(none, none, floats, {n: np.zeros(0, np.uint16) for n in channels}))

    def row(self, index: int, time_us: int, flag: int) -> None:
        """Add one row."""
        self._pieces.append((index, 1, time_us, flag))

    def rows(self, start: int, stop: int) -> None:
        """Add ordinary rows."""
        if stop > start:
            self._pieces.append((start, stop - start, 0, 0))

    def marker(self, time_us: int) -> None:
        """Add a gap marker."""
        self._pieces.append((MARKER, 1, time_us, int(Quality.GAP)))

    def held(self, row: HeldRow, flag: int) -> None:
        """Add a row that waited."""
        self._held.append(row)
        self._pieces.append((HELD - len(self._held) + 1, 1, row.time_us, flag))

    def sources(self) -> Ints:
        """Index of each output row in the rows fed; negative for markers and held rows."""
        if not self._pieces:
            return np.zeros(0, np.int64)
        return np.concatenate(
            [np.arange(source, source + length) for source, length, _, _ in self._pieces]
        )

    def n_read(self) -> int:
        """How many output rows were read, markers left out."""
        return sum(length for source, length, _, _ in self._pieces if source != MARKER)

    def _as_they_came(self) -> bool:
        """Whether the output is the rows fed, all of them in their order."""
        at = 0
        for source, length, _, _ in self._pieces:
            if source != at:
                return False
            at += length
        return at == len(self._rows)

    def samples(self, channels: Sequence[str], first_seq: int) -> Samples:
        """Build the columns; where all rows follow as they came, nothing is copied."""
        n = sum(length for _, length, _, _ in self._pieces)
        seq = np.arange(first_seq, first_seq + n, dtype=np.int64)
        flags = np.zeros(n, np.uint16)
        at = 0
        for _, length, _, flag in self._pieces:
            if flag:
                flags[at : at + length] = flag
            at += length
        if self._as_they_came():
            return Samples(
                seq,
                self._rows.time_us,
                flags,
                {name: self._rows.values[name] for name in channels},
                {name: self._rows.quality[name] for name in channels},
            )
        return self._gathered(channels, seq, flags, self.sources())

    def _gathered(
        self, channels: Sequence[str], seq: Ints, flags: np.ndarray, source: Ints
    ) -> Samples:
        plain = source >= 0
        taken = source[plain]
        time_us = np.empty(len(source), np.int64)
        time_us[plain] = self._rows.time_us[taken]
        special = np.flatnonzero(~plain)
        stamps = [stamp for start, _, stamp, _ in self._pieces if start < 0]
        time_us[special] = stamps
        values, quality = {}, {}
        for name in channels:
            column = np.full(len(source), np.nan)
            reasons = np.full(len(source), int(Quality.GAP), np.uint16)
            column[plain] = self._rows.values[name][taken]
            reasons[plain] = self._rows.quality[name][taken]
            for place in special:
                if source[place] != MARKER:
                    row = self._held[HELD - int(source[place])]
                    value = row.values[name]
                    column[place] = np.nan if value is None else value
                    reasons[place] = row.quality[name]
            values[name], quality[name] = column, reasons
        return Samples(seq, time_us, flags, values, quality)
