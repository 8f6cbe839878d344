"""The jar as far as hook load and time tell it: cocked, working towards its blow, fired.

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

    STATE = ("present", "since_s", "since_us")

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

    def follow(self, rows: Rows, load_N: Floats, stop: int) -> None:
        """Go through the rows before ``stop``, one change of state after the other."""
        cocking_N, firing_N = self.jar.cocking_load_N, self.jar.firing_load_N
        if cocking_N is None or firing_N is None:
            return
        with np.errstate(invalid="ignore"):
            cocks = load_N <= cocking_N
            pulls = load_N >= firing_N
            eases = load_N < firing_N - self.deadband_N
        blown = [event.seq for event in rows.events if event.kind == "jar_blow"]
        blows: Flags = np.isin(rows.seq, blown)
        row = 0
        while row < stop:
            row = self._next(rows, row, stop, (cocks, pulls, eases, blows))

    def _next(self, rows: Rows, row: int, stop: int, masks: tuple[Flags, ...]) -> int:
        """Take the next change from a row on; the row of it, ``stop`` where there is none."""
        cocks, pulls, eases, blows = masks
        if self.present in ("working", "due"):
            due = stop
            if self.present == "working" and self.jar.wait_s is not None:
                due = int(np.searchsorted(rows.time_s, self.since_s + self.jar.wait_s))
            eased = first(eases, row, stop)
            ways = {
                "fired": first(blows, row, stop),
                "due": max(min(due, stop), row),
                "let off late" if self.present == "due" else "let off early": eased,
            }
        elif self.present == "cocked":
            ways = {"working": first(pulls, row, stop)}
        else:
            ways = {"cocked": first(cocks, row, stop)}
        state = min(ways, key=lambda each: ways[each])
        at = ways[state]
        if at < stop:
            self.present = state
            if state != "due":  # the wait goes on from where it began
                self.since_s, self.since_us = float(rows.time_s[at]), int(rows.time_us[at])
        return at

    def status(self) -> dict[str, object]:
        """State in a word, since when, and the wait; None where no loads are given."""
        return {
            "given": self.is_given,
            "state": self.present,
            "since_us": self.since_us if math.isfinite(self.since_s) else None,
            "wait_s": self.jar.wait_s,
            "cocking_load_N": self.jar.cocking_load_N,
            "firing_load_N": self.jar.firing_load_N,
        }
