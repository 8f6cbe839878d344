"""Block near the crown or the floor: by height, and by speed where the brake is known.

Heights are those of the counter, as long as they can be heights; a counter that has wrapped
or lost itself is judged by its last believable way. It advises and replaces no crown saver.

The stroke of an open compensator takes room: in line it lowers the elevators to the floor, at
the crown it lowers the crown to the block. Open with its stroke not measured, all of it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import MOVING_M_S
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.windows import forward_fill
from monitor.mechanics.braking import stopping_distance_m
from monitor.model import Command, Floats
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

    STATE = ("crown", "floor", "said", "stroke_m")

    def __init__(self, rig: Rig) -> None:
        self.limits = rig.limits
        self.drawworks = rig.drawworks
        self.compensator = rig.compensator
        self.said = "" if rig.compensator is None else rig.compensator.state
        self.stroke_m = 0.0
        self.crown, self.floor = (
            Watch(kind, confirm_s=CONFIRM_S, clear_s=CLEAR_S, least_rows=2)
            for kind in ("near_crown", "near_floor")
        )

    def gap(self) -> None:
        """Two rows of one side of a gap are needed."""
        self.crown.gap()
        self.floor.gap()

    def command(self, command: Command) -> None:
        """The compensator is opened or locked."""
        if command.act == "compensator":
            self.said = command.text.strip()

    def step(self, rows: Rows) -> None:
        """Compare height and stopping distance with the limits."""
        shown = rows.channel("block_position")
        if shown is None:
            return
        height = self._heights(rows, shown)
        at_crown_m, at_floor_m = self._strokes_m(rows)
        speed = rows.column["quick_speed_m_s"]
        if self.limits.crown_m is not None:
            room = self.limits.crown_m - at_crown_m - height
            rising = speed > MOVING_M_S
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
            below, falling = height - at_floor_m - self.limits.floor_m, speed < -MOVING_M_S
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

    def _strokes_m(self, rows: Rows) -> tuple[Floats, Floats]:
        """What the compensator's stroke takes off the room at the crown, and at the floor."""
        none = np.zeros(len(rows))
        if self.compensator is None:
            return none, none
        stroke = rows.channel("compensator_stroke")
        if stroke is None:
            whole_m = self.compensator.stroke_limit_m if self.said == "open" else 0.0
            taken: Floats = np.full(len(rows), whole_m)
        else:
            taken = np.maximum(forward_fill(self.stroke_m, stroke, np.isfinite(stroke)), 0.0)
            self.stroke_m = float(taken[-1])
        return (none, taken) if self.compensator.kind == "in-line" else (taken, none)

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
