"""Finished CSV files as a live source: as fast as it goes, or at the pace of its stamps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from monitor.ingest.csv_file import read_csv
from monitor.ingest.pacing import Pacer
from monitor.ingest.source import Spec
from monitor.model import Samples
from monitor.rig.rig import Rig

_CHUNK_ROWS = 10_000


class CsvReplay:
    """``csv:PATH``, with ``?speed=X`` to pace it and ``?start=ISO`` for counted stamps.

    ``then=PATH``, as often as wanted, names further parts of the same record.
    """

    def __init__(self, spec: Spec, rig: Rig, resume: dict[str, Any] | None) -> None:
        speed = spec.number("speed", math.inf, 0.01, 1e6)
        start = spec.text_option("start")
        paths = [Path(spec.target), *map(Path, spec.text_options("then"))]
        spec.close()
        self._source = read_csv(paths, rig, start=start, chunk_rows=_CHUNK_ROWS)
        self.counts = self._source.counts
        self._given = int(resume["given"]) if resume else 0
        self._pacer = Pacer(after(self._source, self._given), speed=speed)

    @property
    def finished(self) -> bool:
        """Whether the file has been given to its end."""
        return self._pacer.finished

    def read(self, timeout_s: float) -> Samples | None:
        """Give the rows that are due."""
        samples = self._pacer.read(timeout_s)
        if samples is not None:
            self._given += len(samples)
        return samples

    def cursor(self) -> dict[str, Any]:
        """Tell how many rows were given; the same file gives the same ones again."""
        return {"given": self._given}

    def close(self) -> None:
        """Close the file."""
        self._source.close()


def after(stream: Iterator[Samples], n: int) -> Iterator[Samples]:
    """Leave out the first ``n`` samples of a stream."""
    for samples in stream:
        if n >= len(samples):
            n -= len(samples)
            continue
        yield samples.piece(n, len(samples))
        n = 0
