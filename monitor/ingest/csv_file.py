"""CSV files to samples, in bounded blocks: memory does not grow with the record."""

from __future__ import annotations

import zlib
from collections.abc import Generator, Iterator, Sequence
from pathlib import Path

import numpy as np

from monitor.ingest.block import line_ends
from monitor.ingest.cells import CellReader
from monitor.ingest.clock import Numbering
from monitor.ingest.columns import Layout, read_layout
from monitor.ingest.counts import NOT_NEWER, UNCONFIRMED_JUMP, Counts
from monitor.ingest.errors import InputError, message
from monitor.ingest.file_head import HEAD_BYTES, Head, open_text, read_head
from monitor.ingest.rows import Rows
from monitor.ingest.stamps import shown_time
from monitor.model import Quality, Samples
from monitor.rig.rig import InputMap, Rig
from monitor.units import UnitError, parse_iso

CHUNK_ROWS = 131_072
_LEAST_BLOCK, _GREATEST_BLOCK = 1 << 18, 1 << 24
_LONGEST_LINE = 1 << 20
_LONGEST_QUOTED = 1 << 12  # a longer cell is a quotation mark that was never closed


class CsvPart:
    """One open CSV file: its header understood, its blocks read in turn."""

    def __init__(
        self,
        path: Path,
        rules: InputMap,
        counts: Counts,
        *,
        start_us: int = 0,
        chunk_rows: int = CHUNK_ROWS,
    ) -> None:
        self.path = path
        self.file = str(path)
        self._counts = counts
        self._stream, packed = open_text(path)
        try:
            start = self._take(HEAD_BYTES)
            self.head: Head = read_head(start, rules, self.file, packed=packed)
            self.layout: Layout = read_layout(
                self.head.cells, rules, self.file, self.head.data_line - 1
            )
        except InputError:
            self._stream.close()
            raise
        self.reader = CellReader(
            self.layout, self.head.separator, rules, self.file, counts, start_us
        )
        self._pending = start[self.head.data_offset :]
        self._line = self.head.data_line
        self._block_bytes = _block_bytes(self._pending, chunk_rows)
        self._ended = False

    def __iter__(self) -> Iterator[Rows]:
        return self

    def __next__(self) -> Rows:
        """Rows of the next block; some blocks may hold none that can be used."""
        while not self._ended:
            more = self._take(self._block_bytes)
            text = self._pending + more
            if self.head.lone_returns:
                text = text.replace(b"\r", b"\n")
            self._ended = not more
            cut = len(text) if self._ended else whole_lines(text)
            self._pending = text[cut:]
            if len(self._pending) > _LONGEST_LINE:
                raise InputError(message(self.file, "a line is longer than 1 MB", line=self._line))
            if cut:
                lines, line = text[:cut], self._line
                n_ends = line_ends(lines)
                self._line += n_ends
                return self.reader.read(lines, line, n_ends)
        self._stream.close()
        raise StopIteration

    def _take(self, size: int) -> bytes:
        """Read, up to the place where a damaged gzip file ends."""
        try:
            return self._stream.read(size)
        except (EOFError, zlib.error, OSError) as error:
            self._counts.note(
                f"{self.file}: the file is damaged or cut short ({error}); "
                "what could be read before that is used"
            )
            return b""

    def peek_us(self) -> int | None:
        """Stamp of the first readable row of the first lines, to put files in order."""
        stop = whole_lines(self._pending) or len(self._pending)
        lines = self._pending[:stop].replace(b"\r", b"\n" if self.head.lone_returns else b"\r")
        first = b"\n".join(lines.split(b"\n", 50)[:50])
        reader = CellReader(
            self.layout,
            self.head.separator,
            self.reader.rules,
            self.file,
            Counts(),
            self.reader.start_us,
        )
        rows = reader.read(first, self._line)
        return int(rows.time_us[0]) if len(rows) else None

    def close(self) -> None:
        """Close the file."""
        self._stream.close()


