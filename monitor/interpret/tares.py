"""Tares from landing to landing, and what the weight on bit does while the block is held.

A tare should change by the pipe that was added and by nothing else. What is left over is
drift: of the sensor, of mud and cuttings, of drag. It is shown, never corrected.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from monitor.interpret.known import known_or_none
from monitor.interpret.stage import Carried
from monitor.mechanics.pipe import string_weight_N
from monitor.rig.rig import Rig

NAN = float("nan")

TARES_KEPT = 200
# Drill-off: the block moved less than this (two quanta of an encoder) for so long, while the
# weight fell by more than three standard errors of a slope through one-second means that
# scatter by 3 kN: 3 * 3 kN / (20 s * sqrt(20 / 12)).
HELD_M = 0.02
HELD_SECONDS = 20
LEAST_RATE_N_S = 350.0


class Tares(Carried):
    """The tare of each landing, and its change beyond what the added pipe weighs."""

    STATE = ("kept",)

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.kept: list[dict[str, float]] = []

    def forget(self) -> None:
        """Other gear or lines: tares before are of something else."""
        self.kept = []

    def land(self, time_s: float, along_m: float, depth_m: float, tare_N: float) -> None:
        """Note the tare with which the bit landed."""
        if not math.isfinite(tare_N):
            return
        drift = NAN
        if self.kept:
            last = self.kept[-1]
            drift = tare_N - last["tare_N"] - self._added_N(last, along_m, depth_m)
        total = self.total_N + (drift if math.isfinite(drift) else 0.0)
        entry = {
            "time_s": time_s,
            "along_m": along_m,
            "depth_m": depth_m,
            "tare_N": tare_N,
            "drift_N": drift,
            "total_N": total,
        }
        self.kept = [*self.kept, entry][-TARES_KEPT:]

    @property
    def total_N(self) -> float:
        """Drift since the first tare."""
        return self.kept[-1]["total_N"] if self.kept else 0.0

    def _added_N(self, last: dict[str, float], along_m: float, depth_m: float) -> float:
        """Weight of the pipe added since; not-a-number where the string is not described."""
        if abs(along_m - last["along_m"]) < 1.0:
            return 0.0
        if not (self.rig.string and depth_m > 0.0 and last["depth_m"] > 0.0):
            return NAN
        mud = self.rig.mud_density_kg_m3
        now = float(string_weight_N(self.rig.string, depth_m, mud))
        return now - float(string_weight_N(self.rig.string, last["depth_m"], mud))

    def status(self) -> dict[str, Any] | None:
        """The newest tare for the screen; None before the first landing."""
        if not self.kept:
            return None
        last = self.kept[-1]
        return {
            "load_N": last["tare_N"],
            "depth_m": known_or_none(last["depth_m"]),
            "drift_N": known_or_none(last["drift_N"]),
            "total_drift_N": last["total_N"],
            "landings": len(self.kept),
        }


def drill_off_N_s(seconds: Sequence[Sequence[float]], load: int) -> float:
    """Rate at which the load rises over the last seconds; not-a-number where it does not.

    ``load`` is the place of the hook load in a second's figures. The slope is that of the
    straight line of least squares.
    """
    part = seconds[-HELD_SECONDS:]
    middle = 0.5 * (len(part) - 1)
    top = sum((i - middle) * entry[load] for i, entry in enumerate(part))
    rate = top / sum((i - middle) ** 2 for i in range(len(part)))
    return rate if rate > LEAST_RATE_N_S else NAN
