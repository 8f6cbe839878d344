"""Bit depth by the pipe tally, beside the one by block travel; the difference is shown.

Whenever slips are set the top of a joint hangs at the elevators, so the string below is a
whole number of joints. Which joint is counted on from stand to stand by what the pipe moved;
bit depth is never changed by it. That is for a person to do (act ``bit_depth``). The tally
comes with the rig file or by a person's act; the newest holds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.interpret.stage import Rows, Stage
from monitor.model import Command
from monitor.rig.rig import Rig
from monitor.rig.string import GREATEST_JOINT_M, LEAST_JOINT_M

NAN = float("nan")

# Joints are counted on while the string ends within this share of a joint of one; beyond
# it the tally has come to its end, or is of another string.
LOST_SHARE = 0.5
USUAL_JOINT_M = 9.5
NO_TALLY = "none"


def tally_text(lengths_m: Sequence[float]) -> str:
    """The text of the act that gives these joints, the bit's end first."""
    return " ".join(f"{length:.4f}" for length in lengths_m)


def tally_lengths_m(text: str) -> tuple[float, ...]:
    """Read that text; ValueError says what is expected."""
    if text.strip() == NO_TALLY:
        return ()
    expected = f"lengths of joints [m] or {NO_TALLY} are expected"
    try:
        lengths = tuple(float(word) for word in text.split())
    except ValueError:
        raise ValueError(expected) from None
    if not lengths or not all(LEAST_JOINT_M <= one <= GREATEST_JOINT_M for one in lengths):
        raise ValueError(f"{expected}, {LEAST_JOINT_M:g} to {GREATEST_JOINT_M:g} m each")
    return lengths


def tally_words(text: str) -> str:
    """What an act gives, short enough for a journal."""
    lengths = tally_lengths_m(text)
    return f"{len(lengths)} joints, {sum(lengths):.2f} m" if lengths else NO_TALLY


class Tally(Stage):
    """Counts joints at every in-slips; gives ``tally_depth_m`` at those rows."""

    STATE = ("lengths_m", "joint", "top_m", "depth_m", "difference_m", "is_lost")

    def __init__(self, rig: Rig) -> None:
        self._begin(rig.tally_m)

    def _begin(self, joints_m: Sequence[float]) -> None:
        # Length of the string with 0, 1, 2 ... joints, from the bit upwards.
        self.lengths_m = np.concatenate(([0.0], np.cumsum(np.array(joints_m, dtype=float))))
        self.joint = -1
        self.top_m = NAN  # pipe travel and height above the floor where joints were counted
        self.depth_m = NAN
        self.difference_m = NAN
        self.is_lost = False  # the string does not end where a joint does

    def refusal(self, command: Command) -> str:
        """Why an act cannot be taken; empty where it can."""
        if command.act != "tally":
            return ""
        try:
            tally_lengths_m(command.text)
        except ValueError as error:
            return f"tally refused: {error}"
        return ""

    def command(self, command: Command) -> None:
        """Another tally: joints are counted anew from the next set of the slips."""
        if command.act == "tally":
            self._begin(tally_lengths_m(command.text))

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
