"""How far the load usually overshoots as a string starts to move: learnt from each start.

After a stop or a pick-up static friction breaks and the stretch of the string runs out; the
load goes beyond that of the moving string for a moment. How far, is the hole's own: it is
taken from the starts that led to free movement. While tripping in, the string is lifted out
of slips and then goes down: that lift is a start, too, once the string has run freely down.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import forward_fill
from monitor.model import Floats

# After a stop or a pick-up static friction and the string's stretch show for this travel ...
BREAK_OVER_M = 1.2
# ... and what it excited rings on for some seconds, at usual speeds over this.
RINGING_M = 3.0
# A start is one that freed the string once it has run on for so long.
FREE_RUN_M = 6.0
# Starts remembered, and how many must be known before they are gone by.
STARTS_KEPT = 8
LEAST_STARTS = 3
# What is more than the highest of those kept and this share of it is no usual start. A highest
# that stands out over the second was a tight spot: it counts for so many times the second.
OUTSTANDING = 1.5
MARGIN = 1.3
# Until starts are known: more than this, or this share of the string, is no break-over.
BREAK_OVER_SHARE = 0.15
LEAST_BREAK_OVER_N = 80e3
# Where the drag is known: static friction is half as much again as sliding friction at most
# (steel in mud, common practice, from memory).
STATIC_SHARE = 0.5
LEAST_STATIC_N = 50e3
NONE_N = -1.0
# A string that went down by so much since slips were pulled was let go (turns the direction).
GONE_DOWN_M = 0.1


class BreakOver(Carried):
    """Follows the starts in one direction."""

    STATE = ("heights", "highest_N", "run_m", "told", "lifted_N", "set_m")

    def __init__(self, *, is_up: bool = False) -> None:
        self.is_up = is_up  # strings are lifted out of slips, never pushed
        self.heights: list[float] = []
        self.highest_N = 0.0
        self.run_m = 0.0
        self.told = True  # the present run has given its height, or has none
        self.lifted_N = NONE_N  # greatest since slips, the string not having run since
        self.set_m = float("nan")  # pipe travel at which slips had the string last

    def gap(self) -> None:
        """A start seen in part tells nothing."""
        self.highest_N, self.told, self.lifted_N = 0.0, True, NONE_N

    def usual_N(self) -> float:
        """Greatest height of a usual start; not-a-number until enough are known."""
        if len(self.heights) < LEAST_STARTS:
            return float("nan")
        second, highest = sorted(self.heights)[-2:]
        return MARGIN * min(highest, OUTSTANDING * second)

    def is_lift(self, rows: Rows) -> NDArray[np.bool_]:
        """Rows in which the string has just been lifted out of slips and gone nowhere since."""
        along = rows.column["along_m"]
        set_m = forward_fill(self.set_m, along, rows.column["phase"] == 0)
        self.set_m = float(set_m[-1])
        risen = set_m - along
        result: NDArray[np.bool_] = (risen > -GONE_DOWN_M) & (risen < BREAK_OVER_M)
        return result

    def follow(
        self,
        rows: Rows,
        excess_N: Floats,
        usable: NDArray[np.bool_],
        string_N: Floats,
        lift: NDArray[np.bool_],
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """What an excess must pass while a run is short, and whether that is known, a row each.

        Short is ``RINGING_M`` where it is known, ``BREAK_OVER_M`` where not.
        ``excess_N`` is positive in the direction followed; rows count where ``usable``.
        ``lift``: where the string was just lifted out of slips (`is_lift`).
        """
        run = of_pipe(rows, "pipe_run_m")
        guess = np.maximum(LEAST_BREAK_OVER_N, BREAK_OVER_SHARE * np.nan_to_num(string_N))
        drag = 0.5 * (rows.column["judged_up_N"] - rows.column["judged_down_N"])
        # A string nobody has seen going down yet: nobody knows where it has turned over, and
        # crews lower it a little before they set it.
        learnt = self.is_up | np.isfinite(rows.column["expected_down_N"])
        static = np.maximum(STATIC_SHARE * drag, LEAST_STATIC_N)
        guess = np.where(learnt, np.fmin(guess, static), np.inf)
        starts = self._runs(run, excess_N, usable)
        if self.is_up:
            for row, height_N in self._lifts(rows, run, excess_N, (usable, lift)).items():
                starts[row] = max(starts.get(row, 0.0), height_N)
        result = np.full(len(rows), np.nan)
        done = 0
        for row, height_N in sorted(starts.items()):
            result[done:row] = self.usual_N()
            done, self.heights = row, [*self.heights, height_N][-STARTS_KEPT:]
        result[done:] = self.usual_N()
        self.run_m = float(run[-1])
        known = np.isfinite(result)
        return np.where(known, result, guess), known

    def _runs(self, run: Floats, excess_N: Floats, usable: NDArray[np.bool_]) -> dict[int, float]:
        """Rows at which a start led to a free run, and its height."""
        starts: dict[int, float] = {}
        begins = np.flatnonzero(np.diff(run, prepend=self.run_m) < 0.0)
        edges = np.concatenate(([0], begins, [len(run)]))
        short = usable & (run <= RINGING_M) & np.isfinite(excess_N)
        far = usable & (run > FREE_RUN_M)
        # Runs in which no row tells, most of a string that drills, leave nothing behind.
        telling = np.diff(np.searchsorted(np.flatnonzero(short | far), edges))
        begun = 0
        for number in np.flatnonzero(telling).tolist():
            if number > begun:
                self.highest_N, self.told, begun = 0.0, False, number
            if self.told:
                continue
            start = int(edges[number])
            part = slice(start, int(edges[number + 1]))
            if short[part].any():
                highest = float(np.max(excess_N[part][short[part]]))
                self.highest_N = max(self.highest_N, highest)
            if far[part].any():
                row = start + int(np.argmax(far[part]))
                starts[row] = _beyond_drag(self.highest_N, excess_N[row])
                self.told = True
        if len(begins) > begun:
            self.highest_N, self.told = 0.0, False
        return starts

    def _lifts(
        self,
        rows: Rows,
        run: Floats,
        excess_N: Floats,
        where: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    ) -> dict[int, float]:
        """Rows at which a string taken out of slips has run freely, and the highest until then.

        It is lifted, held, lifted again: any of these may be the start that let it go.
        """
        usable, lift = where
        in_slips = rows.column["phase"] == 0
        down = of_pipe(rows, "pipe_direction") < 0
        starts: dict[int, float] = {}
        edges = np.flatnonzero(np.diff(in_slips.astype(np.int8)) != 0) + 1
        bounds = [0, *edges.tolist(), len(run)]
        for start, stop in zip(bounds[:-1], bounds[1:], strict=True):
            if in_slips[start]:
                self.lifted_N = 0.0
                continue
            if self.lifted_N == NONE_N:
                continue
            part = slice(start, stop)
            far = run[part] > FREE_RUN_M
            end = start + int(np.argmax(far)) if far.any() else stop
            part = slice(start, end)
            short = usable[part] & lift[part] & np.isfinite(excess_N[part])
            lifted = excess_N[part][short]
            self.lifted_N = max(self.lifted_N, float(np.max(lifted, initial=0.0)))
            if end < stop:
                if usable[end]:
                    starts[end] = _beyond_drag(self.lifted_N, excess_N[end])
                elif down[end] and self.lifted_N > 0.0:
                    starts[end] = self.lifted_N
                self.lifted_N = NONE_N
        return starts


def _beyond_drag(height_N: float, running_N: float) -> float:
    """Height of a start over what drags on once the string runs: that is no break-over."""
    return max(height_N - max(float(np.nan_to_num(running_N)), 0.0), 0.0)
