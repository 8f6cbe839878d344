"""Rows as read, before they are numbered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from monitor.model import Flags, Floats, Ints, Quality


@dataclass(frozen=True, slots=True)
class Rows:
    """Readable rows in the order they arrived: stamps, SI values, quality, line in the file."""

    time_us: Ints
    line: Ints
    values: Mapping[str, Floats]
    quality: Mapping[str, Flags]

    def __len__(self) -> int:
        return len(self.time_us)

    def piece(self, start: int, stop: int) -> Rows:
        """Rows ``start`` to ``stop``, as views."""
        return Rows(
            self.time_us[start:stop],
            self.line[start:stop],
            {name: column[start:stop] for name, column in self.values.items()},
            {name: column[start:stop] for name, column in self.quality.items()},
        )


def rows_of(
    time_us: Ints,
    values: Mapping[str, Floats],
    line: Ints | None = None,
) -> Rows:
    """Rows from plain arrays; NaN is taken as missing."""
    quality = {
        name: np.where(np.isnan(column), np.uint16(Quality.MISSING), np.uint16(0))
        for name, column in values.items()
    }
    lines = np.zeros(len(time_us), np.int64) if line is None else line
    return Rows(time_us, lines, values, quality)
