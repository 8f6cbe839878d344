"""Pipe that has stood still too long: in open hole it may stick by differential pressure."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import TURNING_RAD_S
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.windows import forward_fill
from monitor.model import Floats
from monitor.rig.rig import Rig

NAN = float("nan")


class Still(Stage):
    """Raises ``stationary_too_long`` once the string has not moved for the limit.

    On the hook or in slips where the bit is known to be below the casing shoe; where bit or
    shoe is not known, on the hook only. Inside casing a string may stand.
    """

    STATE = ("watch", "moved_s", "moved_us")

    def __init__(self, rig: Rig) -> None:
        self.limit_s = rig.limits.stationary_s
        shoes = [mark.depth_m for mark in rig.depth_marks if "shoe" in mark.name.lower()]
        # The deepest shoe given is the last casing's.
        self.shoe_m = max(shoes, default=NAN)
        self.watch = Watch("stationary_too_long", confirm_s=0.0, clear_s=0.0)
        self.moved_s = NAN
        self.moved_us = 0.0

    def gap(self) -> None:
        """What the string did in a gap was not seen: the time begins anew."""
        self.watch.gap()
        self.moved_s = NAN

    def step(self, rows: Rows) -> None:
        """Time the string, whoever carries it."""
        hooked = rows.column["phase"] != 0
        moved = hooked & (rows.column["still_s"] == 0.0)
        rotary = rows.channel("rotary_speed")
        if rotary is not None:
            moved |= rotary > TURNING_RAD_S
        if not math.isfinite(self.moved_s):
            moved[0] = True
        moved_s = forward_fill(self.moved_s, rows.time_s, moved)
        moved_us = forward_fill(self.moved_us, rows.time_us.astype(float), moved)
        self.moved_s, self.moved_us = float(moved_s[-1]), float(moved_us[-1])
        still_s = rows.time_s - moved_s
        rows.column["string_still_s"] = still_s
        condition = Condition(
            on=(still_s >= self.limit_s) & self._judged(rows.column["bit_depth_m"], hooked),
            off=moved,
            why=lambda row: self._why(float(still_s[row]), bool(hooked[row])),
            since_us=moved_us,
        )
        rows.events.extend(self.watch.follow(rows, condition))

    def _judged(self, depth_m: Floats, hooked: NDArray[np.bool_]) -> NDArray[np.bool_]:
        if not math.isfinite(self.shoe_m):
            return hooked
        result: NDArray[np.bool_] = np.where(np.isnan(depth_m), hooked, depth_m > self.shoe_m)
        return result

    def _why(self, still_s: float, hooked: bool) -> str:
        carried = "on the hook" if hooked else "in slips"
        place = " with the bit below the casing shoe" if math.isfinite(self.shoe_m) else ""
        return (
            f"the string has not moved for {still_s / 60.0:.0f} min, {carried}{place}; "
            f"the limit is {self.limit_s / 60.0:.0f} min"
        )
