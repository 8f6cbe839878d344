"""Weight lost: at once, by a parted or dropped string, or found lower while hoisting.

A string set in slips loses its weight too, so a fall counts only where slips can be
excluded: it stops short of the empty gear, or the block goes on rising through it. What is
lost while slips hold the string cannot be seen at the dead line until the next pick-up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.events import LONGEST_SET_S
from monitor.interpret.levels import ELEVATOR_LOAD_N
from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.stuck import LEAST_SWING_N, USUAL_SWING
from monitor.interpret.transfer import SLOW_ROWS_S
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.windows import Tail, forward_fill, sliding_high, window_start
from monitor.model import Command, Event, Floats, Quality
from monitor.rig.rig import Rig

NAN = float("nan")

# So much below the band, the greater of the two, within so long (design definition).
LEAST_LOSS_N = 50e3
LOSS_SHARE = 0.05
FALL_S = 3.0
# The load is known this much later than the block (filters and a usual transmitter).
LAG_S = 0.6
# A block that came down more than this (two quanta of an encoder) let the load down itself.
DOWN_M = 0.03
# Slips cannot be set on a string that goes up at this speed, before the fall and after.
RISING_M_S = 0.10
RISING_CONFIRM_S = 1.0
# A lower load while hoisting is a level once it has lasted so far (design definition).
LEVEL_M = 3.0
# Static friction and stretch show for this long after a stop: no normal load yet.
SETTLED_RUN_M = 1.5
# Within this share of the limit of a light string the hoisting load is normal.
NORMAL_SHARE = 0.5
# Back within this of the limit for so long: over.
BACK_N = 10e3
BACK_S = 2.0


@dataclass(frozen=True, slots=True)
class Lost:
    """How far the load is below what is expected, a value a row."""

    reference_N: Floats
    below_N: Floats  # below the band around the reference
    limit_N: Floats


class WeightLoss(Stage):
    """Raises ``weight_loss`` and ``light``."""

    STATE = (
        "travelling_weight_N",
        "loss",
        "light",
        "recent",
        "last_s",
        "latched",
        "low",
        "assured",
        "normal_set",
    )

    def __init__(self, rig: Rig) -> None:
        self.described = bool(rig.string)
        self.light_N = rig.events.slack_off_N
        self.travelling_weight_N = rig.travelling_weight_N
        self.loss = Watch("weight_loss", confirm_s=0.0, clear_s=BACK_S, least_rows=2)
        self.light = Watch("light", confirm_s=0.0, clear_s=BACK_S, least_rows=2)
        self.recent = Tail(("time_s", "load", "block", "speed", "bad"), FALL_S + LAG_S + 0.1, 1)
        self.last_s = NAN
        self.latched = 0.0
        # Where a load below its limit began while hoisting, for each kind.
        self.low = {"loss": [0.0, 0.0], "light": [0.0, 0.0]}
        self.assured = 0.0  # a normal load was seen since the last gap
        self.normal_set = -1.0  # number of slips set before the last normal hoisting load

    def gap(self) -> None:
        """Pipe may have been pulled or run in the gap: what is expected must be met again."""
        self.loss.gap()
        self.light.gap()
        self.recent.clear()
        self.last_s, self.latched, self.assured, self.normal_set = NAN, 0.0, 0.0, -1.0
        self.low = {"loss": [0.0, 0.0], "light": [0.0, 0.0]}

    def command(self, command: Command) -> None:
        """Other gear: the string's weight is what is above it."""
        if command.act == "travelling_weight" and np.isfinite(command.number):
            self.travelling_weight_N = command.number

    def step(self, rows: Rows) -> None:
        """Follow falls, and levels while hoisting."""
        column = rows.column
        going_up = (column["moving"] > 0) & (of_pipe(rows, "pipe_direction") > 0)
        hoisting = (column["phase"] == 2) & going_up & ~column["on_bottom"]
        # What waves take off that are not known from moment to moment.
        unseen = np.where(
            column.get("follows_heave", False), 0.0, column.get("heave_reach_N", 0.0)
        )
        load = of_pipe(rows, "pipe_smooth_N") + unseen
        lost = self._lost(rows, going_up, load)
        up_below = column["expected_up_N"] - column["band_N"] - load
        allowance = self._allowance(rows, hoisting)
        level = self._level(rows, "loss", hoisting & (up_below >= lost.limit_N + allowance))
        quick, rising, sustained = self._fall(rows, lost)
        on = level | quick | rising
        confirm = np.where(level, 0.0, np.where(rising, RISING_CONFIRM_S, LONGEST_SET_S))
        # What lasted: slips that are set end an event, they are not its peak.
        excess = lost.reference_N - np.where(rising, column["smooth_load_N"], sustained)
        back = (lost.below_N < lost.limit_N - BACK_N) & (column["phase"] == 2)
        rows.events.extend(
            self.loss.follow(
                rows,
                Condition(
                    on=on,
                    off=(back | (column["phase"] == 0)) & ~rising,
                    why=lambda row: _why(excess[row], bool(level[row]), bool(rising[row])),
                    badness=excess,
                    expected_N=lost.reference_N,
                    excess_N=excess,
                    confirm_s=confirm,
                ),
            )
        )
        rows.events.extend(
            self._light(rows, hoisting, up_below, allowance, (lost.limit_N, sustained))
        )

    def _lost(self, rows: Rows, going_up: NDArray[np.bool_], load_N: Floats) -> Lost:
        """Judge by the hoisting load while hoisting; at rest by the least a free string has.

        A string that begins to turn, or settles, gives up its drag without losing weight.
        """
        column = rows.column
        up, down = column["expected_up_N"], column["expected_down_N"]
        string = np.maximum(up - self.travelling_weight_N, 0.0)
        guessed = up - np.maximum(USUAL_SWING * string, LEAST_SWING_N)
        least = np.where(np.isfinite(down), np.fmin(down, up), guessed)
        reference = np.where(going_up, up, least)
        limit = np.maximum(LEAST_LOSS_N, LOSS_SHARE * np.nan_to_num(string))
        below = reference - column["band_N"] - load_N
        return Lost(reference, below, limit)

    def _fall(self, rows: Rows, lost: Lost) -> tuple[NDArray[np.bool_], NDArray[np.bool_], Floats]:
        """Rows after a fall that no lowering made, short of the empty gear; while rising.

        With them the greatest load over the time of a fall: what has lasted.
        """
        column = rows.column
        hanging = column["phase"] == 2
        # On a heaving rig the vessel lets the string down, too.
        load, block = of_pipe(rows, "pipe_smooth_N"), np.nan_to_num(of_pipe(rows, "pipe_height_m"))
        spacing = np.diff(np.concatenate(([self.last_s], rows.time_s)))
        self.last_s = float(rows.time_s[-1])
        bad = ~(spacing <= SLOW_ROWS_S) | ~(column["load_age_s"] == 0.0) | _unusable(rows)
        joined, kept = self.recent.join(
            {
                "time_s": rows.time_s,
                "load": np.where(hanging & np.isfinite(load), load, -np.inf),
                "block": block,
                "speed": -column["quick_speed_m_s"],
                "bad": bad.astype(float),
            }
        )
        times = joined["time_s"]
        fall = window_start(times, kept, FALL_S)
        wide = window_start(times, kept, FALL_S + LAG_S)
        clean = sliding_high(joined["bad"], wide, kept) == 0.0
        sustained = sliding_high(joined["load"], fall, kept)
        fell = clean & (sustained - load >= lost.limit_N)
        stayed = sliding_high(joined["block"], wide, kept) - block <= DOWN_M
        begins = hanging & fell & stayed & (lost.below_N >= lost.limit_N) & ~column["on_bottom"]
        # Sheaves that are turning over read as if the load had changed.
        begins &= ~(column["pressed"] * column["friction_state"] < 0.0)
        ends = (lost.below_N < lost.limit_N - BACK_N) | ~hanging | (column["moving"] < 0)
        ends |= column["on_bottom"]
        latched = forward_fill(self.latched, begins.astype(float), begins | ends)
        self.latched = float(latched[-1])
        slowest = -sliding_high(joined["speed"], wide, kept)
        rising = (column["phase"] == 0) & fell & (slowest >= RISING_M_S)
        return latched > 0.0, rising, sustained

    def _allowance(self, rows: Rows, hoisting: NDArray[np.bool_]) -> Floats:
        """What may have been taken off in slips, with the last stand; not judged: infinite."""
        column = rows.column
        missing = column["expected_up_N"] - column["smooth_load_N"]
        normal = hoisting & (missing < NORMAL_SHARE * self.light_N)
        normal &= column["run_travel_m"] > SETTLED_RUN_M
        assured = np.maximum.accumulate(np.concatenate(([self.assured], normal.astype(float))))[1:]
        last_set = forward_fill(self.normal_set, column["set_count"], normal)
        self.assured, self.normal_set = float(assured[-1]), float(last_set[-1])
        racked = 0.0 if self.described else ELEVATOR_LOAD_N
        allowance = np.where(last_set == column["set_count"], 0.0, racked)
        return np.where(assured > 0.0, allowance, np.inf)

    def _level(self, rows: Rows, name: str, low: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Rows at which the load has been that low over the travel of a level."""
        was_low, began_m = self.low[name]
        begins = low & ~np.concatenate(([was_low > 0.0], low[:-1]))
        block = np.nan_to_num(rows.column["block_m"])
        began = forward_fill(began_m, block, begins)
        self.low[name] = [float(low[-1]), float(began[-1])]
        result: NDArray[np.bool_] = low & (block - began >= LEVEL_M)
        return result

    def _light(
        self,
        rows: Rows,
        hoisting: NDArray[np.bool_],
        up_below: Floats,
        allowance: Floats,
        until_N: tuple[Floats, Floats],
    ) -> list[Event]:
        """Up and low, by less than what would be weight lost."""
        column = rows.column
        excess = column["expected_up_N"] - column["smooth_load_N"]
        limit, sustained = until_N
        low = hoisting & (up_below > 0.0) & (up_below < limit)
        low &= excess > self.light_N + allowance
        on = self._level(rows, "light", low)
        condition = Condition(
            on=on,
            off=~(excess > self.light_N - BACK_N) | (column["phase"] != 2),
            why=lambda row: (
                f"hoisting with {excess[row] / 1e3:.0f} kN less than expected here, outside "
                f"the band, over {LEVEL_M:.0f} m"
            ),
            badness=column["expected_up_N"] - sustained,
            expected_N=column["expected_up_N"],
            excess_N=column["expected_up_N"] - sustained,
        )
        return self.light.follow(rows, condition)


def _unusable(rows: Rows) -> NDArray[np.bool_]:
    """Rows whose load or block cannot witness a fall."""
    wrong = int(Quality.FROZEN | Quality.FAULT | Quality.JUMP)
    quality = rows.column["load_quality"] | rows.column["block_quality"]
    result: NDArray[np.bool_] = (quality & np.uint16(wrong)) > 0
    return result


def _why(lost_N: float, level: bool, rising: bool) -> str:
    lost = f"{lost_N / 1e3:.0f} kN less than a free string has here"
    if level:
        return f"hoisting with {lost}, outside the band, over {LEVEL_M:.0f} m: weight is lost"
    if rising:
        return "the load fell to the empty gear while the block went up: no slips set it there"
    return f"the load fell within {FALL_S:.0f} s while the block did not come down: {lost}"
