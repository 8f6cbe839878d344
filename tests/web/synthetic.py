"""A record filled with invented results, as a recorder would fill it.

Only the interpretation is made up here, so that every state of the screens can be asked
for; the record, its reader and the inbox are the real ones.
"""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from monitor.model import (
    INTEGER_RESULTS,
    RESULT_COLUMNS,
    Activity,
    Alarm,
    AlarmChange,
    Command,
    Event,
    Output,
    Quality,
    Samples,
    State,
    TripRow,
)
from monitor.store.entry import Note, Taken
from monitor.store.inbox import Act, Inbox
from monitor.store.writer import Entry, Settings, Writer
from tests.web.alarm_status import ALARMS, STUCK_OFF, sounding
from tests.web.hoist_status import LAND_HOIST

CYCLE_S = 110.0  # one stand: 75 s of hoisting, 35 s in slips
HOIST_S = 75.0
TRAVELLING_N = 245e3

STATUS: dict[str, Any] = {
    "rig": "Plover 7 (invented)",
    "run": "run 2",
    "lines_strung": 10,
    "travelling_weight_N": TRAVELLING_N,
    "pull_limits": [
        {"name": "drill pipe", "limit_N": 1.64e6},
        {"name": "crown block", "limit_N": 2.4e6},
    ],
    "event_limits_N": {"overpull": 40e3, "slack_off": 40e3},
    "alarm_limits_N": {"overpull": 90e3, "slack_off": 90e3},
    "agreed_N": {"overpull": 180e3, "slack_off": None},
    "next_depth_mark": {
        "name": "shoe",
        "distance_m": 905.0,
        "stands": 32.9,
        "way": "up",
        "slow_down_m_s": 0.3,
        "is_near": False,
    },
    "tight_spots": [
        {"top_m": 2301.0, "bottom_m": 2304.0, "excess_N": 52e3, "trips": 2, "times": 3}
    ],
    "floor_m": 1.0,
    "crown_m": 36.0,
    "time_zone": "UTC",
    "hoist": LAND_HOIST,
    "alarms": ALARMS,
    "stuck_mode": STUCK_OFF,
}
COUNTS = {"samples": 12000, "rejected": {"time not newer": 3, "unreadable cell": 1}}


