"""Names and values of the record's columns: the one place where NaN and NULL meet.

SQLite keeps NaN as NULL and -0.0 as 0.0, so rows are given to the pipeline as the record
would give them back (``as_stored``): a rebuild from the record then sees the same bits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import MISSING, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.model import (
    CHANNELS,
    INTEGER_RESULTS,
    RESULT_COLUMNS,
    Alarm,
    AlarmChange,
    CalibrationAct,
    EmptyCheck,
    Event,
    Floats,
    Ints,
    Samples,
    TripRow,
)

# A raw channel whose SI name is also a result is told apart in rows that hold both.
PUBLIC_NAMES: Mapping[str, str] = {
    channel.name: ("reported_" if channel.column in RESULT_COLUMNS else "") + channel.column
    for channel in CHANNELS.values()
}
CHANNEL_OF: Mapping[str, str] = {public: name for name, public in PUBLIC_NAMES.items()}
# What rollups hold, in the order of their matrices.
ROLLUP_COLUMNS: tuple[str, ...] = (*PUBLIC_NAMES.values(), *RESULT_COLUMNS)


def quality_column(channel: str) -> str:
    """Name of the column with the quality flags of one channel."""
    return f"{channel}_quality"


def sample_columns() -> dict[str, str]:
    """Columns of ``samples`` beside seq, time and row flags, with their SQL types."""
    columns: dict[str, str] = {}
    for channel in CHANNELS.values():
        columns[channel.column] = "REAL"
        columns[quality_column(channel.name)] = "INTEGER"
    return columns


def result_columns() -> dict[str, str]:
    """Columns of ``results`` beside seq, with their SQL types."""
    return {name: "INTEGER" if name in INTEGER_RESULTS else "REAL" for name in RESULT_COLUMNS}


def rollup_columns() -> dict[str, str]:
    """Columns of a rollup beside its keys and counts, with their SQL types."""
    return {f"{name}_{what}": "REAL" for name in ROLLUP_COLUMNS for what in ("min", "max", "last")}


_SQL_TYPES = {"int": "INTEGER", "int | None": "INTEGER", "bool": "INTEGER", "float": "REAL"}


Finding = Event | TripRow | CalibrationAct | EmptyCheck | Alarm | AlarmChange


def finding_columns(kind: type[Finding]) -> dict[str, str]:
    """Columns of the table that holds one of the dataclasses, with their SQL types."""
    return {part.name: _SQL_TYPES.get(str(part.type), "TEXT") for part in fields(kind)}


def as_stored(samples: Samples) -> Samples:
    """Give the same rows as the record would give them back: no negative zero."""
    return replace(samples, values={name: column + 0.0 for name, column in samples.values.items()})


def stored_columns(columns: Mapping[str, NDArray[np.generic]]) -> Iterable[Sequence[Any]]:
    """Columns as lists SQLite takes; it turns NaN into NULL itself."""
    return (column.tolist() for column in columns.values())


def floats(cells: Sequence[float | None]) -> Floats:
    """Cells of a nullable REAL column, NULL as NaN."""
    return np.array(cells, dtype=np.float64)


def integers(cells: Sequence[int | None]) -> Ints:
    """Cells of an INTEGER column, NULL as 0."""
    try:
        return np.array(cells, dtype=np.int64)
    except TypeError:
        return np.array([cell or 0 for cell in cells], dtype=np.int64)


def finding_cells(finding: Finding) -> list[Any]:
    """Cells of one finding in the order of ``finding_columns``."""
    return [_plain(getattr(finding, part.name)) for part in fields(finding)]


def _plain(value: Any) -> Any:
    """Give a plain Python value for whatever numpy scalar a stage may have put in."""
    return value.item() if isinstance(value, np.generic) else value


def event_of(cells: Sequence[Any]) -> Event:
    """Turn cells in the order of ``finding_columns(Event)`` into the event."""
    return Event(**_arguments(Event, cells))


def trip_row_of(cells: Sequence[Any]) -> TripRow:
    """Turn cells in the order of ``finding_columns(TripRow)`` into the trip row."""
    return TripRow(**_arguments(TripRow, cells))


def calibration_act_of(cells: Sequence[Any]) -> CalibrationAct:
    """Turn cells in the order of ``finding_columns(CalibrationAct)`` into the act."""
    return CalibrationAct(*cells)


def empty_check_of(cells: Sequence[Any]) -> EmptyCheck:
    """Turn cells in the order of ``finding_columns(EmptyCheck)`` into the check."""
    return EmptyCheck(**_arguments(EmptyCheck, cells))


def alarm_of(cells: Sequence[Any]) -> Alarm:
    """Turn cells in the order of ``finding_columns(Alarm)`` into the alarm."""
    return Alarm(**_arguments(Alarm, cells))


def alarm_change_of(cells: Sequence[Any]) -> AlarmChange:
    """Turn cells in the order of ``finding_columns(AlarmChange)`` into the line."""
    return AlarmChange(**_arguments(AlarmChange, cells))


def _arguments(kind: type[Finding], cells: Sequence[Any]) -> dict[str, Any]:
    arguments: dict[str, Any] = {}
    for part, cell in zip(fields(kind), cells, strict=True):
        if str(part.type) == "float":
            arguments[part.name] = float("nan") if cell is None else cell
        elif str(part.type) == "bool":
            arguments[part.name] = bool(cell)
        elif cell is None and part.default is not MISSING:
            arguments[part.name] = part.default
        else:
            arguments[part.name] = cell
    return arguments
