"""How a chunk is cut into the pieces that the stages see."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.model import INTEGER_RESULTS, RESULT_COLUMNS, Command, Output, Quality, Samples

NAN = float("nan")

# Longest piece the stages work on at once: bounds memory, changes nothing else.
PIECE_ROWS = 65_536


def blank_results(length: int) -> dict[str, NDArray[Any]]:
    """Result columns of which nothing is known yet."""
    return {
        name: np.zeros(length, dtype=np.int64) if name in INTEGER_RESULTS else np.full(length, NAN)
        for name in RESULT_COLUMNS
    }


def together(parts: Sequence[dict[str, NDArray[Any]]]) -> dict[str, NDArray[Any]]:
    """Result columns of pieces that follow one another."""
    if len(parts) == 1:
        return parts[0]
    if not parts:
        return blank_results(0)
    return {name: np.concatenate([part[name] for part in parts]) for name in RESULT_COLUMNS}


def pieces(samples: Samples, commands: Sequence[Command]) -> list[tuple[int, int]]:
    """Pieces that hold no command, gap or clock step but at their first row.

    No row is late. A last empty piece takes trailing commands.
    """
    length = len(samples)
    edges = set(range(0, length, PIECE_ROWS)) | {0, length}
    breaks = np.flatnonzero(samples.row & (Quality.GAP | Quality.EPOCH)).tolist()
    edges.update(breaks)
    edges.update(int(i) for i in np.searchsorted(samples.seq, [c.seq for c in commands]))
    ordered = sorted(edges)
    return [*zip(ordered, ordered[1:], strict=False), (length, length)]


def without(samples: Samples, late: NDArray[np.bool_]) -> Samples:
    """Rows that are interpreted."""
    kept = ~late
    return Samples(
        samples.seq[kept],
        samples.time_us[kept],
        samples.row[kept],
        {name: column[kept] for name, column in samples.values.items()},
        {name: column[kept] for name, column in samples.quality.items()},
    )


def with_late(output: Output, samples: Samples, late: NDArray[np.bool_], stand: int) -> Output:
    """Put late rows, of which nothing is known but the stand, back where they came.

    ``stand`` is the number before the first row.
    """
    columns = blank_results(len(samples))
    for name, column in columns.items():
        column[~late] = output.columns[name]
    columns["quality"][late] = Quality.LATE
    stands = np.concatenate(([stand], output.columns["stand"]))
    columns["stand"][late] = stands[np.cumsum(~late)[late]]
    return dataclasses.replace(output, seq=samples.seq, time_us=samples.time_us, columns=columns)
