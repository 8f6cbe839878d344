"""How durable the next commit must be, from how long commits have taken."""

from __future__ import annotations

import statistics
from collections import deque

# A disk that needs longer than this for a durable commit gets one durable commit a second.
SLOW_COMMIT_s = 0.020
DURABLE_s = 1.0


class CommitPace:
    """Every commit durable while the disk is quick, else one a second; given the times."""

    def __init__(self) -> None:
        self._taken_s: deque[float] = deque(maxlen=16)
        self._durable_at_s = float("-inf")
        self.is_slow = False

    def is_durable(self, now_s: float) -> bool:
        """Whether the next commit waits for the disk."""
        return not self.is_slow or now_s - self._durable_at_s >= DURABLE_s

    def committed(self, now_s: float, taken_s: float, *, durable: bool) -> None:
        """Learn from a commit; only durable ones tell whether the disk is slow."""
        if durable:
            self._durable_at_s = now_s
            self._taken_s.append(taken_s)
            known = len(self._taken_s) >= 4
            self.is_slow = known and statistics.median(self._taken_s) > SLOW_COMMIT_s
