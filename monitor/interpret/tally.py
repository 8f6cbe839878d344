"""Bit depth by the pipe tally, beside the one by block travel; the difference is shown.

Whenever slips are set the top of a joint hangs at the elevators, so the string below is a
whole number of joints. Which joint is counted on from stand to stand by what the pipe moved;
bit depth is never changed by it. That is for a person to do (act ``bit_depth``).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.stage import Rows, Stage
from monitor.rig.rig import Rig

NAN = float("nan")

# Joints are counted on while the string ends within this share of a joint of one; beyond
# it the tally has come to its end, or is of another string.
LOST_SHARE = 0.5
USUAL_JOINT_M = 9.5


class Tally(Stage):
    """Counts joints at every in-slips; gives ``tally_depth_m`` at those rows."""

    STATE = ("joint", "top_m", "depth_m", "difference_m", "is_lost")

    def __init__(self, rig: Rig) -> None:
        # Length of the string with 0, 1, 2 ... joints, from the bit upwards.
        self.lengths_m = np.concatenate(([0.0], np.cumsum(np.array(rig.tally_m))))
        self.joint = -1
        self.top_m = NAN  # pipe travel and height above the floor where joints were counted
        self.depth_m = NAN
        self.difference_m = NAN
        self.is_lost = False  # the string does not end where a joint does

    def step(self, rows: Rows) -> None:
        """Count at every set of the slips in these rows."""
        told = np.full(len(rows), NAN)
        rows.column["tally_depth_m"] = told
        shown = rows.channel("block_position")
        if len(self.lengths_m) < 2 or shown is None:
            return
        for turn in rows.turns:
            if turn.kind != "set":
                continue
            along = float(rows.column["along_m"][turn.row])
            depth = float(rows.column["bit_depth_m"][turn.row])
            # Height as reported, when the load began to come off.
            jumped = float(shown[turn.row]) - float(rows.column["block_m"][turn.row])
            height = turn.block_m + jumped
            if math.isfinite(height):
                told[turn.row] = self._count(along, depth, height)

    def _count(self, along_m: float, depth_m: float, height_m: float) -> float:
        lengths, top = self.lengths_m, along_m + height_m
        if self.joint < 0:
            target = depth_m + height_m
        else:
            target = float(lengths[self.joint]) + top - self.top_m
        if not math.isfinite(target):
            return NAN
        joint = int(np.argmin(np.abs(lengths - target)))
        joint_m = float(lengths[joint] - lengths[joint - 1]) if joint else USUAL_JOINT_M
        if abs(float(lengths[joint]) - target) > LOST_SHARE * joint_m:
            self.joint, self.depth_m, self.difference_m = -1, NAN, NAN
            self.is_lost = True
            return NAN
        self.is_lost = False
        self.joint, self.top_m = joint, top
        self.depth_m = float(lengths[joint]) - height_m
        self.difference_m = self.depth_m - depth_m
        return self.depth_m

    def status(self) -> dict[str, Any] | None:
        """Joints in the hole and the difference for the screen; None without a tally."""
        if len(self.lengths_m) < 2:
            return None
        known = self.joint >= 0 and math.isfinite(self.difference_m)
        return {
            "joints": self.joint if self.joint >= 0 else None,
            "of": len(self.lengths_m) - 1,
            "depth_m": self.depth_m if known else None,
            "difference_m": self.difference_m if known else None,
            "is_lost": self.is_lost,
        }
