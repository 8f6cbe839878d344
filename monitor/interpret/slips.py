"""Who carries the string: slips, load coming on, or the hook; and what the block moved meanwhile.

Three phases, left only at a crossing: ``slips`` until the load rises, ``pick_up`` until it
is fully on, ``hanging`` until it falls to the empty block. The limits lie between two
levels that are learnt: the empty block (with what may hang in the elevators) and the
string. They stay fixed between two changes, so the next crossing is found by scanning.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from monitor.interpret.give import Give
from monitor.interpret.levels import Heard, empty_spread, hung_N, low_N, slip_limits_N, two_levels
from monitor.interpret.places import LOOK_BACK_S, Places, Stood
from monitor.interpret.stage import Rows, Stage, Turn
from monitor.interpret.transfer import (
    FULLY_ON_SHARE,
    LAST_ROWS,
    MOST_PART,
    TRANSMITTER_LAG_S,
    came_off_m,
    fully_on_m,
    is_flat,
    is_let_go,
    known_rows,
    level_taken_N,
    may_lift,
    rises_on,
)
from monitor.interpret.windows import Tail, first_true, window_start
from monitor.mechanics.pipe import string_weight_N
from monitor.model import Command
from monitor.rig.rig import Rig

NAN = float("nan")

# Hole friction turns over with every wave, by 11 to 17 % of the load: less tells it there.
HEAVING_ON_SHARE = 0.82
# Before any level is known, the load is fully on when it rises no more.
RISE_WINDOW_S = 0.5
RISE_SHARE = 0.03
# A pick-up ends at the latest after this much travel or time: then the load is what it is.
LONGEST_PICK_UP_M = 1.5
LONGEST_PICK_UP_S = 20.0
# Where a string was just set, less than this share of it is the stand broken out of it.
AGAIN_SHARE = 0.75
# A string is no lighter than this share of what it was in the spell before: a spell hardly
# seen says less; a string that parted says so in the next spells too.
LEAST_OF_LAST = 0.5
# A string so many times heavier than what may hang beside it is told by the load alone.
SURE_TIMES = 2.0
# The level before slips are set is read this long before the load passes half way, and from
# so many rows at least.
LEVEL_FROM_S, LEVEL_TO_S, LEVEL_ROWS = 4.0, 1.2, 2
# The empty level is read from this long after slips are set.
SETTLE_S = 5.0
EMPTY_SPELLS = 5
SPELL_KEPT = 600
# The empty level may stray this far from the declared travelling weight; beyond it the
# declaration is believed and "empty block differs" is somebody's question.
GREATEST_EMPTY_ERROR = 0.4


class Slips(Stage):
    """The phase of every row, and the turns between phases."""

    STATE = (
        "phase",
        "known",
        "declared_N",
        "empty_N",
        "empties",
        "string_N",
        "level_N",
        "since_m",
        "since_s",
        "spell_N",
        "second",
        "spell_sum_N",
        "spell_count",
        "recent",
        "depth_m",
        "heard",
        "give",
        "swing",
        "places",
    )

    def __init__(
        self, rig: Rig, bit_depth_m: float, kept_until_us: Callable[[], int] = lambda: 0
    ) -> None:
        self.rig = rig
        self.kept_until_us = kept_until_us  # slip-and-cut mode: slips keep the string so long
        self.phase = 0
        self.known = False
        self.declared_N = rig.travelling_weight_N
        self.empty_N = rig.travelling_weight_N
        self.empties: list[float] = []
        self.string_N = NAN
        self.level_N = NAN
        self.since_m = NAN
        self.since_s = NAN
        self.spell_N: list[float] = []
        self.second = 0
        self.spell_sum_N = 0.0
        self.spell_count = 0.0
        self.recent = Tail(LAST_ROWS, LOOK_BACK_S, 1)
        self.depth_m = bit_depth_m
        self.heard = Heard()
        self.give = Give()
        self.swing = 0.0  # of the empty block, up to down
        self.places = Places()

    def gap(self) -> None:
        """The moment at which load came off is not looked for across a gap."""
        self.places.gap(self.recent.kept["block"])
        self.recent.clear()

    def command(self, command: Command) -> None:
        """A new travelling weight is a new empty block; a new depth a new guess."""
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.declared_N = self.empty_N = command.number
            self.empties, self.level_N = [], NAN
        if command.act == "bit_depth" and math.isfinite(command.number):
            self.depth_m = command.number
        if command.act == "lines_strung":
            self.empty_N, self.empties = self.declared_N, []
            self.string_N = self.level_N = NAN

    def limits(self) -> tuple[float, float]:
        """Load below which slips have the string, and above which the hook has it [N]."""
        return slip_limits_N(self.empty_N, self.string_N, self.swing)

    def step(self, rows: Rows) -> None:
        """Give every row its phase; list the turns."""
        load, block = rows.column["smooth_load_N"], rows.column["block_m"]
        self.swing = empty_spread(rows, self.rig.reeving)
        # While the line is slipped its tension says nothing, and slips keep the string.
        kept_in_slips = rows.time_us < self.kept_until_us()
        load = np.where(kept_in_slips, NAN, load)
        rows.column["turned_load_N"] = np.where(kept_in_slips, NAN, rows.column["turned_load_N"])
        # The decisions want a smooth load; when it changed is told by the quick one.
        raw = rows.column["hook_load_N"] - rows.column.get("wave_inertia_N", 0.0)
        columns = {"time_s": rows.time_s, "load": load, "block": block}
        for name, own in (("lost", "block_lost"), ("leapt", "unseen")):
            columns[name] = rows.column[own].astype(float)
        for name, values in (("raw", raw), ("plain", rows.column["hook_load_plain_N"])):
            columns[name] = np.where(rows.column["load_is_old"], NAN, values)
        self.places.follow(rows, columns["plain"])
        joined, kept = self.recent.join(columns)
        start = window_start(joined["time_s"], kept, RISE_WINDOW_S)
        rise = joined["load"][kept:] - joined["load"][start]
        rows.column["rising"] = rise > RISE_SHARE * (load - self.declared_N)
        rows.column["may_lift"] = may_lift(rows, joined, kept)
        turned_s = self.places.turned_s
        phase = np.empty(len(rows), dtype=np.int8)
        empty = np.empty(len(rows))
        row = 0 if self.known else self._start(rows, load)
        phase[:row], empty[:row] = 0, self.empty_N
        looks = self.heard.looks(rows.time_us, load)
        while row < len(rows):
            stop = looks[0][0] if looks else len(rows)
            turn = self._next_turn(rows, (joined, kept), row, max(stop, row))
            phase[row:turn], empty[row:turn] = self.phase, self.empty_N
            self._listen(rows, load, slice(row, turn))
            if looks and turn == max(stop, row):
                self._look(looks.pop(0)[1])
                row = turn
                continue
            if turn == len(rows):
                break
            self._turn(rows, turn, joined, kept)
            phase[turn], empty[turn] = self.phase, self.empty_N
            # Slow data may go from slips to fully on within one row.
            row = turn if self.phase == 1 else turn + 1
        rows.column["phase"] = phase
        rows.column["block_lost"] |= self.places.frozen(rows, turned_s)
        rows.column["empty_N"] = empty

    def _listen(self, rows: Rows, load: Any, part: slice) -> None:
        """Remember one load a second of a spell in slips, once settled."""
        if self.phase != 0 or not self.known or part.stop <= part.start:
            return
        second = rows.time_us[part] // 1_000_000
        fresh = np.diff(np.concatenate(([self.second], second))) != 0
        self.second = int(second[-1])
        settled = fresh & (rows.time_s[part] >= self.since_s + SETTLE_S)
        values = load[part][settled]
        self.spell_N = [*self.spell_N, *values[np.isfinite(values)].tolist()][-SPELL_KEPT:]

    def _start(self, rows: Rows, load: Any) -> int:
        """Judge the first load of the record; return the row it stands in."""
        finite = np.flatnonzero(np.isfinite(load))
        row = int(finite[0]) if len(finite) else len(rows)
        depth = rows.channel("bit_depth")
        if not math.isfinite(self.depth_m) and depth is not None:
            seen = depth[: row + 1]
            seen = seen[np.isfinite(seen)]
            self.depth_m = float(seen[0]) if len(seen) else NAN
        if row == len(rows):
            return row
        if self.rig.string and self.depth_m > 0:
            weight = string_weight_N(
                self.rig.string, np.array([self.depth_m]), self.rig.mud_density_kg_m3
            )
            self.string_N = float(weight[0])
        self.known, self.phase = True, 0
        first = float(load[row])
        if first > 0.5 * sum(self.limits()):
            self.phase = 2
            self.level_N = first
            if not math.isfinite(self.string_N):
                self.string_N = first - self.empty_N
            block_m = float(np.nan_to_num(rows.column["block_m"][row]))
            rows.turns.append(Turn(row, "hanging", block_m, int(rows.time_us[row])))
        self._open_spell(rows, row)
        return row

    def _open_spell(self, rows: Rows, row: int) -> None:
        self.since_m = float(np.nan_to_num(rows.column["block_m"][row]))
        self.since_s = float(rows.time_s[row])
        self.spell_N = []
        self.spell_sum_N = float(rows.column["load_sum_N"][row])
        self.spell_count = float(rows.column["load_count"][row])

    def _look(self, heard: Any) -> None:
        """Move a level that the limits have lost."""
        levels = two_levels(heard[np.isfinite(heard)])
        if levels is None:
            return
        error = abs(levels.low_N - self.declared_N)
        into, out = self.limits()
        lost_low = self.phase == 2 and into < levels.low_N + levels.low_spread_N
        lost_high = self.phase == 0 and self._again_N(out) > levels.high_N - levels.high_spread_N
        if (lost_low or lost_high) and error < GREATEST_EMPTY_ERROR * self.declared_N:
            self.empties = [levels.low_N]
            self.empty_N = levels.low_N
            self.string_N, self.level_N = levels.high_N - levels.low_N, levels.high_N

    def _next_turn(
        self, rows: Rows, recent: tuple[dict[str, Any], int], row: int, stop: int
    ) -> int:
        if not self.known:
            return stop
        into, out = self.limits()
        time_s, load = rows.time_s, recent[0]["load"][recent[1] :]
        block = rows.column["block_m"]
        rising, lifts = rows.column["rising"], rows.column["may_lift"]
        turned = rows.column["turned_load_N"]
        speed = rows.column["quick_speed_m_s"]
        mid_stroke = rows.column["mid_stroke"]

        def leaves(part: slice) -> Any:
            if self.phase == 0:
                again = self._again_N(out)
                limit = np.where(self.places.is_at_set(block[part]), again, out)
                # In the midst of a stroke nothing is latched: less is friction or a stand.
                limit[mid_stroke[part]] = max(again, self._light_N())
                return ((load[part] > limit) & lifts[part]) | (turned[part] > limit)
            now = slice(recent[1] + part.start, recent[1] + part.stop)
            if self.phase == 2:
                low = load[part] < into
                middle_N = self.empty_N + 0.5 * self.string_N
                if low.any():
                    low &= is_let_go(recent[0], now, into, middle_N, speed[part])
                return low
            known = math.isfinite(self.level_N)
            done = (load[part] >= self._full_N(rows, part)) if known else ~rising[part]
            done |= is_flat(recent[0], now, self.empty_N) & (load[part] > out)
            late = time_s[part] - self.since_s > LONGEST_PICK_UP_S
            travelled = np.abs(block[part] - self.since_m) > LONGEST_PICK_UP_M
            return done | late | travelled | (load[part] < into)

        # A row that holds an older load tells nothing of who carries the string now.
        is_old = rows.column["load_is_old"]
        return first_true(lambda part: leaves(part) & ~is_old[part], row, stop)

    def _again_N(self, out_N: float) -> float:
        """Load from which the string just set here is taken again: it weighs what it did."""
        if not math.isfinite(self.level_N):
            return out_N
        return max(out_N, self.empty_N + AGAIN_SHARE * (self.level_N - self.empty_N))

    def _full_N(self, rows: Rows, at: slice | int) -> Any:
        """Load from which the string is fully on the hook."""
        is_heaving = rows.column.get("is_heaving")
        share: Any = FULLY_ON_SHARE
        if is_heaving is not None:
            share = np.where(is_heaving[at], HEAVING_ON_SHARE, FULLY_ON_SHARE)
        return self.empty_N + share * (self.level_N - self.empty_N)

    def _turn(self, rows: Rows, row: int, joined: dict[str, Any], kept: int) -> None:
        load = float(rows.column["smooth_load_N"][row])
        at = kept + row
        kind, block_m = "pick_up", float(np.nan_to_num(joined["block"][at]))
        stood = Stood(
            float(rows.column["block_unchanged_s"][row]), self.give.usual_m(), self._is_heavy()
        )
        leaps = float(rows.column["leaps"][row])
        seen = True
        if self.phase == 0:
            self._learn_empty()
            self.phase = 1
        elif load < self.limits()[0]:
            if self.phase == 2:
                into = self.limits()[0]
                # A light load gone while the block goes on up was inertia and friction of
                # the stroke, and the string was set before it.
                if into < self._light_N() and rises_on(joined, at, into):
                    block_m -= float(rows.column["run_travel_m"][row])
                else:
                    block_m = self._came_off(rows, row, joined, at)
                    block_m, seen = self.places.set_at(joined, at, into, block_m, stood, leaps)
            self.phase, kind = 0, "set"
        else:
            block_m = self._fully_on(joined, at)
            full_N = self.level_N if math.isfinite(self.level_N) else load
            passed_N = self.empty_N + MOST_PART * (full_N - self.empty_N)
            block_m, seen = self.places.taken_at(joined, at, passed_N, block_m, stood, leaps)
            self.phase, kind = 2, "hanging"
            if not math.isfinite(self.string_N):
                self.string_N = load - self.empty_N
        rows.turns.append(Turn(row, kind, block_m, int(rows.time_us[row]), seen))
        self._open_spell(rows, row)

    def _fully_on(self, joined: dict[str, Any], at: int) -> float:
        """Block position when the load was fully on."""
        times, raw, block = known_rows(
            joined, times_from=joined["time_s"][at] - LOOK_BACK_S, at=at
        )
        # The row that tells may be one whose load is not believed yet.
        level = self.level_N if math.isfinite(self.level_N) else float(np.max(raw, initial=0.0))
        empty = np.flatnonzero(raw[:-1] < self.limits()[0])
        if not len(empty):
            return float(np.nan_to_num(joined["block"][at]))
        span = slice(int(empty[-1]), None)
        level = level_taken_N(raw[span], block[span], level, self.empty_N, self.limits()[1])
        part = (raw[span] - self.empty_N) / (level - self.empty_N)
        usual_m = self.give.usual_m()
        block_m, give_m = fully_on_m(times[span], part, block[span], TRANSMITTER_LAG_S, usual_m)
        self.give.learn(give_m)
        return block_m if math.isfinite(block_m) else float(np.nan_to_num(joined["block"][at]))

    def _light_N(self) -> float:
        """Load up to which the block may be empty but for what hangs in the elevators."""
        return self.empty_N + hung_N(self.empty_N, self.swing)

    def _is_heavy(self) -> bool:
        """Whether load alone tells the string from friction and what may hang beside it."""
        return self.level_N - self.empty_N > SURE_TIMES * hung_N(self.empty_N, self.swing)

    def _learn_empty(self) -> None:
        """Take the empty level from the spell that ends: its low side after settling."""
        low = low_N(self.spell_N)
        if not abs(low - self.declared_N) <= GREATEST_EMPTY_ERROR * self.declared_N:
            return
        self.empties = [*self.empties, low][-EMPTY_SPELLS:]
        self.empty_N = float(np.median(np.array(self.empties)))

    def _came_off(self, rows: Rows, row: int, joined: dict[str, Any], at: int) -> float:
        """Block position when the load began to come off; learns the string's level."""
        times, load, block = joined["time_s"], joined["load"], joined["block"]
        count = float(rows.column["load_count"][row]) - self.spell_count
        if count > 0:
            spell = (float(rows.column["load_sum_N"][row]) - self.spell_sum_N) / count
            least = np.nan_to_num(LEAST_OF_LAST * self.string_N)
            self.string_N = max(spell - self.empty_N, 0.02 * self.empty_N, float(least))
        middle = self.empty_N + 0.5 * self.string_N
        first = int(np.searchsorted(times, max(self.since_s, times[at] - LOOK_BACK_S)))
        above = np.flatnonzero(load[first:at] > middle)
        if not len(above):
            return float(np.nan_to_num(block[at]))
        crossing = first + int(above[-1])
        ends_s = times[crossing] - np.array([LEVEL_FROM_S, LEVEL_TO_S])
        since, until = np.searchsorted(times, ends_s).tolist()
        span = slice(max(first, min(since, crossing - LEVEL_ROWS)), until + 1)
        before = load[span][np.isfinite(load[span])]
        self.level_N = float(np.median(before) if len(before) else load[crossing])
        full = float(self._full_N(rows, row))
        times, raw, block = known_rows(joined, times[first], at)
        loaded = np.flatnonzero(raw[:-1] >= full)
        if not len(loaded):
            return float(np.nan_to_num(joined["block"][crossing]))
        span = slice(int(loaded[-1]), None)
        part = (raw[span] - self.empty_N) / (self.level_N - self.empty_N)
        usual_m = self.give.usual_m()
        block_m, give_m = came_off_m(times[span], part, block[span], TRANSMITTER_LAG_S, usual_m)
        self.give.learn(give_m)
        return block_m
