"""Block near the crown or the floor: by height, and by speed where the brake is known.

Heights are those of the counter, as long as they can be heights; a counter that has wrapped
or lost itself is judged by its last believable way. It advises and replaces no crown saver.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import MOVING_M_S
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.mechanics.braking import stopping_distance_m
from monitor.model import Floats
from monitor.rig.rig import Rig

# A counter's glitch is one row; two rows and this long are the block.
CONFIRM_S = 0.2
# Clear of the limit by this much (more than a counter's quantum), for so long: over.
CLEAR_M = 0.2
CLEAR_S = 2.0
# Beyond the limits by more than this the counter does not show a height (a mast has some
# metres over the crown limit; the block cannot go below the floor by more).
BELIEVED_M = 5.0
# Heights that can be where the other limit is not given.
LOWEST_M, HIGHEST_M = -5.0, 60.0

ADVICE = "advice only, it replaces no crown or floor saver"


class Heights(Stage):
    """Raises ``near_crown`` and ``near_floor`` where the rig file gives the limits."""

    STATE = ("crown", "floor")

    def __init__(self, rig: Rig) -> None:
        self.limits = rig.limits
        self.drawworks = rig.drawworks
        self.crown, self.floor = (
            Watch(kind, confirm_s=CONFIRM_S, clear_s=CLEAR_S, least_rows=2)
            for kind in ("near_crown", "near_floor")
        )

    def gap(self) -> None:
        """Two rows of one side of a gap are needed."""
        self.crown.gap()
        self.floor.gap()

    def step(self, rows: Rows) -> None:
        """Compare height and stopping distance with the limits."""
        shown = rows.channel("block_position")
        if shown is None:
            return
        height = self._heights(rows, shown)
        speed = rows.column["quick_speed_m_s"]
        if self.limits.crown_m is not None:
            room, rising = self.limits.crown_m - height, speed > MOVING_M_S
            needed = self._stopping_m(speed, rising)
            # At rest above the limit is as near.
            on = room <= needed
            seen = Condition(
                on=on,
                off=(room > CLEAR_M) & ~on,
                why=lambda row: _why("crown", room[row], speed[row], needed[row]),
                badness=-room,
            )
            rows.events.extend(self.crown.follow(rows, seen))
        if self.limits.floor_m is not None:
            below, falling = height - self.limits.floor_m, speed < -MOVING_M_S
            path = self._stopping_m(speed, falling)
            # Every stand ends at the floor: only a block still going down is near it.
            on = falling & (below <= path)
            seen = Condition(
                on=on,
                off=~falling | ((below > CLEAR_M) & ~on),
                why=lambda row: _why("floor", below[row], speed[row], path[row]),
                badness=-below,
            )
            rows.events.extend(self.floor.follow(rows, seen))

    def _heights(self, rows: Rows, shown: Floats) -> Floats:
        floor, crown = self.limits.floor_m, self.limits.crown_m
        lowest = LOWEST_M if floor is None else floor - BELIEVED_M
        highest = HIGHEST_M if crown is None else crown + BELIEVED_M
        believed = (shown > lowest) & (shown < highest)
        height: Floats = np.where(believed, shown, rows.column["block_m"])
        return np.where(np.isfinite(shown), height, np.nan)

    def _stopping_m(self, speed: Floats, towards: NDArray[np.bool_]) -> Floats:
        """Travel towards the limit until the block stands; 0 where the brake is not known."""
        works = self.drawworks
        if works is None or works.brake_deceleration_m_s2 is None:
            return np.zeros(len(speed))
        stop = stopping_distance_m(speed, works.brake_deceleration_m_s2, works.reaction_time_s)
        return np.where(towards, np.asarray(stop, dtype=float), 0.0)


def _why(limit: str, room_m: float, speed_m_s: float, needed_m: float) -> str:
    way = "up" if speed_m_s > 0.0 else "down"
    moving = f"going {way} at {abs(speed_m_s):.2f} m/s"
    block = f"block {moving}" if abs(speed_m_s) > MOVING_M_S else "block at rest"
    left = f"{room_m:.1f} m left to" if room_m > 0.0 else f"{abs(room_m):.1f} m past"
    stop = f", needs {needed_m:.1f} m to stop" if needed_m > 0.0 else ""
    return f"{block}, {left} the {limit} limit{stop}; {ADVICE}"
