"""How far the load usually overshoots as a string starts to move: learnt from each start.

After a stop or a pick-up static friction breaks and the stretch of the string runs out; the
load goes beyond that of the moving string for a moment. How far, is the hole's own: it is
taken from the starts that led to free movement.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.stage import Carried, Rows
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


class BreakOver(Carried):
    """Follows the starts in one direction."""

    STATE = ("heights", "highest_N", "run_m", "told")

    def __init__(self) -> None:
        self.heights: list[float] = []
        self.highest_N = 0.0
        self.run_m = 0.0
        self.told = True  # the present run has given its height, or has none

    def gap(self) -> None:
        """A start seen in part tells nothing."""
        self.highest_N, self.told = 0.0, True

    def usual_N(self) -> float:
        """Greatest height of a usual start; not-a-number until enough are known."""
        if len(self.heights) < LEAST_STARTS:
            return float("nan")
        second, highest = sorted(self.heights)[-2:]
        return MARGIN * min(highest, OUTSTANDING * second)

    def follow(
        self, rows: Rows, excess_N: Floats, usable: NDArray[np.bool_], string_N: Floats
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """What an excess must pass while a run is short, and whether that is known, a row each.

        Short is ``RINGING_M`` where it is known, ``BREAK_OVER_M`` where not.
        ``excess_N`` is positive in the direction followed; rows count where ``usable``.
        """
        run = of_pipe(rows, "pipe_run_m")
        guess = np.maximum(LEAST_BREAK_OVER_N, BREAK_OVER_SHARE * np.nan_to_num(string_N))
        drag = 0.5 * (rows.column["judged_up_N"] - rows.column["judged_down_N"])
        guess = np.fmin(guess, np.maximum(STATIC_SHARE * drag, LEAST_STATIC_N))
        result = np.full(len(rows), np.nan)
        begins = np.flatnonzero(np.diff(run, prepend=self.run_m) < 0.0)
        edges = np.concatenate(([0], begins, [len(rows)]))
        short = usable & (run <= RINGING_M) & np.isfinite(excess_N)
        far = usable & (run > FREE_RUN_M)
        # Runs in which no row tells, most of a string that drills, leave nothing behind.
        telling = np.diff(np.searchsorted(np.flatnonzero(short | far), edges))
        done = begun = 0
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
                result[done:row] = self.usual_N()
                done, self.told = row, True
                self.heights = [*self.heights, self.highest_N][-STARTS_KEPT:]
        if len(begins) > begun:
            self.highest_N, self.told = 0.0, False
        result[done:] = self.usual_N()
        self.run_m = float(run[-1])
        known = np.isfinite(result)
        return np.where(known, result, guess), known
