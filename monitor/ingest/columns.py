"""Which column of a file is which channel: the project's own form, and foreign headers."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from monitor.ingest.drum_turns import NEEDED, height_of_turns
from monitor.ingest.errors import InputError, message
from monitor.model import CHANNELS, Floats
from monitor.rig.input_map import TURNS
from monitor.rig.rig import ColumnMap, InputMap
from monitor.units import UnitError, factor, known_units

LOAD_CHANNELS = ("deadline_tension", "deadline_signal", "hook_load")
OWN_FORM = re.compile(r"^(.*?)\s*\[\s*(.*?)\s*\]$")


@dataclass(frozen=True, slots=True)
class Column:
    """One column that is read. ``si = number * scale + offset``."""

    index: int
    header: str
    channel: str
    unit: str
    scale: float
    offset: float
    curve: Callable[[Floats], Floats] | None = None  # in place of both, where it is no line


@dataclass(frozen=True, slots=True)
class TimeColumn:
    """The column with the stamps; ``unit_s`` is set where they are counted from a start."""

    index: int
    header: str
    unit_s: float | None = None
    zone: str = ""
    format: str = ""


@dataclass(frozen=True, slots=True)
class Layout:
    """What is read of a file with this header, and what is not."""

    width: int
    time: TimeColumn
    columns: tuple[Column, ...]
    ignored: tuple[str, ...]
    absent: tuple[str, ...]  # headers the rig file maps and this file does not have

    @property
    def channels(self) -> tuple[str, ...]:
        """Channels of this file, in the order of its columns."""
        return tuple(column.channel for column in self.columns)


def read_layout(cells: Sequence[str], rules: InputMap, file: str, line: int = 1) -> Layout:
    """Find every column to be read, or refuse with all that is wrong with the header."""
    headers = [cell.strip() for cell in cells]
    mapped = _mapped_headers(headers, rules)
    times: list[TimeColumn] = []
    columns: list[Column] = []
    ignored: list[str] = []
    faults: list[str] = []
    for index, header in enumerate(headers):
        rule = mapped.get(index) or _own_rule(header, foreign=bool(mapped))
        if rule is None:
            ignored.append(header)
            continue
        try:
            if rule.channel == "time":
                times.append(_time_column(index, header, rule, rules))
            else:
                columns.append(_column(index, header, rule, rules))
        except UnitError as error:
            mend = f'write the header as "{rule.channel} [unit]"' if not mapped else ""
            faults.append(message(file, str(error), line=line, column=header, mend=mend))
    columns, dropped = _prefer_mapped(columns, set(mapped))
    ignored.extend(dropped)
    faults.extend(_doubled(times, columns, file, line))
    if not faults:
        faults.extend(_lacking(headers, times, columns, rules, file, line))
    if faults:
        raise InputError("\n".join(faults))
    present = {headers[index] for index in mapped}
    absent = tuple(header for header in rules.columns if header.strip() not in present)
    return Layout(len(headers), times[0], tuple(columns), tuple(ignored), absent)


def _mapped_headers(headers: Sequence[str], rules: InputMap) -> dict[int, ColumnMap]:
    """Columns named in the rig file: exactly, else in any case where that is unique."""
    found: dict[int, ColumnMap] = {}
    for name, rule in rules.columns.items():
        wanted = name.strip()
        exact = [i for i, header in enumerate(headers) if header == wanted]
        alike = [i for i, header in enumerate(headers) if header.casefold() == wanted.casefold()]
        for index in exact or (alike if len(alike) == 1 else []):
            found[index] = rule
    return found


def _own_rule(header: str, *, foreign: bool) -> ColumnMap | None:
    """Rule of a header in the project's own form; None where it is no channel of ours.

    In a file with mapped headers a channel's name counts only with its unit in brackets,
    since a bare word may mean anything there.
    """
    bracketed = OWN_FORM.match(header)
    name, unit = (bracketed[1].strip(), bracketed[2]) if bracketed else (header, "")
    if foreign and not unit:
        return None
    if name == "time" or name in CHANNELS:
        return ColumnMap(name, unit)
    return None


def _column(index: int, header: str, rule: ColumnMap, rules: InputMap) -> Column:
    if rule.channel == "block_position" and rule.unit.casefold() in TURNS:
        if rules.drum_turns is None:
            raise UnitError(NEEDED)
        curve = height_of_turns(rules.drum_turns)
        return Column(index, header, rule.channel, rule.unit, 1.0, 0.0, curve)
    quantity = CHANNELS[rule.channel].quantity
    if not rule.unit:
        raise UnitError(f"has no unit; known for {quantity}: {', '.join(known_units(quantity))}")
    scale, offset = factor(rule.unit, quantity)
    return Column(index, header, rule.channel, rule.unit, scale, offset)


def _time_column(index: int, header: str, rule: ColumnMap, rules: InputMap) -> TimeColumn:
    unit_s = factor(rule.unit, "time")[0] if rule.unit and not rule.format else None
    return TimeColumn(index, header, unit_s, rule.zone or rules.time_zone, rule.format)


def _prefer_mapped(columns: list[Column], mapped: set[int]) -> tuple[list[Column], list[str]]:
    """Where the rig file maps a channel, a column that merely bears its name is left out."""
    by_map = {column.channel for column in columns if column.index in mapped}
    kept = [c for c in columns if c.index in mapped or c.channel not in by_map]
    return kept, [c.header for c in columns if c not in kept]


def _doubled(
    times: Sequence[TimeColumn], columns: Sequence[Column], file: str, line: int
) -> list[str]:
    groups: dict[str, list[str]] = {}
    for time in times:
        groups.setdefault("time", []).append(time.header)
    for column in columns:
        groups.setdefault(column.channel, []).append(column.header)
    return [
        message(
            file,
            f"{len(headers)} columns are {channel}: "
            + ", ".join(f'"{header}"' for header in headers),
            line=line,
            mend="rename or take out all but one, or choose one in [input.columns]",
        )
        for channel, headers in groups.items()
        if len(headers) > 1
    ]


def _lacking(
    headers: Sequence[str],
    times: Sequence[TimeColumn],
    columns: Sequence[Column],
    rules: InputMap,
    file: str,
    line: int,
) -> list[str]:
    channels = {column.channel for column in columns}
    lacking: list[tuple[str, tuple[str, ...], str]] = []
    if not times:
        lacking.append(("time", ("time",), "time"))
    if not channels & set(LOAD_CHANNELS):
        lacking.append(("load", LOAD_CHANNELS, "deadline_tension [kN]"))
    if "block_position" not in channels:
        lacking.append(("block position", ("block_position",), "block_position [m]"))
    return [
        message(
            file,
            f"no {what} column (found: {_listed(headers)})",
            line=line,
            mend=_mend(headers, names, example, rules),
        )
        for what, names, example in lacking
    ]


def _listed(headers: Sequence[str]) -> str:
    shown = ", ".join(f'"{header}"' for header in headers[:12])
    return shown + (f" and {len(headers) - 12} more" if len(headers) > 12 else "")


def _mend(headers: Sequence[str], names: Sequence[str], example: str, rules: InputMap) -> str:
    bare = [OWN_FORM.sub(r"\1", header) for header in headers]
    for name in names:
        near = difflib.get_close_matches(name, bare, n=1, cutoff=0.8)
        if near:
            return f'did you mean "{example}" by "{headers[bare.index(near[0])]}"?'
    declared = [header for header, rule in rules.columns.items() if rule.channel in names]
    if declared:
        return f'the rig file expects it under "{declared[0]}" in [input.columns]; mend it there'
    inner = f'channel = "{names[0]}"' + (', unit = "kN"' if "kN" in example else "")
    inner += ', unit = "m"' if "[m]" in example else ""
    return (
        f'name it "{example}", or map the file\'s own header in the rig file: '
        f'[input.columns] "..." = {{ {inner} }}'
    )
