"""A CSV file that another program is still writing."""

from __future__ import annotations

import hashlib
import logging
import os
import time
from collections import deque
from pathlib import Path
from typing import Any, BinaryIO

from monitor.ingest.cells import CellReader
from monitor.ingest.clock import Numbering
from monitor.ingest.columns import Layout, read_layout
from monitor.ingest.counts import Counts
from monitor.ingest.csv_file import (
    count_findings,
    note_layout,
    note_time_origin,
    start_time_us,
    whole_lines,
    with_channels,
)
from monitor.ingest.errors import InputError, message
from monitor.ingest.file_head import HEAD_BYTES, open_text, read_head
from monitor.ingest.source import Spec
from monitor.model import Samples
from monitor.rig.rig import Rig

_log = logging.getLogger(__name__)

POLL_s = 0.02
BLOCK = 1 << 20
_FINGERPRINT = 1024


class _Follower:
    """One file being followed: where its next unread whole line begins."""

    def __init__(self, path: Path) -> None:
        stream, packed = open_text(path)
        if packed:
            stream.close()
            raise InputError(
                message(
                    str(path),
                    "is packed with gzip and cannot be followed as it grows",
                    mend="follow the unpacked file, or read it with csv:",
                )
            )
        self.stream: BinaryIO = stream
        self.inode = os.fstat(stream.fileno()).st_ino
        self.offset = 0
        self.line = 1
        self.reader: CellReader | None = None
        self.layout: Layout | None = None
        self._fingerprint = (-1, "")

    def size(self) -> int:
        return os.fstat(self.stream.fileno()).st_size

    def unread(self, size: int) -> bytes:
        self.stream.seek(self.offset)
        return self.stream.read(size)

    def fingerprint(self) -> str:
        """Tell this file from another of the same name by how it begins."""
        size = min(self.offset, _FINGERPRINT)
        if size != self._fingerprint[0]:
            self.stream.seek(0)
            self._fingerprint = (size, hashlib.sha256(self.stream.read(size)).hexdigest())
        return self._fingerprint[1]


