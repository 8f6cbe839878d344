"""Steady seconds, and what each one teaches of the load to be expected."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from monitor.interpret.ringing import is_calm
from monitor.interpret.stage import Array, Blocks, Rows
from monitor.interpret.steady import steady_seconds
from monitor.interpret.turning_drag import YES, axial_share
from monitor.model import Floats


class Lesson(NamedTuple):
    """What a steady second says: when it is known, how the string moved, what it weighed."""

    row: int
    load_N: float
    speed_m_s: float
    share: float  # of its sliding drag that a turning string has at this speed
    is_turning: bool
    along_m: float
    hung_m: float
    depth_m: float
    base_N: float
    up_N: float  # described weight, moved either way
    down_N: float
    empty_N: float
    stand: float
    is_calm: bool


class SteadySeconds:
    """The seconds of a piece in which the string hangs freely and moves steadily."""

    def __init__(self, rows: Rows, blocks: Blocks) -> None:
        steady = np.flatnonzero(steady_seconds(rows, blocks))
        self.at = blocks.known_at[steady]
        self.turning = rows.column["turning"][self.at] == YES
        self.mean = {name: column[steady] for name, column in blocks.mean.items()}
        self.last = {name: column[steady] for name, column in blocks.last.items()}

    def lessons(
        self,
        swings: tuple[Floats, Floats],
        *,
        base_N: Floats,
        sided_N: tuple[Floats, Floats],
        empty_N: Floats,
        stand: Array,
        contact_m: float,
    ) -> list[Lesson]:
        """One of each second; ``swings`` are those of every row, all else is of the seconds."""
        mean, last = self.mean, self.last
        speed = mean["pipe_speed_m_s"]
        columns = (
            self.at,
            mean["taught_load_N"],
            speed,
            axial_share(np.abs(speed), mean["rotary_speed"], contact_m),
            self.turning,
            mean["along_m"],
            last["hung_m"],
            last["bit_depth_m"],
            base_N,
            *sided_N,
            empty_N,
            stand,
            is_calm((swings[0][:, self.at], swings[1][self.at])),
        )
        return [Lesson(*v) for v in zip(*(column.tolist() for column in columns), strict=True)]
