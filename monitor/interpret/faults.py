"""Sensors that say nothing or always the same: raised as ``sensor_fault``, flagged on rows.

A missing load or block position is seen in its rows. A frozen one looks like any other
number; it is known only by what must have changed it meanwhile: travel of the block, stand
changes, or the noise that it has shown so far. All channels frozen at once leave the noise
alone to tell.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import COARSE_BLOCK_M
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.windows import forward_fill, running_sum
from monitor.model import Event, Floats, Quality
from monitor.rig.rig import Rig

NAN = float("nan")

# Without a usable load for this long it is a fault, not a lost row (issue's definition).
MISSING_S = 2.0
# A source that gives a load less often is judged by its own pace: three such spans.
PACES = 3.0
# Values between which the pace is taken; before as many were seen, this long.
PACE_VALUES = 8
LEAST_PACE_VALUES = 5
UNKNOWN_PACE_S = 60.0
# Good again for this long: over.
GOOD_S = 1.0

# The same load for this much block travel is no chance: line weight alone changes it by
# 0.35 kN/m or more (ten lines of 1 1/8 in, derived), noise sooner.
LEAST_FROZEN_M = 5.0
LEAST_FROZEN_S = 5.0
LEAST_FROZEN_ROWS = 6
# What has been normal in this record: three times that, once so much travel was seen.
NORMAL_TIMES = 3.0
LEARNT_M = 300.0
# Until then, and for a load in steps coarser than this share of it, a stand up and a stand
# down: noise and line weight may hide in a step, a change of stands cannot.
COARSE_SHARE = 0.003
COARSE_M = 60.0
# Slips set so many times and the block unmoved. A block counter in coarse steps may miss
# the few centimetres of one setting.
SETS_UNMOVED = 2.0
SETS_UNMOVED_COARSE = 3.0

# A load that so far has changed at least so often, at rest in so many connections too, is
# noisy beyond its steps: the same to the last digit for two minutes and a hundred times what
# it has shown it is frozen (our choice: a quarter of an hour at most; a quiet or slow source
# shows longer spells sooner, and is not judged by them).
NOISY_S = 9.0
NOISY_SETS = 3.0
QUIET_S = 120.0
QUIET_TIMES = 100.0
# Steps may be coarser than the noise: then a load in the middle of a digit rightly stands
# still. Noise that leads from one row to the next over two digits with the odds r, at rest in
# slips and settled, leads over one with sqrt(r / 2) each way (derived: independent rows): so
# many rows that it should have changed in are no chance (exp(-100); a filter of 1 s leaves
# exp(-10) of it at 10 Hz).
SETTLED_S = 5.0
TWO_STEPS = 1.5
MISSED_CHANGES = 100.0
# A load that comes back within this share of what it was (more than its noise, less than what
# friction turns over), with the block where it was, was no sensor that froze meanwhile: this
# rig falls silent at rest.
SAME_SHARE = 0.03
SAME_M = 0.03  # three quanta of a 1 cm counter
START_M_S2 = 1.0  # and what a block goes from rest in a row (common practice, a quick start)

FAULT_WORDS = (
    (
        Quality.FAULT,
        "the transmitter reports a fault: current at or below 3.6 mA or at or above 21 mA "
        "(NAMUR NE 43)",
    ),
    (Quality.ABSURD, "the load reads what no rig can pull"),
    (Quality.UNREADABLE, "the load is not a number"),
    (Quality.MISSING, "rows come without a load"),
)


class Faults(Stage):
    """Load or block missing, load frozen, block frozen."""

    STATE = (
        "missing", "block_missing", "load_frozen", "block_frozen", "good_s", "block_good_s",
        "load", "block", "greatest_m",
    )  # fmt: skip

    def __init__(self, rig: Rig) -> None:
        self.sensor = rig.sensor
        self.missing = Watch("sensor_fault", confirm_s=MISSING_S, clear_s=GOOD_S)
        self.block_missing = Watch("sensor_fault", confirm_s=MISSING_S, clear_s=GOOD_S)
        self.load_frozen = Watch("sensor_fault", confirm_s=0.0, clear_s=0.0)
        self.block_frozen = Watch("sensor_fault", confirm_s=0.0, clear_s=0.0)
        self.good_s = np.empty(0)  # when the last good loads came
        self.block_good_s = np.empty(0)
        self.load = _unchanged()
        self.block = _unchanged()
        self.greatest_m = 0.0  # most travel on one load that was not frozen

    def gap(self) -> None:
        """What stood still before a gap need not have stood still in it."""
        for watch in (self.missing, self.block_missing, self.load_frozen, self.block_frozen):
            watch.gap()
        self.good_s = self.block_good_s = np.empty(0)
        self.load["new"] = self.block["new"] = True

    def step(self, rows: Rows) -> None:
        """Follow the sensors; flag rows of a signal known to be frozen."""
        busy = np.zeros(len(rows), dtype=bool)
        moved = np.where(rows.column["moving"] != 0.0, np.abs(rows.column["block_step_m"]), 0.0)
        travel = running_sum(self.load["travel_m"], moved)
        self.load["travel_m"] = float(travel[-1])
        values = self._load_values(rows)
        events: list[Event] = []
        if values is not None:
            events += self._missing(rows, values, busy)
            events += self._frozen_load(rows, values, travel, busy)
        block = rows.channel("block_position")
        if block is not None:
            events += self._missing_block(rows, block, busy)
            events += self._frozen_block(rows, block, busy)
        rows.events.extend(events)

    def _load_values(self, rows: Rows) -> Floats | None:
        """The load as it came, zero at no load; None where the source has none."""
        tension = rows.channel("deadline_tension")
        if tension is not None:
            return tension
        signal = rows.channel("deadline_signal")
        if signal is not None and self.sensor.span_N is not None:
            fault = (rows.column["load_quality"] & Quality.FAULT) > 0
            return np.where(fault, NAN, signal - self.sensor.signal_low)
        return rows.channel("hook_load")

    def _missing(self, rows: Rows, values: Floats, busy: NDArray[np.bool_]) -> list[Event]:
        good = np.isfinite(values)
        self.good_s, patience_s = _paced(self.good_s, rows, good)
        if _is_well(self.missing, good):
            return []
        quality = rows.column["load_quality"]
        condition = _lacking(rows, good, patience_s, lambda row: _fault_words(int(quality[row])))
        return self.missing.follow(rows, condition, busy)

    def _missing_block(self, rows: Rows, block: Floats, busy: NDArray[np.bool_]) -> list[Event]:
        """Without a position nobody knows whether block and pipe move."""
        good = np.isfinite(block)
        self.block_good_s, patience_s = _paced(self.block_good_s, rows, good)
        if _is_well(self.block_missing, good):
            return []
        lacks = ~good & (rows.column["block_age_s"] >= patience_s)
        _flag(rows, "block_quality", lacks, Quality.MISSING)
        words = "rows come without a block position"
        condition = _lacking(rows, good, patience_s, lambda _: words)
        return self.block_missing.follow(rows, condition, busy)

    def _frozen_load(
        self, rows: Rows, values: Floats, travel: Floats, busy: NDArray[np.bool_]
    ) -> list[Event]:
        change, size = _changes(self.load, values)
        step = np.minimum.accumulate(np.concatenate(([self.load["step"]], size)))[1:]
        since_m = travel - _since(self.load, "at_m", travel, change)
        with np.errstate(invalid="ignore"):
            coarse = step > COARSE_SHARE * np.abs(values)
        least = np.where(coarse | (travel < LEARNT_M), COARSE_M, LEAST_FROZEN_M)
        ended = np.concatenate(([self.load["since_m"]], since_m[:-1]))
        normal = self._normal(np.where(change, ended, 0.0), least)
        on = since_m >= np.maximum(least, NORMAL_TIMES * normal)
        on &= np.isfinite(values)
        since_us = _since(self.load, "at_us", rows.time_us.astype(float), change)
        number = self.load["row"] + np.arange(len(rows))
        count = number - _since(self.load, "at_row", number, change)
        self.load["row"] += float(len(rows))
        on &= (rows.time_us - since_us >= LEAST_FROZEN_S * 1e6) & (count >= LEAST_FROZEN_ROWS)
        missed = self._missed(rows, values, (change, size), count, step)
        still_s = self._still_s(rows, values, change, size, missed)
        on |= still_s > 0.0
        _flag(rows, "load_quality", on)
        self.load["step"], self.load["since_m"] = float(step[-1]), float(since_m[-1])
        condition = Condition(
            on=on,
            off=change,
            why=lambda row: (
                f"signal frozen: the load has not changed at all while the block moved "
                f"{since_m[row]:.0f} m"
                if still_s[row] == 0.0
                else f"signal frozen: the load has not changed in its last digit for "
                f"{still_s[row]:.0f} s"
            ),
            since_us=since_us,
        )
        return self.load_frozen.follow(rows, condition, busy)

    def _still_s(
        self, rows: Rows, values: Floats, change: NDArray[np.bool_], size: Floats, missed: Floats
    ) -> Floats:
        """How long a load that is noisy at rest too has been frozen; 0 for any other."""
        finite = np.isfinite(values)
        seen = np.concatenate(([self.load["seen"] > 0.0], finite[:-1]))
        begun_s = _since(self.load, "at_s", rows.time_s, change | (finite & ~seen))
        still_s = np.where(finite, rows.time_s - begun_s, 0.0)
        before_s = np.concatenate(([self.load["still_s"]], still_s[:-1]))
        known = rows.column["set_count"] >= NOISY_SETS
        # As the counter reads: a leap is taken for a counter set anew.
        read = rows.channel("block_position")
        block = np.nan_to_num(rows.column["block_m"] if read is None else read)
        at_m = self.load["at_block_m"]
        at_m = np.concatenate(([at_m], _since(self.load, "at_block_m", block, change)[:-1]))
        apart_s = np.diff(np.concatenate(([self.load["last_s"]], rows.time_s)))
        near = np.abs(block - at_m) <= SAME_M + 0.5 * START_M_S2 * np.minimum(apart_s, 1.0) ** 2
        with np.errstate(invalid="ignore"):
            returns = near & (size <= SAME_SHARE * np.abs(values))
        self.load["last_s"] = float(rows.time_s[-1])
        ended_s = np.where(change & ~(known & (before_s >= QUIET_S) & ~returns), before_s, 0.0)
        longest_s = np.maximum.accumulate(np.concatenate(([self.load["longest_s"]], ended_s)))[1:]
        self.load["seen"], self.load["still_s"] = float(finite[-1]), float(still_s[-1])
        self.load["longest_s"] = float(longest_s[-1])
        needed_s = np.maximum(QUIET_S, QUIET_TIMES * longest_s)
        on = known & (longest_s <= NOISY_S) & (still_s >= needed_s) & (missed >= MISSED_CHANGES)
        return np.where(on, still_s, 0.0)

    def _missed(
        self,
        rows: Rows,
        values: Floats,
        changes: tuple[NDArray[np.bool_], Floats],
        count: Floats,
        step: Floats,
    ) -> Floats:
        """How often noise as it was at rest so far should have changed the load since it did."""
        change, size = changes
        rest = (rows.column["phase"] == 0) & (rows.column["still_s"] > SETTLED_S)
        rested = running_sum(self.load["rested"], rest.astype(float))
        with np.errstate(invalid="ignore"):
            noise = size <= SAME_SHARE * np.abs(values)
        jumped = rest & change & noise & (size >= TWO_STEPS * step)
        jumps = running_sum(self.load["jumps"], jumped.astype(float))
        self.load["rested"], self.load["jumps"] = float(rested[-1]), float(jumps[-1])
        # What stands still now says nothing of how it was before.
        before = _since(self.load, "at_rest", rested, change)
        return count * np.sqrt(2.0 * jumps / np.maximum(before, 1.0))

    def _normal(self, ended_m: Floats, least_m: Floats) -> Floats:
        """Most travel on one load so far, at each row, leaving out what was frozen."""
        normal = np.empty(len(ended_m))
        row = 0
        for longer in np.flatnonzero(ended_m > self.greatest_m).tolist():
            seen = float(ended_m[longer])
            limit = max(float(least_m[longer]), NORMAL_TIMES * self.greatest_m)
            if self.greatest_m < seen < limit:
                normal[row:longer] = self.greatest_m
                row, self.greatest_m = longer, seen
        normal[row:] = self.greatest_m
        return normal

    def _frozen_block(self, rows: Rows, block: Floats, busy: NDArray[np.bool_]) -> list[Event]:
        sets = rows.column["set_count"]
        change, size = _changes(self.block, block)
        step = np.minimum.accumulate(np.concatenate(([self.block["step"]], size)))[1:]
        since = sets - _since(self.block, "at_m", sets, change)
        self.block["step"] = float(step[-1])
        needed = np.where(step > COARSE_BLOCK_M, SETS_UNMOVED_COARSE, SETS_UNMOVED)
        on = (since >= needed) & np.isfinite(block)
        since_us = _since(self.block, "at_us", rows.time_us.astype(float), change)
        _flag(rows, "block_quality", on)
        condition = Condition(
            on=on,
            off=change,
            why=lambda row: (
                f"signal frozen: the block has not moved at all while slips were set "
                f"{since[row]:.0f} times"
            ),
            since_us=since_us,
        )
        return self.block_frozen.follow(rows, condition, busy)


def _flag(rows: Rows, name: str, where: NDArray[np.bool_], flag: Quality = Quality.FROZEN) -> None:
    quality = rows.column[name]
    rows.column[name] = np.where(where, quality | np.uint16(flag), quality)


def _paced(good_s: Floats, rows: Rows, good: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """When the last good values came, and how long the next may stay out, a row each."""
    times = np.concatenate((good_s, rows.time_s[good]))
    kept = times[-PACE_VALUES - 1 :].copy()
    if good.all():
        return kept, np.full(len(rows), np.inf)  # none stays out
    return kept, _patience(times)[len(good_s) + np.cumsum(good)]


def _lacking(
    rows: Rows, good: NDArray[np.bool_], patience_s: Floats, why: Callable[[int], str]
) -> Condition:
    gap = (rows.row & Quality.GAP) > 0
    return Condition(on=~good & ~gap, off=good, why=why, confirm_s=patience_s)


def _is_well(watch: Watch, good: NDArray[np.bool_]) -> bool:
    """Whether nothing is missing, so that nothing need be looked at."""
    if not good.all() or watch.open:
        return False
    watch.gap()
    return True


def _unchanged() -> dict[str, Any]:
    """What is carried of a value that may be frozen."""
    return {
        "value": NAN,
        "new": True,  # the next value counts as a change
        "step": math.inf,  # least change seen
        "travel_m": 0.0,
        "since_m": 0.0,
        "row": 0.0,
        "at_m": 0.0,
        "at_us": 0.0,
        "at_row": 0.0,
        "at_s": 0.0,
        "seen": 0.0,  # whether the last row had a value
        "still_s": 0.0,
        "longest_s": 0.0,  # longest spell of one value, but for frozen ones
        "rested": 0.0,  # rows at rest in slips, and changes of two steps among them
        "jumps": 0.0,
        "at_rest": 0.0,
        "at_block_m": 0.0,
        "last_s": 0.0,
    }


def _changes(carried: dict[str, Any], values: Floats) -> tuple[NDArray[np.bool_], Floats]:
    """Rows whose value is another than the last one that came, and by how much."""
    finite = np.isfinite(values)
    filled = forward_fill(carried["value"], values, finite)
    size = np.abs(np.diff(np.concatenate(([carried["value"]], filled))))
    change = size > 0.0
    size = np.where(change, size, np.inf)
    if carried["new"] and finite.any():
        change[int(np.argmax(finite))] = True
        carried["new"] = False
    carried["value"] = float(filled[-1])
    return change, size


def _since(carried: dict[str, Any], name: str, values: Any, change: NDArray[np.bool_]) -> Floats:
    """What ``values`` was at the last change."""
    result = forward_fill(carried[name], values, change)
    carried[name] = float(result[-1])
    return result


def _patience(good_s: Floats) -> Floats:
    """How long a load may be missing after each of these values, none of them first."""
    patience = np.full(len(good_s) + 1, UNKNOWN_PACE_S)
    pace = np.diff(good_s)
    longest = pace.copy()
    for back in range(1, min(PACE_VALUES, len(pace))):
        longest[back:] = np.maximum(longest[back:], pace[: len(pace) - back])
    known = slice(LEAST_PACE_VALUES - 1, None)
    patience[2:][known] = np.maximum(MISSING_S, PACES * longest[known])
    return patience


def _fault_words(quality: int) -> str:
    return next((words for flag, words in FAULT_WORDS if quality & flag), FAULT_WORDS[-1][1])
