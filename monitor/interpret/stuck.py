"""Stuck pipe: the string does not follow the block. Its spells, events and free length.

Worked from one-second means. A spell begins where a pull that the string was held against
left the free hoisting weight; it ends when the string has moved freely again, or in slips.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.hold import HangingSecond, Hold, Reference
from monitor.interpret.jarring import Jarring, blow_event
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tracker import confidence
from monitor.interpret.windows import Tail, first_true
from monitor.mechanics.free_point import free_point
from monitor.mechanics.pipe import string_weight_N
from monitor.mechanics.stretch import stretch_m
from monitor.model import Command, Event, Floats
from monitor.rig.rig import Rig, Section

NAN = float("nan")

# How far back the beginning of a pull is looked for: 0.2 m of stretch takes 20 s at 1 cm/s.
LOOK_BACK_S = 60.0
# Within this share of the overpull limit the string weighs what a free one does.
NEAR_FREE_SHARE = 0.25
# Friction turns over by this share of the string's weight where nothing tells it better,
# and by no less and no more than these (common practice in straight to deviated holes).
USUAL_SWING = 0.15
LEAST_SWING_N = 40e3
GREATEST_SWING = 0.40
# A string that is not described: 3 1/2 in pipe, the softest in usual deep use, and depth.
USUAL_STRING = (Section("drill pipe", None, 0.0889, 0.0702, 225.0),)
USUAL_DEPTH_M = 3000.0
# Block heights that a mast can have; beyond, the counter is not set to the rig floor.
GREATEST_BLOCK_M = 45.0
USUAL_BLOCK_M = 15.0
# Spells kept of one record; no record seen has more than a few.
MOST_SPELLS = 200

PEAK = ("peak_N", "peak_us", "load_N")
COLUMNS = (
    "time_s",
    "time_us",
    "block_m",
    "load_N",
    "speed_m_s",
    "friction",
    "up_N",
    "down_N",
    "depth_m",
    "band_N",
    "hanging",
)


class Stuck(Stage):
    """Raises ``stuck`` and keeps every spell with the compliances of its pulls."""

    STATE = (
        "travelling_weight_N",
        "mud_density_kg_m3",
        "recent",
        "hold",
        "spell",
        "armed",
        "spells",
        "jarring",
    )

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.travelling_weight_N = rig.travelling_weight_N
        self.mud_density_kg_m3 = NAN if rig.mud_density_kg_m3 is None else rig.mud_density_kg_m3
        self.recent = Tail(COLUMNS, LOOK_BACK_S, 1)
        self.hold = Hold()
        self.jarring = Jarring()
        # On a floating rig the vessel's heave makes steps of its own in the load.
        self.can_jar = rig.compensator is None
        self.spell: dict[str, Any] = {}
        self.armed = True
        self.spells: list[dict[str, Any]] = []  # those that ended
        self.changed: dict[str, Event] = {}  # within one step only

    def gap(self) -> None:
        """Pulls do not reach across a gap; a stuck string is still stuck after it."""
        self.recent.clear()
        self._interrupt()

    def command(self, command: Command) -> None:
        """Other gear changes what every load means."""
        if command.act == "mud_density" and math.isfinite(command.number):
            self.mud_density_kg_m3 = command.number
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number
        if command.act in ("lines_strung", "travelling_weight"):
            self.recent.clear()
            self._interrupt()

    def _interrupt(self) -> None:
        self.jarring.reset()
        if self.hold.stuck:
            self.hold.cut()
        else:
            self.hold.reset()

    def step(self, rows: Rows) -> None:
        """Follow the seconds that became known in these rows."""
        rows.mark_open("stuck", 0, is_open=self.hold.stuck)
        if rows.blocks is None or not len(rows.blocks):
            return
        table, first = self.recent.join(_table(rows))
        known_at = [0] * first + rows.blocks.known_at.tolist()
        with np.errstate(invalid="ignore"):
            over = (table["hanging"] > 0) & (table["speed_m_s"] > 0.0)
            over &= table["load_N"] - table["up_N"] > self.rig.events.overpull_N
        index = first
        while index < len(over):
            if self.hold.active:
                self._follow(rows, table, index, known_at[index])
                rows.mark_open("stuck", known_at[index], is_open=self.hold.stuck)
                index += 1
                continue
            if not self.armed:
                # The load must have been back once: a trend that is off is no new pull.
                index = first_true(lambda part: ~over[part], index, len(over))
                self.armed = index < len(over)
            index = first_true(lambda part: over[part], index, len(over))
            if index < len(over):
                self._begin(table, index)
        rows.events.extend(self.changed.values())
        self.changed = {}

    def _begin(self, table: dict[str, Floats], index: int) -> None:
        """Find where the load left the free hoisting weight, and follow on from there."""
        up, limits = table["up_N"], self.rig.events
        start = self._origin(table, index)
        depth = float(table["depth_m"][start])
        block = float(table["block_m"][index])
        above = block if 0.0 <= block <= GREATEST_BLOCK_M else USUAL_BLOCK_M
        reference = Reference(
            up_N=float(up[index]),
            down_N=float(table["down_N"][index]),
            swing_N=self._swing_N(float(up[index]), float(table["down_N"][index]), depth),
            compliance_m_N=self._compliance_m_N(depth, above),
            pull_limit_N=limits.overpull_N,
            set_down_limit_N=limits.slack_off_N,
        )
        self.hold.begin(reference, _second(table, start))
        self.spell = {"depth_m": depth, "above_floor_m": above}
        for earlier in range(start + 1, index):
            self.hold.remember(_second(table, earlier))

    def _origin(self, table: dict[str, Floats], index: int) -> int:
        """Last second before this pull at which the string weighed what a free one does."""
        close = NEAR_FREE_SHARE * self.rig.events.overpull_N
        earliest = table["time_s"][index] - LOOK_BACK_S
        start = index
        while (
            start > 0
            and table["load_N"][start] - table["up_N"][start] > close
            and table["hanging"][start - 1] > 0
            and table["time_s"][start - 1] >= earliest
        ):
            start -= 1
        return start

    def _swing_N(self, up_N: float, down_N: float, depth_m: float) -> float:
        gear_N, mud = self.travelling_weight_N, self.mud_density_kg_m3
        return friction_swing_N(self.rig, up_N, down_N, depth_m, gear_N, mud)

    def _compliance_m_N(self, depth_m: float, above_m: float) -> float:
        return held_compliance_m_N(self.rig, depth_m, above_m)

    def _follow(self, rows: Rows, table: dict[str, Floats], index: int, row: int) -> None:
        hanging = float(table["hanging"][index])
        if hanging == 0.0:
            self._close(int(table["time_us"][index]), int(rows.time_us[row]))
        if not hanging > 0.0:
            return
        if not math.isfinite(self.spell["depth_m"]):
            self.spell["depth_m"] = float(table["depth_m"][index])
        known = self.hold.follow(_second(table, index))
        if known == "stuck":
            self._raise(rows, row, float(table["band_N"][index]))
        self._blows(rows, row, _second(table, index), float(table["band_N"][index]))
        if self.hold.stuck and self.hold.last.pop("moved", False):
            self.spell.update({key: self.hold.last[key] for key in PEAK})
            self._tell()
        if known in ("free", "forgotten"):
            self._close(self.hold.last["held_us"], int(rows.time_us[row]))

    def _blows(self, rows: Rows, row: int, second: HangingSecond, band_N: float) -> None:
        """Raise the jar blow that this second makes known."""
        if not (self.hold.stuck and self.can_jar):
            self.jarring.reset()
            return
        held = self.hold.reference
        down = held["down_N"]
        low = down if math.isfinite(down) else held["up_N"] - held["swing_N"]
        blow = self.jarring.follow(second, (held["up_N"], low), held["compliance_m_N"])
        if blow is not None:
            place = (int(rows.seq[row]), int(rows.time_us[row]), self.spell["depth_m"])
            event = blow_event(blow, place, band_N)
            self.changed[event.id] = event

    def _raise(self, rows: Rows, row: int, band_N: float) -> None:
        self.spell.update(
            seq=int(rows.seq[row]),
            start_us=self.hold.last["start_us"],
            raised_us=int(rows.time_us[row]),
            end_us=None,
            up_N=self.hold.reference["up_N"],
            band_N=band_N,
        )
        self.spell.update({key: self.hold.last[key] for key in PEAK})
        self._tell()

    def _tell(self) -> None:
        event = _event(self.spell, self.rig.events.overpull_N)
        self.changed[event.id] = event

    def _close(self, end_us: int, known_us: int) -> None:
        """The string is free, or in slips: the spell keeps what its pulls told."""
        self.hold.cut()
        if self.hold.stuck:
            self.spell.update(end_us=end_us, end_known_us=known_us, length_m=self._length_m())
            self.spells = [*self.spells, self.spell][-MOST_SPELLS:]
            self._tell()
        self.hold.reset()
        self.jarring.reset()
        self.spell, self.armed = {}, False

    def found(self) -> list[dict[str, Any]]:
        """Every spell with the free length its pulls tell so far, for the summary."""
        present = [{**self.spell, "length_m": self._length_m()}] if self.hold.stuck else []
        return [
            {
                "start_us": spell["start_us"],
                "end_us": spell["end_us"],
                **{name: _metres(length_m) for name, length_m in spell["length_m"].items()},
            }
            for spell in [*self.spells, *present]
        ]

    def _length_m(self) -> dict[str, float]:
        """Free length and its interval as the contract names them, from the pulls so far."""
        point = free_point(
            self.hold.legs["pulling"],
            self.hold.legs["slacking"],
            self.rig.string,
            self.spell["depth_m"],
            above_floor_m=self.spell["above_floor_m"],
            hoist_compliance_m_N=self.rig.hoist_compliance_m_N,
            pipe=self.rig.pipe,
        )
        return {
            "free_length_m": point.free_length_m,
            "low_m": point.low_m,
            "high_m": point.high_m,
        }


def friction_swing_N(
    rig: Rig,
    up_N: float,
    down_N: float,
    depth_m: float,
    travelling_weight_N: float,
    mud_density_kg_m3: float,
) -> float:
    """How far the load goes while hole friction turns from up to down."""
    string = max(up_N - travelling_weight_N, 0.0)
    swing = up_N - down_N
    if not math.isfinite(swing):
        swing = USUAL_SWING * string
        if rig.string and math.isfinite(mud_density_kg_m3) and depth_m > 0.0:
            still = float(string_weight_N(rig.string, depth_m, mud_density_kg_m3))
            swing = max(swing, 2.0 * (string - still))
    return min(max(swing, LEAST_SWING_N), max(GREATEST_SWING * string, LEAST_SWING_N))


def held_compliance_m_N(rig: Rig, depth_m: float, above_floor_m: float) -> float:
    """Block travel per load of the whole string held at its bit, line and mast included."""
    depth = depth_m if depth_m > 0.0 else USUAL_DEPTH_M
    string = rig.string or USUAL_STRING
    return stretch_m(1.0, string, depth + above_floor_m) + rig.hoist_compliance_m_N


def _table(rows: Rows) -> dict[str, Any]:
    """One value a second of what the stage reads; expected loads as known with the second."""
    blocks = rows.blocks
    if blocks is None:
        return {}
    at = blocks.known_at
    load, block = blocks.mean["hook_load_N"], blocks.mean["block_m"]
    known = np.isfinite(load) & np.isfinite(block)
    return {
        "time_s": (blocks.start_us - rows.origin_us) / 1e6,
        "block_m": block,
        "load_N": load,
        "speed_m_s": blocks.mean["block_speed_m_s"],
        "friction": blocks.mean["friction_state"],
        "up_N": (rows.column["expected_up_N"] - rows.column["inertia_N"])[at],
        "down_N": (rows.column["expected_down_N"] - rows.column["inertia_N"])[at],
        "depth_m": blocks.last["bit_depth_m"],
        "band_N": rows.column["band_N"][at],
        # Neither where load or block are not known for the whole second.
        "hanging": np.where(known, blocks.low["phase"] == 2, NAN),
        "time_us": blocks.start_us,
    }


def _second(table: dict[str, Any], index: int) -> HangingSecond:
    return HangingSecond(
        int(table["time_us"][index]),
        float(table["block_m"][index]),
        float(table["load_N"][index]),
        float(table["speed_m_s"][index]),
        float(table["friction"][index]),
    )


def _event(spell: dict[str, Any], limit_N: float) -> Event:
    spread_N = max(spell["band_N"] / 2.0 if math.isfinite(spell["band_N"]) else 0.0, 1.0)
    return Event(
        seq=spell["seq"],
        kind="stuck",
        start_us=spell["start_us"],
        raised_us=spell["raised_us"],
        end_us=spell["end_us"],
        peak_time_us=spell["peak_us"],
        bit_depth_m=spell["depth_m"],
        peak_hook_load_N=spell["load_N"],
        expected_hook_load_N=spell["up_N"],
        peak_excess_N=spell["peak_N"],
        confidence=confidence(spell["peak_N"] - limit_N, spread_N),
        why="load follows block travel as steeply as a held string stretches",
        alarm=True,
        end_known_us=spell.get("end_known_us"),
    )


def _metres(length_m: float) -> float | None:
    return round(length_m, 1) if math.isfinite(length_m) else None
