"""What people say of the hoist, checked and kept: lines, gear, duty, cuts, states.

The last stage: it changes no figure of a row, only which alarms are held. The acts pass
through ``taken`` before any stage sees them, so a refused one changes nothing anywhere.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from monitor import units
from monitor.interpret.hoist_acts import EmptyBlock, HoistNow, refusal
from monitor.interpret.slip_mode import SlipAndCut
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.standard_work import StandardWork
from monitor.interpret.windows import forward_fill
from monitor.mechanics.ratings import InUse, in_use_at_first
from monitor.model import Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# The empty block is read from this long after slips are set.
SETTLE_S = 5.0
# A gear's own weight is taken from the reading where both agree within this share.
SAME_GEAR_SHARE = 0.03
# Rate of line work: from a mark every ten minutes over the last twelve hours.
MARK_US = 600_000_000
MARKS_KEPT = 73
REFUSALS_KEPT = 3
REFUSED_KEPT = 50
SHOWN = {
    "load_N": "hook_load_N",
    "half_width_N": "hook_load_half_width_N",
    "friction_state": "friction_state",
    "friction_known": "friction_known",
    "speed_m_s": "block_speed_m_s",
    "depth_m": "bit_depth_m",
    "phase": "phase",
}


class Hoist(Stage):
    """Lines strung, gear and its weight, duty, states, line work since the last cut."""

    STATE = (
        "lines_strung",
        "travelling_weight_N",
        "gear",
        "duty",
        "compensator",
        "rotation_lock",
        "positioner",
        "slip",
        "standard",
        "work_J",
        "cut_at_J",
        "before_J",
        "cuts",
        "marks",
        "mark",
        "wraps",
        "wraps_at_m",
        "set_s",
        "empty_N",
        "empty_half_N",
        "empty_us",
        "slips_N",
        "slips_us",
        "present",
        "now_us",
        "block_m",
        "stroke_m",
        "refusals",
        "refused",
    )

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        first = in_use_at_first(rig)
        self.lines_strung = first.lines_strung
        self.travelling_weight_N = first.travelling_weight_N
        self.gear = first.gear
        self.duty = first.duty
        self.compensator = first.compensator
        self.rotation_lock = "" if rig.hook is None else rig.hook.rotation_lock
        self.positioner = "" if rig.hook is None else rig.hook.positioner
        self.slip = SlipAndCut(rig.line_work.time_limit_s)
        self.standard = StandardWork(rig)
        self.work_J = 0.0
        self.cut_at_J = 0.0
        self.before_J = rig.line_work.since_cut_J  # done before the record began
        self.cuts: list[list[float]] = []  # time_us, length_m, work since the cut before
        self.marks: list[list[float]] = []  # time_us and line work
        self.mark = 0
        drum = rig.drum
        counted = drum is not None and drum.line_on_drum_m is not None
        # Wraps counted by people since: count and block height. Before, the rig file's.
        self.wraps = NAN
        self.wraps_at_m = NAN if drum is None or not counted else drum.at_block_height_m
        self.set_s = NAN
        self.empty_N = NAN
        self.empty_half_N = NAN
        self.empty_us = 0
        self.slips_N = NAN
        self.slips_us = 0
        self.present = dict.fromkeys(SHOWN, NAN)
        self.now_us = 0
        self.block_m = NAN
        self.stroke_m = NAN
        self.refusals: list[str] = []  # since the last act that was taken
        self.refused: list[str] = []

    def in_use(self) -> InUse:
        """What the limits depend on, as it is now."""
        return InUse(
            self.lines_strung, self.travelling_weight_N, self.gear, self.duty, self.compensator
        )

    @property
    def since_cut_J(self) -> float:
        """Line work since the last cut."""
        return self.before_J + self.work_J - self.cut_at_J

    def _now(self) -> HoistNow:
        return HoistNow(
            in_use=self.in_use(),
            empty=EmptyBlock(self.empty_N, self.empty_half_N, self.empty_us),
            phase=self.present["phase"],
            slip_mode=self.slip.mode,
        )

    def refusal(self, command: Command) -> str:
        """Why an act cannot be taken now; empty where it can."""
        return refusal(self.rig, self._now(), command)

    def taken(self, command: Command, why: str = "") -> tuple[Command, ...]:
        """Acts that the stages are to see: none where refused, a gear with its weight.

        ``why``: another stage's reason for refusing.
        """
        why = why or self.refusal(command)
        if why:
            self.refusals = [*self.refusals, why][-REFUSALS_KEPT:]
            told = f"{units.iso_utc(command.time_us)} {why}"
            self.refused = [*self.refused, told][-REFUSED_KEPT:]
            return ()
        if command.act in ("lines_strung", "gear", "slip_and_cut", "duty", "compensator"):
            self.refusals = []
        if command.act != "gear":
            return (command,)
        weight_N = self._gear_weight_N(command)
        return command, replace(command, act="travelling_weight", number=weight_N)

    def _gear_weight_N(self, command: Command) -> float:
        """Weight said, else what the empty block reads where it is about the gear's own."""
        if math.isfinite(command.number):
            return command.number
        name = command.text.strip().replace("_", " ")
        own_N = next(gear.weight_N for gear in self.rig.gear if gear.name == name)
        read = EmptyBlock(self.slips_N, 0.0, self.slips_us)
        is_same = read.is_fresh(command.time_us) and (
            abs(read.load_N / own_N - 1.0) <= SAME_GEAR_SHARE
        )
        return read.load_N if is_same else own_N

    def command(self, command: Command) -> None:
        """Take an act that ``taken`` let through."""
        act, text = command.act, command.text.strip()
        if act == "lines_strung" and math.isfinite(command.number):
            if int(command.number) != self.lines_strung:
                self.wraps = self.wraps_at_m = NAN
            self.lines_strung = int(command.number)
            self.empty_N = self.slips_N = NAN
            self.slip.confirm("line count")
        elif act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number
        elif act == "gear":
            self.gear = text.replace("_", " ")
            self.duty = next(each.duty for each in self.rig.gear if each.name == self.gear)
            self.empty_N = self.slips_N = NAN
        elif act == "duty":
            self.duty = text
        elif act == "compensator":
            self.compensator = text
        elif act == "preparation":
            name, state = (part.strip() for part in text.split(":", 1))
            setattr(self, name.replace(" ", "_"), state)
        elif act == "slip_and_cut":
            self._slip_and_cut(command)

    def _slip_and_cut(self, command: Command) -> None:
        word, _, rest = command.text.strip().partition(" ")
        if word == "begin":
            self.slip.begin(command)
            self.empty_N = self.slips_N = NAN
        elif word == "cancel":
            self.slip.cancel(command)
        elif word == "confirm":
            what, _, count = rest.strip().partition(" ")
            if what == "wraps":
                self.wraps, self.wraps_at_m = float(count), self.block_m
                self.slip.confirm("wraps")
            else:
                self.slip.confirm(rest.strip())
        else:  # the end, with the length cut where it was written
            length_m = command.number
            if not math.isfinite(length_m):
                length_m = self.rig.line_work.cut_length_m or NAN
            cut = [float(command.time_us), length_m, self.since_cut_J]
            self.cuts = [*self.cuts, cut]
            self.cut_at_J, self.before_J = self.work_J, 0.0
            self.wraps = self.wraps_at_m = NAN
            self.empty_N = self.slips_N = NAN
            self.slip.end(command)

    def step(self, rows: Rows) -> None:
        """Follow line work, the empty block and slip-and-cut mode; hold alarms."""
        self.slip.step(rows, self.travelling_weight_N)
        rows.events[:] = [self.slip.held_event(event) for event in rows.events]
        self.work_J = float(rows.column["line_work_J"][-1])
        gear = next((each for each in self.rig.gear if each.name == self.gear), None)
        work = rows.column["line_work_J"]
        self.standard.take(
            rows.trip_rows,
            self.travelling_weight_N,
            gear,
            lambda time_us: float(work[np.searchsorted(rows.time_us, time_us, "right") - 1]),
        )
        self._mark_work(rows)
        self._read_empty(rows)
        self._remember(rows)

    def _mark_work(self, rows: Rows) -> None:
        mark = rows.time_us // MARK_US
        fresh = np.flatnonzero(np.diff(np.concatenate(([self.mark], mark))))
        self.mark = int(mark[-1])
        work = rows.column["line_work_J"]
        marks = [[float(rows.time_us[row]), float(work[row])] for row in fresh.tolist()]
        self.marks = [*self.marks, *marks][-MARKS_KEPT:]

    def _read_empty(self, rows: Rows) -> None:
        """Remember what the block reads in slips, and with nothing in the elevators.

        Heavier gear just hung on cannot be told from pipe in the elevators.
        """
        column = rows.column
        is_set = np.zeros(len(rows), dtype=bool)
        for turn in rows.turns:
            if turn.kind == "set":
                is_set[turn.row] = True
        if not math.isfinite(self.set_s):
            is_set[0] = True
        set_s: Floats = forward_fill(self.set_s, rows.time_s, is_set)
        self.set_s = float(set_s[-1])
        load = column["smooth_load_N"]
        settled = (
            (column["phase"] == 0)
            & (rows.time_s - set_s >= SETTLE_S)
            & np.isfinite(load)
            & (rows.time_us >= self.slip.kept_until_us)
        )
        if settled.any():
            row = int(np.flatnonzero(settled)[-1])
            self.slips_N, self.slips_us = float(load[row]), int(rows.time_us[row])
        empty = np.flatnonzero(settled & ~column["holding"])
        if len(empty):
            row = int(empty[-1])
            self.empty_N = float(load[row])
            self.empty_half_N = float(column["half_width_but_zero_N"][row])
            self.empty_us = int(rows.time_us[row])

    def _remember(self, rows: Rows) -> None:
        """Keep the last figures for the screen."""
        self.now_us = int(rows.time_us[-1])
        self.present = {name: float(rows.column[key][-1]) for name, key in SHOWN.items()}
        for name, attribute in (("block_position", "block_m"), ("compensator_stroke", "stroke_m")):
            values = rows.channel(name)
            if values is not None and np.isfinite(values).any():
                last = int(np.flatnonzero(np.isfinite(values))[-1])
                setattr(self, attribute, float(values[last]))
