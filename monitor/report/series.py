"""series.parquet: the derived columns of every row that could be read, streamed."""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from monitor.model import ACTIVITY_CODES, Output, Quality, Samples

FLOAT_COLUMNS = ("hook_load_N", "weight_on_bit_N", "bit_depth_m")
EXPECTED_COLUMNS = ("expected_up_N", "expected_down_N")
SCHEMA = pa.schema(
    [
        ("time", pa.timestamp("us", tz="UTC")),
        *((name, pa.float64()) for name in FLOAT_COLUMNS),
        ("activity", pa.string()),
        *((name, pa.float64()) for name in EXPECTED_COLUMNS),
        ("quality", pa.int32()),
    ]
)


def series_batch(samples: Samples, output: Output) -> pa.RecordBatch:
    """One row for each row of the input; the markers put into gaps are left out."""
    rows = np.flatnonzero((samples.row & int(Quality.GAP)) == 0)
    activity = pa.DictionaryArray.from_arrays(
        np.asarray(output.columns["activity"][rows], dtype=np.int32), list(ACTIVITY_CODES)
    ).cast(pa.string())
    columns: dict[str, Any] = {
        "time": pa.array(output.time_us[rows], type=pa.timestamp("us", tz="UTC")),
        "activity": activity,
        "quality": pa.array(output.columns["quality"][rows].astype(np.int32)),
    }
    for name in (*FLOAT_COLUMNS, *EXPECTED_COLUMNS):
        # NaN becomes null: "not known" is not a number.
        columns[name] = pa.array(output.columns[name][rows], type=pa.float64(), from_pandas=True)
    return pa.record_batch([columns[field.name] for field in SCHEMA], schema=SCHEMA)


class SeriesWriter:
    """Appends chunks to a parquet file, so that memory does not grow with the record."""

    def __init__(self, path: Path) -> None:
        self._writer = pq.ParquetWriter(path, SCHEMA, compression="zstd")

    def append(self, samples: Samples, output: Output) -> None:
        """Add the rows of one chunk."""
        self._writer.write_batch(series_batch(samples, output))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._writer.close()
