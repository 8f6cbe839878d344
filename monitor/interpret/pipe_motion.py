"""How the top of the string moves over the sea bed on a heaving rig, and its load so.

Hanging from the block, the string goes up and down with the vessel: friction in the hole
turns over with every wave, and what hangs is accelerated by it. Both are told by the motion
of block and vessel together. Where the record has no heave, or a calm one, this stage
changes nothing.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import REVERSAL_HALF_TRAVEL_M
from monitor.interpret.speeds import LONGEST_WAVE_S, return_s
from monitor.interpret.stage import Array, Rows, Stage
from monitor.interpret.transfer import TRANSMITTER_LAG_S
from monitor.interpret.waves import BUOYED_SHARE, LONGEST_STEP_S
from monitor.interpret.windows import Tail, forward_fill, play, running_sum, window_start
from monitor.model import Command, Floats
from monitor.rig.rig import Rig
from monitor.units import STANDARD_GRAVITY_m_s2

NAN = float("nan")

# Heave is taken as means over this share of a wave, and at most so long: that takes 2 % off
# it, and noise of 1.5 cm is then some 5 kN of inertia under 200 t in waves of 12 s.
MEAN_SHARE = 1.0 / 12.0
LONGEST_MEAN_S = 1.0
# The vessel's speed is read between two such means.
RATE_S = 0.5
# The top may have turned back once its speed is below what the vessel's greatest change of
# speed makes in the time by which it is told late.
TOLD_LATE_S = 0.75
# What the vessel adds to the load is known to this share of its size: a heave that comes a
# quarter of a second late misses a fifth of it in waves of 8 s, and the mass a tenth.
DOUBT_SHARE = 0.25
# No vessel on which pipe is run is accelerated by more (5 m high waves of 5 s: 4 m/s2).
GREATEST_M_S2 = 4.0
# Heave that was missing is followed again once no mean reaches back to before.
AGAIN_S = 2.0 * LONGEST_WAVE_S
# Motion of the block alone stands in for that of the string where heave is not followed.
PLAIN = {
    "pipe_speed_m_s": "block_speed_m_s",
    "pipe_direction": "direction",
    "pipe_reversed": "reversed",
    "pipe_run_m": "run_travel_m",
    "pipe_load_N": "hook_load_N",
    "pipe_smooth_N": "smooth_load_N",
    "pipe_height_m": "block_m",
}


class PipeMotion(Stage):
    """Speed, direction and run of the string's top; load without what heave accelerates."""

    STATE = (
        "travelling_weight_N",
        "sums",
        "paths",
        "rates",
        "sum_m",
        "seen_s",
        "lost_s",
        "middle_m",
        "direction",
        "turned_m",
        "phase",
    )

    def __init__(self, rig: Rig) -> None:
        self.travelling_weight_N = rig.travelling_weight_N
        self.lowers_hook = rig.compensator is None or rig.compensator.kind == "in-line"
        self.sums = Tail(("time_s", "sum"), LONGEST_MEAN_S + 0.1, 1)
        self.paths = Tail(("time_s", "level", "path"), RATE_S + 0.1, 1)
        self.rates = Tail(("time_s", "rate"), LONGEST_WAVE_S + 0.1, 1)
        self.sum_m = 0.0
        self.seen_s = NAN
        self.lost_s = NAN
        self.middle_m = NAN
        self.direction = 0.0
        self.turned_m = 0.0
        self.phase = 0.0

    def gap(self) -> None:
        """Rates do not reach across a gap."""
        for tail in (self.sums, self.paths, self.rates):
            tail.clear()
        self.lost_s = NAN

    def command(self, command: Command) -> None:
        """Other gear has another mass."""
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number

    def step(self, rows: Rows) -> None:
        """Derive the motion of the string's top and its load without the vessel's."""
        column, heave = rows.column, rows.channel("heave")
        if heave is None:
            return
        follows = column["is_heaving"] & self._is_fresh(rows, heave)
        if rows.channel("compensator_stroke") is None:
            follows &= ~column["is_open"]  # where the top of the string is nobody measures
        path, speed, acceleration, size = self._rates(rows)
        turned, direction, run = self._directions(rows, path)
        greatest = column["wave_amplitude_m"] * (2.0 * np.pi / column["wave_period_s"]) ** 2
        turned |= ~(direction * speed > TOLD_LATE_S * greatest)
        mass = np.where(follows, self._mass_kg(rows, acceleration), 0.0)
        inertia = mass * acceleration
        moved = {
            "pipe_speed_m_s": speed,
            "pipe_direction": direction,
            "pipe_reversed": turned,
            "pipe_run_m": run,
            "pipe_load_N": column["hook_load_N"] - inertia,
            "pipe_height_m": path,
            "pipe_smooth_N": column["smooth_load_N"] + column["wave_inertia_N"] - inertia,
        }
        for name, values in moved.items():
            column[name] = np.where(follows, values, column[PLAIN[name]])
        column["follows_heave"] = follows
        column["pipe_turns"] = (follows & turned).astype(float)
        column["vessel_doubt_N"] = DOUBT_SHARE * mass * size
        column["taught_load_N"] = np.where(follows, column["pipe_load_N"], column["steady_load_N"])

    def _is_fresh(self, rows: Rows, heave: Floats) -> NDArray[np.bool_]:
        """Whether heave is known now and was for as long as means reach back."""
        seen = forward_fill(self.seen_s, rows.time_s, np.isfinite(heave))
        lost = ~(rows.time_s - seen <= LONGEST_STEP_S)
        since = forward_fill(self.lost_s, rows.time_s, lost)
        self.seen_s, self.lost_s = float(seen[-1]), float(since[-1])
        result: NDArray[np.bool_] = ~lost & ~(rows.time_s - since < AGAIN_S)
        return result

    def _rates(self, rows: Rows) -> tuple[Floats, Floats, Floats, Floats]:
        """Height and speed of the string's top over the sea bed; its acceleration, with size.

        The acceleration is what vessel and compensator make of it, at the time at which the
        load shows it; the block's own is in the expected load. Its size is that of the wave
        it belongs to.
        """
        column = rows.column
        heave = np.nan_to_num(column["heave_m"])
        total = running_sum(self.sum_m, heave)
        self.sum_m = float(total[-1])
        joined, kept = self.sums.join({"time_s": rows.time_s, "sum": total})
        times = joined["time_s"]
        mean_s = np.fmin(MEAN_SHARE * column["wave_period_s"], LONGEST_MEAN_S)
        start = window_start(times, kept, mean_s)
        number = np.arange(kept, len(times)) - start
        mean = (joined["sum"][kept:] - joined["sum"][start]) / np.maximum(number, 1)
        level = np.where(number > 0, mean, heave)
        mean_late = 0.5 * (times[kept:] - times[np.minimum(start + 1, len(times) - 1)])
        path = level - column["along_m"]
        if self.lowers_hook:
            level = level - column["stroke_m"]
        joined, kept = self.paths.join({"time_s": rows.time_s, "level": level, "path": path})
        times, start = joined["time_s"], window_start(joined["time_s"], kept, RATE_S)
        span = times[kept:] - times[start]
        ran = np.maximum(span, 1e-9)
        rate = np.where(span > 0.0, (level - joined["level"][start]) / ran, 0.0)
        speed = np.where(span > 0.0, (path - joined["path"][start]) / ran, 0.0)
        joined, kept = self.rates.join({"time_s": rows.time_s, "rate": rate})
        # The top is pulled by the mean acceleration over a return of the wave, as the block's is.
        times, back = joined["time_s"], return_s(column["bit_depth_m"])
        before = np.interp(times[kept:] - back, times, joined["rate"])
        # Waves of one period: what is late by a time t lacks t times the change of
        # acceleration, and that is the speed times the square of the pace of the waves.
        late = np.maximum(mean_late + 0.5 * span - TRANSMITTER_LAG_S, 0.0)
        pace = (2.0 * np.pi / column["wave_period_s"]) ** 2
        acceleration = np.nan_to_num((rate - before) / back - late * pace * rate)
        size = np.hypot(acceleration, np.nan_to_num(np.sqrt(pace)) * rate)
        return path, speed, acceleration, size

    def _directions(self, rows: Rows, path: Floats) -> tuple[NDArray[np.bool_], Floats, Floats]:
        """Whether the top has just turned back, its direction, and how far it has run since."""
        if not math.isfinite(self.middle_m):
            self.middle_m = self.turned_m = float(path[0])
        middle = play(self.middle_m, path, REVERSAL_HALF_TRAVEL_M)
        share = (path - middle) / REVERSAL_HALF_TRAVEL_M
        settled = np.abs(share) > 0.999
        direction = forward_fill(self.direction, np.sign(share), settled)
        begins = _changes(self.direction, direction) | _changes(self.phase, rows.column["phase"])
        turned_m = forward_fill(self.turned_m, path, begins)
        self.middle_m, self.direction = float(middle[-1]), float(direction[-1])
        self.turned_m, self.phase = float(turned_m[-1]), float(rows.column["phase"][-1])
        return ~settled, direction, np.abs(path - turned_m)

    def _mass_kg(self, rows: Rows, acceleration: Floats) -> Floats:
        """Mass of all that hangs: steel in mud weighs less than in air.

        Solved for the load without the pull of this acceleration.
        """
        string = np.maximum(rows.column["hook_load_N"] - self.travelling_weight_N, 0.0)
        weight = self.travelling_weight_N + string / BUOYED_SHARE
        pulled = np.clip(acceleration, -GREATEST_M_S2, GREATEST_M_S2) / BUOYED_SHARE
        return np.nan_to_num(weight / (STANDARD_GRAVITY_m_s2 + pulled))


def _changes(before: float, values: Array) -> NDArray[np.bool_]:
    """Rows whose value is not that of the row before."""
    result: NDArray[np.bool_] = np.diff(np.concatenate(([before], values))) != 0.0
    return result


def of_pipe(rows: Rows, name: str) -> Array:
    """Motion or load of the string's top; that of the block where heave is not known."""
    column: Array = rows.column.get(name, rows.column[PLAIN[name]])
    return column
