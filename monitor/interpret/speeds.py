"""What changes of block speed do to the load at once: inertia; and what a stop keeps."""

from __future__ import annotations

import numpy as np

from monitor.interpret.motion import QUICK_WINDOW_S
from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import (
    LONGEST_STEP_S,
    Tail,
    forward_fill,
    near_start,
    sliding_high,
    window_start,
)
from monitor.model import Floats

# A change of speed sends a wave of force down the string; it is back after 2 L / c (elastic
# rod, derived; c of steel 5100 m/s).
WAVE_SPEED_M_S = 5100.0
# A short string follows at once; speed is not told in less than a second.
LONGEST_WAVE_S, SHORTEST_WAVE_S = 4.0, 1.0
# Depth taken where it is not known.
USUAL_DEPTH_M = 3000.0
# Line and mast that give make what comes back from the string later by so much (our choice).
MAST_S = 1.0
# A stop from the speed of a stand takes no longer than this (common practice). Friction in
# the hole may hold what the mud's drag added until the string moves again.
STOPPING_S = 3.0
# A change of speed is told only when it fills the window it is measured over, but the load
# shows it at once: the crew's own quickest within that window, of so many stands. Until one is
# known: 0.4 m/s2 (common practice, quick).
QUICKEST_M_S = 0.2
STANDS_KEPT = 8
# A quantum of 1 cm over the window.
LEAST_TOLD_M_S = 0.02
# Speed beyond which the learnt slope against speed is not extrapolated.
GREATEST_SPEED_M_S = 2.0


def return_s(bit_depth_m: Floats) -> Floats:
    """Time after which a wave of force sent down the string is back. [s].

    Examples
    --------
    >>> return_s(np.array([5100.0, 100.0, np.nan])).round(3).tolist()
    [2.0, 1.0, 1.176]
    """
    depth = np.where(bit_depth_m > 0.0, bit_depth_m, USUAL_DEPTH_M)
    result: Floats = np.clip(2.0 * depth / WAVE_SPEED_M_S, SHORTEST_WAVE_S, LONGEST_WAVE_S)
    return result


class Speeds(Carried):
    """Follows the block's speed over the last seconds."""

    STATE = ("recent", "stopping", "held_m_s")

    def __init__(self) -> None:
        self.recent = Tail(("time_s", "speed", "mass", "span_s"), 2.0 * LONGEST_STEP_S + 0.1, 1)
        self.stopping = Tail(("time_s", "speed"), STOPPING_S + 0.1, 1)
        self.held_m_s = 0.0

    def gap(self) -> None:
        """Accelerations do not reach across a gap."""
        self.recent.clear()
        self.stopping.clear()

    def before_stop(self, rows: Rows, speed: Floats) -> Floats:
        """Greatest speed before the present stop, 0 while the block moves. [m/s]."""
        joined, kept = self.stopping.join({"time_s": rows.time_s, "speed": np.abs(speed)})
        start = window_start(joined["time_s"], kept, STOPPING_S)
        is_moving = rows.column["moving"] != 0
        held = forward_fill(self.held_m_s, sliding_high(joined["speed"], start, kept), is_moving)
        self.held_m_s = float(held[-1])
        result: Floats = np.where(is_moving, 0.0, np.minimum(held, GREATEST_SPEED_M_S))
        return result

    def inertia_N(self, rows: Rows, mass_kg: Floats, span_s: Floats) -> tuple[Floats, Floats]:
        """Inertia of the string at the top, and its greatest size of late. [N].

        It is mass times the mean acceleration over a return of the wave.
        """
        speed = np.nan_to_num(rows.column["quick_speed_m_s"])
        joined, kept = self.recent.join(
            {"time_s": rows.time_s, "speed": speed, "mass": mass_kg, "span_s": span_s}
        )
        times, speed = joined["time_s"], joined["speed"]
        start = near_start(times, 0, joined["span_s"])
        before = np.interp(np.maximum(times - joined["span_s"], times[start]), times, speed)
        inertia = joined["mass"] * (speed - before) / joined["span_s"]
        late = sliding_high(np.abs(inertia), near_start(times, kept, MAST_S), kept)
        return inertia[kept:], late


class Quickening(Carried):
    """The crew's greatest gain of speed within the window that tells speed."""

    STATE = ("recent", "gained_m_s", "stands")

    def __init__(self) -> None:
        self.recent = Tail(("time_s", "speed"), QUICK_WINDOW_S + 0.1, 1)
        self.gained_m_s = 0.0
        self.stands: list[float] = []

    def gap(self) -> None:
        """No gain of speed is told across a gap."""
        self.recent.clear()

    def follow(self, rows: Rows, speed: Floats) -> Floats:
        """How much faster the block may be than is told, a row each. [m/s].

        Under an acceleration ``a`` that began ``t`` ago, less than the window ``w``, the block
        gained ``a t`` and ``a t^2 / 2 w`` of it is told: ``sqrt(2 w a)`` times the root of that.
        """
        pace = np.where(rows.column["phase"] == 2, np.abs(speed), 0.0)
        joined, kept = self.recent.join({"time_s": rows.time_s, "speed": pace})
        start = window_start(joined["time_s"], kept, QUICK_WINDOW_S)
        gained = joined["speed"][kept:] - joined["speed"][start]
        usual = np.empty(len(rows))
        begin = 0
        for end in [*(turn.row for turn in rows.turns if turn.kind == "set"), len(rows)]:
            usual[begin:end] = max(self.stands, default=QUICKEST_M_S)
            if end > begin:
                self.gained_m_s = max(self.gained_m_s, float(np.max(gained[begin:end])))
            if end < len(rows):
                self.stands = [*self.stands, self.gained_m_s][-STANDS_KEPT:]
                self.gained_m_s, begin = 0.0, end
        told = np.maximum(gained, 0.0) + LEAST_TOLD_M_S
        result: Floats = np.minimum(usual, np.sqrt(2.0 * usual * told))
        return result