def _block_bytes(text: bytes, chunk_rows: int) -> int:
    lines = text.count(b"\n")
    per_line = len(text) / lines if lines else 100.0
    return int(min(max(per_line * chunk_rows, _LEAST_BLOCK), _GREATEST_BLOCK))


def whole_lines(text: bytes) -> int:
    """Length of the whole lines of a text, not cut inside a quoted cell."""
    cut = text.rfind(b"\n") + 1
    if b'"' not in text:
        return cut
    place = cut
    while place and len(text) - place < _LONGEST_QUOTED:
        if text.count(b'"', 0, place) % 2 == 0:
            return place
        place = text.rfind(b"\n", 0, place - 1) + 1
    return cut  # a quotation mark that is never closed: it is no quoting


class CsvSource:
    """Samples of one record in one or more CSV files; iterate over it.

    ``counts`` is complete when the iteration has ended.
    """

    def __init__(
        self, paths: Sequence[Path], rig: Rig, *, start: str | None, chunk_rows: int
    ) -> None:
        if not paths:
            raise InputError("no input file given")
        self.counts = Counts()
        start_us = start_time_us(start, rig.input.time_zone)
        self._parts = self._opened(paths, rig.input, start_us, chunk_rows)
        note_time_origin([part.layout for part in self._parts], start, start_us, self.counts)
        channels = dict.fromkeys(name for part in self._parts for name in part.layout.channels)
        self.numbering = Numbering(tuple(channels))
        self._chunk_rows = chunk_rows
        self._iterator = self._run()

    def __iter__(self) -> Iterator[Samples]:
        return self

    def __next__(self) -> Samples:
        return next(self._iterator)

    def close(self) -> None:
        """Close the files, also before the end."""
        self._iterator.close()
        for part in self._parts:
            part.close()

    def _opened(
        self, paths: Sequence[Path], rules: InputMap, start_us: int, chunk_rows: int
    ) -> list[CsvPart]:
        parts: list[CsvPart] = []
        try:
            for path in paths:
                part = CsvPart(
                    Path(path), rules, self.counts, start_us=start_us, chunk_rows=chunk_rows
                )
                parts.append(part)
                note_layout(part.layout, part.head, part.file, self.counts)
            return self._in_time_order(parts)
        except InputError:
            for part in parts:
                part.close()
            raise

    def _in_time_order(self, parts: list[CsvPart]) -> list[CsvPart]:
        if len(parts) < 2:
            return parts
        latest = 1 << 62
        first = [latest if stamp is None else stamp for stamp in map(CsvPart.peek_us, parts)]
        ordered = [parts[i] for i in sorted(range(len(parts)), key=lambda i: first[i])]
        if ordered != parts:
            names = ", ".join(part.file for part in ordered)
            self.counts.note(f"the files were put in order of time: {names}")
        return ordered

    def _run(self) -> Generator[Samples, None, None]:
        usable = False
        try:
            for number, part in enumerate(self._parts):
                if number:
                    self.numbering.new_file()
                    if part.reader.local is not None:
                        part.reader.local.newest_us = self.numbering.newest_us or 0
                for rows in part:
                    samples = self.numbering.feed(with_channels(rows, self.numbering.channels))
                    count_findings(self.numbering, self.counts, part.file, part.layout)
                    usable = usable or is_usable(samples)
                    for at in range(0, len(samples), self._chunk_rows):
                        yield samples.piece(at, at + self._chunk_rows)
            rest = self.numbering.finish()
            count_findings(self.numbering, self.counts, part.file, part.layout)
            if not usable:
                raise self._nothing_usable()
            if rest is not None:
                yield rest
        finally:
            for part in self._parts:
                part.close()

    def _nothing_usable(self) -> InputError:
        names = ", ".join(part.file for part in self._parts)
        if not self.counts.samples and not self.counts.rejected:
            return InputError(message(names, "has a header and no rows"))
        reasons = ", ".join(f"{n} x {reason}" for reason, n in self.counts.rejected.items())
        if not reasons:
            reasons = "every load cell is empty"
        text = f"{names}: no usable row ({reasons})"
        return InputError("\n".join([text, *self.counts.examples[:3]]))


