"""What kind of file it is, before anything of it is believed: text, its separator, its header."""

from __future__ import annotations

import codecs
import gzip
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, cast

from monitor.ingest.block import split_line
from monitor.ingest.columns import OWN_FORM
from monitor.ingest.errors import InputError, message
from monitor.model import CHANNELS
from monitor.rig.rig import InputMap

HEAD_BYTES = 1 << 16
GZIP = b"\x1f\x8b"
_TITLE_LINES = 40  # the header is looked for in so many lines
_SEPARATOR_NAMES = {",": "comma", ";": "semicolon", "\t": "tab"}
_KNOWN_CONTENT = {
    b"PK\x03\x04": "a ZIP archive or a spreadsheet workbook; save the sheet as CSV",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet workbook; save the sheet as CSV",
    b"%PDF": "a PDF document; export the data as CSV",
    b"SQLite format 3\x00": "a database; export the data as CSV",
    b"PAR1": "a parquet file; export the data as CSV",
    b"BZh": "packed with bzip2; unpack it, or pack it with gzip",
    b"\xfd7zXZ": "packed with xz; unpack it, or pack it with gzip",
    b"\x28\xb5\x2f\xfd": "packed with zstd; unpack it, or pack it with gzip",
}


@dataclass(frozen=True, slots=True)
class Head:
    """Header cells, the separator, where the data begin (bytes and line), the line ends."""

    cells: tuple[str, ...]
    separator: str
    data_offset: int  # in the (unpacked) text
    data_line: int  # line number of the first line after the header, counted from 1
    lone_returns: bool  # lines end in CR alone
    packed: bool
    notes: tuple[str, ...] = ()


def written_lines(raw: bytes, file: str, header: str) -> list[tuple[int, str]]:
    """Lines of a short table with their numbers, blank ones left out; the first is the header.

    InputError where it is no text or has no line; ``header`` is what the first should be.
    """
    refuse_binary(raw, file)
    text = raw.decode("utf-8-sig", errors="replace")
    lines = [
        (number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip(" \t;,")
    ]
    if not lines:
        raise InputError(message(file, "is empty", mend=f"the header is {header}"))
    return lines


def open_text(path: Path) -> tuple[BinaryIO, bool]:
    """Open a file for reading its text bytes; gzip is known by its content, not its name."""
    name = str(path)
    if path.is_dir():
        raise InputError(message(name, "is a folder, not a file", mend="name the file in it"))
    try:
        raw = path.open("rb")
        magic = raw.read(2)
        raw.seek(0)
    except FileNotFoundError:
        raise InputError(message(name, "no such file", mend="check the name")) from None
    except PermissionError:
        raise InputError(message(name, "may not be read", mend="check its permissions")) from None
    except OSError as error:
        raise InputError(message(name, f"cannot be read ({error.strerror})")) from None
    if magic == GZIP:
        raw.close()
        return cast(BinaryIO, gzip.GzipFile(path, "rb")), True
    return raw, False


def read_head(start: bytes, rules: InputMap, file: str, *, packed: bool = False) -> Head:
    """Read the header from the first bytes of a file's text."""
    if not start.strip(b"\xef\xbb\xbf\r\n\t ;,\x00"):
        if b"\x00" in start:
            raise InputError(message(file, "holds no text, only zero bytes"))
        raise InputError(message(file, "is empty", mend="it needs a header line and rows"))
    refuse_binary(start, file)
    offset = len(codecs.BOM_UTF8) if start.startswith(codecs.BOM_UTF8) else 0
    text = start[offset:]
    lone_returns = b"\n" not in text and b"\r" in text
    end = b"\r" if lone_returns else b"\n"
    line, offset, number = _header_line(start, offset, end, rules)
    notes = []
    if number > 1 and start[: offset - len(line) - 1].strip(b"\xef\xbb\xbf\r\n\t ;,"):
        notes.append(f"{file}: the header is line {number}; the lines before it are left out")
    try:
        header = line.decode("utf-8")
    except UnicodeDecodeError:
        header = line.decode("cp1252", errors="replace")
        notes.append(f"{file}: the header is not UTF-8; read as Windows-1252")
    header = header.rstrip("\r")
    separator = rules.separator or _separator(header, rules, file)
    cells = tuple(split_line(header, separator))
    if all(_is_number(cell) for cell in cells if cell.strip()):
        raise InputError(
            message(
                file,
                "holds a number in every cell where the header is expected",
                line=number,
                mend="put a header line first, e.g. time,deadline_tension [kN],block_position [m]",
            )
        )
    return Head(cells, separator, offset, number + 1, lone_returns, packed, tuple(notes))


def _header_line(start: bytes, offset: int, end: bytes, rules: InputMap) -> tuple[bytes, int, int]:
    """Find the header line, the place after it, and its number.

    It is the first line that is not empty, unless one of the lines after it bears two known
    names or more and it does not: then those before are titles.
    """
    number = 0
    lines: list[tuple[bytes, int, int]] = []
    while offset < len(start) and len(lines) < _TITLE_LINES:
        stop = start.find(end, offset)
        stop = len(start) if stop < 0 else stop
        number += 1
        if start[offset:stop].strip(b"\r\t ;,"):
            lines.append((start[offset:stop], stop + 1, number))
        offset = stop + 1
    for line in lines:
        text = line[0].decode("utf-8", "replace").rstrip("\r")
        if max(_hits(text, separator, rules) for separator in _SEPARATOR_NAMES) >= 2:
            return line
    return lines[0]


def _hits(header: str, separator: str, rules: InputMap) -> int:
    """How many cells of a line are names that are known."""
    known = {name.strip() for name in rules.columns} | {"time", *CHANNELS}
    cells = [cell.strip() for cell in split_line(header, separator)]
    return sum(cell in known or OWN_FORM.sub(r"\1", cell) in known for cell in cells)


def refuse_binary(start: bytes, file: str) -> None:
    """Refuse what is no text, and say what it seems to be."""
    for magic, what in _KNOWN_CONTENT.items():
        if start.startswith(magic):
            raise InputError(message(file, f"is not a text file but {what}"))
    wide = start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    sample = start[:4096]
    zeros = sample.count(0)
    if wide or zeros > len(sample) // 4 and _one_sided(sample):
        raise InputError(
            message(file, "is UTF-16 text", mend="save it as UTF-8 (or plain ASCII) CSV")
        )
    control = sum(sample.count(code) for code in range(32) if code not in (9, 10, 12, 13, 26))
    if control > max(8, len(sample) // 100) or zeros:
        raise InputError(
            message(file, "is a binary file, not text", mend="give a CSV file, or one in gzip")
        )


def _one_sided(sample: bytes) -> bool:
    """Whether the zero bytes stand at every other place, as in two-byte text."""
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    return min(even, odd) * 10 < max(even, odd)


def _separator(header: str, rules: InputMap, file: str) -> str:
    """Find the separator under which the header makes most sense."""
    scores = []
    for separator in _SEPARATOR_NAMES:
        width = len(split_line(header, separator))
        scores.append((_hits(header, separator, rules), width, separator))
    hits, width, separator = max(scores, key=lambda score: score[:2])
    if width == 1:
        found = header.strip()
        raise InputError(
            message(
                file,
                "no comma, semicolon or tab in the header line",
                line=1,
                value=found,
                mend="the columns must be separated by one of them",
            )
        )
    return separator


def _is_number(cell: str) -> bool:
    try:
        float(cell.strip().replace(",", "."))
    except ValueError:
        return False
    return True
