"""Depth marks ahead of the bit, their distance, and pipe moved faster past one than agreed.

Marks are what the rig file gives (shoe, liner top, wellhead, ledges) and the places where the
string was held on this record. A mark may have a slow-down speed that holds near it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tight_spots import reach_m
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.windows import forward_fill, play
from monitor.model import Floats
from monitor.rig.rig import DepthMark, Rig

NAN = float("nan")

# Which way the trip goes changes only after so much pipe the other way: half a stand.
LEAST_TURN_M = 15.0
# Longer than noise of the speed, far shorter than a stand.
CONFIRM_S = 1.0
CLEAR_S = 2.0
# A speed this far under the limit again is slow enough.
SLOW_SHARE = 0.9
# Stands are this long until one has been seen (three joints of range 2 pipe, common practice).
USUAL_STAND_M = 28.5
SHOWN = 4


class DepthMarks(Stage):
    """Raises ``fast_at_mark``; tells which marks lie ahead."""

    STATE = ("watch", "centre_m", "way", "seen", "depth_m")

    def __init__(self, rig: Rig, places: Callable[[], Sequence[dict[str, Any]]]) -> None:
        self.marks = rig.depth_marks
        self.places = places
        self.watch = Watch("fast_at_mark", confirm_s=CONFIRM_S, clear_s=CLEAR_S, least_rows=2)
        self.centre_m = 0.0
        self.way = 0.0
        self.seen = False
        self.depth_m = NAN

    def gap(self) -> None:
        """A run does not reach across a gap."""
        self.watch.gap()

    def step(self, rows: Rows) -> None:
        """Follow the way of the trip and the speed near marks."""
        self._follow_way(rows)
        self.depth_m = float(rows.column["bit_depth_m"][-1])
        slow = [mark for mark in self.marks if mark.slow_down_m_s is not None]
        if slow:
            self._watch(rows, slow)

    def _follow_way(self, rows: Rows) -> None:
        """Which way the trip goes, from one second to the next."""
        if rows.blocks is None or not len(rows.blocks):
            return
        along = rows.blocks.last["along_m"]
        if not self.seen:
            self.centre_m, self.seen = float(along[0]), True
        centre = play(self.centre_m, along, 0.5 * LEAST_TURN_M)
        moved = np.sign(np.diff(np.concatenate(([self.centre_m], centre))))
        self.way = float(forward_fill(self.way, moved, moved != 0.0)[-1])
        self.centre_m = float(centre[-1])

    def _watch(self, rows: Rows, marks: Sequence[DepthMark]) -> None:
        column = rows.column
        depth, hooked = column["bit_depth_m"], column["phase"] == 2
        speed = np.where(hooked, np.abs(column["block_speed_m_s"]), 0.0)
        limit, nearest = _limits(depth, marks)
        over = speed - limit
        seen = Condition(
            on=over > 0.0,
            off=~(speed >= SLOW_SHARE * limit),
            why=lambda row: _why(
                marks[int(nearest[row])], float(depth[row]), float(speed[row]), float(limit[row])
            ),
            badness=over,
        )
        rows.events.extend(self.watch.follow(rows, seen))

    def ahead(self, stand_m: float) -> list[dict[str, Any]]:
        """Marks in the way of the trip, nearest first; behind where none are ahead."""
        if not math.isfinite(self.depth_m):
            return []
        stand_m = stand_m if stand_m > 0.0 else USUAL_STAND_M
        told = [self._told(mark, stand_m) for mark in (*self.marks, *self._tight_spots())]
        up = [mark for mark in told if mark["way"] == "up"]
        down = [mark for mark in told if mark["way"] == "down"]
        # Before any pipe has moved: what lies above, as for a string about to be pulled.
        wanted = (down or up) if self.way > 0.0 else (up or down)
        return sorted(wanted, key=lambda mark: float(mark["distance_m"]))[:SHOWN]

    def _told(self, mark: DepthMark, stand_m: float) -> dict[str, Any]:
        distance = self.depth_m - mark.depth_m
        return {
            "name": mark.name,
            "depth_m": mark.depth_m,
            "distance_m": abs(distance),
            "stands": abs(distance) / stand_m,
            "way": "up" if distance > 0.0 else "down",
            "slow_down_m_s": mark.slow_down_m_s,
            "is_near": mark.slow_down_m_s is not None and abs(distance) <= mark.within_m,
        }

    def _tight_spots(self) -> list[DepthMark]:
        """Places where the string was held, by the edge met first; not the one it is in."""
        marks = []
        for place in self.places():
            top, bottom = place["top_m"], place["bottom_m"]
            reach = reach_m(self.depth_m)
            if top - reach <= self.depth_m <= bottom + reach:
                continue
            times = f" ({place['times']} times)" if place["times"] > 1 else ""
            edge = bottom if self.depth_m > bottom else top
            marks.append(DepthMark(f"tight spot{times}", edge))
        return marks


def _limits(depth_m: Floats, marks: Sequence[DepthMark]) -> tuple[Floats, Floats]:
    """Least slow-down speed that holds at each row, and the mark it belongs to."""
    limit, nearest = np.full(len(depth_m), np.inf), np.zeros(len(depth_m))
    for number, mark in enumerate(marks):
        speed = math.inf if mark.slow_down_m_s is None else mark.slow_down_m_s
        here = (np.abs(depth_m - mark.depth_m) <= mark.within_m) & (speed < limit)
        limit[here], nearest[here] = speed, number
    return limit, nearest


def _why(mark: DepthMark, depth_m: float, speed_m_s: float, limit_m_s: float) -> str:
    away = abs(depth_m - mark.depth_m)
    place = (
        "at" if away < 0.5 else f"{away:.0f} m {'below' if depth_m > mark.depth_m else 'above'}"
    )
    return (
        f"bit {place} the {mark.name}, pipe moving at {speed_m_s:.2f} m/s; "
        f"slow down to {limit_m_s:.2f} m/s there"
    )
