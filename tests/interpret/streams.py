"""Records written move by move, so that what should come out can be said in advance.

Frictionless reeving and no noise: the numbers test definitions, not estimates.
"""

from __future__ import annotations

import numpy as np

from monitor.model import Command, Output, Quality, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import EventLimits, Reeving, Rig

NAN = float("nan")
EMPTY_N = 250e3
LINES = 10


def stand_N(load_N: float, depth_m: float = 2000.0) -> float:
    """Weight of a stand of 27.8 m of a string that weighs the same all along."""
    return (load_N - EMPTY_N) / depth_m * 27.8


def plain_rig(**changes: object) -> Rig:
    """Return a rig without sheave friction and with 40 kN event limits."""
    settings: dict[str, object] = {
        "name": "Plover 1 (invented)",
        "travelling_weight_N": EMPTY_N,
        "reeving": Reeving(LINES, 1.0),
        "events": EventLimits(40e3, 40e3),
    }
    return Rig(**{**settings, **changes})  # type: ignore[arg-type]


class Script:
    """A record in the making: the block moves, the load is said."""

    def __init__(self, block_m: float = 1.0, hz: float = 5.0) -> None:
        self.step_s = 1.0 / hz
        self.block = [block_m]
        self.load = [EMPTY_N]
        self.extra: dict[str, list[float]] = {}
        self.now: dict[str, float] = {}

    @property
    def seconds(self) -> float:
        """Seconds from the first row to the last."""
        return (len(self.block) - 1) * self.step_s

    def hold(self, seconds: float, load_N: float | np.ndarray) -> Script:
        """Stand still; the load may be given row by row."""
        return self._add(np.full(round(seconds / self.step_s), self.block[-1]), load_N)

    def move(self, to_m: float, load_N: float, speed_m_s: float = 0.5) -> Script:
        """Move the block at a steady speed."""
        rows = max(1, round(abs(to_m - self.block[-1]) / speed_m_s / self.step_s))
        path = np.linspace(self.block[-1], to_m, rows + 1)[1:]
        return self._add(path, load_N)

    def ramp(self, to_m: float, load_N: float, speed_m_s: float = 0.1) -> Script:
        """Move while the load changes in step with the travel, as when slips give it over."""
        rows = max(1, round(abs(to_m - self.block[-1]) / speed_m_s / self.step_s))
        path = np.linspace(self.block[-1], to_m, rows + 1)[1:]
        loads = np.linspace(self.load[-1], load_N, rows + 1)[1:]
        return self._add(path, loads)

    def stand_out(self, load_N: float, top_m: float = 29.0) -> Script:
        """Pull one stand, set it in slips, come down empty."""
        self.hold(10, EMPTY_N).ramp(self.block[-1] + 0.2, load_N).move(top_m, load_N)
        self.hold(3, load_N).ramp(top_m - 0.2, EMPTY_N).hold(20, EMPTY_N)
        return self.move(1.0, EMPTY_N, 0.8)

    def stands_out(self, count: int, load_N: float, each_N: float | None = None) -> Script:
        """Pull stands; the one after them would weigh ``load_N``, each before it a stand more."""
        each_N = stand_N(load_N) if each_N is None else each_N
        for left in range(count, 0, -1):
            self.stand_out(load_N + left * each_N)
        return self

    def stand_in(self, load_N: float, top_m: float = 29.0) -> Script:
        """Go up empty, take the string, lower one stand, set it in slips."""
        self.hold(10, EMPTY_N).move(top_m, EMPTY_N, 0.8).hold(20, EMPTY_N)
        self.ramp(top_m + 0.2, load_N).hold(2, load_N).move(1.2, load_N)
        return self.hold(2, load_N).ramp(1.0, EMPTY_N)

    def set(self, **channels: float) -> Script:
        """Give optional channels from here on, SI."""
        for name in channels:
            self.extra.setdefault(name, [NAN] * len(self.block))
        self.now.update(channels)
        return self

    def _add(self, path: np.ndarray, load_N: float | np.ndarray) -> Script:
        self.block.extend(path.tolist())
        self.load.extend(np.broadcast_to(load_N, len(path)).tolist())
        for name, values in self.extra.items():
            values.extend([self.now[name]] * len(path))
        return self

    def samples(self) -> Samples:
        """Return the record as one chunk, seq counted in twos to leave room for commands."""
        length = len(self.block)
        values = {
            "deadline_tension": np.array(self.load) / LINES,
            "block_position": np.array(self.block),
        }
        values.update({name: np.array(column) for name, column in self.extra.items()})
        return Samples(
            np.arange(1, length + 1) * 2,
            np.round(np.arange(length) * self.step_s * 1e6).astype(np.int64),
            np.zeros(length, dtype=np.uint16),
            values,
            {},
        )

    def run(
        self,
        depth_m: float | None = 2000.0,
        commands: tuple[Command, ...] = (),
        rig: Rig | None = None,
    ) -> Output:
        """Interpret the whole record."""
        return Pipeline(rig or plain_rig(), bit_depth_m=depth_m).feed(self.samples(), commands)


def with_gap(samples: Samples, first: int, last: int) -> Samples:
    """Take out rows ``first`` to ``last``; one marker row stands for them."""
    keep = np.ones(len(samples), dtype=bool)
    keep[first + 1 : last] = False
    row = samples.row.copy()
    row[first] = Quality.GAP
    values = {name: column.copy() for name, column in samples.values.items()}
    for column in values.values():
        column[first] = NAN
    return Samples(
        samples.seq[keep],
        samples.time_us[keep],
        row[keep],
        {name: column[keep] for name, column in values.items()},
        {},
    )


def act(script: Script, name: str, number: float = NAN, text: str = "") -> Command:
    """A person's act right after the rows written so far."""
    rows = len(script.block)
    return Command(rows * 2 + 1, round(script.seconds * 1e6), name, number, text, "tester")
