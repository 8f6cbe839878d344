"""How a chunk is cut into the pieces that the stages see."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.model import INTEGER_RESULTS, RESULT_COLUMNS, Command, Quality, Samples

NAN = float("nan")

# Longest piece the stages work on at once: bounds memory, changes nothing else.
PIECE_ROWS = 65_536


def blank_results(length: int) -> dict[str, NDArray[Any]]:
    """Result columns of which nothing is known yet."""
    return {
        name: np.zeros(length, dtype=np.int64) if name in INTEGER_RESULTS else np.full(length, NAN)
        for name in RESULT_COLUMNS
    }


def pieces(samples: Samples, commands: Sequence[Command]) -> list[tuple[int, int]]:
    """Pieces that hold no command, gap or clock step but at their first row.

    Runs of late rows are pieces of their own. A last empty piece takes trailing commands.
    """
    length = len(samples)
    late = (samples.row & Quality.LATE) > 0
    edges = set(range(0, length, PIECE_ROWS)) | {0, length}
    edges.update((np.flatnonzero(np.diff(late.astype(np.int8))) + 1).tolist())
    breaks = np.flatnonzero(samples.row & (Quality.GAP | Quality.EPOCH)).tolist()
    edges.update(breaks)
    edges.update(int(i) for i in np.searchsorted(samples.seq, [c.seq for c in commands]))
    ordered = sorted(edges)
    return [*zip(ordered, ordered[1:], strict=False), (length, length)]
