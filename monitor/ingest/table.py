"""A block of CSV text to a table of typed columns, and those columns to numpy."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from monitor.ingest.block import Block
from monitor.ingest.columns import Layout
from monitor.ingest.errors import InputError, message

if TYPE_CHECKING:
    import pyarrow as pa

_FAILED_COLUMN = re.compile(r"In CSV column #(\d+)")
_STICKY = 3  # a column that failed in so many blocks is read as text from then on
_REPAIRS = 50  # unclosed quotation marks put right in one block before quoting is given up


@dataclass(frozen=True, slots=True)
class Ragged:
    """A row with the wrong number of cells; ``number`` counts from 1 over all rows."""

    number: int
    n_cells: int
    text: str


@dataclass(slots=True)
class TableReader:
    """Reads blocks with the types hoped for; a column that fails is read as text instead."""

    layout: Layout
    separator: str
    decimal: str
    null_words: tuple[str, ...]
    file: str
    extra: int = 0  # empty cells every row has beyond the header
    settled: bool = False  # a row has been read, so ``extra`` is known
    naive: bool = False  # stamps without a zone are tried first
    failures: dict[int, int] = field(default_factory=dict)

    def read(self, block: Block) -> tuple[pa.Table, list[Ragged]]:
        """Table of the columns wanted, named by their index, and the rows it leaves out."""
        import pyarrow as pa

        time_index = self.layout.time.index
        time_types = self._time_types()
        as_text = {index for index, failed in self.failures.items() if failed >= _STICKY}
        text, quoting, repairs = block.text, True, 0
        while True:
            types = {
                str(column.index): pa.string() if column.index in as_text else pa.float64()
                for column in self.layout.columns
            }
            types[str(time_index)] = time_types[0] if time_types else pa.string()
            try:
                table, ragged = self._read_csv(text, types, quoting)
            except pa.ArrowInvalid as error:
                failed = _FAILED_COLUMN.match(str(error))
                if failed is None:
                    if not quoting:
                        raise InputError(message(self.file, f"cannot be read: {error}")) from None
                    quoting = False
                elif int(failed[1]) == time_index:
                    time_types = time_types[1:]
                    self._failed(time_index, not time_types)
                else:
                    as_text.add(int(failed[1]))
                    self._failed(int(failed[1]), True)
                continue
            if self._width_changes(table.num_rows, ragged):
                continue
            swallowed = next((row.text for row in ragged if "\n" in row.text.rstrip()), None)
            if swallowed is None or not quoting:
                self.settled = self.settled or table.num_rows > 0
                return table, ragged
            repaired = _without_quote(text, swallowed)
            repairs += 1
            quoting = repaired != text and repairs < _REPAIRS
            text = repaired

    def _failed(self, index: int, counts: bool) -> None:
        self.failures[index] = self.failures.get(index, 0) + counts

    def _time_types(self) -> list[Any]:
        import pyarrow as pa

        time = self.layout.time
        if time.format or self.failures.get(time.index, 0) >= _STICKY:
            return []
        if time.unit_s is not None:
            return [pa.float64()]
        zoned, naive = pa.timestamp("us", tz="UTC"), pa.timestamp("us")
        return [naive, zoned] if self.naive else [zoned, naive]

    def _read_csv(
        self, text: bytes, types: dict[str, Any], quoting: bool
    ) -> tuple[pa.Table, list[Ragged]]:
        import pyarrow.csv as pacsv

        ragged: list[Ragged] = []

        def refuse(row: Any) -> str:
            ragged.append(Ragged(row.number or 0, row.actual_columns, row.text or ""))
            return "skip"

        table = pacsv.read_csv(
            io.BytesIO(text),
            read_options=pacsv.ReadOptions(
                use_threads=False,
                block_size=len(text) + 64,
                column_names=[str(i) for i in range(self.layout.width + self.extra)],
            ),
            parse_options=pacsv.ParseOptions(
                delimiter=self.separator,
                quote_char='"' if quoting else False,
                invalid_row_handler=refuse,
            ),
            convert_options=pacsv.ConvertOptions(
                check_utf8=False,
                column_types=types,
                include_columns=list(types),
                null_values=list(self.null_words),
                strings_can_be_null=True,
                decimal_point=self.decimal,
                timestamp_parsers=[pacsv.ISO8601],
            ),
        )
        return table, ragged

    def _width_changes(self, n_rows: int, ragged: list[Ragged]) -> bool:
        """Find out at the first rows whether they end in a separator the header has not.

        A single such row later on is a bad row, and taken back if it was the first of all.
        """
        if self.extra:
            back = n_rows == 0 and all(row.n_cells == self.layout.width for row in ragged)
            self.extra = 0 if back and ragged else self.extra
            return self.extra == 0
        if self.settled or n_rows >= len(ragged):
            return False
        trailing = sum(
            row.n_cells == self.layout.width + 1
            and row.text.rstrip("\r\n").endswith(self.separator)
            for row in ragged
        )
        self.extra = int(2 * trailing > n_rows + len(ragged))
        return self.extra == 1


def _without_quote(text: bytes, swallowed: str) -> bytes:
    """Take the quotation mark out of play that made one row swallow the lines after it."""
    line = swallowed.split("\n", 1)[0].encode("utf-8", "replace")
    return text.replace(line, line.replace(b'"', b"'"), 1)


def column_values(column: pa.ChunkedArray, kind: type[np.generic]) -> tuple[np.ndarray, Any]:
    """Values and the mask of nulls (None where there are none), straight from memory.

    The library's own way to numpy would import pandas wherever it is installed.
    """
    array = column.chunk(0) if column.num_chunks == 1 else column.combine_chunks()
    validity, data = array.buffers()
    values = np.frombuffer(data, kind, len(array), 8 * array.offset)
    if not array.null_count:
        return values, None
    bits = np.unpackbits(np.frombuffer(validity, np.uint8), bitorder="little")
    return values, bits[array.offset : array.offset + len(array)] == 0
