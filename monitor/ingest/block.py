"""One block of whole lines: its text, where each row stands in it, cells for messages."""

from __future__ import annotations

import csv
from collections.abc import Sequence

import numpy as np

from monitor.model import Ints


class Block:
    """Whole lines of a file; ``first_line`` is the number of the first, counted from 1."""

    def __init__(self, text: bytes, first_line: int, separator: str) -> None:
        self.text = text
        self.first_line = first_line
        self._separator = separator
        self.n_lines = text.count(b"\n") + (not text.endswith(b"\n"))

    def row_lines(self, n_rows: int, ragged: Sequence[int]) -> Ints:
        """Line number of each row. ``ragged`` are refused rows, counted from 1 over all rows."""
        if n_rows == self.n_lines:
            return np.arange(self.first_line, self.first_line + n_rows, dtype=np.int64)
        lines = self.filled_lines()
        if ragged and ragged[-1] <= len(lines):
            lines = np.delete(lines, np.asarray(ragged) - 1)
        if len(lines) >= n_rows:  # more lines than rows: cells with line breaks inside
            return lines[:n_rows]
        return np.arange(self.first_line, self.first_line + n_rows, dtype=np.int64)

    def filled_lines(self) -> Ints:
        """Numbers of the lines that are not empty."""
        data = np.frombuffer(self.text, np.uint8)
        ends = np.flatnonzero(data == 10)
        if not self.text.endswith(b"\n"):
            ends = np.append(ends, len(data))
        starts = np.concatenate([[0], ends[:-1] + 1])
        length = ends - starts
        length -= (length > 0) & (data[np.maximum(ends - 1, 0)] == 13)
        return np.asarray(np.flatnonzero(length) + self.first_line, np.int64)

    def cell(self, line: int, index: int) -> str:
        """Text of one cell, for a message."""
        start = 0
        for _ in range(line - self.first_line):
            start = self.text.find(b"\n", start) + 1
        stop = self.text.find(b"\n", start)
        raw = self.text[start : stop if stop >= 0 else len(self.text)]
        text = raw.decode("utf-8", errors="replace").rstrip("\r")
        cells = next(csv.reader([text], delimiter=self._separator), [])
        return cells[index] if index < len(cells) else ""
