"""POINTS.csv: reference loads and what the sensor read, for a calibration."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from monitor.ingest.block import split_line
from monitor.ingest.columns import OWN_FORM
from monitor.ingest.errors import InputError, message
from monitor.ingest.file_head import open_text, written_lines
from monitor.ingest.numbers import MISSING_WORDS, is_other_decimal, read_numbers
from monitor.mechanics.reeving import dead_line_tension_N
from monitor.model import Floats
from monitor.rig.rig import Rig
from monitor.units import UnitError, factor, known_units

LOAD_COLUMNS = ("reference_load", "reference_hook_load")
# Carried through as written, so that whoever signs sees where each point came from.
DETAILS = (
    "time", "reference", "at_hook", "moved", "block", "readings", "scatter", "drift",
)  # fmt: skip
KNOWN = (*LOAD_COLUMNS, "reading", "series", "lines_strung", "direction", *DETAILS)
# Points of a series so called were read before something at the sensor was adjusted: they are
# compared with and not fitted.
AS_FOUND = "as found"
DIRECTIONS = ("hoisting", "lowering", "held")
_HEADER = "reference_load [kN],reading [mA]"
_LARGEST = 10_000_000
_GREATEST = 1e15  # in any unit
_Cell = TypeVar("_Cell")
_TOLD = 20  # faults listed; a file of the wrong kind has one in every row


@dataclass(frozen=True, slots=True)
class Points:
    """Points in the order and units of the file; ``loads`` act at the sensor."""

    file: str
    load_unit: str
    reading_unit: str
    lines: tuple[int, ...]  # of the file, counted from 1
    loads: Floats
    readings: Floats
    series: tuple[str, ...]
    hook_loads: Floats | None = None  # as written, where the file gives these
    lines_strung: tuple[int, ...] = ()
    directions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    details: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    detail_units: Mapping[str, str] = field(default_factory=dict)
    sha256: str = ""  # of the file

    @property
    def is_as_found(self) -> tuple[bool, ...]:
        """Which points were read before an adjustment."""
        return tuple(label.strip().lower().startswith(AS_FOUND) for label in self.series)

    def chosen(self, places: Sequence[int]) -> Points:
        """Only these points, in this order."""

        def of(cells: Sequence[_Cell]) -> tuple[_Cell, ...]:
            return tuple(cells[place] for place in places) if cells else ()

        at = list(places)
        return replace(
            self,
            lines=of(self.lines),
            loads=self.loads[at],
            readings=self.readings[at],
            series=of(self.series),
            hook_loads=None if self.hook_loads is None else self.hook_loads[at],
            lines_strung=of(self.lines_strung),
            directions=of(self.directions),
            details={name: of(cells) for name, cells in self.details.items()},
        )

    def fitted(self) -> Points:
        """The points that the calibration is fitted to; all where none is as found."""
        return self.chosen([at for at, found in enumerate(self.is_as_found) if not found])


@dataclass(frozen=True, slots=True)
class _Table:
    file: str
    places: dict[str, int]  # column name -> cell
    units: dict[str, str]
    width: int
    separator: str
    rows: list[tuple[int, list[str]]]
    notes: tuple[str, ...]
    sha256: str


def read_points(path: Path, rig: Rig | None = None, direction: str | None = None) -> Points:
    """Read calibration points; every fault is told at once, with its line and column.

    ``rig`` and ``direction`` turn reference hook loads into loads at the sensor where the
    file has no such columns; the sheaves' efficiency is always the rig's.
    """
    return _points(_table(path), rig, direction)


def points_of(
    text: str, rig: Rig | None = None, direction: str | None = None, *, name: str = "points"
) -> Points:
    """Read the same from text that a person pasted or a page gathered."""
    return _points(_table_of(text.encode()[:_LARGEST], name), rig, direction)


def _points(table: _Table, rig: Rig | None, direction: str | None) -> Points:
    is_hook = "reference_hook_load" in table.places
    load_name = "reference_hook_load" if is_hook else "reference_load"
    if is_hook and rig is None:
        raise InputError(
            message(
                table.file,
                "gives hook loads, and the sensor feels the dead line",
                column=load_name,
                mend="name the rig file with --rig R.toml: lines strung and sheave efficiency "
                "turn one into the other",
            )
        )
    faults: list[str] = []
    numbers = {name: _numbers(table, name, faults) for name in (load_name, "reading")}
    series = tuple(_texts(table, "series"))
    lines_strung: list[int] = []
    directions: list[str] = []
    if is_hook and rig is not None:
        lines_strung = _lines_strung(table, rig.reeving.lines_strung, faults)
        directions = _directions(table, direction, faults)
    if faults:
        more = [f"and {len(faults) - _TOLD} faults more"] if len(faults) > _TOLD else []
        raise InputError("\n".join([*faults[:_TOLD], *more]))
    loads, hook_loads = numbers[load_name], None
    if is_hook and rig is not None:
        hook_loads = loads
        loads = _at_the_sensor(hook_loads, rig, lines_strung, directions)
    return Points(
        file=table.file,
        load_unit=table.units[load_name],
        reading_unit=table.units["reading"],
        lines=tuple(line for line, _ in table.rows),
        loads=loads,
        readings=numbers["reading"],
        series=series,
        hook_loads=hook_loads,
        lines_strung=tuple(lines_strung),
        directions=tuple(directions),
        notes=table.notes,
        details={name: tuple(_texts(table, name)) for name in DETAILS if name in table.places},
        detail_units={name: table.units[name] for name in DETAILS if table.units.get(name)},
        sha256=table.sha256,
    )


def _table(path: Path) -> _Table:
    file = str(path)
    stream, _ = open_text(Path(path))
    with stream:
        try:
            raw = stream.read(_LARGEST)
        except (OSError, EOFError, zlib.error) as error:
            raise InputError(message(file, f"cannot be unpacked ({error})")) from None
    # What is packed is known by the file as it lies there.
    return replace(_table_of(raw, file), sha256=_digest(Path(path).read_bytes()))


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()


def _table_of(raw: bytes, file: str) -> _Table:
    (header_line, header), *rest = written_lines(raw, file, _HEADER)
    separator = max(",;\t", key=lambda mark: len(_names(header, mark)[0]))
    places, units, others = _names(header, separator)
    _check_header(file, header_line, header, places, units)
    width = len(split_line(header, separator))
    rows = [(number, split_line(line, separator)) for number, line in rest]
    long = [number for number, cells in rows if len(cells) > width and any(cells[width:])]
    if long:
        raise InputError(
            message(
                file,
                f"has more cells than the header's {width}",
                line=long[0],
                mend="write decimals with a point, and quote a text that holds the separator",
            )
        )
    if not rows:
        raise InputError(message(file, "has a header and no points", mend="add a row a point"))
    notes = tuple(f'{file}: column "{name}" is not known and was not read' for name in others)
    return _Table(file, places, units, width, separator, rows, notes, _digest(raw))


def _names(header: str, separator: str) -> tuple[dict[str, int], dict[str, str], list[str]]:
    """Places and units of the known columns, and the names of the others."""
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    others: list[str] = []
    for place, cell in enumerate(split_line(header, separator)):
        parts = OWN_FORM.match(cell.strip())
        name = (parts[1] if parts else cell).strip().lower()
        if name not in KNOWN or name in places:
            others.append(cell.strip())
            continue
        places[name] = place
        units[name] = parts[2] if parts else ""
    return places, units, [name for name in others if name]


def _check_header(
    file: str, line: int, header: str, places: dict[str, int], units: dict[str, str]
) -> None:
    loads = [name for name in LOAD_COLUMNS if name in places]
    if len(loads) == 2:
        raise InputError(
            message(
                file,
                "two reference loads",
                line=line,
                column=LOAD_COLUMNS[1],
                mend="keep reference_load (at the sensor) or reference_hook_load",
            )
        )
    lacking = [] if loads else ["reference_load"]
    lacking += [] if "reading" in places else ["reading"]
    if lacking:
        raise InputError(
            message(
                file,
                f"no column {', '.join(lacking)}",
                line=line,
                value=header.strip(),
                mend=f"the header is {_HEADER}",
            )
        )
    unit = units[loads[0]]
    if not unit:
        raise InputError(
            message(
                file,
                "has no unit",
                line=line,
                column=loads[0],
                mend=f"write {loads[0]} [kN]",
            )
        )
    try:
        factor(unit, "force")
    except UnitError:
        raise InputError(
            message(
                file,
                "is no unit of force",
                line=line,
                column=loads[0],
                value=unit,
                mend=f"known: {', '.join(known_units('force'))}",
            )
        ) from None


def _cells(table: _Table, name: str) -> list[str]:
    place = table.places[name]
    return [cells[place].strip() if place < len(cells) else "" for _, cells in table.rows]


def _texts(table: _Table, name: str) -> list[str]:
    return _cells(table, name) if name in table.places else [""] * len(table.rows)


def _numbers(table: _Table, name: str, faults: list[str]) -> Floats:
    cells = _cells(table, name)
    values, missing, _ = read_numbers(cells, ".", MISSING_WORDS)
    for (line, _), cell, value, is_missing in zip(table.rows, cells, values, missing, strict=True):
        what, mend = "", "give a number"
        if is_missing:
            what, mend = "is missing", "give a number, or delete the row"
        elif is_other_decimal(cell, "."):
            what, mend = "is written with a decimal comma", "write it with a point"
        elif not np.isfinite(value):
            what = "is no number"
        elif abs(value) > _GREATEST:
            what = "is out of all reason"
        elif name != "reading" and value < 0.0:
            what, mend = "is below zero", "a reference load pulls: give it as a positive number"
        if what:
            faults.append(message(table.file, what, line=line, column=name, value=cell, mend=mend))
    return values


def _lines_strung(table: _Table, default: int, faults: list[str]) -> list[int]:
    found = []
    for (line, _), cell in zip(table.rows, _texts(table, "lines_strung"), strict=True):
        if cell and not (cell.isdecimal() and 2 <= int(cell) <= 20):
            what = "a whole number of lines from 2 to 20 is expected"
            faults.append(message(table.file, what, line=line, column="lines_strung", value=cell))
            cell = ""
        found.append(int(cell) if cell else default)
    return found


def _directions(table: _Table, default: str | None, faults: list[str]) -> list[str]:
    found = []
    words = ", ".join(DIRECTIONS)
    for (line, _), cell in zip(table.rows, _texts(table, "direction"), strict=True):
        word = cell.lower() or default or ""
        if word not in DIRECTIONS:
            faults.append(
                message(
                    table.file,
                    f"the block's direction is needed with a hook load: {words}",
                    line=line,
                    column="direction",
                    value=cell,
                    mend="fill in the column, or give --direction for all",
                )
            )
        found.append(word)
    return found


def _at_the_sensor(
    hook_loads: Floats, rig: Rig, lines_strung: list[int], directions: list[str]
) -> Floats:
    """Dead-line tensions of hook loads, in the same unit: the factor has none."""
    reeving = rig.reeving
    tensions = [
        dead_line_tension_N(
            load, n_lines, reeving.sheave_efficiency, reeving.dead_line_sheave, direction
        )
        for load, n_lines, direction in zip(
            hook_loads.tolist(), lines_strung, directions, strict=True
        )
    ]
    return np.array(tensions)
