"""What the pumps do to the hook load, and how much of it the expected loads already hold.

Pressure in the string and flow around it carry part of the weight, or add to it; how much
depends on bit, nozzles and annulus, so it is read off: the step of the load when the pumps
start or stop while the string hangs still off bottom. Expected loads are learnt with the
pumps as they were; where they are now otherwise, the step is added or taken off.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.stage import Blocks, Rows, Stage
from monitor.interpret.windows import held_from
from monitor.model import Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# Above noise of a flow meter, far below any circulation (120 L/min).
FLOWING_M3_S = 2e-3
# Seconds before a change whose mean is its level; as many after it count once pressure has
# built up or bled off (common practice: some ten seconds with full lines).
LEVEL_SECONDS = 4
SETTLE_SECONDS = 6
# The block stands: two quanta of an encoder.
STILL_M = 0.02
STEPS_KEPT = 5
# No pump lifts more of a string (a greater step is something else).
GREATEST_SHARE = 0.15
# The pumps' state as learnt fades over a few stands, as the expected loads do.
FADING_M = 100.0
LEAST_SPEED_M_S = 0.05

# Places of a second's figures; the pumps' state that is not known yet.
LOAD, ALONG, SPEED, FLOW, TURNING, FREE = range(6)
UNKNOWN = -1.0
SIDES = ("up", "down")


class Circulation(Stage):
    """Gives ``flow_shift_up_N`` and ``flow_shift_down_N`` where there is a flow channel."""

    STATE = ("travelling_weight_N", "before", "after", "last", "steps_N", "learnt")

    def __init__(self, rig: Rig) -> None:
        self.travelling_weight_N = rig.travelling_weight_N
        self.before: list[float] = []  # loads of the still string before the last change
        self.after: list[float] = []
        self.last: list[float] = []  # the second before this one
        self.steps_N: list[float] = []  # load with flow less load without
        self.learnt = [UNKNOWN, UNKNOWN]  # share of moving pipe with flow, up and down

    def gap(self) -> None:
        """A step is not read across a gap."""
        self.before, self.after, self.last = [], [], []

    def command(self, command: Command) -> None:
        """Other gear or lines: other loads."""
        if command.act in ("lines_strung", "travelling_weight"):
            self.gap()
            self.steps_N = []
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number

    @property
    def step_N(self) -> float:
        """Load with flow less load without; 0 until it has been seen."""
        return sorted(self.steps_N)[len(self.steps_N) // 2] if self.steps_N else 0.0

    def step(self, rows: Rows) -> None:
        """Shift of the expected loads at every row."""
        flow = rows.channel("flow_in")
        if flow is None:
            return
        marks, held = [0], [self._held()]
        blocks = rows.blocks
        if blocks is not None:
            for row, entry in self._seconds(rows, blocks):
                self._second(entry)
                now = self._held()
                if now != held[-1]:
                    marks.append(row)
                    held.append(now)
        step_N, *learnt_at = (held_from(marks, v, len(rows)) for v in zip(*held, strict=True))
        on = np.where(np.isfinite(flow), (flow > FLOWING_M3_S).astype(float), NAN)
        for learnt, name in zip(learnt_at, SIDES, strict=True):
            shift = step_N * (on - learnt)
            known = (learnt != UNKNOWN) & np.isfinite(shift)
            rows.column[f"flow_shift_{name}_N"] = np.where(known, shift, 0.0)

    def _held(self) -> tuple[float, float, float]:
        return self.step_N, self.learnt[0], self.learnt[1]

    def _seconds(self, rows: Rows, blocks: Blocks) -> list[tuple[int, list[float]]]:
        load, flow = blocks.mean["hook_load_N"], blocks.mean["flow_in"]
        wanted = np.isfinite(load) & np.isfinite(flow)
        at = blocks.known_at
        free = (blocks.low["phase"] == 2) & ~rows.column["on_bottom"][at]
        columns = (
            load,
            blocks.last["along_m"],
            blocks.mean["block_speed_m_s"],
            (flow > FLOWING_M3_S).astype(float),
            rows.column["turning"][at],
            free.astype(float),
        )
        figures = np.column_stack([column[wanted] for column in columns]).tolist()
        return list(zip(at[wanted].tolist(), figures, strict=True))

    def _second(self, now: list[float]) -> None:
        last, self.last = self.last, now
        if not (last and now[FREE] and last[FREE]):
            self.before, self.after = [], []
            return
        moved = abs(now[ALONG] - last[ALONG])
        if abs(now[SPEED]) >= LEAST_SPEED_M_S:
            self._learn(0 if now[SPEED] > 0.0 else 1, now[FLOW], moved)
        if moved > STILL_M or now[TURNING] != last[TURNING]:
            self.before, self.after = [], []
        elif self.after or now[FLOW] != last[FLOW]:
            self._after(now)
        else:
            self.before = [*self.before, now[LOAD]][-LEVEL_SECONDS:]

    def _after(self, now: list[float]) -> None:
        """Seconds after the pumps started or stopped, until the load has settled."""
        self.after = [*self.after, now[LOAD]]
        if len(self.after) < SETTLE_SECONDS + LEVEL_SECONDS:
            return
        level = self.after[-LEVEL_SECONDS:]
        if len(self.before) == LEVEL_SECONDS:
            rise = (sum(level) - sum(self.before)) / LEVEL_SECONDS
            string = sum(level) / LEVEL_SECONDS - self.travelling_weight_N
            if abs(rise) < GREATEST_SHARE * string:
                step = rise if now[FLOW] else -rise
                self.steps_N = [*self.steps_N, step][-STEPS_KEPT:]
        self.before, self.after = level, []

    def _learn(self, side: int, flow: float, moved_m: float) -> None:
        """Pumps while pipe moves: the newest count most."""
        if self.learnt[side] == UNKNOWN:
            self.learnt[side] = flow
        self.learnt[side] += (1.0 - math.exp(-moved_m / FADING_M)) * (flow - self.learnt[side])


def shifted(rows: Rows, middle_N: Floats, side: str) -> Floats:
    """Expected load with the pumps as they are now."""
    shift = rows.column.get(f"flow_shift_{side}_N")
    return middle_N if shift is None else middle_N + shift
