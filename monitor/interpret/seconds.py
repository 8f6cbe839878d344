"""Means over absolute seconds: what the slower decisions are made from.

A second is known only when the first row after it has come, so that live and batch know
it at the same row. Data slower than one row a second give one row a block.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from monitor.interpret.stage import Blocks, Rows, Stage

BLOCK_US = 1_000_000

# What is asked of a second; another mean, low, high or last value needs a name more here.
MEANS = (
    "hook_load_N",
    "block_m",
    "block_speed_m_s",
    "along_m",
    "friction_state",
    "rotary_speed",
    "flow_in",
    "taught_load_N",
    "pipe_speed_m_s",
)
LOWS = (
    "block_speed_m_s",
    "acceleration_m_s2",
    "phase",
    "friction_state",
    "run_travel_m",
    "pipe_run_m",
)
HIGHS = ("block_speed_m_s", "acceleration_m_s2", "phase", "friction_state", "pipe_turns")
LASTS = ("along_m", "hung_m", "bit_depth_m", "hole_depth")
COLUMNS = tuple(dict.fromkeys((*MEANS, *LOWS, *HIGHS, *LASTS)))

# On a heaving rig: loads over whole waves, depths without the heave, motion with it. The
# first of these columns that a record has.
WITHOUT_HEAVE = {
    "hook_load_N": ("steady_load_N", "hook_load_N"),
    "along_m": ("along_earth_m", "along_m"),
    "bit_depth_m": ("bit_depth_earth_m", "bit_depth_m"),
    "taught_load_N": ("taught_load_N", "steady_load_N", "hook_load_N"),
    "pipe_speed_m_s": ("pipe_speed_m_s", "block_speed_m_s"),
    "pipe_run_m": ("pipe_run_m", "run_travel_m"),
    "pipe_turns": ("pipe_turns",),
}


class Seconds(Stage):
    """Cut the stream into absolute seconds and give mean, low, high and last of each."""

    STATE = ("open",)

    def __init__(self) -> None:
        self.open: dict[str, Any] = {"time_us": np.empty(0, dtype=np.int64)}
        self.open.update({name: np.empty(0) for name in COLUMNS})

    def step(self, rows: Rows) -> None:
        """Give the blocks that this piece closes."""
        nothing = np.full(len(rows), np.nan)
        joined = {"time_us": np.concatenate((self.open["time_us"], rows.time_us))}
        for name in COLUMNS:
            names = WITHOUT_HEAVE.get(name, (name,))
            column = next((rows.column[n] for n in names if n in rows.column), None)
            if column is None:
                column = (
                    np.zeros(len(rows)) if name == "pipe_turns" else rows.values.get(name, nothing)
                )
            joined[name] = np.concatenate((self.open[name], column))
        carried = len(self.open["time_us"])
        number = joined["time_us"] // BLOCK_US
        edges = np.flatnonzero(np.diff(number)) + 1
        starts = np.concatenate(([0], edges))
        self.open = {name: column[starts[-1] :].copy() for name, column in joined.items()}
        closed = joined if len(edges) == 0 else {n: c[: edges[-1]] for n, c in joined.items()}
        starts = starts[:-1]
        rows.blocks = self._blocks(closed, starts, edges - carried)

    def _blocks(self, closed: dict[str, Any], starts: np.ndarray, known_at: np.ndarray) -> Blocks:
        if len(starts) == 0:
            empty = {name: np.empty(0) for name in COLUMNS}
            return Blocks(known_at, np.empty(0, dtype=np.int64), empty, empty, empty, empty)
        length = len(closed["time_us"])
        counts = np.diff(np.concatenate((starts, [length])))
        last = starts + counts - 1
        return Blocks(
            known_at,
            closed["time_us"][starts],
            {name: np.add.reduceat(closed[name], starts) / counts for name in MEANS},
            {name: np.minimum.reduceat(closed[name], starts) for name in LOWS},
            {name: np.maximum.reduceat(closed[name], starts) for name in HIGHS},
            {name: closed[name][last] for name in LASTS},
        )
