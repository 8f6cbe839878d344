"""Load of a heaving rig over whole waves, its swing, and depth without the heave.

Where the record has neither heave nor stroke, this stage adds nothing. Else loads are judged
as means over a whole wave of the present run (same direction, moving or not); before a run
is a wave long, only what goes beyond the reach of the greatest wave counts.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.waves import (
    LEAST_HEIGHT_M,
    LONGEST_STEP_S,
    LOOK_BACK_S,
)
from monitor.interpret.windows import Tail, forward_fill, running_sum, window_start
from monitor.mechanics.compensator import stroke_use
from monitor.mechanics.heave import LoadOverWaves, load_over_waves
from monitor.model import Command, Floats, Ints
from monitor.rig.rig import Rig

NAN = float("nan")

LONGEST_PERIOD_S = 30.0
# A run this much shorter than a wave is taken as a whole one (waves differ by more).
WHOLE_SHARE = 0.9
# Where no wave has shown what is left of the swing once inertia is taken off: half of the
# inertia of the greatest wave (our choice; friction in the hole turns over too).
UNSEEN_SHARE = 0.5
# Where heave is not measured all of it is left, and the waves to come are higher than the ten
# that were looked at: the greatest of 200 is sqrt(ln 200 / ln 10) times that of ten (Rayleigh
# heights, derived).
BLIND_SHARE = 1.5
# A string hoisted at this share of the vessel's greatest speed goes back during a quarter of
# each wave (cosine of 45 degrees); slower, its mean load is no moving weight.
SLOW_SHARE = 0.7

SWINGS = ("locked_swing_N", "locked_reach_N", "open_swing_N", "open_reach_N")


class Heave(Stage):
    """Mean and swing of the load over waves; depth over the sea bed."""

    STATE = ("recent", "wave", "sum_N", "count", "sum_m", "key", "run_s", "swings", "used", "now")

    def __init__(self, rig: Rig) -> None:
        self.compensator = rig.compensator
        self.recent = Tail(
            ("time_s", "waves", "load", "freed", "is_open", "stroke"), LOOK_BACK_S + 0.1, 1
        )
        self.wave = Tail(("time_s", "sum", "count", "along"), LONGEST_PERIOD_S + 0.1, 1)
        self.sum_N = 0.0
        self.count = 0.0
        self.sum_m = 0.0
        self.key = NAN
        self.run_s = NAN
        self.swings = dict.fromkeys(SWINGS, NAN)
        self.used: list[float] = []
        self.now: dict[str, float] = {}

    def gap(self) -> None:
        """A wave does not reach across a gap."""
        self.recent.clear()
        self.wave.clear()
        self.key = NAN

    def command(self, command: Command) -> None:
        """Other gear or lines: the loads before are no measure of those after."""
        if command.act in ("travelling_weight", "lines_strung"):
            self.recent.clear()
            self.wave.clear()

    def step(self, rows: Rows) -> None:
        """Derive mean and swing of the load, and depth without heave."""
        column = rows.column
        if "waves_m" not in column:
            return
        for name in ("along", "bit_depth"):
            column[f"{name}_earth_m"] = column[f"{name}_m"] - np.nan_to_num(column["heave_m"])
        load, is_open = column["hook_load_N"], column["is_open"]
        heaving, period = column["is_heaving"], column["wave_period_s"]
        freed = load - column["wave_inertia_N"]
        starts, changed = self._runs(rows)
        swing, seen = self._swings(rows, freed, (column["phase"] == 2) & ~changed)
        whole = self._means(rows, freed, starts)
        unseen = np.where(np.isfinite(column["waves_m"]), UNSEEN_SHARE, BLIND_SHARE)
        reach = np.fmax(seen, unseen * column["greatest_inertia_N"])
        column["load_freed_N"] = freed
        column["load_swing_N"] = np.where(heaving, swing, NAN)
        column["heave_reach_N"] = np.where(heaving & np.isfinite(reach), reach, 0.0)
        column["load_mean_N"] = np.where(whole, column["load_mean_N"], NAN)
        speed = SLOW_SHARE * 2.0 * np.pi * column["wave_amplitude_m"] / period
        slow = ~is_open & (np.abs(column["block_speed_m_s"]) < speed)
        steady = np.where(slow & (column["moving"] != 0), NAN, column["load_mean_N"])
        column["steady_load_N"] = np.where(heaving, steady, load)
        self.now = {
            "amplitude_m": float(column["wave_amplitude_m"][-1]),
            "period_s": float(period[-1]),
            "load_mean_N": float(column["load_mean_N"][-1]),
            # Of the string that hung last: nothing of what hangs while slips have it.
            "load_swing_N": NAN if column["phase"][-1] == 0 else float(column["load_swing_N"][-1]),
            "stroke_m": float(column["stroke_m"][-1]),
            "bit_depth_earth_m": float(column["bit_depth_earth_m"][-1]),
            "heave_m": float(column["heave_m"][-1]),
            "height_m": float(column["wave_height_m"][-1]),
            "is_open": float(is_open[-1]),
        }

    def _runs(self, rows: Rows) -> tuple[Floats, NDArray[np.bool_]]:
        """Time at which the present run began, of each row; rows that begin one."""
        column = rows.column
        # An open compensator keeps the string from feeling whether the block moves.
        moving = np.where(column["is_open"], 2.0, column["moving"])
        key = 100.0 * column["phase"] + 10.0 * column["direction"] + moving
        changed: NDArray[np.bool_] = np.diff(np.concatenate(([self.key], key))) != 0.0
        starts = forward_fill(self.run_s, rows.time_s, changed)
        self.key, self.run_s = float(key[-1]), float(starts[-1])
        return starts, changed

    def _means(self, rows: Rows, freed: Floats, starts: Floats) -> NDArray[np.bool_]:
        """Mean load and, open, mean depth over the last wave; whether the run is one long."""
        column = rows.column
        total = running_sum(self.sum_N, freed)
        count = running_sum(self.count, np.isfinite(freed).astype(float))
        along = running_sum(self.sum_m, column["along_earth_m"])
        self.sum_N, self.count = float(total[-1]), float(count[-1])
        self.sum_m = float(along[-1])
        joined, kept = self.wave.join(
            {"time_s": rows.time_s, "sum": total, "count": count, "along": along}
        )
        times, heaving = joined["time_s"], column["is_heaving"]
        span = np.where(heaving, np.minimum(column["wave_period_s"], LONGEST_PERIOD_S), 0.0)
        first = np.maximum(window_start(times, kept, span), np.searchsorted(times, starts))
        first = np.minimum(first, np.arange(kept, len(times)))
        number = joined["count"][kept:] - joined["count"][first]
        with np.errstate(invalid="ignore", divide="ignore"):
            column["load_mean_N"] = (joined["sum"][kept:] - joined["sum"][first]) / number
        whole: NDArray[np.bool_] = heaving & (number > 0)
        whole &= times[kept:] - times[first] >= WHOLE_SHARE * span
        self._steady_depth(column, whole & column["is_open"], joined["along"], kept, first)
        return whole

    @staticmethod
    def _steady_depth(
        column: dict[str, Any], smoothed: NDArray[np.bool_], sums: Floats, kept: int, first: Ints
    ) -> None:
        """Take depth over a whole wave: on bottom the top still moves by the stretch left."""
        number = np.maximum(np.arange(kept, len(sums)) - first, 1)
        mean = (sums[kept:] - sums[first]) / number
        shift = np.where(smoothed, mean - column["along_earth_m"], 0.0)
        for name in ("along_earth_m", "bit_depth_earth_m"):
            column[name] = column[name] + shift

    def _swings(
        self, rows: Rows, freed: Floats, hanging: NDArray[np.bool_]
    ) -> tuple[Floats, Floats]:
        """Swing of the load, and how far waves still lift it without inertia, of each row."""
        column = rows.column
        joined, kept = self.recent.join(
            {
                "time_s": rows.time_s,
                "waves": column["waves_m"],
                "load": np.where(hanging, column["hook_load_N"], NAN),
                "freed": np.where(hanging, freed, NAN),
                "is_open": column["is_open"].astype(float),
                "stroke": column["stroke_m"],
            }
        )
        table = np.empty((len(SWINGS), len(rows)))
        row = 0
        for look in column["wave_looks"].tolist():
            table[:, row:look] = np.array(list(self.swings.values()))[:, np.newaxis]
            row = look
            self._look(joined, kept + look)
        table[:, row:] = np.array(list(self.swings.values()))[:, np.newaxis]
        is_open = column["is_open"]
        return np.where(is_open, table[2], table[0]), np.where(is_open, table[3], table[1])

    def _look(self, joined: dict[str, Floats], last: int) -> None:
        times = joined["time_s"]
        first = int(np.searchsorted(times, times[last] - LOOK_BACK_S))
        part = {name: column[first : last + 1].copy() for name, column in joined.items()}
        if len(part["time_s"]) < 3 or not np.all(np.diff(part["time_s"]) > 0.0):
            return
        for state, own in (("locked", part["is_open"] == 0.0), ("open", part["is_open"] == 1.0)):
            load = _over_waves(part, np.where(own, part["load"], NAN))
            if load.n_waves:
                left = _over_waves(part, np.where(own, part["freed"], NAN))
                self.swings[f"{state}_swing_N"] = load.swing_N
                self.swings[f"{state}_reach_N"] = 0.5 * left.greatest_swing_N
        if self.compensator is not None:
            use = stroke_use(part["stroke"], self.compensator.stroke_limit_m)
            self.used = [use.used_m]

    def status(self) -> dict[str, float | None] | None:
        """Figures for the screen; None where neither heave nor compensator is known."""
        if not self.now and self.compensator is None:
            return None
        figures = {
            "amplitude_m": NAN,
            "period_s": NAN,
            "load_mean_N": NAN,
            "load_swing_N": NAN,
            "stroke_m": NAN,
            "bit_depth_earth_m": NAN,
            "heave_m": NAN,
            "height_m": NAN,
            "is_open": NAN,
            "stroke_used_m": self.used[0] if self.used else NAN,
            "stroke_limit_m": self.compensator.stroke_limit_m if self.compensator else NAN,
            **self.now,
        }
        return {name: v if math.isfinite(v) else None for name, v in figures.items()}


def _over_waves(part: dict[str, Floats], load_N: Floats) -> LoadOverWaves:
    return load_over_waves(
        part["time_s"],
        load_N,
        part["waves"],
        least_height_m=LEAST_HEIGHT_M,
        longest_gap_s=LONGEST_STEP_S,
    )


def beyond_heave_N(rows: Rows, middle_N: Floats, sign: float) -> Floats:
    """Load over (sign +1) or under (-1) a middle that heave does not account for.

    The mean over a whole wave where it is known, or what goes beyond the reach of the
    greatest wave, whichever is more. Without heave the load itself.
    """
    mean = rows.column.get("load_mean_N")
    if mean is None:
        plain: Floats = sign * (rows.column["hook_load_N"] - middle_N)
        return plain
    now = sign * (rows.column["load_freed_N"] - middle_N) - rows.column["heave_reach_N"]
    return _followed(rows, sign, middle_N, np.fmax(sign * (mean - middle_N), now))


def excess_N(rows: Rows, middle_N: Floats) -> Floats:
    """Load less a middle: over a whole wave, or what goes beyond the greatest wave."""
    mean = rows.column.get("load_mean_N")
    if mean is None:
        plain: Floats = rows.column["hook_load_N"] - middle_N
        return plain
    now = rows.column["load_freed_N"] - middle_N
    beyond = np.copysign(np.maximum(np.abs(now) - rows.column["heave_reach_N"], 0.0), now)
    return _followed(rows, 1.0, middle_N, np.where(np.isfinite(mean), mean - middle_N, beyond))


def _followed(rows: Rows, sign: float, middle_N: Floats, others: Floats) -> Floats:
    """Load of the string whose motion is followed against a middle; ``others`` elsewhere."""
    follows = rows.column.get("follows_heave")
    if follows is None:
        return others
    result: Floats = np.where(follows, sign * (rows.column["pipe_load_N"] - middle_N), others)
    return result
