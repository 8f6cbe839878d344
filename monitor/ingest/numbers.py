"""Columns whose cells did not all read as hoped: which cells are numbers, which are not."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

import numpy as np

from monitor.model import Floats

# Words that say "no value" in any software; anything else must be declared.
MISSING_WORDS = ("", "nan", "NaN", "NAN", "null", "NULL", "Null", "NA", "N/A", "n/a", "-", "--")
_OTHER_COMMA = re.compile(r"[+-]?\d*,\d+")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d*)?")
_OTHER_POINT = re.compile(r"[+-]?\d*\.\d+")
_WORDS = re.compile(r"[a-df-zA-DF-Z_]")  # float() also takes "infinity" and "1_000"


def read_numbers(
    cells: Sequence[str | None], decimal: str, null_words: Collection[str]
) -> tuple[Floats, np.ndarray, np.ndarray]:
    """Values (NaN where none), mask of missing cells, mask of unreadable cells."""
    values = np.full(len(cells), np.nan)
    missing = np.zeros(len(cells), bool)
    unreadable = np.zeros(len(cells), bool)
    for index, cell in enumerate(cells):
        text = "" if cell is None else cell.strip()
        if text in null_words:
            missing[index] = True
            continue
        if decimal == ",":
            text = "x" if "." in text else text.replace(",", ".")
        try:
            values[index] = float(text)
        except ValueError:
            unreadable[index] = True
        else:
            if _WORDS.search(text):
                values[index] = np.nan
                unreadable[index] = True
    return values, missing, unreadable


def is_other_decimal(text: str, decimal: str) -> bool:
    """Whether a cell is a number written with the decimal sign that was not declared."""
    pattern = _OTHER_COMMA if decimal == "." else _OTHER_POINT
    return pattern.fullmatch(text.strip()) is not None


def is_in_thousands(text: str, decimal: str) -> bool:
    """Whether a cell may be a number whose thousands are set apart by commas."""
    return decimal == "." and _THOUSANDS.fullmatch(text.strip()) is not None
