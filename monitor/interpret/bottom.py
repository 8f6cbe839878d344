"""On bottom or off it, hole depth, and weight on bit by a tare taken off bottom.

Decided from one-second means; weight on bit itself is given for every row. Weight on bit
is unknown without a tare, and in slips.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.bottom_seconds import (
    ALONG,
    DEPTH,
    FLOW,
    FLOWING_M3_S,
    FRICTION,
    LOAD,
    REPORTED,
    ROTARY,
    SPEED,
    TIME,
    hanging_seconds,
    in_service,
)
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tares import HELD_M, HELD_SECONDS, Tares, drill_off_N_s
from monitor.interpret.windows import held_from, middle
from monitor.model import Activity, Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# Least weight taken off that counts as the bit touching: above noise and drag scatter.
LEAST_CONTACT_N = 10e3
CONTACT_SHARE = 0.01
# Slips being set look like the bit touching for a moment: a contact must last so long.
CONTACT_SECONDS = 3
# A bit that carries little takes less than that off: half of it must last ten times as long,
# while the string goes down as it does in drilling.
LIGHT_CONTACT_SHARE = 0.5
LIGHT_CONTACT_SECONDS = 10 * CONTACT_SECONDS
# Bit on bottom within this of the known hole depth (stretch and counting error).
NEAR_BOTTOM_M = 1.0
# Drilling is slower than this (200 m/h); lowering pipe is faster.
FASTEST_DRILLING_M_S = 0.055
# Slow descent is looked at over this long, and must cover this much, without coming back.
DESCENT_S = 30
LEAST_DESCENT_M = 0.015
GREATEST_RETURN_M = 0.03
# Lifted this far above the deepest point: off bottom.
LIFTED_M = 0.3
# With the load of the tare, going up so fast is leaving the bottom.
LEAVING_M_S = 0.02
# Seconds this far apart are no neighbours.
LONGEST_PAUSE_S = 60.0
# A tare needs this many quiet seconds, holds this long, and is the median of these.
TARE_SECONDS = 5
LONGEST_TARE_S = 1800.0
KEPT_SECONDS = 12
FLOW_CHANGE = 0.10
# No word of load or block for this long: what the rig does is unknown.
SILENT_S = 5.0
# A hanging load this much above the empty block, in slips: something in the elevators.
HOLDING_N = 6e3
HOLDING_SHARE = 0.02


class Bottom(Stage):
    """On-bottom state, hole depth, tare and weight on bit; settles the activity."""

    STATE = (
        "on_bottom",
        "hole_m",
        "floor_m",
        "tare_N",
        "tare_s",
        "tare_depth_m",
        "tare_flow",
        "quiet",
        "recent",
        "ever_tared",
        "touching",
        "lightened",
        "deepest_m",
        "reached_m",
        "landed_m",
        "tares",
        "drill_off_N_s",
    )

    def __init__(self, rig: Rig) -> None:
        self.tares = Tares(rig)
        self.drill_off_N_s = NAN
        self.on_bottom = False
        self.hole_m = NAN
        self.floor_m = NAN  # hole depth as known at the last whole second
        self.tare_N = NAN
        self.tare_s = NAN
        self.tare_depth_m = NAN
        self.tare_flow = NAN
        self.quiet: list[float] = []
        self.recent: list[list[float]] = []
        self.ever_tared = False
        self.touching = 0
        self.lightened = 0  # seconds with half a contact
        self.deepest_m = NAN
        self.reached_m = -math.inf  # greatest pipe travel with the string hanging
        self.landed_m = -math.inf  # and on bottom

    def gap(self) -> None:
        """What was on bottom before a gap need not be after it."""
        self.on_bottom, self.drill_off_N_s = False, NAN
        self.quiet, self.recent, self.touching, self.lightened = [], [], 0, 0

    def command(self, command: Command) -> None:
        """A tare by hand: the load given, else the mean of the last quiet seconds."""
        if command.act in ("lines_strung", "travelling_weight", "mud_density"):
            self.tares.forget()
        if command.act != "tare":
            return
        load = command.number
        if not math.isfinite(load) and self.recent:
            load = float(np.mean([entry[LOAD] for entry in self.recent[-3:]]))
        if math.isfinite(load) and self.recent:
            self._take_tare(load, self.recent[-1])

    def step(self, rows: Rows) -> None:
        """Derive on-bottom state, hole depth, tare, weight on bit, activity."""
        marks = self._marks(rows)
        rows_at = [row for row, _ in marks]
        values = zip(*(held for _, held in marks), strict=True)
        names = ("bottom", "tare", "at_s", "at_m", "off")
        columns = {n: held_from(rows_at, v, len(rows)) for n, v in zip(names, values, strict=True)}
        self._hole(rows, columns["bottom"] > 0)
        self._weight(rows, columns)
        self._activity(rows, columns["bottom"] > 0)

    def _held(self) -> tuple[float, ...]:
        off = self.drill_off_N_s if self.on_bottom else NAN
        return float(self.on_bottom), self.tare_N, self.tare_s, self.tare_depth_m, off

    def _marks(self, rows: Rows) -> list[tuple[int, tuple[float, ...]]]:
        """Rows at which the carried figures change, with their new values."""
        blocks = rows.blocks
        marks = [(0, self._held())]
        if blocks is None:
            return marks
        sets = sorted(turn.row for turn in rows.turns if turn.kind == "set")
        hanging = (blocks.low["phase"] >= 2) & np.isfinite(blocks.mean["hook_load_N"])
        seconds = hanging_seconds(rows, blocks, hanging)
        known_at = blocks.known_at[hanging]
        done = 0
        for row in [*sets, len(rows)]:
            # A second known at the row in which slips are set was before it.
            stop = int(np.searchsorted(known_at, row, side="right"))
            for index in self._looked_at(seconds[done:stop]):
                self._mark(marks, int(known_at[done + index]))
            done = stop
            if row < len(rows):
                self._connection()
                self._mark(marks, row)
        return marks

    def _mark(self, marks: list[tuple[int, tuple[float, ...]]], row: int) -> None:
        held = self._held()
        if held != marks[-1][1] and not _same(held, marks[-1][1]):
            marks.append((row, held))

    def _looked_at(self, seconds: Floats) -> Iterator[int]:
        """Take seconds in order; give those in which something may have changed."""
        done, length = 0, len(seconds)
        while done < length:
            telling = done + np.flatnonzero(self._may_tell(seconds[done:]))
            was = self.on_bottom, math.isfinite(self.tare_N)
            for index in [*telling.tolist(), length]:
                self._stay(seconds[done:index])
                done = index
                if index < length:
                    self._block(seconds[index].tolist())
                    yield index
                    done = index + 1
                if was != (self.on_bottom, math.isfinite(self.tare_N)):
                    break

    def _may_tell(self, seconds: Floats) -> NDArray[np.bool_]:
        """Seconds in which a bit on bottom may leave it, or its tare or drill-off may change.

        All that ``_block`` asks of a second on bottom, as long as neither has happened. Off
        bottom any second may tell.
        """
        if not self.on_bottom:
            return np.ones(len(seconds), dtype=bool)
        n = len(self.recent)
        joined = np.concatenate((self.recent, seconds))
        time_s, along = joined[:, TIME], joined[:, ALONG]
        held = np.zeros(len(joined), dtype=bool)
        back = HELD_SECONDS - 1
        now = along[back:]
        held[back:] = np.abs(along[: len(now)] - now) <= HELD_M
        held[n] |= math.isfinite(self.drill_off_N_s)
        held[n:] |= held[n - 1 : -1]  # what a second held told ends with the next
        telling = held[n:] | (np.diff(time_s)[n - 1 :] > LONGEST_PAUSE_S)
        time_s, along, load_N, speed, flow = seconds[:, [TIME, ALONG, LOAD, SPEED, FLOW]].T
        telling |= time_s - self.tare_s > LONGEST_TARE_S
        changed = np.abs(flow - self.tare_flow) > self._flow_change()
        telling |= changed & math.isfinite(self.tare_N)
        reached = np.where(np.isfinite(along), along, -np.inf)
        deepest = np.maximum.accumulate(np.concatenate(([self.deepest_m], reached)))[1:]
        light = load_N >= self.tare_N - 0.5 * LEAST_CONTACT_N
        telling |= deepest - along > LIFTED_M
        telling |= (light & (speed > LEAVING_M_S)) | (speed > 2 * FASTEST_DRILLING_M_S)
        return telling

    def _stay(self, seconds: Floats) -> None:
        """Take seconds on bottom in which nothing happens."""
        if not len(seconds):
            return
        self.recent = [*self.recent, *seconds[-DESCENT_S - 1 :].tolist()][-DESCENT_S - 1 :]
        along = float(np.fmax.reduce(seconds[:, ALONG]))
        self.reached_m = max(self.reached_m, along)
        self.deepest_m = max(self.deepest_m, along)
        seen = np.fmax.reduce(seconds[:, [DEPTH, REPORTED]], axis=None)
        self.floor_m = float(np.fmax(self.floor_m, seen))

    def _connection(self) -> None:
        self.on_bottom = False
        self.tare_N = self.tare_s = self.tare_depth_m = NAN
        self.quiet, self.recent, self.touching, self.lightened = [], [], 0, 0

    def _take_tare(self, load_N: float, entry: list[float]) -> None:
        self.tare_N, self.tare_s, self.tare_depth_m = load_N, entry[TIME], entry[ALONG]
        self.tare_flow = entry[FLOW]
        self.ever_tared = True

    def _block(self, entry: list[float]) -> None:
        """One second of hanging, as ``hanging_seconds`` gives it."""
        if self.recent and entry[TIME] - self.recent[-1][TIME] > LONGEST_PAUSE_S:
            self.recent, self.quiet = [], []
        self.recent.append(entry)
        if len(self.recent) > DESCENT_S + 1:
            del self.recent[0]
        self.reached_m = max(self.reached_m, entry[ALONG])
        self._expire(entry[TIME], entry[FLOW])
        self._see_bottom(entry)
        self.drill_off_N_s = NAN
        if self.on_bottom:
            held = self.recent[-HELD_SECONDS:]
            if len(held) == HELD_SECONDS and abs(held[0][ALONG] - entry[ALONG]) <= HELD_M:
                self.drill_off_N_s = drill_off_N_s(self.recent, LOAD)
            self._leave(entry)
        elif entry[FRICTION] > -0.9 or entry[SPEED] > FASTEST_DRILLING_M_S:
            self.quiet, self.lightened = [], 0  # hoisting, or not moved down since
        else:
            self._come_down(entry)

    def _come_down(self, entry: list[float]) -> None:
        """Lowering, or held after it: the bit touches, or it is a second for the tare."""
        load_N, turning, flow = entry[LOAD], entry[ROTARY], entry[FLOW]
        base = middle(self.quiet) if len(self.quiet) >= TARE_SECONDS else NAN
        least = max(LEAST_CONTACT_N, CONTACT_SHARE * base)
        contact, light = load_N < base - least, load_N < base - LIGHT_CONTACT_SHARE * least
        self.touching = self.touching + 1 if contact else 0
        self.lightened = self.lightened + 1 if light else 0
        if self.touching >= CONTACT_SECONDS and self._near_bottom(entry):
            self._land(base, entry)
        elif contact or self.lightened >= LIGHT_CONTACT_SECONDS or not math.isfinite(base):
            if self._drilling(base):
                self._land(base, entry)
        if self.on_bottom or light:
            return
        if in_service(turning, flow):
            self.quiet = [*self.quiet, load_N][-KEPT_SECONDS:]
            settled = self.quiet[-TARE_SECONDS:]
            if len(settled) == TARE_SECONDS and max(settled) - min(settled) < LEAST_CONTACT_N:
                self._take_tare(middle(self.quiet), entry)

    def _see_bottom(self, entry: list[float]) -> None:
        """Hole depth as reported, or as deep as the bit has been on bottom."""
        depth, reported = entry[DEPTH], entry[REPORTED]
        for seen in (reported, depth if self.on_bottom else NAN):
            if seen == seen and not self.floor_m >= seen:
                self.floor_m = seen

    def _expire(self, time_s: float, flow: float) -> None:
        if time_s - self.tare_s > LONGEST_TARE_S:
            self.tare_N = self.tare_s = self.tare_depth_m = NAN
        if abs(flow - self.tare_flow) > self._flow_change() and math.isfinite(self.tare_N):
            self.tare_N = self.tare_s = self.tare_depth_m = NAN

    def _flow_change(self) -> float:
        """A change of flow with which the tare is another."""
        return FLOW_CHANGE * max(self.tare_flow, FLOWING_M3_S)

    def _leave(self, entry: list[float]) -> None:
        self.deepest_m = max(self.deepest_m, entry[ALONG])
        lifted = self.deepest_m - entry[ALONG] > LIFTED_M
        light, speed = entry[LOAD] >= self.tare_N - 0.5 * LEAST_CONTACT_N, entry[SPEED]
        if lifted or (light and speed > LEAVING_M_S) or speed > 2 * FASTEST_DRILLING_M_S:
            self.on_bottom = False
            self.quiet = []

    def _near_bottom(self, entry: list[float]) -> bool:
        depth = entry[DEPTH]
        return depth > self.floor_m - NEAR_BOTTOM_M

    def _land(self, base_N: float, entry: list[float]) -> None:
        self.on_bottom, self.deepest_m = True, entry[ALONG]
        if math.isfinite(base_N):
            self._take_tare(base_N, entry)
            self.tares.land(entry[TIME], entry[ALONG], entry[DEPTH], base_N)
        self.quiet, self.lightened = [], 0

    def _drilling(self, base_N: float) -> bool:
        """Slow, steady descent with weight on: the bit makes hole."""
        if len(self.recent) <= DESCENT_S - 5:
            return False
        if self.recent[-1][ALONG] < self.reached_m - NEAR_BOTTOM_M:
            return False  # there is hole below: the bit has been there
        along = np.array([entry[ALONG] for entry in self.recent])
        speed = np.array([entry[SPEED] for entry in self.recent])
        lowest_return = float(np.max(np.maximum.accumulate(along) - along))
        slow = float(np.max(np.abs(speed))) < FASTEST_DRILLING_M_S
        if not (
            slow and lowest_return < GREATEST_RETURN_M and LEAST_DESCENT_M < along[-1] - along[0]
        ):
            return False
        if not in_service(self.recent[-1][ROTARY], self.recent[-1][FLOW]):
            return False
        if math.isfinite(base_N):
            return True
        # No base to compare with: only before the first tare of the record, when it may
        # have begun with the bit on bottom.
        return not self.ever_tared

    def _hole(self, rows: Rows, bottom: Any) -> None:
        # On a heaving rig the hole is as deep as the bit was over the sea bed.
        depth = rows.column.get("bit_depth_earth_m", rows.column["bit_depth_m"])
        reported = rows.channel("hole_depth")
        made = np.where(bottom & np.isfinite(depth), depth, -np.inf)
        if reported is not None:
            made = np.maximum(made, np.where(np.isfinite(reported), reported, -np.inf))
        start = self.hole_m if math.isfinite(self.hole_m) else -np.inf
        deepest = np.maximum.accumulate(np.concatenate(([start], made)))[1:]
        hole = np.where(np.isfinite(deepest), deepest, NAN)
        rows.column["hole_depth_m"] = hole
        # By pipe travel too: where the bit has been on bottom is known without its depth.
        along = rows.column.get("along_earth_m", rows.column["along_m"])
        landed = np.where(bottom & np.isfinite(along), along, -np.inf)
        landed = np.maximum.accumulate(np.concatenate(([self.landed_m], landed)))[1:]
        near = along > landed - NEAR_BOTTOM_M
        near &= np.isfinite(landed)
        rows.column["near_bottom"] = (depth > hole - NEAR_BOTTOM_M) | near
        self.hole_m, self.landed_m = float(hole[-1]), float(landed[-1])

    def _weight(self, rows: Rows, columns: dict[str, Any]) -> None:
        hanging = rows.column["phase"] == 2
        bottom = (columns["bottom"] > 0) & hanging
        tare = np.where(hanging, columns["tare"], NAN)
        weight = np.where(bottom, tare - rows.column["hook_load_N"], 0.0)
        weight = np.where(hanging & np.isfinite(tare), weight, NAN)
        rows.column["weight_on_bit_N"] = weight
        rows.column["tare_N"] = tare
        rows.column["tare_age_s"] = np.where(hanging, rows.time_s - columns["at_s"], NAN)
        rows.column["drill_off_N_s"] = np.where(bottom, columns["off"], NAN)
        rows.column["tare_depth_m"] = np.where(hanging, columns["at_m"], NAN)

    def _activity(self, rows: Rows, bottom: Any) -> None:
        phase, moving = rows.column["phase"], rows.column["moving"]
        activity = np.where(
            moving > 0,
            Activity.HOISTING,
            np.where(moving < 0, Activity.LOWERING, Activity.STATIONARY),
        )
        activity = np.where(bottom & (phase == 2), Activity.ON_BOTTOM, activity)
        activity = np.where(phase == 0, Activity.IN_SLIPS, activity)
        silent = ~(rows.column["load_age_s"] <= SILENT_S)
        lost = (phase != 0) & ~(rows.column["block_age_s"] <= SILENT_S)
        rows.column["activity"] = np.where(silent | lost, Activity.UNKNOWN, activity)
        empty = rows.column["empty_N"]
        rows.column["holding"] = (phase == 0) & (
            rows.column["smooth_load_N"] > empty + np.maximum(HOLDING_N, HOLDING_SHARE * empty)
        )
        rows.column["on_bottom"] = bottom & (phase == 2)


def _same(first: tuple[float, ...], second: tuple[float, ...]) -> bool:
    """Equal, with not-a-number equal to itself."""
    return all(a == b or (a != a and b != b) for a, b in zip(first, second, strict=True))