def read_csv(
    paths: Sequence[Path], rig: Rig, *, start: str | None = None, chunk_rows: int = CHUNK_ROWS
) -> CsvSource:
    """Read CSV files that are parts of one record.

    Files and headers are checked here; rows are read as the result is iterated. Both raise
    InputError with one clear message.
    """
    return CsvSource(paths, rig, start=start, chunk_rows=chunk_rows)


def start_time_us(start: str | None, time_zone: str) -> int:
    """Origin of counted stamps; 1970 where none is given."""
    if start is None:
        return 0
    try:
        return parse_iso(start, time_zone)
    except UnitError as error:
        raise InputError(f"--start: {error}") from None


def note_time_origin(
    layouts: Sequence[Layout], start: str | None, start_us: int, counts: Counts
) -> None:
    """Say from when counted stamps are counted."""
    if any(layout.time.unit_s is not None for layout in layouts):
        default = "" if start is not None else " (no --start given)"
        counts.note(f"time is counted from {shown_time(start_us)}{default}")
    elif start is not None:
        counts.note("--start is not used: the stamps in the file are dates")


def note_layout(layout: Layout, head: Head, file: str, counts: Counts) -> None:
    """Say what of a file is not read."""
    for text in head.notes:
        counts.note(text)
    for header in layout.ignored:
        if header not in counts.ignored_columns:
            counts.ignored_columns.append(header)
    for header in layout.absent:
        counts.note(f'{file}: no column "{header}", which the rig file maps')


def with_channels(rows: Rows, channels: Sequence[str]) -> Rows:
    """Rows with every channel of the record; one this file does not have is missing."""
    if all(name in rows.values for name in channels):
        return rows
    n = len(rows)
    none, reason = np.full(n, np.nan), np.full(n, int(Quality.MISSING), np.uint16)
    return Rows(
        rows.time_us,
        rows.line,
        {name: rows.values.get(name, none) for name in channels},
        {name: rows.quality.get(name, reason) for name in channels},
    )


def is_usable(samples: Samples) -> bool:
    """Whether there is a row in time with a load."""
    in_time = (samples.row & int(Quality.LATE | Quality.GAP)) == 0
    loads = ("deadline_tension", "deadline_signal", "hook_load")
    return any(
        bool((np.isfinite(samples.values[name]) & in_time).any())
        for name in loads
        if name in samples.values
    )


def count_findings(numbering: Numbering, counts: Counts, file: str, layout: Layout) -> None:
    """Bring the totals of the numbering into the counts, with messages for the first few."""
    totals = numbering.totals
    counts.samples, counts.gaps, counts.clock_steps = totals["rows"], totals["gap"], totals["step"]
    for reason, kind in ((NOT_NEWER, "late"), (UNCONFIRMED_JUMP, "unconfirmed")):
        if totals[kind]:
            counts.rejected[reason] = totals[kind]
    for finding in numbering.findings:
        stamp, newest = shown_time(finding.time_us), shown_time(finding.newest_us)
        if finding.kind == "step":
            counts.note(
                f"{file}, line {finding.line}: the clock stepped back from {newest} to {stamp}; "
                "from here a new epoch"
            )
            continue
        late = finding.kind == "late"
        reason = NOT_NEWER if late else UNCONFIRMED_JUMP
        what = (
            f"not newer than {newest} before it; kept, marked late, not interpreted"
            if late
            else f"jumps ahead of {newest} and no later row confirms it; kept, not interpreted"
        )
        told = message(
            file,
            what,
            line=finding.line,
            column=layout.time.header,
            value=stamp,
            mend="sort the rows by time and take out doubles" if late else "mend the stamp",
        )
        counts.example(reason, told)
