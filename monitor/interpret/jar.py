"""The jar as far as hook load and time tell it: cocked, working towards its blow, let off.

An inference from the loads of [jar] in the rig file, never a reading of the jar.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.excursion import Flags, first
from monitor.interpret.stage import Carried, Rows
from monitor.model import Floats
from monitor.rig.alarming import Jar

NAN = float("nan")


class JarState(Carried):
    """Follows one jar; ``present`` is its state in a word, ``since_us`` when it began."""

    STATE = ("present", "since_s", "since_us", "blows", "last_blow_us")

    def __init__(self, jar: Jar, deadband_N: float) -> None:
        self.jar = jar
        self.deadband_N = deadband_N
        self.reset()

    @property
    def is_given(self) -> bool:
        """Whether the rig file says at which loads the jar works."""
        return self.jar.cocking_load_N is not None and self.jar.firing_load_N is not None

    def reset(self) -> None:
        """Nothing is known of the jar."""
        self.present = "not known"
        self.since_s = NAN
        self.since_us = 0
        self.blows = 0  # told by ``jar_blow``, which is known only once the load came back
        self.last_blow_us = 0

    def follow(self, rows: Rows, load_N: Floats, stop: int) -> None:
        """Go through the rows before ``stop``, one change of state after the other."""
        self._count(rows, stop)
        cocking_N, firing_N = self.jar.cocking_load_N, self.jar.firing_load_N
        if cocking_N is None or firing_N is None:
            return
        with np.errstate(invalid="ignore"):
            cocks = load_N <= cocking_N
            pulls = load_N >= firing_N
            eases = load_N < firing_N - self.deadband_N
        row = 0
        while row < stop:
            row = self._next(rows, row, stop, (cocks, pulls, eases))

    def _count(self, rows: Rows, stop: int) -> None:
        if not stop:
            return
        first, last = int(rows.seq[0]), int(rows.seq[stop - 1])
        for event in rows.events:
            if event.kind == "jar_blow" and first <= event.seq <= last:
                self.blows += 1
                self.last_blow_us = max(self.last_blow_us, event.start_us)

    def _next(self, rows: Rows, row: int, stop: int, masks: tuple[Flags, ...]) -> int:
        """Take the next change from a row on; the row of it, ``stop`` where there is none."""
        cocks, pulls, eases = masks
        if self.present in ("working", "due"):
            due = stop
            if self.present == "working" and self.jar.wait_s is not None:
                due = int(np.searchsorted(rows.time_s, self.since_s + self.jar.wait_s))
            is_late = self.present == "due" or self.jar.wait_s is None
            eased = "fired or let off" if is_late else "let off early"
            ways = {"due": max(min(due, stop), row), eased: first(eases, row, stop)}
        elif self.present == "cocked":
            ways = {"working": first(pulls, row, stop)}
        else:
            ways = {"cocked": first(cocks, row, stop)}
        present = min(ways, key=lambda each: ways[each])
        at = ways[present]
        if at < stop:
            self.present = present
            if present != "due":  # the wait goes on from where it began
                self.since_s, self.since_us = float(rows.time_s[at]), int(rows.time_us[at])
        return at

    def status(self) -> dict[str, object]:
        """State in a word, since when, and the wait; None where no loads are given."""
        return {
            "given": self.is_given,
            "state": self.present,
            "since_us": self.since_us if math.isfinite(self.since_s) else None,
            "wait_s": self.jar.wait_s,
            "blows": self.blows,
            "last_blow_us": self.last_blow_us or None,
            "cocking_load_N": self.jar.cocking_load_N,
            "firing_load_N": self.jar.firing_load_N,
        }
