"""Whether the string turns: by the rotary channel, or, while drilling without one, by its drag.

A string that turns drags little along the hole; one that slides drags by its whole friction.
A record without a rotary channel does not say when the rotary stops, and the drag that comes
back then looks like an overpull. Two things do say it: a string in slips is not turned, and a
crew stops the rotary while the string stands off bottom. So the load with which a run begins
after such a stop tells: near what the turning string weighed just before, it turns; off it
by half its drag, it slides. A load that rises later in a run stays what it was, an excess.

Not told apart: a pull that begins at once after a stop and is no greater than that drag.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.motion import TURNING_RAD_S
from monitor.interpret.stage import Array, Rows, Stage
from monitor.interpret.windows import Tail, forward_fill, sliding_high, window_start
from monitor.model import Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# Rotary and torque need so long to come to rest (common practice: several seconds).
LEAST_STOP_S = 3.0
# So long after the rotary starts or stops the drag is on its way (common practice: seconds).
DRAG_SETTLES_S = 3.0
# A rotary below this share of what it was a moment ago is being stopped.
SLOWING_SHARE = 0.8
# Stretch has come in after so much of a run: then its load tells. Before 1.2 m, where the
# load after a stop is judged.
TELLING_M = 0.6
# Further on the load is steady: what it is above that of the turning string is the drag.
STEADY_M = 2.0
# Half the friction swing up to down, before a drag has been seen: a share of the string's
# weight (common practice: a swing of 15 % in straight to deviated holes).
USUAL_DRAG_SHARE = 0.075
# What the turning string weighed holds for so much pipe: two stands change it by some 15 kN.
LEVEL_REACH_M = 60.0
LEVELS_KEPT = 8
DRAGS_KEPT = 5
# Seconds of steady hoisting or lowering, without acceleration, as for moving weights.
LEAST_SPEED_M_S = 0.05

# Sheaves turn over along a few centimetres of their own travel. The stretch that a turning
# string's drag lets go takes that under a block at rest; a reversal has it behind it after so
# much block travel, the line's stretch and a damped sensor included (derived: a second at
# the speed a crew starts with).
TURNED_OVER_M = 0.2

NO, YES = 0.0, 1.0
# Places of the level and of its spread in the parameters of a trend.
LEVEL, SPREAD = 2, 5


class Rotation(Stage):
    """Gives ``turning`` (1 or 0) and, where it is inferred, the drag that comes back."""

    STATE = (
        "turning",
        "drilled",
        "moving",
        "stopped_s",
        "on_bottom",
        "pending",
        "measuring",
        "up_N",
        "down_N",
        "level_m",
        "drags_N",
        "travelling_weight_N",
        "switched_s",
        "speeds",
        "turned_over",
        "shown",
    )

    def __init__(self, rig: Rig) -> None:
        self.limit_N = min(rig.events.overpull_N, rig.events.slack_off_N)
        self.travelling_weight_N = rig.travelling_weight_N
        self.turning = NO
        self.drilled = False  # the bit has been on bottom: from then on it may turn
        self.moving = 0.0
        self.stopped_s = NAN  # when the block came to rest
        self.on_bottom = False
        self.pending = 0.0  # direction of a run after a stop, not told yet
        self.measuring = 0.0  # direction of a run told to slide, its drag not read yet
        self.up_N: list[float] = []  # loads of the turning string, hoisting
        self.down_N: list[float] = []
        self.level_m = NAN  # pipe travel at which they were read
        self.drags_N: list[float] = []
        self.speeds = Tail(("time_s", "speed"), DRAG_SETTLES_S + 0.1, 1)
        self.shown = NO  # word of the last row
        self.turned_over = 0.0  # 1 while a turning string's sheaves may have turned over
        self.switched_s = NAN  # when the rotary channel last passed the limit of turning

    def gap(self) -> None:
        """A stop is not known across a gap."""
        self.pending = self.measuring = 0.0
        self.moving, self.stopped_s = 0.0, NAN
        self.speeds.clear()
        self.turned_over = 0.0

    def command(self, command: Command) -> None:
        """Another load for the same string: what was read of it no longer holds."""
        if command.act in ("lines_strung", "travelling_weight", "mud_density"):
            self.up_N, self.down_N, self.drags_N = [], [], []
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number

    def step(self, rows: Rows) -> None:
        """Give every row its word."""
        self._step(rows)
        self._sheaves(rows)

    def _sheaves(self, rows: Rows) -> None:
        """Drag is settling too where sheaf friction is not as the block's travel tells it."""
        column = rows.column
        turning = column["turning"] == YES
        started = turning & (np.diff(column["turning"], prepend=self.shown) > 0.0)
        self.shown = float(column["turning"][-1])
        begins = started | column["reversed"]
        ends = (column["moving"] != 0.0) & (column["run_travel_m"] > TURNED_OVER_M)
        ends &= ~column["drag_settles"]
        held = forward_fill(self.turned_over, begins.astype(float), begins | ends)
        self.turned_over = float(held[-1])
        column["drag_settles"] = column["drag_settles"] | (turning & (held > 0.0))

    def _step(self, rows: Rows) -> None:
        column = rows.column
        rotary = rows.channel("rotary_speed")
        if rotary is not None:
            column["turning"] = np.where(rotary > TURNING_RAD_S, YES, NO)
            switched = np.diff(column["turning"], prepend=self.turning) != 0.0
            at_s = forward_fill(self.switched_s, rows.time_s, switched)
            column["drag_settles"] = rows.time_s - at_s < DRAG_SETTLES_S
            if "follows_heave" in column:
                column["drag_settles"] |= column["follows_heave"] & self._is_slowing(rows, rotary)
            self.switched_s = float(at_s[-1])
            self.turning, self.drilled = float(column["turning"][-1]), False
            return
        column["drag_settles"] = np.zeros(len(rows), dtype=bool)
        column["turning"] = np.full(len(rows), NO)
        bottom = column["on_bottom"]
        first = 0 if self.drilled else int(np.argmax(bottom))
        if not self.drilled and not bottom[first]:
            return
        self.drilled = True
        column["sliding_drag_N"] = np.full(len(rows), NAN)
        self._scan(rows, first)

    def _is_slowing(self, rows: Rows, rotary: Floats) -> Array:
        """Whether the rotary slows down: the drag comes back before it stands.

        Under a block at rest that shows only where the vessel moves the string.
        """
        speed = np.nan_to_num(rotary)
        joined, kept = self.speeds.join({"time_s": rows.time_s, "speed": speed})
        start = window_start(joined["time_s"], kept, DRAG_SETTLES_S)
        highest = sliding_high(joined["speed"], start, kept)
        return np.asarray((highest > TURNING_RAD_S) & (speed < SLOWING_SHARE * highest))

    def _scan(self, rows: Rows, first: int) -> None:
        """Go from change to change; between two of them only a run can tell something new."""
        column = rows.column
        moving, bottom = column["moving"][first:], column["on_bottom"][first:]
        changes = np.diff(np.concatenate(([self.moving], moving))) != 0
        changes |= np.diff(np.concatenate(([self.on_bottom], bottom)).astype(np.int8)) != 0
        at = set((first + np.flatnonzero(changes)).tolist())
        sets = {turn.row for turn in rows.turns if turn.kind == "set" and turn.row >= first}
        seconds = self._seconds(rows, first)
        stops = sorted(at | sets | set(seconds) | {len(rows)})
        row = first
        for stop in stops:
            self._between(rows, row, stop)
            row = stop
            if row == len(rows):
                break
            if row in seconds:
                self._learn(rows, row, *seconds[row])
            if row in sets:
                self.turning, self.pending, self.measuring = NO, 0.0, 0.0
            if row in at:
                self._change(rows, row)
        self.moving = float(moving[-1])
        self.on_bottom = bool(bottom[-1])

    def _change(self, rows: Rows, row: int) -> None:
        column = rows.column
        rest_s = float(rows.time_s[row]) - self.stopped_s
        was = self.moving if row == 0 else float(column["moving"][row - 1])
        now = float(column["moving"][row])
        self.pending = self.measuring = 0.0
        if now == 0.0 and was != 0.0:
            self.stopped_s = float(rows.time_s[row])
        if column["on_bottom"][row]:
            self.turning = YES
        elif column["phase"][row] == 2 and now != 0.0 and was == 0.0:
            near = abs(float(column["along_m"][row]) - self.level_m) < LEVEL_REACH_M
            if rest_s >= LEAST_STOP_S and near:
                self.pending = now

    def _between(self, rows: Rows, start: int, stop: int) -> None:
        """Rows without a change: a pending run tells, then its drag is read."""
        column = rows.column
        row = start
        if self.pending and stop > row:
            told = _first_beyond(column["run_travel_m"], TELLING_M, row, stop)
            self._give(rows, row, told, NO)
            if told < stop:
                self._tell(rows, told)
            row = told
        if self.measuring and stop > row:
            steady = _first_beyond(column["run_travel_m"], STEADY_M, row, stop)
            self._give(rows, row, steady, self.turning)
            if steady < stop:
                self._read_drag(float(column["smooth_load_N"][steady]))
            row = steady
        self._give(rows, row, stop, self.turning)

    def _give(self, rows: Rows, start: int, stop: int, turning: float) -> None:
        if stop <= start:
            return
        rows.column["turning"][start:stop] = turning
        rows.column["sliding_drag_N"][start:stop] = self.drag_N

    def _tell(self, rows: Rows, row: int) -> None:
        """Judge a run after a stop by its load."""
        direction, self.pending = self.pending, 0.0
        level = self._level_N(direction)
        load = float(rows.column["smooth_load_N"][row])
        if not (math.isfinite(level) and math.isfinite(load)):
            return
        off = direction * (load - level)
        self.turning = NO if off > min(0.5 * self.drag_N, self.limit_N) else YES
        self.measuring = direction if self.turning == NO else 0.0

    def _read_drag(self, load_N: float) -> None:
        direction, self.measuring = self.measuring, 0.0
        drag = direction * (load_N - self._level_N(direction))
        if direction > 0 and drag > 0.0:
            self.drags_N = [*self.drags_N, drag][-DRAGS_KEPT:]

    @property
    def drag_N(self) -> float:
        """Drag of the sliding string over that of the turning one; a guess before it was seen."""
        if self.drags_N:
            return _middle(self.drags_N)
        level = self._level_N(1.0) if self.up_N else self._level_N(-1.0)
        return USUAL_DRAG_SHARE * max(level - self.travelling_weight_N, 0.0)

    def _level_N(self, direction: float) -> float:
        """Load of the turning string in a direction, as last read."""
        own, other = (self.up_N, self.down_N) if direction > 0 else (self.down_N, self.up_N)
        return _middle(own or other) if own or other else NAN

    def _seconds(self, rows: Rows, first: int) -> dict[int, tuple[float, float, float]]:
        """Steady seconds off bottom: where known, direction, load and pipe travel."""
        blocks = rows.blocks
        if blocks is None or not len(blocks):
            return {}
        speed, load = blocks.mean["block_speed_m_s"], blocks.mean["hook_load_N"]
        wanted = (blocks.known_at >= first) & (blocks.low["phase"] == 2) & np.isfinite(load)
        wanted &= np.abs(blocks.low["friction_state"] + blocks.high["friction_state"]) > 1.99
        wanted &= (np.abs(speed) >= LEAST_SPEED_M_S) & (blocks.low["run_travel_m"] > STEADY_M)
        wanted &= ~rows.column["on_bottom"][np.minimum(blocks.known_at, len(rows) - 1)]
        return {
            int(blocks.known_at[i]): (
                float(np.sign(speed[i])),
                float(load[i]),
                float(blocks.mean["along_m"][i]),
            )
            for i in np.flatnonzero(wanted).tolist()
        }

    def _learn(self, rows: Rows, row: int, sign: float, load_N: float, along_m: float) -> None:
        """Take a second of the string that turns for sure."""
        if self.turning != YES or self.pending or rows.column["on_bottom"][row]:
            return
        if not abs(along_m - self.level_m) < LEVEL_REACH_M:
            self.up_N, self.down_N = [], []
        self.level_m = along_m
        if sign > 0:
            self.up_N = [*self.up_N, load_N][-LEVELS_KEPT:]
        else:
            self.down_N = [*self.down_N, load_N][-LEVELS_KEPT:]


def _first_beyond(travel_m: Floats, limit_m: float, start: int, stop: int) -> int:
    """First row of a run that has come so far; ``stop`` where none has."""
    beyond = np.flatnonzero(travel_m[start:stop] >= limit_m)
    return start + int(beyond[0]) if len(beyond) else stop


def _middle(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


def with_drag(own: Floats, tables: Array, index: Array, rows: Rows, sign: float) -> Floats:
    """Trend parameters a row, those of the turning string and its drag where none are known.

    A sliding string of which nothing has been learnt yet weighs what the turning one does
    and the drag; the band then spans that drag. ``tables`` are the turning string's
    parameters after each change, ``index`` which of them holds at each row.
    """
    drag = rows.column.get("sliding_drag_N")
    if drag is None:
        return own
    unknown = (rows.column["turning"] != YES) & np.isfinite(drag) & np.isnan(own[:, LEVEL])
    if unknown.any():
        own[unknown] = tables[index[unknown]]
        own[unknown, LEVEL] += sign * drag[unknown]
        own[unknown, SPREAD] = np.hypot(own[unknown, SPREAD], 0.5 * drag[unknown])
    return own
