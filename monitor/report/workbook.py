"""Tables as an .xlsx workbook, one sheet a table; the same tables give the same bytes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import xlsxwriter

from monitor.report.finished_file import OutputError, finished_file
from monitor.units import parse_iso

# What a sheet of this file format can hold, the header included.
MOST_ROWS = 1_048_576
# Properties bear a date; a clock in it would make no two files the same.
CREATED = datetime(2000, 1, 1)  # noqa: DTZ001 - the library takes it without a zone
# A time is a count of days from 1899-12-30 here; 1970-01-01 is this one.
EPOCH_DAY = 25_569.0
DAY_US = 86_400e6
TIME_FORMAT = "yyyy-mm-dd hh:mm:ss.000"
TIME_WIDTH, WIDEST, NARROWEST = 24, 90, 9

_NUMBER = re.compile(r"-?\d{1,15}(\.\d+)?")
_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d+Z")

Cell = str | float | int | None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table. Cells that read as a number or an ISO 8601 time in UTC become one."""

    name: str
    header: Sequence[str]
    rows: Iterable[Sequence[Cell]]


def day_number(time_us: int) -> float:
    """Time as sheets count it, in UTC.

    >>> day_number(1_772_323_200_000_000)  # 2026-03-01
    46082.0
    """
    return EPOCH_DAY + time_us / DAY_US


def write_workbook(path: Path, sheets: Iterable[Sheet]) -> int:
    """Write the sheets in order and return how many rows they hold, headers left out."""
    written = 0
    with finished_file(path) as part:
        options = {"constant_memory": True, "strings_to_formulas": False}
        with closing(xlsxwriter.Workbook(str(part), options)) as book:
            book.set_properties({"created": CREATED})
            head = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
            stamp = book.add_format({"num_format": TIME_FORMAT})
            for sheet in sheets:
                written += _fill(book, sheet, head, stamp, path)
    return written


def _fill(book: xlsxwriter.Workbook, sheet: Sheet, head: object, stamp: object, path: Path) -> int:
    page = book.add_worksheet(sheet.name)
    page.freeze_panes(1, 0)
    for at, name in enumerate(sheet.header):
        page.set_column(at, at, _width(name))
    for at, name in enumerate(sheet.header):
        page.write_string(0, at, name, head)
    number = 0
    for number, row in enumerate(sheet.rows, 1):
        if number >= MOST_ROWS:
            raise OutputError(
                f"{path}: more than {MOST_ROWS - 1:,} rows, which no sheet holds; give a "
                "shorter span, or write .csv or .parquet"
            )
        for at, cell in enumerate(row):
            if isinstance(cell, str) and _STAMP.fullmatch(cell):
                page.write_number(number, at, day_number(parse_iso(cell)), stamp)
            elif isinstance(cell, str) and not _NUMBER.fullmatch(cell):
                if cell:
                    page.write_string(number, at, cell)
            elif cell is not None and (value := float(cell)) == value:
                page.write_number(number, at, value)
    return number


def _width(name: str) -> int:
    if name in ("text", "value"):
        return WIDEST
    is_time = name == "time" or name.endswith("_time") or name in ("start", "end", "raised")
    return TIME_WIDTH if is_time else max(len(name) + 1, NARROWEST)