class CsvFollow:
    """``csv-follow:PATH``: whole lines as they come; ``?start=ISO`` for counted stamps.

    A line without its end waits for it. A file that shrinks or is replaced is read from its
    beginning, which is said. When nothing comes, the gap marker is given with the stamp that
    batch would give it.
    """

    finished = False

    def __init__(self, spec: Spec, rig: Rig, resume: dict[str, Any] | None) -> None:
        start = spec.text_option("start")
        spec.close()
        self._path = Path(spec.target)
        self._rules = rig.input
        self._start = start
        self._start_us = start_time_us(start, rig.input.time_zone)
        self._numbering: Numbering | None = None
        self._is_overlap = False
        self._came_s = time.monotonic()
        self._waits_s: deque[float] = deque(maxlen=16)
        self.counts = Counts(**resume["counts"]) if resume else Counts()
        self._file = _Follower(self._path)
        try:
            self._understand()
            if resume:
                self._resume(resume)
        except InputError:
            self._file.stream.close()
            raise

    # -- what the recorder asks ----------------------------------------------------------

    def read(self, timeout_s: float) -> Samples | None:
        """Give the rows of the lines that came, or a gap marker that became due."""
        end_s = time.monotonic() + timeout_s
        while True:
            samples = self._poll()
            if samples is not None:
                return samples
            left_s = end_s - time.monotonic()
            if left_s <= 0.0:
                return None
            time.sleep(min(POLL_s, left_s))

    def cursor(self) -> dict[str, Any]:
        """Tell how far the file was read, and all that numbering carries."""
        file = self._file
        return {
            "offset": file.offset,
            "line": file.line,
            "fingerprint": file.fingerprint(),
            "reader": file.reader.state() if file.reader else None,
            "numbering": self._numbering.state() if self._numbering else None,
            "counts": self.counts.as_dict(),
        }

    def close(self) -> None:
        """Close the file."""
        self._file.stream.close()

    # -- the file ------------------------------------------------------------------------

    def _understand(self) -> bool:
        """Read the header once its line is whole."""
        file = self._file
        if file.reader is not None:
            return True
        start = file.unread(HEAD_BYTES)
        if b"\n" not in start.strip(b"\xef\xbb\xbf\r\n\t ") + start[-1:]:
            if len(start) == HEAD_BYTES:
                raise InputError(message(str(self._path), "no line end in the first 64 kB"))
            return False
        name = str(self._path)
        head = read_head(start, self._rules, name)
        layout = read_layout(head.cells, self._rules, name, head.data_line - 1)
        note_layout(layout, head, name, self.counts)
        file.layout = layout
        file.reader = CellReader(
            layout, head.separator, self._rules, name, self.counts, self._start_us
        )
        file.offset, file.line = head.data_offset, head.data_line
        if self._numbering is None:
            self._numbering = Numbering(layout.channels)
            note_time_origin([layout], self._start, self._start_us, self.counts)
        return True

    def _resume(self, cursor: dict[str, Any]) -> None:
        if cursor["numbering"] is not None:
            self._numbering = Numbering.restore(cursor["numbering"])
            self._is_overlap = True
        file = self._file
        began, line = file.offset, file.line
        if file.size() >= cursor["offset"]:
            file.offset, file.line = cursor["offset"], cursor["line"]
            if file.fingerprint() == cursor["fingerprint"]:
                if file.reader and cursor["reader"] is not None:
                    file.reader.restore(cursor["reader"])
                return
        file.offset, file.line = began, line
        self._say("is not the file that was read before; read from its beginning")
        self._overlap()

    def _overlap(self) -> None:
        """Rows the new file repeats are late, not a clock step, until its end is reached."""
        if self._numbering is not None:
            self._numbering.new_file()
            self._is_overlap = True

    def _say(self, what: str) -> None:
        text = message(str(self._path), what)
        _log.warning("%s", text)
        self.counts.note(text)

    def _changed(self) -> None:
        """Notice a file that was cut or replaced, once all of the old one has been read."""
        file = self._file
        if file.size() < file.offset:
            self._say("has become shorter; read from its beginning again")
        else:
            try:
                if self._path.stat().st_ino == file.inode:
                    return
            except OSError:  # renamed away, the new one not there yet: wait for it
                return
            if file.size() > file.offset:
                self._say("was replaced; the last line of the old file has no end, left out")
            self._say("was replaced by a new file; read from its beginning")
        try:
            fresh = _Follower(self._path)
        except InputError:
            return
        file.stream.close()
        self._file = fresh
        self._overlap()

    def _poll(self) -> Samples | None:
        if not self._understand():
            self._changed()
            return None
        text = self._file.unread(BLOCK)
        cut = whole_lines(text)
        if cut == 0:
            if len(text) == BLOCK:
                raise InputError(
                    message(str(self._path), "a line is longer than 1 MB", line=self._file.line)
                )
            if self._is_overlap and self._numbering is not None:
                self._numbering.end_overlap()
                self._is_overlap = False
            self._changed()
            return self._idle()
        return self._rows(text[:cut])

    def _rows(self, text: bytes) -> Samples | None:
        file, numbering = self._file, self._numbering
        assert file.reader is not None
        assert file.layout is not None
        assert numbering is not None
        now_s = time.monotonic()
        self._waits_s.append(now_s - self._came_s)
        self._came_s = now_s
        rows = file.reader.read(text, file.line)
        file.offset += len(text)
        file.line += text.count(b"\n")
        samples = numbering.feed(with_channels(rows, numbering.channels))
        count_findings(numbering, self.counts, str(self._path), file.layout)
        return samples if len(samples) else None

    def _idle(self) -> Samples | None:
        """Give the gap marker when the source's clock passes it and nothing is on its way.

        The source's clock is its newest stamp and the time since that came. A writer that
        hands over in bursts is given half as long again as its longest of late.
        """
        numbering = self._numbering
        if numbering is None or numbering.newest_us is None:
            return None
        since_s = time.monotonic() - self._came_s
        if since_s < 1.5 * max(self._waits_s, default=0.0):
            return None
        samples = numbering.idle(numbering.newest_us + int(since_s * 1e6))
        self.counts.gaps = numbering.totals["gap"]
        return samples
