"""A span of results as columns, for hindsight: full rate, or means over absolute seconds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from monitor.model import INTEGER_RESULTS, Floats, Ints

SECOND_US = 1_000_000
# What hindsight reads: results, and the channels that say how the string was worked.
RESULTS = (
    "hook_load_N",
    "hook_load_plain_N",
    "hook_load_half_width_N",
    "friction_state",
    "block_speed_m_s",
    "activity",
    "bit_depth_m",
    "expected_up_N",
    "expected_down_N",
    "expected_N",
    "band_N",
    "excess_N",
    "room_left_N",
    "quality",
    "state",
)
CHANNELS = ("deadline_tension", "block_position", "rotary_speed", "flow_in", "standpipe_pressure")


@dataclass(frozen=True, slots=True)
class Span:
    """Rows in order of time; a channel the record does not have is absent. NaN = unknown."""

    time_us: Ints
    columns: Mapping[str, Floats]

    def __len__(self) -> int:
        return len(self.time_us)

    def __getitem__(self, name: str) -> Floats:
        """Column by its SI name (results) or channel name; all NaN where there is none."""
        column = self.columns.get(name)
        return np.full(len(self), np.nan) if column is None else column

    def has(self, name: str) -> bool:
        """Whether the record has this column with any value in the span."""
        return name in self.columns and bool(np.isfinite(self.columns[name]).any())

    def row_at(self, time_us: int) -> int:
        """Give the newest row not later than this; the first where all are later."""
        return max(int(np.searchsorted(self.time_us, time_us, side="right")) - 1, 0)

    def between(self, from_us: int, to_us: int) -> Span:
        """Rows with ``from_us <= time <= to_us``."""
        start = int(np.searchsorted(self.time_us, from_us, side="left"))
        stop = int(np.searchsorted(self.time_us, to_us, side="right"))
        return Span(
            self.time_us[start:stop],
            {name: column[start:stop] for name, column in self.columns.items()},
        )

    def interval_s(self) -> float:
        """Give the usual time between rows; not-a-number for fewer than two."""
        return float(np.median(np.diff(self.time_us))) / 1e6 if len(self) > 1 else float("nan")

    def seconds(self) -> Span:
        """Means over absolute seconds (flags and codes: the last), as the stages decide from."""
        if not len(self):
            return self
        number = self.time_us // SECOND_US
        starts = np.concatenate(([0], np.flatnonzero(np.diff(number)) + 1))
        counts = np.diff(np.concatenate((starts, [len(self)])))
        last = starts + counts - 1
        columns = {
            name: column[last]
            if name in INTEGER_RESULTS
            else np.add.reduceat(column, starts) / counts
            for name, column in self.columns.items()
        }
        return Span(number[starts] * SECOND_US, columns)


def in_order(time_us: Ints) -> Ints:
    """Rows whose time is newer than every row before: what a clock set back repeats is left."""
    newest = np.maximum.accumulate(time_us)
    keep = np.ones(len(time_us), dtype=bool)
    keep[1:] = time_us[1:] > newest[:-1]
    return np.flatnonzero(keep)
