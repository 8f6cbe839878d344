"""The empty block found without slips: the lowest load that the moving block keeps showing.

A line count set too high makes the empty block read like a light string, and then slips are
not told apart for the first connections. What the block weighs is still in the record: it
moves steadily at one low level between runs at a much higher one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from monitor.interpret.stage import Carried, Rows
from monitor.interpret.steady import LEAST_SPEED_M_S, STEADY_M_S2, sheaves_turned
from monitor.model import Quality

# A run goes on while the load stays within this of its first second.
SAME_RUN_SHARE = 0.05
LEAST_SECONDS = 6
MOST_SECONDS = 120
# Runs that are looked back on, and for how long.
RUNS_KEPT, KEPT_S = 40, 2400.0
# The lowest level is the empty block where as much more has moved in between (a string that
# hangs makes at least such a difference, or else slips cannot be told at all), and no run is
# lower by more than the scatter of one.
HIGH_OVER_LOW, LOWEST_SHARE = 1.5, 0.03


class Second(NamedTuple):
    """One second of steady movement."""

    row: int  # at which it is known
    start_us: int
    friction: float
    block_m: float
    load_N: float
    is_empty: bool  # slips have the string


class LowestLevel(Carried):
    """Runs of steady movement at one load, and the lowest of them."""

    STATE = ("run", "runs", "peak_N")

    def __init__(self) -> None:
        self.clear()

    def clear(self) -> None:
        """Begin anew."""
        self.run: list[list[float]] = []  # time [s], friction state, block, load
        self.runs: list[list[float]] = []  # time [s] and load
        self.peak_N = 0.0  # greatest load that moved since the last period

    def gap(self) -> None:
        """A run ends at a gap."""
        self.run = []

    def take(self, second: Second) -> tuple[str, tuple[float, float]] | None:
        """Take one second of steady movement; give the empty block where a run of it ended."""
        friction, load_N = second.friction, second.load_N
        entry = [second.start_us / 1e6, friction, second.block_m, load_N]
        if self.run:
            first = self.run[0]
            same = first[1] * friction > 0.0
            if same and abs(load_N / first[3] - 1.0) <= SAME_RUN_SHARE:
                if len(self.run) < MOST_SECONDS:
                    self.run = [*self.run, entry]
                return None
        ended, self.run = self.run, [entry]
        found = self._end(ended) if len(ended) >= LEAST_SECONDS else None
        self.peak_N = max(self.peak_N, load_N)
        return found

    def _end(self, run: list[list[float]]) -> tuple[str, tuple[float, float]] | None:
        time_s, friction = run[-1][0], run[0][1]
        block_m = float(np.mean([entry[2] for entry in run]))
        load_N = float(np.median([entry[3] for entry in run]))
        kept = [entry for entry in self.runs if time_s - entry[0] <= KEPT_S]
        self.runs = [*kept, [time_s, load_N]][-RUNS_KEPT:]
        is_lowest = load_N <= (1.0 + LOWEST_SHARE) * min(low for _, low in self.runs)
        # A string has moved since the last period; two runs without one are one period.
        if not (is_lowest and load_N * HIGH_OVER_LOW <= self.peak_N):
            return None
        self.peak_N = load_N
        return ("up" if friction > 0.0 else "down"), (block_m, load_N)


def steady_seconds(rows: Rows, *, any_phase: bool) -> list[Second]:
    """Seconds of steady movement: of the empty block, or, where any phase counts, all."""
    blocks = rows.blocks
    if blocks is None or not len(blocks):
        return []
    acceleration = np.maximum(
        np.abs(blocks.low["acceleration_m_s2"]), np.abs(blocks.high["acceleration_m_s2"])
    )
    empty = (blocks.low["phase"] == 0) & (blocks.high["phase"] == 0)
    chosen = (
        (empty | any_phase)
        & (np.abs(blocks.mean["block_speed_m_s"]) >= LEAST_SPEED_M_S)
        & sheaves_turned(blocks)
        & (acceleration < STEADY_M_S2)
        & np.isfinite(blocks.mean["hook_load_N"])
        & np.isfinite(blocks.mean["block_m"])
    )
    frozen = rows.column["load_quality"] | rows.column["block_quality"]
    chosen &= (frozen[blocks.known_at] & np.uint16(Quality.FROZEN)) == 0
    return [
        Second(*cells)
        for cells in zip(
            blocks.known_at[chosen].tolist(),
            blocks.start_us[chosen].tolist(),
            blocks.mean["friction_state"][chosen].tolist(),
            blocks.mean["block_m"][chosen].tolist(),
            blocks.mean["hook_load_N"][chosen].tolist(),
            empty[chosen].tolist(),
            strict=True,
        )
    ]
