"""Small invented files and rigs for the tests of reading."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from monitor.ingest.counts import Counts
from monitor.ingest.csv_file import read_csv
from monitor.model import Samples
from monitor.rig.rig import ColumnMap, InputMap, Reeving, Rig

HEADER = "time,deadline_tension [kN],block_position [m]"
RIG = Rig("Heron 3 (invented)", 245e3, Reeving(10, 0.985))
T0 = 1_772_323_200_000_000  # 2026-03-01T00:00:00Z


def rig_with(**changes: object) -> Rig:
    """A rig whose [input] table differs."""
    return replace(RIG, input=replace(InputMap(), **changes))  # type: ignore[arg-type]


def mapped(**columns: ColumnMap) -> dict[str, ColumnMap]:
    return columns


def stamp(second: float) -> str:
    """ISO time so many seconds after the start of the invented records."""
    micros = round(second * 1e6)
    whole, rest = divmod(micros, 1_000_000)
    minutes, seconds = divmod(whole, 60)
    return f"2026-03-01T{minutes // 60:02d}:{minutes % 60:02d}:{seconds:02d}.{rest:06d}Z"


def write(path: Path, rows: Iterable[str], header: str = HEADER, end: str = "\n") -> Path:
    path.write_bytes(end.join([header, *rows, ""]).encode())
    return path


def read(
    path: Path | list[Path], rig: Rig = RIG, start: str | None = None, chunk_rows: int = 131_072
) -> tuple[Samples, Counts]:
    """The whole of a record in one piece."""
    paths = path if isinstance(path, list) else [path]
    source = read_csv(paths, rig, start=start, chunk_rows=chunk_rows)
    return joined(list(source)), source.counts


def joined(parts: list[Samples]) -> Samples:
    names = list(parts[0].values)
    return Samples(
        np.concatenate([p.seq for p in parts]),
        np.concatenate([p.time_us for p in parts]),
        np.concatenate([p.row for p in parts]),
        {name: np.concatenate([p.values[name] for p in parts]) for name in names},
        {name: np.concatenate([p.quality[name] for p in parts]) for name in names},
    )


def same(a: Samples, b: Samples) -> bool:
    """Whether two records are the same to the last bit."""
    pairs = [(a.seq, b.seq), (a.time_us, b.time_us), (a.row, b.row)]
    pairs += [(a.values[n].view(np.int64), b.values[n].view(np.int64)) for n in a.values]
    pairs += [(a.quality[n], b.quality[n]) for n in a.quality]
    return set(a.values) == set(b.values) and all(np.array_equal(x, y) for x, y in pairs)
