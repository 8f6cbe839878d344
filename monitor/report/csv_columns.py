"""Columns of numbers as CSV text: the way `simulate` and `export` write records."""

from __future__ import annotations

from collections.abc import Sequence
from typing import IO

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pacsv

from monitor.model import Floats, Ints

_OPTIONS = pacsv.WriteOptions(include_header=False, quoting_style="none")


def time_cells(time_us: Ints) -> pa.Array:
    """ISO 8601 UTC with milliseconds, or with microseconds where a stamp needs them."""
    needs_us = bool(np.any(time_us % 1000))
    whole = time_us if needs_us else time_us // 1000
    stamps = pa.array(whole, type=pa.timestamp("us" if needs_us else "ms", tz="UTC"))
    return pc.strftime(stamps, format="%Y-%m-%dT%H:%M:%SZ")


def number_cells(values: Floats) -> pa.Array:
    """Shortest text that reads back to the same bits; an empty cell for NaN."""
    return pa.array(values, type=pa.float64(), from_pandas=True)


def write_rows(stream: IO[bytes], columns: Sequence[pa.Array]) -> None:
    """Append rows, comma separated, without a header."""
    names = [str(index) for index in range(len(columns))]
    pacsv.write_csv(pa.record_batch(list(columns), names=names), stream, write_options=_OPTIONS)


def write_header(stream: IO[bytes], cells: Sequence[str]) -> None:
    """Write the header line; no cell of ours holds a comma or a quote."""
    stream.write((",".join(cells) + "\n").encode())
