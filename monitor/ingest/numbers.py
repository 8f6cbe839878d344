"""Cells that should be numbers and did not all read as such: which are, which are not."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from monitor.model import Floats

if TYPE_CHECKING:
    import pyarrow as pa

# Words that say "no value" in any software; anything else must be declared.
MISSING_WORDS = ("", "nan", "NaN", "NAN", "null", "NULL", "Null", "NA", "N/A", "n/a", "-", "--")
_POINT = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$"
_OTHER_COMMA = re.compile(r"[+-]?\d*,\d+")
_OTHER_POINT = re.compile(r"[+-]?\d*\.\d+")


def read_numbers(
    column: pa.ChunkedArray, decimal: str, null_words: tuple[str, ...]
) -> tuple[Floats, np.ndarray, np.ndarray]:
    """Values (NaN where none), mask of missing cells, mask of unreadable cells."""
    import pyarrow as pa
    import pyarrow.compute as pc

    text: Any = pc.ascii_trim_whitespace(column)
    if decimal == ",":
        has_point = pc.fill_null(pc.match_substring(text, "."), False)
        text = pc.if_else(has_point, "x", pc.replace_substring(text, ",", "."))
    numeric = pc.fill_null(pc.match_substring_regex(text, _POINT), False)
    declared = pc.is_in(text, value_set=pa.array(null_words, pa.string()))
    missing = pc.or_(pc.fill_null(declared, False), pc.is_null(text))
    good = pc.and_(numeric, pc.invert(missing))
    bare = pc.replace_substring_regex(pc.if_else(good, text, None), r"^\+", "")
    values = np.array(pc.cast(bare, pa.float64()).to_numpy(), dtype=np.float64)
    lacking = np.asarray(missing.to_numpy(), bool)
    return values, lacking, ~lacking & ~np.asarray(good.to_numpy(), bool)


def is_other_decimal(text: str, decimal: str) -> bool:
    """Whether a cell is a number written with the decimal sign that was not declared."""
    pattern = _OTHER_COMMA if decimal == "." else _OTHER_POINT
    return pattern.fullmatch(text.strip()) is not None
