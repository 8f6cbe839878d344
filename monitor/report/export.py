"""A span of a record as one file: every row as received beside what was made of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from monitor.model import ACTIVITY_CODES, CHANNELS, INTEGER_RESULTS, RESULT_COLUMNS, Quality
from monitor.report import csv_columns
from monitor.report.finished_file import OutputError, finished_file
from monitor.report.workbook import Cell, Sheet, write_workbook
from monitor.store.reader import Reader
from monitor.store.rows import Rows
from monitor.units import iso_utc, si_symbol

FORMATS = (".csv", ".parquet", ".xlsx")
# A raw transmitter signal has no unit of its own; its rig's sensor says what it is.
SIGNAL_UNITS = {"current": "A", "voltage": "V", "pressure": "Pa"}
PAGE = 20_000


def export(reader: Reader, from_us: int, to_us: int, path: Path, *, signal_unit: str = "A") -> int:
    """Write the rows with ``from_us <= time < to_us`` in order of arrival; return how many.

    The suffix of ``path`` decides the format. Raw channels bear the headers of the input
    contract in SI (``deadline_tension [N]``), so that the file can be analysed again and
    gives the same bits; derived columns bear their SI names.
    """
    if path.suffix not in FORMATS:
        raise OutputError(f"{path}: export writes {' or '.join(FORMATS)}, by the suffix")
    found = pages(reader, from_us, to_us)
    first = next(found, None)
    if first is None:
        raise OutputError(f"no row of the record lies in that span; {path} is not written")
    found = chain([first], found)
    if path.suffix == ".xlsx":
        return _write_workbook(path, found, _raw_columns(first, signal_unit))
    with finished_file(path) as part:
        if path.suffix == ".csv":
            return _write_csv(part, found, _raw_columns(first, signal_unit))
        return _write_parquet(part, found, list(_raw_columns(first, signal_unit).values()))


def pages(reader: Reader, from_us: int, to_us: int) -> Iterator[Rows]:
    """Rows of the span by seq; ends at the first page that lies wholly past it."""
    first = reader.between(from_us, to_us, PAGE)
    if not len(first):
        return
    seq = int(first.seq.min()) - 1
    while True:
        page = reader.results_since(seq, PAGE)
        if not len(page) or bool(np.all(page.time_us >= to_us)):
            return
        seq = int(page.seq[-1])
        inside = (page.time_us >= from_us) & (page.time_us < to_us)
        inside &= (page.columns["row"].astype(np.int64) & int(Quality.GAP)) == 0
        rows = np.flatnonzero(inside)
        if len(rows):
            yield Rows(
                page.seq[rows],
                page.time_us[rows],
                {name: column[rows] for name, column in page.columns.items()},
            )


def _raw_columns(rows: Rows, signal_unit: str) -> dict[str, str]:
    """Header of the input contract -> column of the record, for the channels it has."""
    found = {}
    for channel in CHANNELS.values():
        reported = f"reported_{channel.column}"
        clash = channel.column in RESULT_COLUMNS
        column = reported if clash else channel.column
        if column in rows.columns:
            unit = si_symbol(channel.quantity) or signal_unit
            found[f"{channel.name} [{unit}]"] = column
    return found


def _values(rows: Rows, name: str) -> pa.Array:
    column = rows.columns[name]
    if name == "activity":
        codes = np.nan_to_num(column.astype(np.float64)).astype(np.int32)
        return pa.DictionaryArray.from_arrays(codes, list(ACTIVITY_CODES)).cast(pa.string())
    if name in INTEGER_RESULTS:
        numbers = column.astype(np.float64)
        known = np.isfinite(numbers)
        whole = np.where(known, numbers, 0).astype(np.int64)
        return pa.array(whole, type=pa.int64(), mask=~known)
    return csv_columns.number_cells(column.astype(np.float64))


def _write_csv(part: Path, pages: Iterator[Rows], raw: dict[str, str]) -> int:
    written = 0
    with part.open("wb") as stream:
        csv_columns.write_header(stream, ("time", *raw, *RESULT_COLUMNS))
        for rows in pages:
            cells = [csv_columns.time_cells(rows.time_us)]
            cells += [_values(rows, column) for column in raw.values()]
            cells += [_values(rows, name) for name in RESULT_COLUMNS]
            csv_columns.write_rows(stream, cells)
            written += len(rows)
    return written


def _write_workbook(path: Path, pages: Iterator[Rows], raw: dict[str, str]) -> int:
    names = (*raw.values(), *RESULT_COLUMNS)
    header = ("time", *raw, *RESULT_COLUMNS)
    return write_workbook(path, [Sheet("record", header, _cells(pages, names))])


def _cells(pages: Iterator[Rows], names: Sequence[str]) -> Iterator[Sequence[Cell]]:
    """Rows of plain values; times as text with their zone, which a sheet turns into a date."""
    for rows in pages:
        columns = [[iso_utc(time_us) for time_us in rows.time_us.tolist()]]
        columns += [_values(rows, name).to_pylist() for name in names]
        yield from zip(*columns, strict=True)


def _write_parquet(part: Path, pages: Iterator[Rows], raw: list[str]) -> int:
    written = 0
    first = _batch(next(pages), raw)
    with pq.ParquetWriter(part, first.schema, compression="zstd") as writer:
        for batch in chain([first], (_batch(rows, raw) for rows in pages)):
            writer.write_batch(batch)
            written += batch.num_rows
    return written


def _batch(rows: Rows, raw: list[str]) -> pa.RecordBatch:
    columns = {"time": pa.array(rows.time_us, type=pa.timestamp("us", tz="UTC"))}
    columns |= {name: _values(rows, name) for name in (*raw, *RESULT_COLUMNS)}
    return pa.record_batch(list(columns.values()), names=list(columns))
