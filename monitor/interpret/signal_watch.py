"""Signs that the sensor ails, kept as they come: slow, sinking, at an end, coarse, frozen.

Nothing is raised here; a plain list says what to look at by the anchor. What stops a signal
(faults by NE 43, missing, frozen) is raised as an event by the stage of faults.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.faults import Faults
from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import Tail
from monitor.metrology.response import fall_time_s, sag, slope_per_s
from monitor.metrology.signal_health import (
    COARSE_STEP,
    FAILED_HIGH_A,
    FAILED_LOW_A,
    MEASURING_HIGH_A,
    MEASURING_LOW_A,
)
from monitor.rig.rig import Rig

NAN = float("nan")

# Rows kept about a slips set: the longest fall that is timed.
FALL_SPAN_S = 20.0
FALLS_KEPT, LEAST_FALLS = 20, 5
# A crew lets the string into the slips in one to two seconds (common practice), so the
# quickest of several falls that takes longer is the sensor's own.
SLOW_FALL_S = 4.0
# An empty block at rest for so long gives one slope of its reading, from so long after slips
# were set and the block stopped.
LEAST_REST_S, SETTLE_S = 30.0, 10.0
STILL_M_S = 0.005
SPELLS_KEPT, LEAST_SPELLS = 12, 6
# Sinking faster than this share of the reading in ten minutes, in all spells but one.
SAG_SHARE, SAG_S = 0.02, 600.0
# What was at an end of its scale within so long is told.
RECENT_S = 600.0
# A tension within this share of the span's end is at the end.
END_SHARE = 0.002

CHECKS = {
    "slow": "damping valve, kinked or long hose, air in the fluid, frozen hose",
    "sags": "fluid and gap at the anchor's load cell: leak at diaphragm, hose or fitting",
    "low end": "zero of the sensor; fluid and gap at the anchor's load cell",
    "high end": "whether the load passed the span; the span set in the transmitter",
    "doubtful": "loop supply and load, cable and connector: the current is beyond its range",
    "coarse": "span and resolution of the converter: the steps are greater than the noise",
    "frozen": "whether the source still sends; anchor free to move, not frozen or jammed",
    "failed": "loop supply, connector and cable; fuse or barrier; the transmitter itself",
    "late": "the clocks and filters of both devices: speeds, depths and small pulls suffer",
}


class SignalWatch(Carried):
    """Falls at slips, slopes at rest, spells at the ends of the scale."""

    STATE = ("tail", "falls", "rest", "rates", "at_end_us", "now_us", "late_s")

    def __init__(self, rig: Rig) -> None:
        self.sensor = rig.sensor
        self.tail = Tail(("time_s", "tension"), FALL_SPAN_S, 1)
        self.falls: list[float] = []
        self.rest: list[list[float]] = []  # time and load of the seconds of this spell
        self.rates: list[list[float]] = []  # slope and middle load of each spell
        self.at_end_us = {"low end": 0, "high end": 0, "doubtful": 0, "failed": 0}
        self.now_us = 0
        self.late_s = 0.0  # how late the block position comes against the load

    def gap(self) -> None:
        """What fell or rested across a gap is not known."""
        self.tail.clear()
        self.rest = []

    def step(self, rows: Rows) -> None:
        """Take the rows in."""
        self.now_us = int(rows.time_us[-1])
        self.late_s = float(rows.column["block_late_s"][-1])
        self._ends(rows)
        self._falls(rows)
        self._rest(rows)

    def _falls(self, rows: Rows) -> None:
        """Time the falls of the load at slips."""
        joined, kept = self.tail.join(
            {"time_s": rows.time_s, "tension": rows.column["read_tension_N"]}
        )
        for turn in rows.turns:
            if turn.kind == "set":
                stop = kept + turn.row + 1
                times = joined["time_s"][:stop]
                start = int(np.searchsorted(times, times[-1] - FALL_SPAN_S))
                low = float(rows.column["empty_N"][turn.row] * rows.column["load_share"][turn.row])
                fall = fall_time_s(times[start:], joined["tension"][start:stop], low)
                if math.isfinite(fall):
                    self.falls = [*self.falls, fall][-FALLS_KEPT:]

    def _ends(self, rows: Rows) -> None:
        """Note when the signal was last at an end of its scale."""
        signal = rows.channel("deadline_signal")
        if rows.channel("deadline_tension") is None and signal is not None:
            if self.sensor.signal_quantity == "current":
                failed = (signal <= FAILED_LOW_A) | (signal >= FAILED_HIGH_A)
                doubtful = (signal < MEASURING_LOW_A) | (signal > MEASURING_HIGH_A)
                self._note(rows, "failed", failed)
                self._note(rows, "doubtful", doubtful & ~failed)
                return
            slack = END_SHARE * (self.sensor.signal_high - self.sensor.signal_low)
            self._note(rows, "low end", signal <= self.sensor.signal_low + slack)
            self._note(rows, "high end", signal >= self.sensor.signal_high - slack)
            return
        tension, span_N = rows.column["read_tension_N"], self.sensor.span_N
        if span_N is not None:
            self._note(rows, "low end", tension <= END_SHARE * span_N)
            self._note(rows, "high end", tension >= (1.0 - END_SHARE) * span_N)

    def _note(self, rows: Rows, what: str, where: Any) -> None:
        at = np.flatnonzero(where)
        if len(at):
            self.at_end_us[what] = int(rows.time_us[at[-1]])

    def _rest(self, rows: Rows) -> None:
        """Gather the seconds of the empty block at rest, spell by spell."""
        blocks = rows.blocks
        if blocks is None or not len(blocks):
            return
        still = (
            (blocks.low["phase"] == 0)
            & (blocks.high["phase"] == 0)
            & (np.abs(blocks.low["block_speed_m_s"]) < STILL_M_S)
            & (np.abs(blocks.high["block_speed_m_s"]) < STILL_M_S)
            & np.isfinite(blocks.mean["hook_load_N"])
        )
        edges = np.concatenate(([0], np.flatnonzero(np.diff(still)) + 1, [len(still)]))
        for start, stop in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
            if not still[start]:
                self._close()
                continue
            seconds = blocks.start_us[start:stop] / 1e6
            loads = blocks.mean["hook_load_N"][start:stop]
            self.rest = [*self.rest, *np.column_stack((seconds, loads)).tolist()]

    def _close(self) -> None:
        """End a spell at rest: its slope, where it was long enough."""
        spell, self.rest = self.rest, []
        if len(spell) < 3 or spell[-1][0] - spell[0][0] < LEAST_REST_S + SETTLE_S:
            return
        rows = np.array(spell)
        rows = rows[rows[:, 0] >= rows[0, 0] + SETTLE_S]
        slope = slope_per_s(rows[:, 0], rows[:, 1])
        self.rates = [*self.rates, [slope, float(np.median(rows[:, 1]))]][-SPELLS_KEPT:]

    def fall_s(self) -> float:
        """Quickest fall at slips: the sensor is no slower than this."""
        return min(self.falls, default=NAN)

    def sag_share(self) -> tuple[float, bool]:
        """Share of the reading lost in ten minutes at rest, and whether that is a sign."""
        rates = np.array([rate / load if load else NAN for rate, load in self.rates])
        found = sag(rates)
        share = -found.rate_per_s * SAG_S
        is_sign = (
            found.spells >= LEAST_SPELLS
            and found.same_way >= found.spells - 1
            and share > SAG_SHARE
        )
        return share, is_sign

    def findings(self, noise_N: float, step_N: float, faults: Faults) -> list[dict[str, str]]:
        """What ails the signal, and what to look at; an empty list is a healthy one."""
        found: list[tuple[str, str]] = []
        if faults.missing.open:
            found.append(("failed", "no usable load comes in"))
        if faults.load_frozen.open:
            found.append(("frozen", "the load does not change at all"))
        for what, words in (
            ("failed", "the transmitter reported a fault within the last ten minutes"),
            ("doubtful", "the current was outside 3.8 to 20.5 mA within the last ten minutes"),
            ("low end", "the signal was at the bottom of its scale within the last ten minutes"),
            ("high end", "the signal was at the top of its scale within the last ten minutes"),
        ):
            at_us = self.at_end_us[what]
            if at_us and self.now_us - at_us <= RECENT_S * 1e6:
                found.append((what, words))
        if math.isfinite(step_N) and step_N > COARSE_STEP * noise_N:
            found.append(("coarse", f"steps of {step_N / 1e3:.2g} kN hide the noise"))
        is_slow = len(self.falls) >= LEAST_FALLS and self.fall_s() > SLOW_FALL_S
        if is_slow:
            found.append(
                ("slow", f"the load takes {self.fall_s():.1f} s to fall at slips, at the best")
            )
        share, is_sign = self.sag_share()
        if is_sign and not is_slow:  # the tail of a slow fall sinks too
            found.append(("sags", f"a load at rest sinks by {share:.1%} in ten minutes"))
        if self.late_s > 0.0:
            found.append(
                ("late", f"the block position comes {self.late_s:.1f} s or more after the load")
            )
        return [{"sign": sign, "what": words, "check": CHECKS[sign]} for sign, words in found]

    def status(self, noise_N: float, step_N: float, faults: Faults) -> dict[str, Any]:
        """Measures and findings for the screens."""
        share, _ = self.sag_share()
        return {
            "findings": self.findings(noise_N, step_N, faults),
            "fall_s": self.fall_s() if self.falls else None,
            "falls": len(self.falls),
            "sag_share_in_ten_minutes": share if math.isfinite(share) else None,
            "rest_spells": len(self.rates),
        }
