"""Lets recorded or simulated rows out at the pace of their own stamps."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np

from monitor.model import Ints, Quality, Samples

LONGEST_WAIT_s = 0.02
MOST_ROWS = 5000  # in one piece, so that a burst never holds the recorder long


class Pacer:
    """Gives out a stream of samples when their time has come.

    ``speed`` is stream seconds a second; infinite gives all at once. The first ``head_s``
    seconds of the stream are given at once as well. The pace is that of the wall clock, which
    goes on while a laptop sleeps. Time runs with the stamps, but not
    backwards over a clock step.
    """

    def __init__(self, stream: Iterator[Samples], *, speed: float, head_s: float = 0.0) -> None:
        self._stream = stream
        self._speed = speed
        self._head_s = head_s
        self._started_s: float | None = None
        self._waiting: Samples | None = None
        self._due_s: np.ndarray = np.zeros(0)
        self._stream_s = 0.0
        self._newest_us: int | None = None
        self.finished = False

    def read(self, timeout_s: float) -> Samples | None:
        """Give what is due, or None when nothing became due within the time."""
        if self._started_s is None:
            self._started_s = time.time()
        end_s = time.monotonic() + timeout_s
        while True:
            piece = self._due_piece()
            if piece is not None or self.finished:
                return piece
            left_s = end_s - time.monotonic()
            if left_s <= 0.0:
                return None
            time.sleep(min(left_s, LONGEST_WAIT_s))

    def _due_piece(self) -> Samples | None:
        if self._waiting is None and not self._fill():
            return None
        assert self._waiting is not None
        n = int(np.searchsorted(self._due_s, self._now_s(), side="right"))
        n = min(n, MOST_ROWS)
        if n == 0:
            return None
        piece = self._waiting.piece(0, n)
        if n == len(self._waiting):
            self._waiting = None
        else:
            self._waiting = self._waiting.piece(n, len(self._waiting))
            self._due_s = self._due_s[n:]
        return piece

    def _now_s(self) -> float:
        assert self._started_s is not None
        if self._speed == float("inf"):
            return float("inf")
        return self._head_s + (time.time() - self._started_s) * self._speed

    def _fill(self) -> bool:
        for samples in self._stream:
            if len(samples):
                self._waiting = samples
                self._due_s = self._times_due(samples)
                return True
        self.finished = True
        return False

    def _times_due(self, samples: Samples) -> np.ndarray:
        times = samples.time_us.copy()
        late = (samples.row & int(Quality.LATE)) != 0
        first = int(times[0]) if self._newest_us is None else self._newest_us
        line: Ints = np.concatenate([np.array([first], np.int64), times])
        if late.any():
            place = np.where(late, 0, np.arange(1, len(line)))
            line = line[np.concatenate([[0], np.maximum.accumulate(place)])]
        steps = np.maximum(np.diff(line), 0)
        due = self._stream_s + np.cumsum(steps) / 1e6
        self._stream_s = float(due[-1])
        self._newest_us = int(line[-1])
        return np.asarray(due)