def results(time_us: np.ndarray, start_us: int, mood: str) -> tuple[dict[str, Any], np.ndarray]:
    """Result columns and block position of a trip out; ``mood`` bends the newest part."""
    elapsed = (time_us - start_us) / 1e6
    phase = elapsed % CYCLE_S
    cycle = (elapsed // CYCLE_S).astype(np.int64)
    slips = phase >= HOIST_S
    up = np.clip(phase / HOIST_S, 0, 1)
    block = np.where(slips, 29.5 - 27.5 * np.clip((phase - HOIST_S - 8) / 20, 0, 1), 2 + 27.5 * up)
    depth = 2410.0 - 27.5 * (cycle + up)
    expected_up = 1.012e6 - 300.0 * (2410.0 - depth)
    noise = 9e3 * np.sin(elapsed / 5.0) + 4e3 * np.sin(elapsed * 7.3)
    excess = np.where(slips, np.nan, noise)
    columns: dict[str, Any] = {name: np.full(len(elapsed), np.nan) for name in RESULT_COLUMNS}
    hook = np.where(slips, TRAVELLING_N + noise / 9, expected_up + noise)
    columns |= {
        "hook_load_N": hook,
        "hook_load_plain_N": hook * 0.95,
        "hook_load_half_width_N": np.full(len(elapsed), 9e3),
        "string_weight_N": hook - TRAVELLING_N,
        "friction_state": np.ones(len(elapsed)),
        "block_speed_m_s": np.where(slips, -0.4, 27.5 / HOIST_S),
        "activity": np.where(slips, int(Activity.IN_SLIPS), int(Activity.HOISTING)),
        "bit_depth_m": depth,
        "hole_depth_m": np.full(len(elapsed), 2650.0),
        "weight_on_bit_N": np.where(slips, np.nan, 0.0),
        "tare_N": np.full(len(elapsed), 9e5),
        "tare_age_s": elapsed % 1800,
        "tare_depth_m": np.full(len(elapsed), 2650.0),
        "expected_up_N": expected_up,
        "expected_down_N": expected_up - 1.4e5,
        "expected_N": expected_up,
        "band_N": np.full(len(elapsed), 38e3),
        "excess_N": excess,
        "room_left_N": np.where(slips, np.nan, 1.64e6 - hook - 9e3),
        "stand": cycle + 1,
        "pulls": np.full(len(elapsed), 12),
        "last_pull_N": np.full(len(elapsed), 1.412e6),
        "last_set_down_N": np.full(len(elapsed), 0.884e6),
        "still_s": np.zeros(len(elapsed)),
        "string_still_s": np.where(slips, phase - HOIST_S, 0.0),
        "line_work_J": elapsed * 1e5,
        "quality": np.zeros(len(elapsed), dtype=np.int64),
        "state": np.zeros(len(elapsed), dtype=np.int64),
    }
    bend(columns, mood, elapsed)
    return columns, block


def bend(columns: dict[str, Any], mood: str, elapsed: np.ndarray) -> None:
    """Make the rows of one mood: a pull, a bad sensor, slips, learning."""
    n = len(elapsed)
    if mood in ("overpull", "small_overpull"):
        pull = np.clip((elapsed - elapsed[0]) / 6.0, 0, 1) * (
            140e3 if mood == "overpull" else 55e3
        )
        base = columns["expected_up_N"]
        columns |= {
            "activity": np.full(n, int(Activity.HOISTING)),
            "block_speed_m_s": np.full(n, 0.09),
            "excess_N": pull,
            "hook_load_N": base + pull,
            "room_left_N": 1.64e6 - base - pull - 9e3,
            "weight_on_bit_N": np.zeros(n),
        }
    elif mood == "bad_sensor":
        for name in ("hook_load_N", "excess_N", "room_left_N", "weight_on_bit_N"):
            columns[name] = np.full(n, np.nan)
        columns["quality"] = np.full(n, int(Quality.FAULT))
    elif mood == "no_block":
        for name in ("block_speed_m_s", "still_s"):
            columns[name] = np.full(n, np.nan)
        columns["activity"] = np.full(n, int(Activity.UNKNOWN))
        columns["quality"] = np.full(n, int(Quality.MISSING))
        columns["state"] = np.full(n, int(State.DEPTH_UNCERTAIN))
    elif mood == "slips":
        for name in ("excess_N", "room_left_N", "weight_on_bit_N"):
            columns[name] = np.full(n, np.nan)
        columns["activity"] = np.full(n, int(Activity.IN_SLIPS))
        columns["string_still_s"] = np.full(n, 75.0)
        columns["hook_load_N"] = np.full(n, TRAVELLING_N + 2e3)
        columns["state"] = np.full(n, int(State.SLIPS_HOLDING_PIPE))
    elif mood == "learning":
        for name in ("excess_N", "expected_N", "expected_up_N", "expected_down_N", "band_N"):
            columns[name] = np.full(n, np.nan)
        columns["state"] = np.full(n, int(State.LEARNING | State.TARE_MISSING))
        columns["weight_on_bit_N"] = np.full(n, np.nan)


def event(seq: int, kind: str, start_us: int, **given: Any) -> Event:
    """An event with plausible figures."""
    facts: dict[str, Any] = {
        "seq": seq, "kind": kind, "start_us": start_us, "raised_us": start_us, "end_us": None,
        "peak_time_us": start_us, "bit_depth_m": 2305.0, "peak_hook_load_N": 1.14e6,
        "expected_hook_load_N": 1.0e6, "peak_excess_N": 140e3, "confidence": 0.99,
    }  # fmt: skip
    return Event(**(facts | given))


def stands(start_us: int, n: int) -> list[TripRow]:
    """Rows of a trip out, with a tank that fills."""
    rows = []
    for number in range(1, n + 1):
        out_us = start_us + int((number - 1) * CYCLE_S * 1e6)
        rows.append(
            TripRow(
                number, "out", out_us, out_us + int(HOIST_S * 1e6), 2410.0 - 27.5 * number, 27.5,
                1.012e6 - 8250.0 * number + 3e3 * np.sin(number), 1.012e6 - 8250.0 * number,
                52e3 if number % 5 == 0 else 0.0, 0.0, 0.37 + 0.02 * np.sin(number * 2.0),
                trip_tank_change_m3=0.11 + 0.01 * np.cos(number), events=int(number % 5 == 0),
            )
        )  # fmt: skip
    return rows


class Recorder:
    """Writes rows at 10 Hz, ten a second, until it is stopped or made silent."""

    def __init__(self, data_dir: Path, *, history_s: float = 700.0, hz: float = 10.0) -> None:
        self.data_dir, self.hz = data_dir, hz
        self.mood, self.silent = "normal", False
        self.refusal = ""  # why the next change of lines is refused, unless overridden
        self.takes_acts = True
        self._taken = 0
        self._late_us: int | None = None
        self.status = dict(STATUS)
        self.seq = 0
        self.now_us = time.time_ns() // 1000
        self.start_us = self.now_us - int(history_s * 1e6)
        self.written: dict[int, int] = {}  # seq -> stamp
        self.loads: dict[int, float] = {}  # seq -> hook load
        self._told: list[Event] = []
        self._alarms: list[Alarm] = []
        self._changes: list[AlarmChange] = []
        self._mood_us: int | None = None
        self._stop = threading.Event()
        self._lock = threading.Lock()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def __enter__(self) -> Recorder:
        self._thread.start()
        assert self._ready.wait(20.0)
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        self._thread.join()

    def acts(self) -> list[Act]:
        """What people pressed so far."""
        inbox = Inbox(self.data_dir)
        try:
            return list(inbox.after(0))
        finally:
            inbox.close()

    def raise_event(self, kind: str, **given: Any) -> Event:
        """Raise one at the newest row; it stays open."""
        new = event(self.seq + len(self._told), kind, time.time_ns() // 1000, **given)
        with self._lock:
            self._told.append(new)
        return new

    def change_event(self, old: Event, **given: Any) -> Event:
        """Change one that was raised."""
        new = replace(old, **given)
        with self._lock:
            self._told.append(new)
        return new

    def raise_alarm(self, raised: Event, priority: str = "medium", **given: Any) -> Alarm:
        """Let an event be an alarm that nobody has seen, and sound."""
        facts: dict[str, Any] = {"state": "unacknowledged", "event_id": raised.id}
        new = Alarm(raised.seq, raised.kind, priority, raised_us=raised.raised_us,
                    **(facts | given))  # fmt: skip
        change = AlarmChange(new.seq, new.kind, new.raised_us, "normal", new.state)
        with self._lock:
            self._alarms.append(new)
            self._changes.append(change)
        self.status = {**self.status, "alarms": sounding(priority)}
        return new

    def change_alarm(self, old: Alarm, **given: Any) -> Alarm:
        """Change one that was raised."""
        new = replace(old, **given)
        with self._lock:
            self._alarms.append(new)
        return new

    def late_row(self, stamp_us: int) -> None:
        """Let one late row come, the feed being silent otherwise."""
        self._late_us = stamp_us

    def set_mood(self, mood: str) -> None:
        """From the next row on."""
        self._mood_us = time.time_ns() // 1000
        self.mood = mood

    def _acts(self) -> Entry:
        """Take what people pressed, as a recorder does: numbered, and told in the journal."""
        inbox = Inbox(self.data_dir)
        try:
            acts = list(inbox.after(self._taken)) if self.takes_acts else []
        finally:
            inbox.close()
        taken, notes = [], []
        for act in acts:
            self._taken, self.seq = act.id, self.seq + 1
            command = Command(
                self.seq, time.time_ns() // 1000, act.act, act.number, act.text, act.who
            )
            taken.append(Taken(command, act.id, act.wall_us))
            said = act.text if act.number != act.number else f"{act.number!r} {act.text}".strip()
            notes.append(Note(act.wall_us, act.who, act.act, "", said))
            if self.refusal and not act.text.startswith("override:"):
                notes.append(Note(act.wall_us, act.who, f"{act.act} refused", said, self.refusal))
        return Entry(time.time_ns() // 1000, commands=taken, notes=notes)

    def _append(
        self, stamps: np.ndarray, trip_rows: list[TripRow] | None = None, flags: int = 0
    ) -> None:
        n = len(stamps)
        seq = np.arange(self.seq + 1, self.seq + n + 1, dtype=np.int64)
        columns, block = results(stamps, self.start_us, "normal")
        if self.mood != "normal" and self._mood_us is not None:
            if self.mood.endswith("overpull"):
                begun = np.append(self._mood_us, stamps)
                columns, block = results(begun, self.start_us, self.mood)
                columns, block = {k: v[1:] for k, v in columns.items()}, block[1:]
            else:
                columns, block = results(stamps, self.start_us, self.mood)
        zeros = np.zeros(n, dtype=np.uint16)
        tension = np.nan_to_num(columns["hook_load_N"]) / 10
        samples = Samples(
            seq, stamps, zeros + np.uint16(flags),
            {"deadline_tension": tension, "block_position": block},
            {"deadline_tension": zeros, "block_position": zeros},
        )  # fmt: skip
        for name in INTEGER_RESULTS:
            columns[name] = columns[name].astype(np.int64)
        with self._lock:
            told, self._told = self._told, []
            alarms, self._alarms = self._alarms, []
            changes, self._changes = self._changes, []
        wall_us = time.time_ns() // 1000
        output = Output(
            seq, stamps, columns, told, trip_rows or [], alarms=alarms, alarm_changes=changes
        )
        self.writer.append(
            Entry(
                wall_us,
                [(samples, output)],
                arrival_us=wall_us,
                status=self.status,
                counts=COUNTS,
            )  # fmt: skip
        )
        self.seq += n
        self.loads.update(zip(seq.tolist(), columns["hook_load_N"].tolist(), strict=True))
        self.written.update(zip(seq.tolist(), stamps.tolist(), strict=True))

    def _run(self) -> None:
        self.writer = Writer(self.data_dir)  # belongs to the thread that opened it
        self.writer.start(Settings("synthetic", "", None), time.time_ns() // 1000)
        period = 1.0 / self.hz
        stamps = np.arange(self.start_us, self.now_us, int(1e6 * period), dtype=np.int64)
        self._append(stamps, stands(self.start_us, int((self.now_us - self.start_us) / 1.1e8)))
        self._ready.set()
        self._loop(period)
        self.writer.close()

    def _loop(self, period: float) -> None:
        due = time.time()
        while not self._stop.wait(max(0.0, due - time.time())):
            due += period
            pressed = self._acts()
            if pressed.commands:
                self.writer.append(pressed)
            if self._late_us is not None:
                late, self._late_us = np.array([self._late_us], dtype=np.int64), None
                self._append(late, flags=Quality.LATE)
            elif self.silent:
                self.writer.append(Entry(time.time_ns() // 1000))
            else:
                self._append(np.array([time.time_ns() // 1000], dtype=np.int64))
