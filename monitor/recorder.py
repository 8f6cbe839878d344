"""The one loop: source -> pipeline -> record.

Rows, results, findings, the source's cursor and, once a second, the snapshot go into the
record as one transaction, so a kill at any moment leaves a record that can be gone on with.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from monitor.ingest.acts import read_acts
from monitor.ingest.due_acts import DueActs, no_rows, not_reached
from monitor.ingest.source import Source, open_source
from monitor.interpret.agreed import agreed_kind
from monitor.interpret.tally import tally_words
from monitor.model import (
    Alarm,
    AlarmChange,
    Command,
    EmptyCheck,
    Event,
    Output,
    Quality,
    Samples,
    TripRow,
)
from monitor.pipeline import Pipeline
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig
from monitor.stopping import told_to_stop
from monitor.store.columns import as_stored
from monitor.store.entry import Entry, Note, Settings, Taken
from monitor.store.errors import StoreError
from monitor.store.inbox import Act, Inbox
from monitor.store.pace import CommitPace
from monitor.store.writer import Writer

_log = logging.getLogger(__name__)

# Least time between commits: half of 100 ms, so that a 10 Hz source is never kept waiting.
COMMIT_SPACING_s = 0.05
READ_TIMEOUT_s = 0.1
HEARTBEAT_s = 0.5
STATUS_s = 0.25
SNAPSHOT_s = 1.0
# A fast source fills a transaction up to this many rows.
ROWS_A_COMMIT = 20_000

RECORDER = "recorder"
_STATUS_OF_ACT: Mapping[str, str] = {
    "lines_strung": "lines_strung",
    "travelling_weight": "travelling_weight_N",
    "tare": "tare_N",
    "bit_depth": "bit_depth_m",
    "mud_density": "mud_density_kg_m3",
    "run": "run",
    "calibration_approved": "calibration_in_force",
    "calibration_rolled_back": "calibration_in_force",
}


def _fresh(rig: Rig, bit_depth_m: float | None) -> Pipeline:
    return Pipeline(rig, bit_depth_m=bit_depth_m)


@dataclass(frozen=True)
class Parts:
    """Where pipelines and sources come from."""

    fresh: Callable[[Rig, float | None], Pipeline] = _fresh
    restored: Callable[[Rig, dict[str, Any]], Pipeline] = Pipeline.restore
    open_source: Callable[[str, Rig, dict[str, Any] | None], Source] = open_source


class Recorder:
    """Records one source into one record; ``run`` returns when it is told to stop."""

    def __init__(
        self,
        rig: Rig,
        settings: Settings,
        data_dir: Path,
        parts: Parts,
        *,
        until_finished: bool = False,
        acts: Sequence[Command] = (),
    ) -> None:
        self._rig = rig
        self._settings = settings
        self._parts = parts
        self._until_finished = until_finished
        self._writer = Writer(data_dir)
        try:
            self._inbox = Inbox(data_dir)
            self._left = self._writer.resumed()
        except StoreError:
            self._writer.close()
            raise
        self._last_seq = self._left.last_seq
        self._last_time_us = self._left.last_time_us
        self._inbox_taken = self._left.inbox_taken
        self._inbox_is_readable = True
        cursor = None if self._is_other_source() else self._left.cursor
        self._acts_due = DueActs(acts, **(cursor or {}).get("acts", {}))
        self._pace = CommitPace()
        self._status_at_s = self._snapshot_at_s = self._commit_at_s = float("-inf")
        self._is_first_chunk = True
        self._finished = False
        self._arrival_us = 0
        self._notes: list[Note] = []

    def run(self, stop: threading.Event) -> None:
        """Record until ``stop``, or until the source is finished where that was asked for."""
        source: Source | None = None
        try:
            self._fold = self._resumed_fold(stop)
            if stop.is_set():
                return
            source = self._parts.open_source(
                self._settings.source, self._rig, self._source_cursor()
            )
            self._source = source
            self._writer.start(self._settings, _wall_us())
            self._loop(stop)
            self._note("stopped", after=" ".join(not_reached(self._acts_due.left)))
            self._commit([], (), last=True)
        except Exception as error:  # the outermost loop: say what happened, then stop visibly
            self._note_fault(error)
            raise
        finally:
            if source is not None:
                source.close()
            self._inbox.close()
            self._writer.close()

    def _loop(self, stop: threading.Event) -> None:
        first = self._given_depth()
        self._commit([self._acted([act.command for act in first])], first)
        while not stop.is_set():
            if self._finished and self._until_finished:
                return
            stop.wait(max(0.0, self._commit_at_s + COMMIT_SPACING_s - time.monotonic()))
            read = self._read(stop)
            taken = self._acts()
            if read or taken:
                self._commit(self._fed(read, taken), taken)
            elif time.monotonic() - self._commit_at_s >= HEARTBEAT_s:
                self._commit([], ())

    def _read(self, stop: threading.Event) -> list[Samples]:
        """Everything the source has, up to a transaction's worth of rows."""
        if self._finished:
            stop.wait(READ_TIMEOUT_s)
            return []
        read: list[Samples] = []
        n_rows = 0
        timeout_s = READ_TIMEOUT_s
        while n_rows < ROWS_A_COMMIT:
            samples = self._source.read(timeout_s)
            if samples is None:
                break
            if len(samples):
                read.append(samples)
            n_rows += max(len(samples), 1)
            timeout_s = 0.0
        self._arrival_us = _wall_us()
        if self._source.finished:
            self._finished = True
            self._note("source finished")
        return read

    def _fed(self, read: list[Samples], taken: list[Taken]) -> list[tuple[Samples, Output]]:
        """Acts first, then the rows, numbered by the same counter.

        Acts of a list come before the first row not older than they are, and join ``taken``.
        """
        chunks = [self._acted([act.command for act in taken])] if taken or not read else []
        for samples in read:
            for listed, piece in self._acts_due.pieces(samples):
                for one in listed:
                    act = Act(0, _wall_us(), one.act, one.number, one.text, one.who)
                    taken.append(self._taken(act, one.time_us))
                    chunks.append(self._acted([taken[-1].command]))
                numbered = self._numbered(piece)
                chunks.append((numbered, self._fold.feed(numbered)))
        return chunks

    def _acted(self, commands: Sequence[Command]) -> tuple[Samples, Output]:
        return no_rows(), self._fold.feed(no_rows(), commands)

    def _numbered(self, samples: Samples) -> Samples:
        """Rows as the record gives them back, numbered on from what it holds."""
        n_rows = len(samples)
        if n_rows == 0:
            return samples
        row = samples.row
        if self._is_first_chunk:
            self._is_first_chunk = False
            if self._is_other_source() and samples.time_us[0] <= (self._last_time_us or 0):
                row = row.copy()
                row[0] |= int(Quality.EPOCH)
        seq = np.arange(self._last_seq + 1, self._last_seq + 1 + n_rows, dtype=np.int64)
        self._last_seq += n_rows
        self._last_time_us = int(samples.time_us[-1])
        return as_stored(replace(samples, seq=seq, row=row))

    def _acts(self) -> list[Taken]:
        """Acts left by people since the last look."""
        try:
            acts = self._inbox.after(self._inbox_taken)
        except StoreError as error:
            if self._inbox_is_readable:
                _log.warning("%s", error)
                self._note("inbox cannot be read", after=str(error))
            self._inbox_is_readable = False
            return []
        self._inbox_is_readable = True
        return [self._taken(act) for act in acts]

    def _taken(self, act: Act, data_time_us: int | None = None) -> Taken:
        self._last_seq += 1
        self._inbox_taken = act.id or self._inbox_taken
        if data_time_us is None:
            data_time_us = act.wall_us if self._last_time_us is None else self._last_time_us
        command = Command(self._last_seq, data_time_us, act.act, act.number, act.text, act.who)
        before = self._before(act)
        text = act.text
        if act.act == "calibration_proposed":
            text = "its points are in the record's calibrations"
        why = self._fold.refusal(command)
        if act.act == "tally" and not why:
            text = tally_words(text)
        after = text if act.number != act.number else f"{act.number!r} {text}".strip()
        self._notes.append(Note(act.wall_us, act.who, act.act, str(before), after))
        if why:
            self._notes.append(Note(act.wall_us, act.who, f"{act.act} refused", after, why))
        return Taken(command, self._inbox_taken, act.wall_us)

    def _before(self, act: Act) -> object:
        """What the act changes, as it is."""
        status = self._fold.status()
        if act.act == "agreed_limit":
            limit_N = status.get("agreed_N", {}).get(agreed_kind(act.text)[0])
            return "none" if limit_N is None else limit_N
        if act.act == "tally":
            return f"{(status.get('tally') or {}).get('of', 'no')} joints"
        return status.get(_STATUS_OF_ACT.get(act.act, ""), "")

    def _given_depth(self) -> list[Taken]:
        """Turn a depth given at the start into an act, where the record had another."""
        given, settings = self._settings.bit_depth_m, self._left.settings
        if given is None or settings is None or settings.bit_depth_m == given:
            return []
        return [self._taken(Act(0, _wall_us(), "bit_depth", given, "", "command line"))]

    def _commit(
        self,
        chunks: list[tuple[Samples, Output]],
        taken: Sequence[Taken],
        *,
        last: bool = False,
    ) -> None:
        now_s = self._commit_at_s = time.monotonic()
        has_rows = any(len(samples) for samples, _ in chunks)
        entry = Entry(_wall_us(), chunks, taken, finished=self._finished, stopped=last)
        entry.notes, self._notes = self._notes, []
        if has_rows:
            entry.arrival_us = self._arrival_us
            due = {"given": self._acts_due.given, "newest_us": self._acts_due.newest_us}
            entry.cursor = {**self._source.cursor(), "acts": due}
        # What sounds stands in the status: a change of an alarm does not wait for its turn.
        has_news = any(output.alarm_changes for _, output in chunks)
        if last or taken or has_news or now_s - self._status_at_s >= STATUS_s:
            self._status_at_s = now_s
            entry.status = self._fold.status()
            entry.counts = self._source.counts.as_dict()
        if last or (chunks and now_s - self._snapshot_at_s >= SNAPSHOT_s):
            self._snapshot_at_s = now_s
            entry.snapshot = self._fold.snapshot()
        durable = last or self._pace.is_durable(now_s)
        self._writer.set_durable(durable)
        taken_s = self._writer.append(entry)
        self._pace.committed(now_s, taken_s, durable=durable)

    def _resumed_fold(self, stop: threading.Event) -> Pipeline:
        """Give the pipeline as it was after the last row of the record."""
        left, writer = self._left, self._writer
        if left.last_seq == 0:
            self._note("new record", after=self._settings.source)
            return self._parts.fresh(self._rig, self._settings.bit_depth_m)
        if left.snapshot is not None:
            try:
                fold = self._parts.restored(self._rig, left.snapshot)
            except ValueError as error:
                reason = str(error)
            else:
                for samples, commands in writer.history(left.snapshot_seq):
                    fold.feed(samples, commands)
                self._note("went on", before="stopped" if left.stopped else "ended abruptly")
                return fold
        else:
            reason = "no snapshot"
        _log.warning("rebuilding from the rows of the record: %s", reason)
        return self._rebuilt_fold(reason, stop)

    def _rebuilt_fold(self, reason: str, stop: threading.Event) -> Pipeline:
        """Interpret the whole record again; its results stay as the driller saw them."""
        fold = self._parts.fresh(self._rig, self._left.first_bit_depth_m)
        events: dict[str, Event] = {}
        trip_rows: dict[int, TripRow] = {}
        alarms: dict[str, Alarm] = {}
        changes: list[AlarmChange] = []
        checks: list[EmptyCheck] = []
        for samples, commands in self._writer.history(0):
            output = fold.feed(samples, commands)
            events.update((event.id, event) for event in output.events)
            trip_rows.update((row.stand, row) for row in output.trip_rows)
            alarms.update((alarm.id, alarm) for alarm in output.alarms)
            changes.extend(output.alarm_changes)
            checks.extend(output.checks)
            if stop.is_set():
                return fold
        before = self._writer.event_ids()
        gone = ", ".join(sorted(before - set(events))) or "none"
        new = ", ".join(sorted(set(events) - before)) or "none"
        note = Note(
            _wall_us(),
            RECORDER,
            "rebuilt from the rows of the record",
            f"{reason}; events no longer found: {gone}",
            f"events newly found: {new}",
        )
        self._writer.replace_findings(
            events.values(), trip_rows.values(), note, alarms.values(), changes, checks
        )
        return fold

    def _source_cursor(self) -> dict[str, Any] | None:
        """Where the source goes on; another source than last time starts at its beginning."""
        if self._left.settings is not None and self._is_other_source():
            self._note("source", self._left.settings.source, self._settings.source)
            return None
        return self._left.cursor

    def _is_other_source(self) -> bool:
        before = self._left.settings
        return before is not None and before.source != self._settings.source

    def _note(self, what: str, before: str = "", after: str = "") -> None:
        self._notes.append(Note(_wall_us(), RECORDER, what, before, after))

    def _note_fault(self, error: Exception) -> None:
        """Leave the reason in the journal where the record still takes it."""
        self._note("stopped by a fault", after=f"{type(error).__name__}: {error}")
        try:
            self._writer.append(Entry(_wall_us(), notes=self._notes, finished=self._finished))
        except StoreError as second:
            _log.warning("the journal could not be written: %s", second)


def record(
    rig_text: str,
    source: str,
    data_dir: Path,
    *,
    rig_file: str = "rig file",
    bit_depth_m: float | None = None,
    until_finished: bool = False,
    acts: Path | None = None,
    stop: threading.Event | None = None,
) -> None:
    """Record ``source`` (a SPEC) into ``data_dir`` until told to stop.

    Resumes a record found there; ``acts`` is a list of what people did, given by time.
    Ends cleanly on SIGINT, SIGTERM or ``stop``; a source that comes to its end keeps the
    recorder alive for acts unless ``until_finished``.
    Raises ConfigError, InputError or StoreError with one clear message.
    """
    rig = parse_rig(rig_text, rig_file)
    settings = Settings(source, rig_text, bit_depth_m)
    listed = [] if acts is None else read_acts(acts, rig)
    with told_to_stop(stop or threading.Event()) as told:
        Recorder(rig, settings, data_dir, Parts(), until_finished=until_finished, acts=listed).run(
            told
        )


def _wall_us() -> int:
    return time.time_ns() // 1000
