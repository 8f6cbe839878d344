"""TALLY.csv: the joints of the string with their lengths, in the order they are run."""

from __future__ import annotations

from pathlib import Path

from monitor.ingest.block import split_line
from monitor.ingest.columns import OWN_FORM
from monitor.ingest.errors import InputError, message
from monitor.ingest.file_head import open_text, written_lines
from monitor.rig.string import GREATEST_JOINT_M, LEAST_JOINT_M
from monitor.units import UnitError, factor

HEADER = "joint,length [m]"
_LARGEST = 10_000_000


def read_tally(path: Path) -> tuple[float, ...]:
    """Lengths [m], the bit's end first; other columns are not needed. Every fault at once."""
    stream, _ = open_text(Path(path))
    with stream:
        raw = stream.read(_LARGEST)
    return tally_of(raw, str(path))


def tally_of(raw: bytes, file: str, header: str = "") -> tuple[float, ...]:
    """Lengths [m] of a list in the form of TALLY.csv; its ``header`` where it has none itself."""
    lines = written_lines(raw, file, HEADER)
    if header:
        lines = [(0, header), *lines]
    separator = next((mark for mark in (";", "\t") if mark in lines[0][1]), ",")
    place, scale = _place([cell.strip() for cell in split_line(lines[0][1], separator)], file)
    lengths, faults = [], []
    for number, line in lines[1:]:
        cells = split_line(line, separator)
        cell = cells[place].strip() if place < len(cells) else ""
        try:
            length = float(cell) * scale
        except ValueError:
            length = float("nan")
        if LEAST_JOINT_M <= length <= GREATEST_JOINT_M:
            lengths.append(length)
            continue
        what = f"is no length of a joint ({LEAST_JOINT_M:g} to {GREATEST_JOINT_M:g} m)"
        faults.append(message(file, what, line=number, column="length", value=cell))
    if faults:
        raise InputError("\n".join(faults[:20]))
    if not lengths:
        raise InputError(message(file, "lists no joint", mend=f"rows below {HEADER}"))
    return tuple(lengths)


def _place(header: list[str], file: str) -> tuple[int, float]:
    """Column of the length, and what turns it into metres."""
    for place, cell in enumerate(header):
        found = OWN_FORM.match(cell)
        if found is None or found[1].strip().lower() != "length":
            continue
        try:
            return place, factor(found[2], "length")[0]
        except UnitError as error:
            raise InputError(message(file, str(error), line=1, column=cell)) from None
    raise InputError(
        message(
            file,
            "no column length with its unit",
            line=1,
            value=",".join(header),
            mend=f"the header is {HEADER}",
        )
    )


def tally_table(lengths_m: tuple[float, ...]) -> str:
    """The lengths as the rig file's ``[tally]``, so that a record knows them."""
    listed = ", ".join(f'"{length:.4f} m"' for length in lengths_m)
    return f"\n[tally]\nlengths = [{listed}]\n"
