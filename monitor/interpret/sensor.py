"""How well hook load and weight on bit are known at each row, and whether that is enough.

Comes after the empty block was weighed: the zero's doubt is added to what the load stage
could know, and the room left shrinks by what is added.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.known import known_or_none
from monitor.interpret.load import Load
from monitor.interpret.noise import Noise
from monitor.interpret.signal_watch import SignalWatch
from monitor.interpret.stage import Rows, Stage
from monitor.metrology.uncertainty import (
    COVERAGE_FACTOR,
    MEDIAN_OF_3,
    RECTANGLE,
    TARE_RANGE_N,
    Doubts,
    LINE_UNTOLD_N_m,
    Terms,
    TRAVEL_UNTOLD_m,
    budget,
    efficiency_share,
    half_width_N,
    hook_load_terms,
    weight_on_bit_terms,
)
from monitor.model import Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# What of the last row the budget is made from.
NOW = (
    "tension_N",
    "tension_doubt_N",
    "friction_state",
    "hook_load_N",
    "weight_on_bit_N",
    "hook_load_half_width_N",
    "weight_on_bit_half_width_N",
)


class SensorStage(Stage):
    """The half widths on screen, with everything that is in them."""

    STATE = ("noise", "signal", "now")

    def __init__(self, rig: Rig, load: Load) -> None:
        self.load = load
        # Where the line is not told, its weight moves the reading with the block.
        self.line_untold_N_m = LINE_UNTOLD_N_m if rig.line is None else 0.0
        self.noise = Noise()
        self.signal = SignalWatch(rig)
        self.now = dict.fromkeys((*NOW, "zero_doubt_N", "noise_N", "step_N", "line_m"), NAN)

    def gap(self) -> None:
        """No difference across a gap."""
        self.noise.gap()
        self.signal.gap()

    def step(self, rows: Rows) -> None:
        """Add zero, noise, resolution and the line's weight to the half widths."""
        column = rows.column
        self.signal.step(rows)
        share = column["load_share"]
        small = self.noise.step(column["read_tension_N"])
        sensor = (small + column["zero_variance_N2"]) / (share * share)
        line = self._line_N(TRAVEL_UNTOLD_m) / RECTANGLE
        before = column["hook_load_half_width_N"]
        wide = np.sqrt(before * before + COVERAGE_FACTOR**2 * (sensor + line * line))
        # For what the empty block is compared with: the zero's doubt comes from that itself.
        column["half_width_but_zero_N"] = before
        column["hook_load_half_width_N"] = wide
        column["room_left_N"] = column["room_left_N"] - (wide - before)
        column["weight_on_bit_half_width_N"] = self._weight_on_bit(rows, small, share)
        last = len(rows) - 1
        self.now = {name: float(column[name][last]) for name in NOW}
        self.now["zero_doubt_N"] = math.sqrt(float(column["zero_variance_N2"][last]))
        self.now["noise_N"], self.now["step_N"] = self.noise.noise_N, self.noise.step_N
        self.now["line_m"] = self._since_tare_m(rows, slice(last, None))[0]

    def _line_N(self, travel_m: float) -> float:
        return self.line_untold_N_m * self.load.lines_strung * travel_m

    def _since_tare_m(self, rows: Rows, where: Any) -> Floats:
        """Travel of the block since the tare, told by the pipe it moved."""
        column = rows.column
        travel = np.abs(column["along_m"][where] - column["tare_depth_m"][where])
        return np.asarray(np.nan_to_num(travel))

    def _weight_on_bit(self, rows: Rows, small: Floats, share: Floats) -> Floats:
        column = rows.column
        weight = column["weight_on_bit_N"]
        result: Floats = np.full(len(rows), NAN)
        known = np.flatnonzero(np.isfinite(weight))
        if not len(known):
            return result
        tension = column["tension_N"][known]
        friction = column["friction_state"][known]
        doubt = column["tension_doubt_N"][known]
        size = np.abs(weight[known])
        with np.errstate(invalid="ignore", divide="ignore"):
            gain = doubt / np.abs(tension) * size
        up, down = self.load.factors()
        turning = 0.5 * (up - down) * (1.0 - np.abs(friction)) * np.abs(tension) / RECTANGLE
        if self.load.as_reported:
            turning, sheaves = np.zeros(len(known)), np.zeros(len(known))
        else:
            sheaves = efficiency_share(self.load.reeved(), friction, share[known]) * size
        line = self._line_N(1.0) * self._since_tare_m(rows, known) / RECTANGLE
        tare = TARE_RANGE_N / math.sqrt(12.0)
        result[known] = COVERAGE_FACTOR * np.sqrt(
            gain * gain
            + sheaves * sheaves
            + turning * turning
            + small[known] / (share[known] * share[known])
            + line * line
            + tare * tare
        )
        return result

    def terms(self) -> tuple[Terms, Terms]:
        """Terms of hook load and of weight on bit at the last row."""
        now, load = self.now, self.load
        tension = now["tension_N"]
        doubts = Doubts(
            tension_N=now["tension_doubt_N"],
            zero_N=now["zero_doubt_N"],
            noise_N=_known(now["noise_N"]),
            step_N=_known(now["step_N"]),
            line_N=self._line_N(TRAVEL_UNTOLD_m) / RECTANGLE,
        )
        reeved, friction = load.reeved(), now["friction_state"]
        if load.as_reported:
            n = load.lines_strung
            of_load = {
                "calibration": n * doubts.tension_N,
                "zero": n * doubts.zero_N,
                "noise": n * doubts.noise_N * MEDIAN_OF_3,
                "resolution": n * doubts.step_N / math.sqrt(12.0),
                "weight of the drilling line": doubts.line_N,
            }
            return of_load, {}
        of_load = hook_load_terms(reeved, friction, tension, doubts)
        if not math.isfinite(now["weight_on_bit_N"]):
            return of_load, {}
        since = self._line_N(1.0) * now["line_m"] / RECTANGLE
        of_weight = weight_on_bit_terms(
            reeved,
            friction,
            tension,
            now["weight_on_bit_N"],
            Doubts(doubts.tension_N, 0.0, doubts.noise_N, doubts.step_N, since),
        )
        return of_load, of_weight

    def status(self, alarm_margin_N: float) -> dict[str, Any]:
        """Half widths, their budget, and whether they are wider than the alarm allows."""
        of_load, of_weight = self.terms()
        wide_N = self.now["hook_load_half_width_N"]
        exceeds = wide_N > alarm_margin_N
        return {
            "hook_load_N": known_or_none(self.now["hook_load_N"]),
            "hook_load_half_width_N": known_or_none(wide_N),
            "hook_load_budget": budget(of_load),
            "weight_on_bit_N": known_or_none(self.now["weight_on_bit_N"]),
            "weight_on_bit_half_width_N": known_or_none(self.now["weight_on_bit_half_width_N"]),
            "weight_on_bit_budget": budget(of_weight) if of_weight else [],
            "alarm_margin_N": known_or_none(alarm_margin_N),
            "exceeds_alarm_margin": bool(exceeds),
            "noise_N": known_or_none(self.now["noise_N"]),
            "step_N": known_or_none(self.now["step_N"]),
            "stated_half_width_N": known_or_none(float(half_width_N(of_load)))
            if of_load
            else None,
        }


def _known(value: float) -> float:
    return value if math.isfinite(value) else 0.0
