"""From the record to the browsers: the ring, and what else has changed.

One task asks the record about thirty times a second; every browser is served from the
ring in memory, so more browsers cost the record nothing.
"""

from __future__ import annotations

import asyncio
import math
import time
from collections import deque
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from monitor.model import Alarm, Command, Event, Quality
from monitor.store.errors import StoreError
from monitor.store.reader import Reader
from monitor.store.rows import JournalEntry, Pulse, Rows
from monitor.web.live_columns import wire_rows
from monitor.web.ring import Ring

RING_ROWS = 9000  # fifteen minutes at 10 Hz: a browser away for longer loads its window anew
ROWS_A_READ = 3000
ROWS_AT_START = 300
EVENTS_SHOWN = 30
ALARMS_SHOWN = 40
MARKS_KEPT = 100
JOURNAL_READ = 1000
JOURNAL_REACH = 100_000  # numbers between an act and the journal's line about it
LEAST_STALE_S = 1.3  # so that, with one heartbeat more, stale is said within 2 s
MOST_STALE_S = 30.0
TROUBLE_PAUSE_S = 0.5


def was_refused(act: Command, journal: Sequence[JournalEntry]) -> bool:
    """Whether the journal tells that an act was refused: the next line about such an act."""
    said = f"{act.number!r} {act.text}".strip()
    return any(
        entry.what == f"{act.act} refused"
        and (entry.who, entry.before) == (act.who, said)
        and 0 <= entry.seq - act.seq < JOURNAL_REACH
        for entry in journal
    )


