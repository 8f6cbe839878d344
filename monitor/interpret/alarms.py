"""Alarms: what asks for an answer, its state, and whether it sounds.

A causal stage after the published alarm-management standard (ISA-18.2 / IEC 62682): every
change of state is told with its data time, by rows and people's acts alone, so that replay
and restart give the same. It advises and replaces no crown or floor saver.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from monitor.interpret.agreed import AgreedLimits
from monitor.interpret.alarm_acts import NO_SAVER, named_kind, reason_of, refusal
from monitor.interpret.alarm_kinds import ACT_NOW_KINDS, ALARM_KINDS, AT_ONCE_S
from monitor.interpret.alarm_limits import load_condition
from monitor.interpret.alarm_sound import Flood, Sounding, sounding
from monitor.interpret.alarm_state import NOT_SEEN, PRESENT, AlarmPoint, Delay, Flags
from monitor.interpret.slip_mode import HELD
from monitor.interpret.stage import Rows, Stage
from monitor.model import Alarm, AlarmChange, Command, Event
from monitor.rig.alarming import NEVER_PUT_ASIDE
from monitor.rig.rig import Rig

NAN = float("nan")

# Order of what happens in one row: a mode that begins comes before what it holds.
SUPPRESS, CONDITION, RELEASE, DEADLINE = range(4)
Edge = tuple[int, int, int, str, str]  # row, order, place of the kind, what, kind


@dataclass(frozen=True, slots=True)
class Moment:
    """A row or an act at which something happens to an alarm."""

    seq: int
    time_us: int
    time_s: float
    event_id: str  # of the event of the kind in question open then
    is_held: bool  # slip-and-cut mode


class Alarms(Stage):
    """Follows every kind of alarm through rows and acts."""

    STATE = (
        "flood",
        "counts",
        "muted_until_s",
        "muted_by",
        "held",
        "working_stuck",
        "now_s",
        "now_us",
    )

    def __init__(self, rig: Rig, agreed: AgreedLimits | None = None) -> None:
        self.rig = rig
        self.agreed_limits = agreed or AgreedLimits(rig)
        self.kinds = {each.kind: each for each in ALARM_KINDS}
        out = dict(rig.alarms.out_of_service)
        self.points = {
            each.kind: AlarmPoint(
                each.kind, latching=each.latching, out_of_service=out.get(each.kind, "")
            )
            for each in ALARM_KINDS
        }
        limits = rig.alarms
        self.delays = {
            each.kind: Delay(limits.on_delay_s, limits.off_delay_s)
            if each.is_load
            else Delay(AT_ONCE_S, AT_ONCE_S)
            for each in ALARM_KINDS
        }
        self.agreed = {
            kind: Delay(limits.on_delay_s, limits.off_delay_s)
            for kind in ("overpull", "slack_off")
        }
        self.flood = Flood()
        self.counts: dict[str, int] = {}
        self.muted_until_s = NAN
        self.muted_by = ""
        self.held = False  # slip-and-cut mode in the last row
        self.working_stuck = False
        self.now_s = 0.0
        self.now_us = 0
        self.changed: dict[str, Alarm] = {}  # within one feed only
        self.journal: list[AlarmChange] = []

    def state(self) -> dict[str, Any]:
        """Return the carried state, that of every point and delay with it."""
        parts = {
            name: {kind: part.state() for kind, part in getattr(self, name).items()}
            for name in ("points", "delays", "agreed")
        }
        return {**super().state(), **parts}

    def restore(self, state: dict[str, Any]) -> None:
        """Take back what ``state`` gave."""
        super().restore(state)
        for name in ("points", "delays", "agreed"):
            for kind, part in getattr(self, name).items():
                part.restore(state[name][kind])

    def gap(self) -> None:
        """No condition is timed across a gap."""
        for delay in (*self.delays.values(), *self.agreed.values()):
            delay.gap()

    def drain(self) -> tuple[list[Alarm], list[AlarmChange]]:
        """Give what changed since the last call, in the order of the rows and acts."""
        alarms = sorted(self.changed.values(), key=lambda alarm: (alarm.seq, alarm.kind))
        journal = self.journal
        self.changed, self.journal = {}, []
        return alarms, journal

    def refusal(self, command: Command) -> str:
        """Why an act cannot be taken now; empty where it can."""
        return refusal(self.rig.alarms, self.points, command)

    def command(self, command: Command) -> None:
        """Take an act on alarms that ``refusal`` let through."""
        act, text, who = command.act, command.text.strip(), command.who
        if act in ("acknowledge", "reset_alarm"):
            happening = "reset" if act == "reset_alarm" else act
            for point in self.points.values():
                if point.is_named(text):
                    self._happen(point, happening, self._moment(command, point), happening, who)
        elif act in ("shelve", "unshelve"):
            point = self.points[named_kind(text)]
            moment = self._moment(command, point)
            if act == "unshelve":
                self._unshelve(point, moment, "taken back", who)
                return
            point.until_s = self.now_s + command.number
            point.who, point.reason = who, reason_of(text)
            words = (f"for {command.number / 60.0:g} min", point.reason)
            self._happen(point, "shelve", moment, ": ".join(filter(None, words)), who)
        elif act == "mute" and text != "off":
            self.muted_until_s, self.muted_by = self.now_s + command.number, who
            self._tell(command, "sound", "on", "muted", f"for {command.number:g} s", who)
        elif act == "mute" and math.isfinite(self.muted_until_s):
            self._unmute(command, "taken back", who)

    def _moment(self, command: Command, point: AlarmPoint) -> Moment:
        event_id = f"{point.event_seq}-{point.kind}" if point.is_open else ""
        return Moment(command.seq, command.time_us, self.now_s, event_id, self.held)

    def _unmute(self, at: Moment | Command, cause: str, who: str = "") -> None:
        self.muted_until_s, self.muted_by = NAN, ""
        self._tell(at, "sound", "muted", "on", cause, who)

    def step(self, rows: Rows) -> None:
        """Follow every condition, mode and deadline through the rows, in their order."""
        found = (self._conditions, self._modes, self._deadlines, self._agreed)
        for edge in sorted(edge for each in found for edge in each(rows)):
            self._end_flood(rows, edge[0])
            self._edge(rows, edge)
        self._end_flood(rows, len(rows))
        self.now_s, self.now_us = float(rows.time_s[-1]), int(rows.time_us[-1])
        self.working_stuck = bool(rows.column["working_stuck"][-1])
        for event in rows.events:
            if event.kind in self.points:
                point = self.points[event.kind]
                point.event_seq = max(point.event_seq, event.seq)
        for kind, point in self.points.items():
            point.is_open = kind in rows.open and bool(rows.open[kind][-1])
        out = {kind for kind, _ in self.rig.alarms.out_of_service}
        rows.events[:] = [event if event.kind in out else _flagged(event) for event in rows.events]

    def _conditions(self, rows: Rows) -> Iterator[Edge]:
        limits = self.rig.alarms
        for place, (kind, delay) in enumerate(self.delays.items()):
            gate: Flags | None = None
            if self.kinds[kind].is_load:
                on, off, gate = load_condition(rows, kind, limits)
            elif kind in rows.open or delay.active:
                on = rows.open.get(kind, np.zeros(len(rows), dtype=bool))
                off = ~on
            else:
                delay.gap()
                continue
            for row, is_active in delay.follow(rows.time_s, on, off, gate):
                yield row, CONDITION, place, "active" if is_active else "over", kind

    def _modes(self, rows: Rows) -> Iterator[Edge]:
        """Slip and cut holds the alarms by design, but what is never put aside."""
        held = rows.column["alarms_held"]
        turns = np.flatnonzero(np.diff(held, prepend=self.held))
        self.held = bool(held[-1])
        for row in turns.tolist():
            what, order = ("suppress", SUPPRESS) if held[row] else ("release", RELEASE)
            for place, kind in enumerate(self.points):
                if kind not in NEVER_PUT_ASIDE:
                    yield row, order, place, what, kind

    def _deadlines(self, rows: Rows) -> Iterator[Edge]:
        for place, point in enumerate(self.points.values()):
            if point.present == "shelved":
                row = int(np.searchsorted(rows.time_s, point.until_s))
                if row < len(rows):
                    yield row, DEADLINE, place, "unshelve", point.kind
        if math.isfinite(self.muted_until_s):
            row = int(np.searchsorted(rows.time_s, self.muted_until_s))
            if row < len(rows):
                yield row, DEADLINE, 0, "unmute", "sound"

    def _agreed(self, rows: Rows) -> Iterator[Edge]:
        """Tell where a pull went beyond what was agreed: kept apart from the alarm."""
        nowhere = np.zeros(len(rows), dtype=bool)
        for place, (kind, delay) in enumerate(self.agreed.items()):
            limit_N = self.agreed_limits.limit_N[kind]
            if limit_N is None and not delay.active:
                delay.gap()
                continue
            with np.errstate(invalid="ignore"):
                over = rows.column[f"{kind}_excess_N"] > (math.inf if limit_N is None else limit_N)
            gate = rows.open.get(kind, nowhere)
            for row, is_beyond in delay.follow(rows.time_s, over, ~over, gate):
                yield row, CONDITION, place, "beyond" if is_beyond else "within", kind

    def _edge(self, rows: Rows, edge: Edge) -> None:
        row, _, _, what, kind = edge
        at = self._row(rows, row, kind)
        if what == "unmute":
            self._unmute(at, "its time is over")
        elif what in ("beyond", "within"):
            before = "within" if what == "beyond" else "beyond"
            self._tell(at, f"agreed_{kind}", before, what, self.agreed_limits.who)
        else:
            self._point_edge(self.points[kind], what, at)

    def _row(self, rows: Rows, row: int, kind: str) -> Moment:
        """One row as the alarms see it; no event id where a fixed load alone made the alarm."""
        seq, event_id = int(rows.seq[row]), ""
        if kind in rows.open and rows.open[kind][row]:
            own = [event.seq for event in rows.events if event.kind == kind and event.seq <= seq]
            event_id = f"{max([self.points[kind].event_seq, *own])}-{kind}"
        return Moment(
            seq,
            int(rows.time_us[row]),
            float(rows.time_s[row]),
            event_id,
            bool(rows.column["alarms_held"][row]),
        )

    def _point_edge(self, point: AlarmPoint, what: str, at: Moment) -> None:
        if what == "active":
            point.active = True
            self._raise(point, at)
        elif what == "over":
            point.active = False
            self._happen(point, what, at, "the condition is over")
        elif what == "suppress":
            self._happen(point, what, at, HELD)
        elif what == "release":
            self._happen(point, what, at, "slip and cut is over")
            if point.active:
                self._raise(point, at)
        else:
            self._unshelve(point, at, "its time is over")

    def _raise(self, point: AlarmPoint, at: Moment) -> None:
        """Let an alarm ask for an answer: a new one, or one not yet done with, once more."""
        if point.after("active") != "unacknowledged" or point.present == "unacknowledged":
            return
        if point.present == "normal":
            self.counts[point.kind] = self.counts.get(point.kind, 0) + 1
            point.alarm = {
                "seq": at.seq,
                "kind": point.kind,
                "priority": self.kinds[point.kind].priority,
                "raised_us": at.time_us,
                "first_up": not any(other.present in NOT_SEEN for other in self.points.values()),
                "times": 0,
            }
        why = NO_SAVER if point.kind in NEVER_PUT_ASIDE else ""
        if self.kinds[point.kind].is_load:
            why = "beyond its alarm limit" if at.event_id else "hook load beyond its fixed limit"
        point.alarm.update(
            event_id=at.event_id,
            why=why,
            times=point.alarm["times"] + 1,
            returned_us=None,
            acknowledged_us=None,
            acknowledged_by="",
            last_s=at.time_s,
        )
        self._happen(point, "active", at, why)
        if self.flood.raised(at.time_s):
            self._tell(at, "flood", "no", "yes", self.flood.words)

    def _unshelve(self, point: AlarmPoint, at: Moment, cause: str, who: str = "") -> None:
        point.until_s, point.who, point.reason = NAN, "", ""
        self._happen(point, "unshelve", at, cause, who)
        if at.is_held and point.kind not in NEVER_PUT_ASIDE:
            self._happen(point, "suppress", at, HELD)
        elif point.active:
            self._raise(point, at)

    def _happen(
        self, point: AlarmPoint, happening: str, at: Moment, cause: str, who: str = ""
    ) -> None:
        """Change one point's state, tell it, and keep its occurrence up to date."""
        before, after = point.present, point.after(happening)
        if before == after:
            return
        point.present = after
        self._tell(at, point.kind, before, after, cause, who)
        alarm = point.alarm
        if not alarm:
            return
        if happening == "over":
            alarm["returned_us"] = at.time_us
        if happening == "acknowledge":
            alarm.update(acknowledged_us=at.time_us, acknowledged_by=who)
        told = {key: value for key, value in alarm.items() if key != "last_s"}
        new = Alarm(**told, state=after)
        self.changed[new.id] = new
        if after not in PRESENT:
            point.alarm = {}

    def _tell(
        self, at: Moment | Command, kind: str, before: str, after: str, cause: str, who: str = ""
    ) -> None:
        self.journal.append(AlarmChange(at.seq, kind, at.time_us, before, after, cause, who))

    def _end_flood(self, rows: Rows, before_row: int) -> None:
        row = self.flood.end_row(rows.time_s)
        if row < min(before_row + 1, len(rows)):
            self.flood.end()
            at = self._row(rows, row, "")
            self._tell(at, "flood", "yes", "no", "few alarms came of late")

    def sounding(self) -> Sounding:
        """What is to be heard at the newest row."""
        return sounding(
            self.points.values(),
            self.now_s,
            is_muted=math.isfinite(self.muted_until_s),
            is_flood=self.flood.is_on,
            working_stuck=self.working_stuck,
        )


def _flagged(event: Event) -> Event:
    """Event with the flag that follows from its kind alone, unless a mode held it."""
    if event.kind in ACT_NOW_KINDS and HELD not in event.why and not event.alarm:
        return replace(event, alarm=True)
    return event
