"""The mode of working stuck pipe: entered by a person, proposed when ``stuck`` is raised.

While it lasts the sound is held except over a rating, near the crown and near the floor;
pulls and set-downs are counted and their extremes kept. It ends itself once the string has
travelled freely. It advises; what may be pulled is for those who agreed it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.excursion import Excursion, FreeTravel
from monitor.interpret.jar import JarState
from monitor.interpret.known import known_or_none
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.stuck import friction_swing_N
from monitor.interpret.tracker import DEADBAND_N
from monitor.model import AlarmChange, Command, Floats
from monitor.rig.rig import Rig

NAN = float("nan")

# The string has followed the block so far at the load of a free one: longer than any stroke
# of a held string (stretch of some metres), shorter than a stand.
FREE_TRAVEL_M = 10.0
WORDS = ("begin", "end", "not now")


class StuckMode(Stage):
    """Begin and end, what was pulled and set down, the jar, and travel once free."""

    STATE = (
        "travelling_weight_N",
        "mud_density_kg_m3",
        "is_on",
        "since_us",
        "who",
        "agreed_N",
        "agreed_by",
        "reference",
        "pulls",
        "set_downs",
        "travel",
        "jar",
        "stuck_seq",
        "stuck_is_open",
        "answered_seq",
        "ended_us",
        "ended_why",
        "last",
    )

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.travelling_weight_N = rig.travelling_weight_N
        self.mud_density_kg_m3 = NAN if rig.mud_density_kg_m3 is None else rig.mud_density_kg_m3
        self.is_on = False
        self.since_us = 0
        self.who = ""
        self.agreed_N = NAN
        self.agreed_by = ""
        # Free weights as known when the mode began; kept, since pulls must not teach them.
        self.reference: dict[str, float] = {}
        self.pulls = Excursion(1.0, DEADBAND_N)
        self.set_downs = Excursion(-1.0, DEADBAND_N)
        self.travel = FreeTravel()
        self.jar = JarState(rig.jar, DEADBAND_N)
        self.stuck_seq = 0  # of the newest event, whether it is open, and the last answered
        self.stuck_is_open = False
        self.answered_seq = 0
        self.ended_us = 0
        self.ended_why = ""
        self.last = {"pull_N": NAN, "set_down_N": NAN, "pulls": 0}
        self.journal: list[AlarmChange] = []  # within one feed only

    def drain(self) -> list[AlarmChange]:
        """Give what changed since the last call."""
        journal, self.journal = self.journal, []
        return journal

    def gap(self) -> None:
        """What the string did in a gap was not seen."""
        self.travel.forget()

    def refusal(self, command: Command) -> str:
        """Why an act cannot be taken now; empty where it can."""
        if command.act != "stuck_mode":
            return ""
        word = command.text.strip()
        if word not in WORDS:
            return f"stuck mode {word!r} refused: {', '.join(WORDS)} are expected"
        if word == "begin" and self.is_on:
            return "stuck mode refused: it has begun already"
        if word == "end" and not self.is_on:
            return "stuck mode refused: it is not on"
        return ""

    def command(self, command: Command) -> None:
        """Begin, end, or answer the proposal."""
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number
        if command.act == "mud_density" and math.isfinite(command.number):
            self.mud_density_kg_m3 = command.number
        if command.act != "stuck_mode":
            return
        self.answered_seq = self.stuck_seq
        word = command.text.strip()
        if word == "begin":
            self._begin(command)
        elif word == "end":
            self._end(command.seq, command.time_us, "ended by a person", command.who)

    def _begin(self, command: Command) -> None:
        agreed = self.rig.agreed
        self.is_on, self.since_us, self.who = True, command.time_us, command.who
        self.agreed_N, self.agreed_by = command.number, command.who
        if not math.isfinite(command.number) and agreed.greatest_pull_N is not None:
            self.agreed_N = agreed.greatest_pull_N
            self.agreed_by = ", ".join(part for part in (agreed.who, agreed.when) if part)
        self.reference = {}
        self.pulls = Excursion(1.0, DEADBAND_N)
        self.set_downs = Excursion(-1.0, DEADBAND_N)
        self.travel.forget()
        self.jar.reset()
        self.last = {"pull_N": NAN, "set_down_N": NAN, "pulls": 0}
        self._tell(command.seq, command.time_us, "off", "on", "", command.who)

    def _end(self, seq: int, time_us: int, why: str, who: str = "") -> None:
        self.is_on, self.ended_us, self.ended_why = False, time_us, why
        self._tell(seq, time_us, "on", "off", why, who)

    def _tell(self, seq: int, time_us: int, before: str, after: str, cause: str, who: str) -> None:
        self.journal.append(AlarmChange(seq, "stuck_mode", time_us, before, after, cause, who))

    def step(self, rows: Rows) -> None:
        """Follow the string through the rows while the mode is on."""
        for event in rows.events:
            if event.kind == "stuck" and event.seq >= self.stuck_seq:
                self.stuck_seq = event.seq
        self.stuck_is_open = "stuck" in rows.open and bool(rows.open["stuck"][-1])
        length, column = len(rows), rows.column
        column["working_stuck"] = np.zeros(length, dtype=bool)
        column["last_pull_N"], column["last_set_down_N"] = np.full((2, length), NAN)
        column["pulls"] = np.zeros(length, dtype=np.int64)
        if not self.is_on:
            return
        first = self._learn(rows)
        if first == length:
            column["working_stuck"][:] = True
            return
        self._work(rows, first)

    def _learn(self, rows: Rows) -> int:
        """Free weights of the string, once anything of them is known; row from which on."""
        if self.reference:
            return 0
        column = rows.column
        load = np.where(column["phase"] == 2, column["hook_load_N"], NAN)
        known = np.isfinite(load)
        if not known.any():
            return len(rows)
        row = int(np.argmax(known))
        up_N, down_N = (float(column[f"expected_{way}_N"][row]) for way in ("up", "down"))
        if not math.isfinite(up_N):
            # Before anything is learnt: the other weight, else what hung there at the start.
            up_N = down_N if math.isfinite(down_N) else float(load[row])
        if not math.isfinite(down_N):
            depth_m, gear_N = float(column["bit_depth_m"][row]), self.travelling_weight_N
            mud = self.mud_density_kg_m3
            down_N = up_N - friction_swing_N(self.rig, up_N, down_N, depth_m, gear_N, mud)
        self.reference = {"up_N": up_N, "down_N": down_N}
        return row

    def _work(self, rows: Rows, first: int) -> None:
        column, limits = rows.column, self.rig.events
        load: Floats = np.where(column["phase"] == 2, column["hook_load_N"], NAN)
        away = column["phase"] == 0
        up, down = self.reference["up_N"], self.reference["down_N"]
        pull, n_pulls, pulling = self.pulls.follow(load, up + limits.overpull_N, away)
        set_down, _, setting = self.set_downs.follow(load, down - limits.slack_off_N, away)
        held = pulling | setting | (column["phase"] != 2)
        held[:first] = True
        end = self.travel.end_row(column["block_m"], held, FREE_TRAVEL_M)
        self.jar.follow(rows, load, end)
        column["working_stuck"][:end] = True
        column["last_pull_N"][:end] = pull[:end]
        column["last_set_down_N"][:end] = set_down[:end]
        column["pulls"][:end] = n_pulls[:end]
        last = min(end, len(rows) - 1)
        self.last = {
            "pull_N": float(pull[last]),
            "set_down_N": float(set_down[last]),
            "pulls": int(n_pulls[last]),
        }
        if end < len(rows):
            why = f"the string has travelled {FREE_TRAVEL_M:g} m freely"
            self._end(int(rows.seq[end]), int(rows.time_us[end]), why)

    def status(self) -> dict[str, Any]:
        """What the screen shows of the mode, and whether it is proposed."""
        pull_N = self.last["pull_N"]
        over = pull_N > self.agreed_N  # false where either is not known
        return {
            "on": self.is_on,
            "proposed": not self.is_on
            and self.stuck_is_open
            and self.stuck_seq > self.answered_seq,
            "since_us": self.since_us if self.is_on else None,
            "who": self.who,
            "agreed_pull_N": known_or_none(self.agreed_N),
            "agreed_by": self.agreed_by,
            "usual_agreed_N": self.rig.agreed.greatest_pull_N,
            "over_agreed": over,
            "pulls": self.last["pulls"],
            "pulling": self.is_on and self.pulls.inside,
            "setting_down": self.is_on and self.set_downs.inside,
            "last_pull_N": known_or_none(pull_N),
            "last_set_down_N": known_or_none(self.last["set_down_N"]),
            "free_travel_m": self.travel.travel_m,
            "free_travel_ends_m": FREE_TRAVEL_M,
            "jar": self.jar.status(),
            "ended_us": self.ended_us or None,
            "ended_why": self.ended_why,
        }