class Feed:
    """Fills the ring by ``seq > last`` and keeps the newest status and events."""

    def __init__(self, record: Reader, *, poll_s: float = 0.03, status_s: float = 0.5) -> None:
        self.record = record
        self.ring = Ring(RING_ROWS)
        self.identity = ""  # which record this is: the stamp of its first row
        self.newest_us: int | None = None  # stamp of the newest row that is not late
        self.pulse = Pulse()
        self.status: dict[str, Any] = {}
        self.events: list[Event] = []
        self.alarms: list[Alarm] = []
        self.marks: list[dict[str, Any]] = []  # acts that mark the charts
        self.revision = 0  # grows whenever status or events have changed
        self.stopping = False
        self.trouble = ""  # why the record cannot be read
        self.has_polled = asyncio.Event()
        self._poll_s, self._status_s = poll_s, status_s
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="feed")
        self._changed = asyncio.Event()
        self._fresh_at: float | None = None  # monotonic time at which a real row last came
        self._intervals: deque[float] = deque(maxlen=16)
        self._last_time_us: int | None = None
        self._status_at = -np.inf
        self._act_seq = 0  # number of the newest act looked at

    @classmethod
    def of(cls, data_dir: Path) -> Feed:
        """Feed over the record in a data folder, which need not exist yet."""
        return cls(Reader(data_dir))

    async def run(self) -> None:
        """Poll until cancelled; a reading thread that hangs stops the rows, not the heartbeat."""
        loop = asyncio.get_running_loop()
        try:
            while True:
                if await loop.run_in_executor(self._thread, self._poll_or_say_why):
                    self.wake()
                self.has_polled.set()
                await asyncio.sleep(self._poll_s if not self.trouble else TROUBLE_PAUSE_S)
        finally:
            self.trouble = self.trouble or "the reading of the record has stopped"
            self.stopping = True
            self.wake()
            self._thread.shutdown(wait=False, cancel_futures=True)

    def wake(self) -> None:
        """Let every waiting browser task look again."""
        event, self._changed = self._changed, asyncio.Event()
        event.set()

    async def wait(self, timeout_s: float) -> None:
        """Return when something has changed, or after ``timeout_s``."""
        with suppress(TimeoutError):
            await asyncio.wait_for(self._changed.wait(), timeout_s)

    def _poll_or_say_why(self) -> bool:
        """A record that cannot be read is said on every page, and tried again."""
        try:
            told = self.poll()
        except StoreError as error:
            told = str(error) != self.trouble
            self.trouble = str(error)
        else:
            self.trouble = ""
        return told

    def poll(self) -> bool:
        """Read what is new; True when there is anything to send."""
        pulse = self.record.pulse()
        fresh = self._read_rows(pulse)
        due = time.monotonic() - self._status_at >= self._status_s
        told = self._read_notices(pulse, due)
        self.pulse = pulse
        return fresh or told

    def _read_rows(self, pulse: Pulse) -> bool:
        if pulse.last_seq < self.ring.last:  # another record has taken the place of this one
            self.ring.start_at(0)
            self.identity = ""
            self.marks, self._act_seq = [], 0
        if pulse.last_seq <= self.ring.last and self.ring.newest is not None:
            return False
        if not self.identity:
            span = self.record.span_us()
            if span is None:
                return False
            self.identity = str(span[0])
        if self.ring.newest is None or pulse.last_seq - self.ring.last > RING_ROWS:
            # Few at the start: a browser takes the rest as a window straight from the record.
            rows = self.record.newest(ROWS_AT_START)
            if len(rows):
                self.ring.start_at(int(rows.seq[0]) - 1)
        else:
            rows = self.record.results_since(self.ring.last, ROWS_A_READ)
        if not len(rows):
            return False
        self._note_age(rows, pulse, first=self.ring.newest is None)
        self.ring.extend(wire_rows(rows))
        return True

    def _note_age(self, rows: Rows, pulse: Pulse, *, first: bool) -> None:
        """Only real rows make the data fresh: a gap marker says that nothing came."""
        marks = rows.columns["row"].astype(np.int64)
        in_time = rows.time_us[(marks & Quality.LATE) == 0]
        if len(in_time):
            self.newest_us = int(in_time[-1])
        real = rows.time_us[(marks & (Quality.GAP | Quality.LATE)) == 0]
        if not len(real):
            return
        now = time.monotonic()
        waited = 0.0
        if first and pulse.arrival_us is not None:
            waited = max(0.0, time.time() - pulse.arrival_us / 1e6)
        self._fresh_at = now - waited
        for stamp in real[-17:].tolist():
            if self._last_time_us is not None and stamp > self._last_time_us:
                self._intervals.append((stamp - self._last_time_us) / 1e6)
            self._last_time_us = stamp

    def _read_notices(self, pulse: Pulse, due: bool) -> bool:
        told = False
        if due or pulse.events_revision != self.pulse.events_revision:
            events = self.record.events(EVENTS_SHOWN)
            told = events != self.events
            self.events = events
        if due or pulse.alarms_revision != self.pulse.alarms_revision:
            alarms = self.record.alarms(ALARMS_SHOWN)
            told = told or alarms != self.alarms
            self.alarms = alarms
            due = True  # what sounds stands in the status
        if due:
            self._status_at = time.monotonic()
            status = self.record.status()
            told = self._read_marks() or told or status != self.status
            self.status = status
        told = told or pulse.trip_revision != self.pulse.trip_revision
        self.revision += told
        return told

    def _read_marks(self) -> bool:
        """Another number of lines changes what every load rests on: it is marked."""
        acts = self.record.commands(self._act_seq)
        if not acts:
            return False
        self._act_seq = acts[-1].seq
        changes = [a for a in acts if a.act == "lines_strung" and math.isfinite(a.number)]
        journal = self.record.journal(JOURNAL_READ) if changes else []
        new = [
            {"time_us": act.time_us, "lines": int(act.number)}
            for act in changes
            if not was_refused(act, journal)
        ]
        self.marks = (self.marks + new)[-MARKS_KEPT:]
        return bool(new)

    def age_s(self) -> float | None:
        """Seconds since a row last came; None when none ever has."""
        return None if self._fresh_at is None else max(0.0, time.monotonic() - self._fresh_at)

    def stale_after_s(self) -> float:
        """Age at which data count as stale; more than the least only for a slower source."""
        if len(self._intervals) < 4:
            return LEAST_STALE_S
        usual = float(np.median(np.asarray(self._intervals)))
        return min(max(LEAST_STALE_S, 2.5 * usual), MOST_STALE_S)
