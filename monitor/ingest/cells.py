"""Blocks of CSV text into rows: stamps in microseconds, SI values, quality of each cell."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from monitor.ingest import counts as reasons
from monitor.ingest.block import Block
from monitor.ingest.columns import Column, Layout
from monitor.ingest.counts import Counts
from monitor.ingest.errors import InputError, message
from monitor.ingest.numbers import MISSING_WORDS, is_in_thousands, is_other_decimal, read_numbers
from monitor.ingest.rows import Rows
from monitor.ingest.stamps import (
    NO_TIME,
    ZONE_MEND,
    LocalTime,
    WrittenTime,
    counted_times,
    is_local,
    zone_missing,
)
from monitor.ingest.table import Ragged, TableReader, column_values
from monitor.model import CHANNELS, Flags, Floats, Ints, Quality
from monitor.rig.rig import InputMap

if TYPE_CHECKING:
    import pyarrow as pa

UNDECLARED_NULL = -999.25  # the customary null of well data; never a real reading


class CellReader:
    """Reads the blocks of one file. What it carries from block to block is in ``local``."""

    def __init__(
        self,
        layout: Layout,
        separator: str,
        rules: InputMap,
        file: str,
        counts: Counts,
        start_us: int = 0,
    ) -> None:
        self.layout = layout
        self.file = file
        self.counts = counts
        self.start_us = start_us
        self._separator = separator
        self.rules = rules
        self._foreign = bool(rules.columns)
        self._nulls = tuple(dict.fromkeys((*MISSING_WORDS, *rules.null_values)))
        self._null_numbers = tuple(_numbers_of(rules.null_values))
        self._table = TableReader(layout, separator, rules.decimal, self._nulls, file)
        zone = layout.time.zone
        self.local = LocalTime(zone, counts) if zone else None
        self._any_time = False  # a stamp has been read: one without its zone is a bad cell
        self._any_number: set[int] = set()  # columns of which a number has been read
        self._written = WrittenTime(layout.time.format, self.local)

    def read(self, text: bytes, first_line: int, n_ends: int | None = None) -> Rows:
        """Rows of a block of whole lines; what cannot be used is counted with its reason.

        ``n_ends``: how many line ends are in it, where they have been counted.
        """
        block = Block(text, first_line, self._separator, n_ends)
        if not text or text.isspace():
            return self._empty()
        table, ragged = self._table.read(block)
        lines = block.row_lines(table.num_rows, [row.number for row in ragged])
        self._count_ragged(block, ragged)
        times = self._times(block, table, lines)
        values: dict[str, Floats] = {}
        quality: dict[str, Flags] = {}
        for column in self.layout.columns:
            values[column.channel], quality[column.channel] = self._channel(
                block, column, table.column(str(column.index)), lines
            )
        rows = Rows(times, lines, values, quality)
        usable = times != NO_TIME
        if usable.all():
            return rows
        return Rows(
            times[usable],
            lines[usable],
            {name: column[usable] for name, column in values.items()},
            {name: column[usable] for name, column in quality.items()},
        )

    def state(self) -> dict[str, Any]:
        """Tell what is carried from block to block, as JSON."""
        return {
            "any_time": self._any_time,
            "any_number": sorted(self._any_number),
            "extra": self._table.extra,
            "settled": self._table.settled,
            "newest_local_us": self.local.newest_us if self.local else None,
        }

    def restore(self, state: dict[str, Any]) -> None:
        """Go on from a state written down."""
        self._any_time = state["any_time"]
        self._any_number = set(state["any_number"])
        self._table.extra, self._table.settled = state["extra"], state["settled"]
        if self.local and state["newest_local_us"] is not None:
            self.local.newest_us = state["newest_local_us"]

    def _empty(self) -> Rows:
        none = np.zeros(0, np.int64)
        floats = {name: np.zeros(0) for name in self.layout.channels}
        flags = {name: np.zeros(0, np.uint16) for name in self.layout.channels}
        return Rows(none, none, floats, flags)

    @property
    def _width(self) -> int:
        return self.layout.width + self._table.extra

    def _count_ragged(self, block: Block, ragged: list[Ragged]) -> None:
        self.counts.reject(reasons.WRONG_CELLS, len(ragged))
        filled = None
        for row in ragged[: self.counts.examples_wanted(reasons.WRONG_CELLS)]:
            filled = block.filled_lines() if filled is None else filled
            known = 0 < row.number <= len(filled)
            line = int(filled[row.number - 1]) if known else block.first_line
            what = f"{row.n_cells} cells where {self._width} are expected; the row is left out"
            mend = "mend the row, or quote a cell that holds the separator"
            told = message(self.file, what, line=line, value=row.text.strip(), mend=mend)
            self.counts.example(reasons.WRONG_CELLS, told)

    # -- time --------------------------------------------------------------------------

    def _times(self, block: Block, table: pa.Table, lines: Ints) -> Ints:
        import pyarrow as pa

        time = self.layout.time
        column = table.column(str(time.index))
        missing = None
        if pa.types.is_timestamp(column.type):
            times, missing = self._stamps(block, column, lines)
        elif pa.types.is_floating(column.type):
            numbers, missing = column_values(column, np.float64)
            numbers = numbers if missing is None else np.where(missing, np.nan, numbers)
            times = counted_times(numbers, time.unit_s or 1.0, self.start_us)
        elif time.unit_s is not None:
            cells = column.to_pylist()
            numbers, missing, _ = read_numbers(cells, self.rules.decimal, self._nulls)
            times = counted_times(numbers, time.unit_s, self.start_us)
        else:
            cells = column.to_pylist()
            missing = np.array([cell is None for cell in cells], bool)
            times = self._written.read(cells)
            if self._written.zone_lacking and not self._any_time and (times == NO_TIME).all():
                raise self._no_zone(block, int(lines[0]))
        if missing is None:
            missing = np.zeros(len(lines), bool)
        self._count_times(block, times, missing, lines)
        return times

    def _stamps(
        self, block: Block, column: pa.ChunkedArray, lines: Ints
    ) -> tuple[Ints, np.ndarray | None]:
        times, missing = column_values(column, np.int64)
        if missing is not None:
            times = np.where(missing, NO_TIME, times)
        self._table.naive = column.type.tz is None and len(times) > 0
        if not self._table.naive:
            return times, missing
        if self.local is not None:
            return self.local.to_utc(times), missing
        if not self._any_time:
            raise self._no_zone(block, int(lines[0]))
        return np.full(len(times), NO_TIME), missing

    def _no_zone(self, block: Block, line: int) -> InputError:
        time = self.layout.time
        value = block.cell(line, time.index)
        return zone_missing(self.file, line, time.header, value, foreign=self._foreign)

    def _count_times(self, block: Block, times: Ints, missing: np.ndarray, lines: Ints) -> None:
        lacking = times == NO_TIME
        self._any_time = self._any_time or not lacking.all()
        if not lacking.any():
            return
        for reason, which in (
            (reasons.MISSING_TIME, lacking & missing),
            (reasons.UNREADABLE_TIME, lacking & ~missing),
        ):
            found = lines[which]
            self.counts.reject(reason, len(found))
            for line in found[: self.counts.examples_wanted(reason)].tolist():
                self._example_time(block, reason, line)

    def _example_time(self, block: Block, reason: str, line: int) -> None:
        time = self.layout.time
        value = block.cell(line, time.index)
        if reason == reasons.MISSING_TIME:
            what, mend = "no time; the row is left out", ""
        elif time.unit_s is not None:
            what, mend = "not a number; the row is left out", "a count from the start is expected"
        elif time.format:
            what = f'not a time of the form "{time.format}"; the row is left out'
            mend = f'mend the cell, or format in [input.columns] "{time.header}"'
        elif self.local is None and is_local(value):
            what, mend = "has no zone and none is declared; the row is left out", ZONE_MEND
        else:
            what, mend = "not an ISO 8601 time; the row is left out", self._time_mend(value)
        told = message(self.file, what, line=line, column=time.header, value=value, mend=mend)
        self.counts.example(reason, told)

    def _time_mend(self, value: str) -> str:
        header = self.layout.time.header
        if re.fullmatch(r"\s*[\d.,]+\s*", value):
            return (
                'if it counts seconds name the column "time [s]", or map it: [input.columns] '
                f'"{header}" = {{ channel = "time", unit = "s" }}'
            )
        return (
            "write 2026-03-01T02:40:05Z, or give its form: [input.columns] "
            f'"{header}" = {{ channel = "time", format = "%d/%m/%Y %H:%M:%S", zone = "UTC" }}'
        )

    # -- channels ----------------------------------------------------------------------

    def _channel(
        self, block: Block, column: Column, cells: pa.ChunkedArray, lines: Ints
    ) -> tuple[Floats, Flags]:
        quality = np.zeros(len(lines), np.uint16)
        numbers = self._numbers(block, column, cells, lines, quality)
        if column.curve is not None:
            values = column.curve(numbers)
        else:
            values = np.asarray(numbers * column.scale)
        if column.offset:
            values += column.offset
        bounds = CHANNELS[column.channel]
        inside = (values >= bounds.low) & (values <= bounds.high)
        customary = numbers == UNDECLARED_NULL
        if not inside.all() or customary.any():
            absurd = (quality == 0) & (~inside | customary)
            if absurd.any():
                quality[absurd] = Quality.ABSURD
                self._refuse_absurd(block, column, absurd, customary & absurd, lines)
        good = quality == 0
        if good.any():
            self._any_number.add(column.index)
        if not good.all():
            values[~good] = np.nan
        return values, quality

    def _numbers(
        self, block: Block, column: Column, cells: pa.ChunkedArray, lines: Ints, quality: Flags
    ) -> Floats:
        """Numbers as written, NaN where there is none, the reason put into ``quality``."""
        import pyarrow as pa

        if pa.types.is_floating(cells.type):
            numbers, missing = column_values(cells, np.float64)
            if missing is not None:
                numbers = np.where(missing, np.nan, numbers)
        else:
            numbers, missing, unreadable = read_numbers(
                cells.to_pylist(), self.rules.decimal, self._nulls
            )
            if unreadable.any():
                quality[unreadable] = Quality.UNREADABLE
                self._refuse_cells(block, column, unreadable, lines)
        for null in self._null_numbers:
            same = numbers == null
            missing = same if missing is None else missing | same
        if missing is not None and missing.any():
            quality[missing] = Quality.MISSING
            self.counts.missing_cells(column.channel, int(missing.sum()))
        return numbers

    def _refuse_cells(
        self, block: Block, column: Column, unreadable: np.ndarray, lines: Ints
    ) -> None:
        found = lines[unreadable]
        self.counts.reject(reasons.UNREADABLE_CELL, len(found))
        self._refuse_other_decimal(block, column, found, len(lines))
        for line in found[: self.counts.examples_wanted(reasons.UNREADABLE_CELL)].tolist():
            told = message(
                self.file,
                "not a number; taken as missing",
                line=line,
                column=column.header,
                value=block.cell(line, column.index),
                mend="mend the cell, or declare it in [input] null_values if it means no value",
            )
            self.counts.example(reasons.UNREADABLE_CELL, told)

    def _refuse_other_decimal(
        self, block: Block, column: Column, lines: Ints, n_rows: int
    ) -> None:
        """Refuse a file whose numbers bear the decimal sign that was not declared."""
        if column.index in self._any_number or 2 * len(lines) < n_rows:
            return
        first = [block.cell(int(line), column.index) for line in lines[:10]]
        thousands = all(is_in_thousands(text, self.rules.decimal) for text in first)
        other = all(is_other_decimal(text, self.rules.decimal) for text in first)
        if not (other or thousands):
            return
        comma = self.rules.decimal == "."
        sign = "comma" if comma else "point"
        sign += ", or its thousands set apart by one" if thousands else ""
        mend = f'write decimal = "{"," if comma else "."}" under [input] in the rig file'
        if thousands:
            mend = (
                f"export the file without commas in its numbers; if it is a decimal comma, {mend}"
            )
        raise InputError(
            message(
                self.file,
                f"the number has a decimal {sign}, which is not declared",
                line=int(lines[0]),
                column=column.header,
                value=first[0],
                mend=mend,
            )
        )

    def _refuse_absurd(
        self, block: Block, column: Column, absurd: np.ndarray, customary: np.ndarray, lines: Ints
    ) -> None:
        bounds = CHANNELS[column.channel]
        low = (bounds.low - column.offset) / column.scale
        high = (bounds.high - column.offset) / column.scale
        outside = f"outside {low:.6g} to {high:.6g} {column.unit}, absurd on any rig"
        if column.curve is not None:
            outside = "more than the line on the drum allows, or beyond any mast"
        for reason, which, what, mend in (
            (
                reasons.UNDECLARED_NULL,
                customary,
                "the customary mark for no value; taken as missing",
                'declare it: [input] null_values = ["-999.25"]',
            ),
            (
                reasons.ABSURD_VALUE,
                absurd & ~customary,
                f"{outside}; taken as missing",
                "check the unit of the column, or the sensor",
            ),
        ):
            found = lines[which]
            self.counts.reject(reason, len(found))
            for line in found[: self.counts.examples_wanted(reason)].tolist():
                value = block.cell(line, column.index)
                told = message(
                    self.file, what, line=line, column=column.header, value=value, mend=mend
                )
                self.counts.example(reason, told)


def _numbers_of(words: tuple[str, ...]) -> list[float]:
    found = []
    for word in words:
        try:
            found.append(float(word.replace(",", ".")))
        except ValueError:
            continue
    return found
