"""One block of whole lines: its text, where each row stands in it, cells for messages."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence

import numpy as np

from monitor.model import Ints

_LONE_RETURN = re.compile(rb"\r(?!\n)")


def split_line(text: str, separator: str) -> list[str]:
    """Cells of one line, whatever stands in it."""
    line = text.replace("\r", " ").replace("\n", " ")
    try:
        return next(csv.reader([line], delimiter=separator), [])
    except csv.Error:  # a cell beyond all reason
        return line.split(separator)


def _utf8(text: bytes) -> bytes:
    """UTF-8 whatever it was: the fast reader loses a row whose text is not, without a word."""
    try:
        text.decode("utf-8")
    except UnicodeDecodeError:
        return text.decode("cp1252", errors="replace").encode("utf-8")
    return text


def line_ends(text: bytes) -> int:
    """How many lines end in a text: asked of every byte, so in a way that holds no lock."""
    return int(np.count_nonzero(np.frombuffer(text, np.uint8) == ord("\n")))


class Block:
    """Whole lines of a file; ``first_line`` is the number of the first, counted from 1.

    ``n_ends``: line ends in the text, where they have been counted.
    """

    def __init__(
        self, text: bytes, first_line: int, separator: str, n_ends: int | None = None
    ) -> None:
        n_ends = line_ends(text) if n_ends is None else n_ends
        if b"\r" in text and text.count(b"\r") != text.count(b"\r\n"):
            text = _LONE_RETURN.sub(b" ", text)  # else it would end a line that has no number
        self.text = text if text.isascii() else _utf8(text)
        self.first_line = first_line
        self._separator = separator
        self.n_lines = n_ends + (not text.endswith(b"\n"))

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
        cells = split_line(text, self._separator)
        return cells[index] if index < len(cells) else ""
