"""The rig file's ``[input]`` table: how files with foreign headers are read."""

from __future__ import annotations

import re

from monitor import units
from monitor.model import CHANNELS
from monitor.rig.rig import ColumnMap, InputMap
from monitor.rig.table import Table, nearest

_SEPARATORS = {
    ",": ",",
    ";": ";",
    "\t": "\t",
    "comma": ",",
    "semicolon": ";",
    "tab": "\t",
}
# A block position may come as turns of the drum, counted from where [drum] line_on_drum was.
TURNS = ("turns", "turn", "rev", "revolutions")
_FORM = 'a table like { channel = "hook_load", unit = "klbf" }'


def read_input(table: Table) -> InputMap:
    """Read ``[input]``."""
    separator = _SEPARATORS.get(
        table.text("separator", choices=tuple(_SEPARATORS), meaning="a separator"), ""
    )
    decimal = table.text("decimal", default=".", choices=(".", ","), meaning="a decimal sign")
    if decimal == "," and separator == ",":
        table.fault("separator", "another separator, since the decimal sign is a comma")
    result = InputMap(
        time_zone=table.zone("time_zone"),
        columns=_columns(table.table("columns")),
        null_values=_null_values(table),
        decimal=decimal,
        separator=separator,
        hook_load_is=table.text("hook_load_is"),
    )
    table.close()
    return result


def _null_values(table: Table) -> tuple[str, ...]:
    """Nulls as they stand in the files; a number is taken by its digits, so -999.25 works."""
    values = table.array("null_values", 'texts, like ["-999.25", "NULL"]')
    if any(isinstance(v, bool) or not isinstance(v, str | int | float) for v in values):
        table.fault("null_values", 'an array of texts, like ["-999.25", "NULL"]')
        return ()
    return tuple(str(v) for v in values)


def _columns(table: Table) -> dict[str, ColumnMap]:
    columns: dict[str, ColumnMap] = {}
    taken: dict[str, str] = {}
    for header in table.keys():
        if not isinstance(table.content[header], dict):
            table.fault(header, _FORM)
            continue
        column = _column(table, table.table(header), header)
        if column is None:
            continue
        if column.channel in taken:
            table.fault(header, f"{column.channel} is taken by {taken[column.channel]!r} already")
        taken[column.channel] = header
        columns[header] = column
    return columns


def _column(parent: Table, table: Table, header: str) -> ColumnMap | None:
    channel = table.text("channel", required=True, meaning="a channel name or time")
    unit = table.text("unit", meaning="a unit")
    column = ColumnMap(channel, unit, table.zone("zone"), table.text("format"))
    table.close()
    if not channel:
        return None
    if channel != "time" and channel not in CHANNELS:
        table.fault("channel", f"not a channel; {nearest(channel, ('time', *CHANNELS))}")
        return None
    if column.format and "%" not in column.format:
        table.fault("format", 'a time format, like "%d/%m/%Y %H:%M:%S"')
    if channel == "time":
        if unit:
            _check_unit(table, unit, "time")
        return column
    for key in ("zone", "format"):
        if key in table:
            table.fault(key, "only for the time column")
    return _with_unit(parent, table, header, column)


def _with_unit(parent: Table, table: Table, header: str, column: ColumnMap) -> ColumnMap | None:
    """Take the unit given, else the one the header bears in brackets."""
    quantity = CHANNELS[column.channel].quantity
    if column.channel == "block_position" and column.unit.casefold() in TURNS:
        return column
    if column.unit:
        _check_unit(table, column.unit, quantity)
        return column
    bracketed = re.search(r"[\[(]([^\])]+)[\])]\s*$", header)
    if bracketed and quantity in units.quantity_of(bracketed[1]):
        return ColumnMap(column.channel, bracketed[1].strip(), column.zone, column.format)
    known = ", ".join(units.known_units(quantity))
    table.fault("unit", f"required: the unit this column is written in, one of: {known}")
    return None


def _check_unit(table: Table, unit: str, quantity: str) -> None:
    try:
        units.factor(unit, quantity)
    except units.UnitError as error:
        table.fault("unit", str(error))
