"""Slip-and-cut mode: alarms held while the line is slipped, and what is asked afterwards."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Carried, Rows
from monitor.model import Command, Event, Floats
from monitor.rig.alarming import NEVER_PUT_ASIDE

NAN = float("nan")

# What people confirm after the line was slipped; common practice.
CONFIRMATIONS = ("zero", "line count", "block position", "wraps")
FIRST_LIFT = "first lift with empty gear"
# The first lift must show the travelling weight within this share ...
LIFT_SHARE = 0.03
# ... once the empty block has gone up this far, the sheaves turning one way.
LIFT_TRAVEL_M = 0.5
HOLDS_KEPT = 20
HELD = "alarm held: slip and cut"


class SlipAndCut(Carried):
    """Begin, end, confirmations, first lift and time limit, and the rows they hold."""

    STATE = ("mode", "since_us", "waiting", "holds", "shown_N", "overdue", "lowest_m")

    def __init__(self, limit_s: float) -> None:
        self.limit_s = limit_s
        self.mode = "off"  # or "cutting", then "checking" until nothing is waited for
        self.since_us = 0
        self.waiting: list[str] = []
        # Held spans by seq: from the first on, before the second (-1: still held).
        self.holds: list[list[int]] = []
        self.shown_N = NAN  # what the last lift of the empty block showed
        self.overdue = False
        self.lowest_m = math.inf  # of the block since the line was slipped

    @property
    def kept_until_us(self) -> int:
        """Time until which slips are known to have the string; 0 outside the mode."""
        return self.since_us + round(self.limit_s * 1e6) if self.mode == "cutting" else 0

    @property
    def is_holding(self) -> bool:
        """Whether alarms are held now."""
        return bool(self.holds) and self.holds[-1][1] < 0

    def begin(self, command: Command) -> None:
        """Hold alarms, keep the string in slips."""
        self._hold(command)
        self.mode, self.waiting = "cutting", []

    def end(self, command: Command) -> None:
        """Ask for everything that a slipped line puts in doubt."""
        if self.mode != "cutting":
            self._hold(command)
        self.mode = "checking"
        self.waiting = [*CONFIRMATIONS, FIRST_LIFT]
        self.shown_N, self.lowest_m = NAN, math.inf

    def cancel(self, command: Command) -> None:
        """Nothing was slipped: all is as before."""
        self.release(command.seq)
        self.mode, self.waiting, self.overdue = "off", [], False

    def confirm(self, what: str) -> None:
        """One thing less to wait for."""
        self.waiting = [each for each in self.waiting if each != what]
        if self.mode == "checking" and not self.waiting:
            self.mode, self.overdue = "off", False

    def _hold(self, command: Command) -> None:
        if not self.is_holding:
            self.holds = [*self.holds, [command.seq, -1]][-HOLDS_KEPT:]
            self.since_us, self.overdue = command.time_us, False

    def release(self, seq: int) -> None:
        """Alarms are live again from this row on."""
        if self.is_holding:
            self.holds[-1][1] = seq

    def step(self, rows: Rows, travelling_weight_N: float) -> None:
        """Find the first lift and the time limit among the rows; tell which rows are held."""
        if self.mode == "checking" and FIRST_LIFT in self.waiting:
            self._first_lift(rows, travelling_weight_N)
        if self.is_holding:
            limit_us = self.since_us + round(self.limit_s * 1e6)
            late = np.flatnonzero(rows.time_us >= limit_us)
            if len(late):
                self.release(int(rows.seq[late[0]]))
                self.overdue = self.mode != "off"
        held = np.zeros(len(rows), dtype=bool)
        for first, end in self.holds:
            held |= (rows.seq >= first) & ((rows.seq < end) | (end < 0))
        rows.column["alarms_held"] = held

    def _first_lift(self, rows: Rows, travelling_weight_N: float) -> None:
        column = rows.column
        # A lift that began before the line was slipped shows nothing of it.
        known = np.where(np.isfinite(column["block_m"]), column["block_m"], np.inf)
        lowest = np.minimum.accumulate(np.concatenate(([self.lowest_m], known)))[1:]
        self.lowest_m = float(lowest[-1])
        lifts: NDArray[np.bool_] = (
            (column["phase"] == 0)
            & (column["moving"] > 0)
            & (column["friction_state"] > 0.999)
            & (column["run_travel_m"] >= LIFT_TRAVEL_M)
            & (column["block_m"] - lowest >= LIFT_TRAVEL_M)
            & np.isfinite(column["smooth_load_N"])
        )
        if not lifts.any():
            return
        load: Floats = column["smooth_load_N"]
        right = lifts & (np.abs(load / travelling_weight_N - 1.0) <= LIFT_SHARE)
        self.shown_N = float(load[np.flatnonzero(lifts)[-1]])
        if right.any():
            row = int(np.argmax(right))
            self.shown_N = float(load[row])
            limit_us = self.since_us + round(self.limit_s * 1e6)
            if int(rows.time_us[row]) < limit_us:
                self.release(int(rows.seq[row]))
            self.confirm(FIRST_LIFT)

    def held_event(self, event: Event) -> Event:
        """Event without its alarm where it was raised while alarms were held."""
        seq = event.seq
        if event.kind in NEVER_PUT_ASIDE:
            return event
        if not any(first <= seq and (seq < end or end < 0) for first, end in self.holds):
            return event
        why = event.why if HELD in event.why else f"{event.why}; {HELD}".lstrip("; ")
        return replace(event, alarm=False, why=why)

    def warnings(self, travelling_weight_N: float) -> list[str]:
        """What a person should know of the mode now, in words without figures' units."""
        found = []
        if self.is_holding:
            found.append("alarms are held: slip and cut")
        if self.overdue:
            found.append("slip and cut is over its time limit: alarms live, not all is checked")
        if FIRST_LIFT in self.waiting and math.isfinite(self.shown_N):
            share = 100.0 * (self.shown_N / travelling_weight_N - 1.0)
            found.append(
                f"first lift: the empty gear reads {share:+.1f} % of its weight, not within 3 %; "
                "check zero, lines strung and gear"
            )
        return found
