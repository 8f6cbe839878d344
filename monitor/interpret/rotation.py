"""Whether the string turns: by the rotary channel, or, while drilling without one, by its drag.

A string that turns drags little along the hole; one that slides drags by its whole friction.
A record without a rotary channel does not say when the rotary stops, and the drag that comes
back then looks like an overpull. Three things do say it: a string in slips is not turned, and
a crew stops the rotary while the block stands, so the load with which a run begins after a
stop tells: off the weight of the string at rest by little, it turns; by its drag, it slides
(``turning_weight``). Where it starts, the drag of a string that stands goes. A load that rises
later in a run stays what it was, an excess.

Not told apart: a pull that begins at once after a stop and is no greater than that drag, and
a rotary that stops faster than any stop is believed.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.motion import TURNING_RAD_S
from monitor.interpret.stage import Array, Rows, Stage
from monitor.interpret.steady import sheaves_turned
from monitor.interpret.turning_drag import NO, YES, axial_share, contact_diameter_m
from monitor.interpret.turning_weight import USUAL_DRAG_SHARE, TurningWeight
from monitor.interpret.windows import Tail, forward_fill, held_from, sliding_high, window_start
from monitor.model import Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# Rotary and torque need so long to come to rest (common practice: seconds).
LEAST_STOP_S = 2.0
# So long after the rotary starts or stops the drag is on its way (common practice: seconds).
DRAG_SETTLES_S = 3.0
# A rotary below this share of what it was a moment ago is being stopped.
SLOWING_SHARE = 0.8
# Stretch has come in after so much of a run: then its load tells. Before 1.2 m, where the
# load after a stop is judged.
TELLING_M = 0.6
# Further on the load is steady: what it is above that of the turning string is the drag.
STEADY_M = 2.0
# Seconds of steady hoisting or lowering, without acceleration, as for moving weights.
LEAST_SPEED_M_S = 0.05
# At rest: two quanta of an encoder a second. The first second may still hold a swing.
REST_M_S = 0.01
SWING_SECONDS = 1

# Sheaves turn over along a few centimetres of their own travel. The stretch that a turning
# string's drag lets go takes that under a block at rest; a reversal has it behind it after so
# much block travel, the line's stretch and a damped sensor included (derived: a second at
# the speed a crew starts with).
TURNED_OVER_M = 0.2

DRAGS = ("sliding_up_N", "sliding_down_N", "sliding_up_doubt_N", "sliding_down_doubt_N")


class Rotation(Stage):
    """Gives ``turning`` (1 or 0) and, where it is inferred, what the sliding string drags."""

    STATE = (
        "turning",
        "drilled",
        "moving",
        "stopped_s",
        "on_bottom",
        "pending",
        "measuring",
        "weight",
        "picking",
        "last_run",
        "rest_N",
        "switched_s",
        "speeds",
        "turned_over",
        "shown",
    )

    def __init__(self, rig: Rig) -> None:
        self.turning = NO
        self.drilled = False  # the bit has been on bottom: from then on it may turn
        self.moving = 0.0
        self.stopped_s = NAN  # when the block came to rest
        self.on_bottom = False
        self.pending = 0.0  # direction of a run after a stop, not told yet
        self.measuring = 0.0  # direction of a run told to slide, its drag not read yet
        self.weight = TurningWeight(rig.travelling_weight_N, contact_diameter_m(rig))
        self.picking = False  # slips have been set, and no run has ended since
        self.last_run = 0.0  # direction before the present rest
        self.rest_N: list[float] = []  # loads of the sliding string at rest
        self.speeds = Tail(("time_s", "speed"), DRAG_SETTLES_S + 0.1, 1)
        self.shown = NO  # word of the last row
        self.turned_over = 0.0  # 1 while a turning string's sheaves may have turned over
        self.switched_s = NAN  # when the rotary channel last passed the limit of turning
        self.drags: list[tuple[int, list[float]]] = []  # of one step: from which row on, DRAGS
        self.noted = -1  # readings they were made of

    def gap(self) -> None:
        """A stop is not known across a gap."""
        self.pending = self.measuring = 0.0
        self.moving, self.stopped_s = 0.0, NAN
        self.last_run, self.rest_N = 0.0, []
        self.speeds.clear()
        self.turned_over = 0.0

    def command(self, command: Command) -> None:
        """Another load for the same string: what was read of it no longer holds."""
        if command.act in ("lines_strung", "travelling_weight", "mud_density"):
            self.weight.forget()
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.weight.travelling_weight_N = command.number

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
            self._weigh(rows)
            self.turning, self.drilled = float(column["turning"][-1]), False
            return
        column["drag_settles"] = np.zeros(len(rows), dtype=bool)
        column["turning"] = np.full(len(rows), NO)
        bottom = column["on_bottom"]
        if not self.drilled:
            self._before(rows, int(np.argmax(bottom)) if bottom.any() else len(rows))
            if not bottom.any():
                return
        first = 0 if self.drilled else int(np.argmax(bottom))
        self.drilled = True
        for name in DRAGS:
            column[name] = np.full(len(rows), NAN)
        self._scan(rows, first)

    def _before(self, rows: Rows, stop: int) -> None:
        """Rows before the bit has been on bottom: only what a string picked up weighs."""
        column = rows.column
        moving = np.concatenate(([self.moving], column["moving"][:stop]))
        stops = np.flatnonzero((moving[1:] <= 0.0) & (moving[:-1] > 0.0)).tolist()
        sets = [turn.row for turn in rows.turns if turn.kind == "set" and turn.row < stop]
        for row, is_set in sorted([(row, 0) for row in stops] + [(row, 1) for row in sets]):
            if is_set:
                self.picking = True
            elif self.picking and column["phase"][row] == 2:
                self.picking = False
                load_N = float(column["smooth_load_N"][row])
                self.weight.pick_up(load_N, float(column["along_m"][row]))
        self.moving = float(moving[-1])

    def _weigh(self, rows: Rows) -> None:
        """Read what the string drags where a channel says when it turns."""
        column = rows.column
        for name in DRAGS:
            column[name] = np.full(len(rows), NAN)
        moving = np.concatenate(([self.moving], column["moving"]))
        bottom = np.concatenate(([self.on_bottom], column["on_bottom"]))
        seconds = self._seconds(rows, 0)
        sets = [turn.row for turn in rows.turns if turn.kind == "set"]
        at = set(sets) | set(seconds) | set(np.flatnonzero(np.diff(moving)).tolist())
        at |= set(np.flatnonzero(bottom[1:] & ~bottom[:-1]).tolist())
        self._begin_drags(0, told=True)
        for row in sorted(at):
            if row in seconds:
                self._learn_known(rows, row, *seconds[row])
            if row in sets:
                self.picking = True
            if bottom[row + 1] and not bottom[row]:
                self.weight.hang(float(column["tare_N"][row]), float(column["along_m"][row]))
            if moving[row + 1] != moving[row]:
                self.measuring = float(moving[row + 1])
                if moving[row] > 0.0 and column["phase"][row] == 2 and self.picking:
                    self.picking = False
                    if column["turning"][row] == NO and not column["drag_settles"][row]:
                        load_N = float(column["smooth_load_N"][row])
                        self.weight.pick_up(load_N, float(column["along_m"][row]))
            self._note_drags(row, told=True)
        self._give_drags(rows, 0)
        self.moving, self.on_bottom = float(moving[-1]), bool(bottom[-1])

    def _learn_known(
        self, rows: Rows, row: int, speed: float, load_N: float, along_m: float, share: float
    ) -> None:
        column = rows.column
        if speed == 0.0 or column["drag_settles"][row] or column["on_bottom"][row]:
            return
        if column["turning"][row] == YES:
            self.weight.learn_turned(math.copysign(1.0, speed), share, load_N, along_m)
        elif speed * self.measuring > 0.0 and self.weight.is_near(along_m):
            # One reading a run, before anything can have happened in it.
            self.weight.learn_slid(self.measuring, load_N)
            self.measuring = 0.0

    def _begin_drags(self, row: int, *, told: bool) -> None:
        """Give the sliding drag as known before the first row."""
        self.drags, self.noted = [], -1
        self._note_drags(row, told=told)

    def _note_drags(self, row: int, *, told: bool) -> None:
        """Note what the sliding drag is from this row on; never a guess where a channel ``told``.

        Nothing is to be noted where no reading has come since.
        """
        if self.weight.readings == self.noted:
            return
        self.noted = self.weight.readings
        up, down = (
            (NAN, NAN)
            if told and not self.weight.has_seen(direction)
            else self.weight.more_N(direction)
            for direction in (1.0, -1.0)
        )
        self.drags.append((row, [up[0], down[0], up[1], down[1]]))

    def _give_drags(self, rows: Rows, first: int) -> None:
        """Spread over the rows from ``first`` on what was noted."""
        rows_at = [row - first for row, _ in self.drags]
        columns = zip(*(drag for _, drag in self.drags), strict=True)
        for name, values in zip(DRAGS, columns, strict=True):
            rows.column[name][first:] = held_from(rows_at, values, len(rows) - first)

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
        self._begin_drags(first, told=False)
        for stop in stops:
            self._between(rows, row, stop)
            row = stop
            if row == len(rows):
                break
            if row in seconds:
                self._learn(rows, row, *seconds[row])
            if row in sets:
                self.turning, self.pending, self.measuring = NO, 0.0, 0.0
                self.last_run, self.rest_N, self.picking = 0.0, [], True
            if row in at:
                self._change(rows, row)
            self._note_drags(row, told=False)
        self._give_drags(rows, first)
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
            self.last_run, self.rest_N = was, []
        along_m = float(column["along_m"][row])
        if now <= 0.0 < was and self.picking and column["phase"][row] == 2:
            self.weight.pick_up(float(column["smooth_load_N"][row]), along_m)
            self.picking = False
        if column["on_bottom"][row]:
            self.weight.hang(float(column["tare_N"][row]), along_m)
            self.turning = YES
        elif column["phase"][row] == 2 and now != 0.0 and was == 0.0:
            if rest_s >= LEAST_STOP_S and self.weight.is_near(along_m):
                self.pending = now
        elif self.on_bottom if row == 0 else column["on_bottom"][row - 1]:
            self.pending = max(now, 0.0)  # the rotary may have stopped on bottom

    def _between(self, rows: Rows, start: int, stop: int) -> None:
        """Rows without a change: a pending run tells, then its drag is read."""
        run_m, turning = rows.column["run_travel_m"], rows.column["turning"]
        row = start
        if self.pending and stop > row:
            told = _first_beyond(run_m, TELLING_M, row, stop)
            turning[row:told] = NO
            if told < stop:
                self._tell(rows, told)
            row = told
        if self.measuring and stop > row:
            steady = _first_beyond(run_m, STEADY_M, row, stop)
            turning[row:steady] = self.turning
            if steady < stop:
                self._confirm(rows, steady)
                self._note_drags(steady, told=False)
            row = steady
        turning[row:stop] = self.turning

    def _tell(self, rows: Rows, row: int) -> None:
        """Judge a run after a stop by its load."""
        direction, self.pending = self.pending, 0.0
        load = float(rows.column["smooth_load_N"][row])
        if not math.isfinite(load):
            return
        speed = abs(float(rows.column["block_speed_m_s"][row]))
        self.turning = NO if self.weight.is_sliding(direction, speed, load) else YES
        self.measuring = direction if self.turning == NO else 0.0

    def _confirm(self, rows: Rows, row: int) -> None:
        """Read the drag of a run told to slide, or see that only its start was heavy."""
        direction, self.measuring = self.measuring, 0.0
        load = float(rows.column["smooth_load_N"][row])
        speed = abs(float(rows.column["block_speed_m_s"][row]))
        if self.weight.is_sliding(direction, speed, load):
            self.weight.learn_slid(direction, load)
        elif math.isfinite(load):
            self.turning = YES

    def _rest(self, load_N: float, along_m: float) -> None:
        """Take a second at rest of a string that slid: its drag goes when the rotary starts."""
        self.rest_N = [*self.rest_N, load_N]
        held = self.rest_N[SWING_SECONDS:]
        if len(held) < 2 or self.last_run == 0.0:
            return
        near = self.weight.is_near(along_m)
        most = max(self.last_run * load for load in held)
        least = max(self.last_run * load for load in held[-2:])
        gone = most - least
        usual = USUAL_DRAG_SHARE * (load_N - self.weight.travelling_weight_N)
        drag = self.weight.drag_N(self.last_run) if near else usual
        if gone > 0.5 * drag:
            self.turning, self.rest_N = YES, []
            if not near:
                self.weight.hang(load_N, along_m)
                if self.last_run > 0.0:
                    self.weight.pick_up(most, along_m)

    def _seconds(self, rows: Rows, first: int) -> dict[int, tuple[float, float, float, float]]:
        """Seconds off bottom, steady or at rest: where known, speed, load, travel, axial share."""
        blocks = rows.blocks
        if blocks is None or not len(blocks):
            return {}
        speed, load = blocks.mean["block_speed_m_s"], blocks.mean["hook_load_N"]
        wanted = (blocks.known_at >= first) & (blocks.low["phase"] == 2) & np.isfinite(load)
        wanted &= ~rows.column["on_bottom"][np.minimum(blocks.known_at, len(rows) - 1)]
        moves = sheaves_turned(blocks)
        moves &= (np.abs(speed) >= LEAST_SPEED_M_S) & (blocks.low["run_travel_m"] > STEADY_M)
        speed = np.where(moves, speed, 0.0)
        wanted &= moves | (np.abs(blocks.mean["block_speed_m_s"]) < REST_M_S)
        rotary = blocks.mean["rotary_speed"]
        share = axial_share(np.abs(speed), rotary, self.weight.diameter_m)
        figures = (speed, load, blocks.mean["along_m"], share)
        values = zip(*(column[wanted].tolist() for column in figures), strict=True)
        return dict(zip(blocks.known_at[wanted].tolist(), values, strict=True))

    def _learn(
        self, rows: Rows, row: int, speed: float, load_N: float, along_m: float, share: float
    ) -> None:
        """Take a second: of the string that turns for sure, or of one that slid, at rest."""
        if self.pending or rows.column["on_bottom"][row]:
            return
        if self.turning == YES and speed != 0.0:
            self.weight.learn_turned(math.copysign(1.0, speed), share, load_N, along_m)
        elif self.turning == NO and speed == 0.0 and rows.column["moving"][row] == 0.0:
            self._rest(load_N, along_m)


def _first_beyond(travel_m: Floats, limit_m: float, start: int, stop: int) -> int:
    """First row of a run that has come so far; ``stop`` where none has."""
    beyond = np.flatnonzero(travel_m[start:stop] >= limit_m)
    return start + int(beyond[0]) if len(beyond) else stop
