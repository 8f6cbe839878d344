"""Where stands are taken and set: what stands in where the load was not seen to pass.

Crews take and set every stand of a trip at nearly the same heights. Where the load was
frozen, missing or in a gap while it passed, the block has moved metres by the time it is
known again; then the last stand's place is the better guess, and the depth is not sure.
The same where the load was seen and the block was not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import COARSE_BLOCK_M
from monitor.interpret.stage import Array, Carried, Rows
from monitor.interpret.transfer import GREATEST_GIVE_M
from monitor.interpret.windows import forward_fill
from monitor.model import Floats

NAN = float("nan")

# A stand broken out hangs in the elevators less than this above where the string was set:
# it is lifted out of the box and swung aside.
AT_SET_M = 1.5
# So long without a change, in so many rows, is a load that is not known: noise of the line
# changes it in every other row.
LEAST_UNSEEN_S = 3.0
LEAST_UNSEEN_ROWS = 6
# The block has gone on further than any give of slips and line meanwhile.
UNSEEN_TRAVEL_M = GREATEST_GIVE_M
# A string that hung for so long while its block showed the same to the last digit was moved
# with the counter frozen: to take it out of slips alone moves a block by centimetres.
LEAST_FROZEN_S = 10.0
# The block was last moved within so long, and a row, before the load was seen to be on.
LIFTED_WITHIN_S = 5.0
# How far back rows are looked at: further than a load takes to pass.
LOOK_BACK_S = 20.0
# A stand that moved less says nothing of where stands are taken and set.
LEAST_STAND_M = 3.0


@dataclass(frozen=True, slots=True)
class Stood:
    """How long the block counter has shown the same, and what can be told by the load.

    Of a light string the load says too little: there nothing is guessed.
    """

    unchanged_s: float
    give_m: float  # what slips usually give
    is_heavy: bool

    def froze(self, off_m: float) -> bool:
        """Whether it stood still, away from the usual place, while the load passed.

        Slips that give by more than its steps move it each time.
        """
        stood = self.unchanged_s >= LEAST_FROZEN_S and self.give_m > COARSE_BLOCK_M
        return stood and self.is_heavy and abs(off_m) > AT_SET_M


class Places(Carried):
    """Block positions at which the last stand was taken and set."""

    STATE = (
        "usual_taken_m",
        "usual_set_m",
        "taken_m",
        "before_gap_m",
        "known_s",
        "set_m",
        "anchor_m",
        "turned_s",
        "row_s",
        "leaps",
        "leaps_at_taken",
    )

    def __init__(self) -> None:
        self.usual_taken_m = NAN
        self.usual_set_m = NAN
        self.taken_m = NAN
        self.before_gap_m = NAN
        self.set_m = NAN  # where slips have the string now, by the block
        self.anchor_m = NAN  # where the string on the hook was taken, seen or not
        self.turned_s = NAN  # when it was last taken or set
        self.row_s = NAN
        self.leaps = 0.0  # gaps, and leaps of the block counter, so far
        self.leaps_at_taken = 0.0
        self.known_s = NAN  # since when the load is known again after a gap

    def gap(self, block: Floats) -> None:
        """Remember where the block stood before a gap."""
        self.before_gap_m = float(block[-1]) if len(block) else NAN
        self.leaps += 1.0
        self.known_s = NAN

    def follow(self, rows: Rows, load: Floats) -> None:
        """Note when the load is known again; count leaps of the block counter."""
        known = np.isfinite(load)
        if not math.isfinite(self.known_s) and known.any():
            self.known_s = float(rows.time_s[int(np.argmax(known))])
        leaps = self.leaps + np.cumsum(rows.column["unseen"])
        rows.column["leaps"], self.leaps = leaps, float(leaps[-1])

    def taken_at(
        self,
        joined: dict[str, Any],
        at: int,
        limit_N: float,
        block_m: float,
        stood: Stood,
        leaps: float,
    ) -> tuple[float, bool]:
        """Where the string was taken, and whether that was seen."""
        before_m = self._before_unseen_m(joined, at, joined["raw"][: at + 1] >= limit_N)
        froze = stood.froze(block_m - self.usual_taken_m)
        if self._is_frozen(joined["time_s"], at, stood) or froze:
            before_m = block_m
        seen = not math.isfinite(before_m)
        if not seen:
            # The first stand of a record was taken where it hung before.
            block_m = self.usual_taken_m if math.isfinite(self.usual_taken_m) else before_m
        self.leaps_at_taken = leaps
        self.taken_m, self.anchor_m = block_m if seen else NAN, block_m
        return block_m, seen

    def set_at(
        self,
        joined: dict[str, Any],
        at: int,
        limit_N: float,
        block_m: float,
        stood: Stood,
        leaps: float,
    ) -> tuple[float, bool]:
        """Where the string was set, and whether that was seen."""
        before_m = self._before_unseen_m(joined, at, joined["raw"][: at + 1] < limit_N)
        seen = not math.isfinite(before_m)
        usual_m = self._other_end_m()
        off_m = block_m - usual_m
        # A counter that leapt under way, or was set anew in a gap: crews set where they set.
        guessed = not math.isfinite(self.taken_m)
        leapt = (leaps > self.leaps_at_taken or guessed) and abs(off_m) > AT_SET_M
        froze = stood.froze(off_m) and stood.froze(block_m - self.anchor_m)
        lasted_s = float(joined["time_s"][at]) - self.turned_s
        if lasted_s < LEAST_FROZEN_S and (not seen or leapt or froze or guessed):
            # Nobody moves a stand so fast: a load that came and went.
            self.turned_s = float(joined["time_s"][at])
            seen, block_m = False, self.anchor_m
        elif self._is_frozen(joined["time_s"], at, stood):
            seen, moved_m = False, self.usual_set_m - self.usual_taken_m
            block_m = self.anchor_m + moved_m if math.isfinite(moved_m) else block_m
        elif leapt or froze:
            seen, block_m = False, usual_m
        elif not seen and math.isfinite(usual_m):
            block_m = usual_m
        elif (
            seen
            and stood.unchanged_s < LEAST_FROZEN_S
            and abs(block_m - self.taken_m) >= LEAST_STAND_M
        ):
            self.usual_taken_m, self.usual_set_m = self.taken_m, block_m
        self.set_m = block_m
        return block_m, seen

    def _other_end_m(self) -> float:
        """Where the string on the hook will be set: a trip turned round changes both ends."""
        ends = self.usual_taken_m, self.usual_set_m
        turned = abs(self.anchor_m - ends[0]) > abs(self.anchor_m - ends[1])
        return ends[0] if turned else ends[1]

    def _is_frozen(self, times: Floats, at: int, stood: Stood) -> bool:
        """Whether the block counter has stood from before the last turn to this one."""
        now_s, before_s = float(times[at]), float(times[max(at - 1, 0)])
        lasted_s, self.turned_s = now_s - self.turned_s, now_s
        margin_s = LIFTED_WITHIN_S + now_s - before_s
        stands = lasted_s >= LEAST_FROZEN_S and stood.unchanged_s > lasted_s + margin_s
        return stands and stood.is_heavy

    def frozen(self, rows: Rows, turned_s: float) -> NDArray[np.bool_]:
        """Rows in which the block has stood since before the string was taken or set.

        ``turned_s`` is when that last was before these rows.
        """
        turned = np.full(len(rows), NAN)
        turned[[t.row for t in rows.turns if t.kind != "pick_up"]] = 1.0
        turned_at = forward_fill(turned_s, rows.time_s, np.isfinite(turned))
        apart_s = np.diff(np.concatenate(([self.row_s], rows.time_s)))
        self.row_s = float(rows.time_s[-1])
        lasted_s = rows.time_s - turned_at
        unchanged_s = rows.column["block_unchanged_s"]
        margin_s = LIFTED_WITHIN_S + np.nan_to_num(apart_s)
        result: NDArray[np.bool_] = unchanged_s > lasted_s + margin_s
        return result

    def is_at_set(self, block: Floats) -> NDArray[np.bool_]:
        """Whether the block is where slips took the string."""
        result: NDArray[np.bool_] = np.abs(block - self.set_m) < AT_SET_M
        return result

    def _before_unseen_m(self, joined: dict[str, Any], at: int, beyond: Array) -> float:
        """Block position when load and block were last known before the load went ``beyond``.

        Not-a-number where its passing was seen, or the block has hardly moved meanwhile.
        """
        times = joined["time_s"]
        window = slice(int(np.searchsorted(times, times[at] - LOOK_BACK_S)), at + 1)
        # The load without corrections, which go on with the block.
        times, plain, block = (joined[name][window] for name in ("time_s", "plain", "block"))
        row = _passed(beyond[window])
        if joined["lost"][window][row] > 0.0:
            return float(block[row])
        known = np.isfinite(plain[:row])
        if times[row] - self.known_s <= LEAST_UNSEEN_S:
            before_m, travel = self.before_gap_m, abs(float(block[row]) - self.before_gap_m)
        elif known.any():
            last = plain[np.flatnonzero(known)[-1]]
            differs = np.flatnonzero(known & (plain[:row] != last))
            since = int(differs[-1]) + 1 if len(differs) else 0
            if row - since < LEAST_UNSEEN_ROWS or times[row] - times[since] < LEAST_UNSEEN_S:
                return NAN
            before_m, travel = float(block[since]), float(np.ptp(block[since : row + 1]))
        else:  # longer without a load than is looked back
            before_m, travel = float(block[0]), float(np.ptp(block[: row + 1]))
        return before_m if travel > UNSEEN_TRAVEL_M else NAN


def _passed(beyond: Array) -> int:
    """First row of the run that ends at the last row in which the load was beyond."""
    last = np.flatnonzero(beyond)
    if not len(last):
        return len(beyond) - 1
    short = np.flatnonzero(~beyond[: last[-1]])
    return int(short[-1]) + 1 if len(short) else 0
