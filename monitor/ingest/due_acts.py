"""Acts of a list between the rows of a record: each before the first row not older than it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from monitor.model import Command, Ints, Quality, Samples

_LONG_AGO_US = int(np.iinfo(np.int64).min)


class DueActs:
    """Acts in order of time, and how many of them were given.

    Rows keep their order; an act later than the whole record is never reached. After a clock
    step the acts that are left follow the new clock. ``given`` and ``newest_us`` are what a
    later run goes on from.
    """

    def __init__(
        self, commands: Sequence[Command], given: int = 0, newest_us: int = _LONG_AGO_US
    ) -> None:
        self._acts = sorted(commands, key=lambda command: command.time_us)
        self._times = np.array([command.time_us for command in self._acts], dtype=np.int64)
        self.given, self.newest_us = given, newest_us

    @property
    def left(self) -> list[Command]:
        """Acts that no row was late enough for."""
        return self._acts[self.given :]

    def pieces(self, samples: Samples) -> Iterator[tuple[list[Command], Samples]]:
        """Cut rows at acts: the acts that come before each piece, as they were written."""
        if self.given == len(self._acts) or not len(samples):
            yield [], samples
            return
        reached = self._reached(samples)
        before = self._due_by(reached)
        start, due = 0, int(before[0])
        for row in [*np.flatnonzero(np.diff(before)) + 1, len(samples)]:
            acts, self.given = self._acts[self.given : due], due
            self.newest_us = int(reached[row - 1])
            yield acts, samples.piece(start, int(row))
            start, due = int(row), int(before[min(int(row), len(samples) - 1)])

    def numbered(self, source: Iterator[Samples]) -> Iterator[tuple[Samples, list[Command]]]:
        """Give acts and rows numbers from one counter."""
        for samples in source:
            if not self._acts or not len(samples):
                yield samples, []
                continue
            reached = self._reached(samples)
            self.newest_us = int(reached[-1])
            before = self._due_by(reached)
            due = []
            for index in range(self.given, int(before[-1])):
                row = int(np.searchsorted(before, index, side="right"))
                due.append(replace(self._acts[index], seq=int(samples.seq[row]) + index))
            self.given = int(before[-1])
            yield replace(samples, seq=samples.seq + before), due

    def _due_by(self, reached: Ints) -> Ints:
        """How many acts come before each row."""
        before = np.searchsorted(self._times, reached, side="right")
        return np.maximum.accumulate(np.maximum(before, self.given))

    def _reached(self, samples: Samples) -> Ints:
        """Newest time known at each row: late rows do not turn it back, clock steps do."""
        steps = np.flatnonzero(samples.row & int(Quality.EPOCH))
        parts = np.split(samples.time_us, steps)
        parts[0] = np.maximum(parts[0], self.newest_us)
        return np.concatenate([np.maximum.accumulate(part) for part in parts])


def merged(
    source: Iterator[Samples], commands: Sequence[Command]
) -> Iterator[tuple[Samples, list[Command]]]:
    """Rows and acts, numbered by one counter."""
    return DueActs(commands).numbered(source)


def not_reached(left: Sequence[Command]) -> list[str]:
    """Say which acts came to nothing, since the record ends before them."""
    if not left:
        return []
    named = ", ".join(command.act for command in left[:5])
    more = f" and {len(left) - 5} more" if len(left) > 5 else ""
    return [f"acts later than the last row, not taken: {named}{more}"]


def no_rows() -> Samples:
    """No row at all: for acts that come before the first."""
    none = np.zeros(0, dtype=np.int64)
    return Samples(none, none, none.astype(np.uint16), {}, {})
