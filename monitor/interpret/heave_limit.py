"""Waves higher than the rig works in: the event ``heave_over_limit``."""

from __future__ import annotations

import numpy as np

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.rig.rig import Rig

# Heights are told every ten seconds over two minutes, so one look is enough to raise ...
CONFIRM_S = 0.0
# ... and it is over once a whole such span has no wave near the limit (our choice: a tenth).
CLEAR_SHARE = 0.9
CLEAR_S = 60.0


class HeaveLimit(Stage):
    """Compares the greatest wave of the last two minutes with the limit of the rig file.

    Where none is given it is the compensator's whole stroke: a higher wave runs it to its
    ends, and the string takes the rest.
    """

    STATE = ("watch",)

    def __init__(self, rig: Rig) -> None:
        fitted = rig.compensator
        self.is_stroke = rig.limits.heave_m is None
        self.limit_m = rig.limits.heave_m
        if self.limit_m is None and fitted is not None:
            self.limit_m = fitted.stroke_limit_m
        self.watch = Watch("heave_over_limit", confirm_s=CONFIRM_S, clear_s=CLEAR_S)

    def gap(self) -> None:
        """A run does not reach across a gap."""
        self.watch.gap()

    def step(self, rows: Rows) -> None:
        """Compare the waves with the limit."""
        height = rows.column.get("wave_height_m")
        if height is None or self.limit_m is None:
            return
        with np.errstate(invalid="ignore"):
            on, off = height > self.limit_m, ~(height > CLEAR_SHARE * self.limit_m)
        seen = Condition(
            on=on, off=off, why=lambda row: self._why(height[row]), badness=np.asarray(height)
        )
        rows.events.extend(self.watch.follow(rows, seen))

    def _why(self, height_m: float) -> str:
        limit = "the whole stroke of the compensator" if self.is_stroke else "the heave limit"
        return (
            f"a wave of {height_m:.1f} m from trough to crest within two minutes, over "
            f"{limit}, {self.limit_m:.1f} m"
        )
