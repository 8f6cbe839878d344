"""Bit depth: an anchor less block travel while the hook carries the string, never a sum."""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.windows import forward_fill
from monitor.model import Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")


class Depth(Stage):
    """Travel of the pipe, and bit depth where a start is known.

    ``hung_m`` less ``along_m`` is the pipe that stands above the floor on the hook: what hangs
    there stays the same from slips to slips.
    ``along_m`` is pipe travel since the first row, down positive; it goes on where bit
    depth is unknown. ``start_m`` is what must be added to make it bit depth.
    """

    STATE = (
        "start_m",
        "along_m",
        "anchor_m",
        "following",
        "uncertain",
        "last_m",
        "reported_m",
        "difference_m",
        "stroke_m",
        "said",
    )

    def __init__(self, rig: Rig, bit_depth_m: float) -> None:
        fitted = rig.compensator
        # By definition the block position has the stroke of one at the crown in it already.
        self.lowers_hook = fitted is None or fitted.kind == "in-line"
        self.said = "" if fitted is None else fitted.state
        self.start_m = bit_depth_m
        self.along_m = 0.0
        self.anchor_m = NAN
        self.following = False
        self.uncertain = 0.0
        self.last_m = 0.0
        self.reported_m = NAN
        self.difference_m = NAN
        self.stroke_m = 0.0

    def command(self, command: Command) -> None:
        """A depth given by a person holds from here, and is sure again."""
        if command.act == "bit_depth" and math.isfinite(command.number):
            self.start_m = command.number - self.last_m
            self.uncertain = 0.0
        elif command.act == "compensator":
            self.said = command.text.strip()

    def step(self, rows: Rows) -> None:
        """Derive pipe travel, bit depth, and whether the depth is sure."""
        stroke = self._stroke(rows)
        block = rows.column["block_m"]
        if stroke is not None:
            block = block - stroke
        along, hung = np.empty(len(rows)), np.empty(len(rows))
        following = np.zeros(len(rows), dtype=bool)
        row = 0
        for turn in rows.turns:
            self._fill(along, hung, following, block, row, turn.row)
            hook_m = turn.block_m if stroke is None else turn.block_m - float(stroke[turn.row])
            if turn.kind == "set" and self.following:
                self.along_m -= hook_m - self.anchor_m
                self.following = False
            if turn.kind == "hanging":
                self.anchor_m = hook_m
                self.following = True
            row = turn.row
        self._fill(along, hung, following, block, row, len(rows))
        unknown = self._start(rows, along)
        unseen = rows.column["unseen"] & following
        unseen[[turn.row for turn in rows.turns if not turn.seen]] = True
        uncertain = np.maximum.accumulate(
            np.concatenate(([self.uncertain], unseen.astype(float)))
        )[1:]
        rows.column["along_m"] = along
        rows.column["hung_m"] = hung
        rows.column["bit_depth_m"] = self.start_m + along
        rows.column["bit_depth_m"][:unknown] = NAN
        # An open compensator whose stroke nobody measures: depth is back once it is locked.
        unmeasured = stroke is None and self.lowers_hook and self.said == "open"
        rows.column["depth_uncertain"] = np.ones(len(rows)) if unmeasured else uncertain
        self.uncertain, self.last_m = float(uncertain[-1]), float(along[-1])

    def _stroke(self, rows: Rows) -> Floats | None:
        """How far an in-line compensator lowers the hook; None where nothing tells it."""
        stroke = rows.channel("compensator_stroke")
        if stroke is None or not self.lowers_hook:
            return None
        filled = forward_fill(self.stroke_m, stroke, np.isfinite(stroke))
        self.stroke_m = float(filled[-1])
        return filled

    def _fill(
        self,
        along: np.ndarray,
        hung: np.ndarray,
        following: np.ndarray,
        block: np.ndarray,
        start: int,
        stop: int,
    ) -> None:
        if not self.following:
            along[start:stop] = self.along_m
            hung[start:stop] = self.along_m + np.nan_to_num(block[start:stop])
            return
        travel = block[start:stop] - self.anchor_m
        along[start:stop] = self.along_m - np.nan_to_num(travel)
        hung[start:stop] = self.along_m + np.nan_to_num(self.anchor_m)
        following[start:stop] = True

    def _start(self, rows: Rows, along: np.ndarray) -> int:
        """Take the start from a bit depth channel, once; from then on only compare.

        Returns how many rows came before the start.
        """
        reported = rows.channel("bit_depth")
        if reported is None:
            return 0
        before = 0
        valid = np.isfinite(reported)
        if not math.isfinite(self.start_m) and valid.any():
            before = int(np.argmax(valid))
            self.start_m = float(reported[before] - along[before])
        shown = forward_fill(self.reported_m, reported, valid)
        self.reported_m = float(shown[-1])
        self.difference_m = self.reported_m - float(self.start_m + along[-1])
        return before
