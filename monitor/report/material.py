"""What a report is made from: rows of the span, findings, acts, counts and the source's hash."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from monitor.ingest.acts import read_acts
from monitor.ingest.csv_file import read_csv
from monitor.ingest.due_acts import merged
from monitor.model import (
    INTEGER_RESULTS,
    CalibrationAct,
    Command,
    Event,
    Output,
    Quality,
    Samples,
    SpanNote,
    TripRow,
)
from monitor.notes import note_of, notes_in
from monitor.pipeline import Pipeline
from monitor.report.analysis import Collected, Progress, ahead
from monitor.report.finished_file import OutputError
from monitor.review.agreed import AgreedChange, agreed_changes
from monitor.review.allowed import AS_GIVEN, PipeChoice
from monitor.review.span import CHANNELS, RESULTS, Span, in_order
from monitor.rig.rig import Rig

# Three days at 10 Hz: rows are held at full rate, so that no peak is thinned away.
MOST_ROWS = 3_000_000


@dataclass(frozen=True, slots=True)
class Source:
    """One file or record the report is of, by its SHA-256."""

    name: str
    what: str
    sha256: str


@dataclass(frozen=True)
class Material:
    """Everything a report needs; nothing in it depends on when it is made."""

    rig: Rig
    span: Span
    events: Sequence[Event]
    trip_rows: Sequence[TripRow]
    commands: Sequence[Command]
    sources: Sequence[Source]
    counts: Mapping[str, Any]
    alarm_limits_N: Mapping[str, float | None]
    # From before the span: what was normal on earlier trips, and where it was tight.
    earlier_events: Sequence[Event] = field(default_factory=tuple)
    earlier_trip_rows: Sequence[TripRow] = field(default_factory=tuple)
    pipe_choice: PipeChoice = AS_GIVEN
    chosen_pulls: frozenset[int] | None = None  # for the free length; None: the found ones
    notes: Sequence[SpanNote] = field(default_factory=tuple)
    calibrations: Sequence[CalibrationAct] = field(default_factory=tuple)

    def agreed_changes(self) -> list[AgreedChange]:
        """Agreed limits raised, lowered or taken away, by whom and when."""
        return agreed_changes(self.rig, self.commands)

    def lines_at(self, time_us: int) -> int:
        """Lines strung as declared at a moment."""
        return int(self._declared("lines_strung", time_us, self.rig.reeving.lines_strung))

    def travelling_weight_at(self, time_us: int) -> float:
        """Give the travelling weight declared at a moment."""
        return self._declared("travelling_weight", time_us, self.rig.travelling_weight_N)

    def mud_density_at(self, time_us: int) -> float:
        """Give the mud density declared at a moment; not-a-number where there is none."""
        mud = self.rig.mud_density_kg_m3
        return self._declared("mud_density", time_us, float("nan") if mud is None else mud)

    def _declared(self, act: str, time_us: int, at_first: float) -> float:
        value = at_first
        for command in self.commands:
            if command.act == act and command.time_us <= time_us and np.isfinite(command.number):
                value = command.number
        return value


class Rows:
    """Rows gathered chunk by chunk; gap markers and late rows are left out."""

    def __init__(self, from_us: int | None, to_us: int | None) -> None:
        self._from_us, self._to_us = from_us, to_us
        self._times: list[Any] = []
        self._parts: list[dict[str, Any]] = []
        self.count = 0

    def add(self, time_us: Any, row: Any, columns: Mapping[str, Any]) -> None:
        """Keep what lies in the span."""
        keep = (row.astype(np.int64) & int(Quality.GAP | Quality.LATE)) == 0
        if self._from_us is not None:
            keep &= time_us >= self._from_us
        if self._to_us is not None:
            keep &= time_us < self._to_us
        chosen = np.flatnonzero(keep)
        self.count += len(chosen)
        if self.count > MOST_ROWS:
            raise OutputError(
                f"more than {MOST_ROWS:,} rows for one report; give a shorter span by --from, --to"
            )
        if len(chosen):
            self._times.append(time_us[chosen])
            self._parts.append({name: column[chosen] for name, column in columns.items()})

    def span(self) -> Span:
        """All of it; a channel that only some chunks have is missing in the others."""
        if not self._times:
            raise OutputError("no usable row lies in that span; no report is written")
        names = [name for name in (*RESULTS, *CHANNELS) if any(name in p for p in self._parts)]
        times = np.concatenate(self._times)
        order = in_order(times)
        columns = {
            name: np.concatenate(
                [
                    part[name] if name in part else np.full(len(time), np.nan)
                    for part, time in zip(self._parts, self._times, strict=True)
                ]
            )[order]
            for name in names
        }
        return Span(times[order], columns)


def file_sha256(path: Path) -> str:
    """SHA-256 of a file's bytes."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def from_files(
    paths: Sequence[Path],
    rig: Rig,
    *,
    bit_depth_m: float | None = None,
    acts: Path | None = None,
    start: str | None = None,
    from_us: int | None = None,
    to_us: int | None = None,
    progress: Progress | None = None,
) -> Material:
    """Interpret a record from files; all of it teaches, the span is what is reported."""
    commands = read_acts(acts, rig) if acts is not None else []
    source = read_csv(paths, rig, start=start)
    pipeline = Pipeline(rig, bit_depth_m=bit_depth_m)
    collected, rows = Collected(), Rows(from_us, to_us)
    calibrations: list[CalibrationAct] = []
    for samples, due in merged(ahead(source), commands):
        output = pipeline.feed(samples, due)
        collected.add(samples, output)
        calibrations += output.calibrations
        rows.add(output.time_us, samples.row, _columns(samples, output))
        if progress is not None:
            progress(collected.rows)
    named = [*paths, *([acts] if acts is not None else [])]
    return Material(
        rig=rig,
        span=rows.span(),
        events=events_in(collected.events.values(), from_us, to_us),
        trip_rows=stands_in(collected.trip_rows.values(), from_us, to_us),
        commands=commands,
        sources=[
            Source(path.name, f"{path.stat().st_size:,} bytes", file_sha256(path))
            for path in named
        ],
        counts=source.counts.as_dict(),
        alarm_limits_N=pipeline.status()["alarm_limits_N"],
        earlier_events=events_before(collected.events.values(), from_us),
        earlier_trip_rows=stands_before(collected.trip_rows.values(), from_us),
        calibrations=calibrations,
        notes=notes_in([note for each in commands if (note := note_of(each))], from_us, to_us),
    )


def _columns(samples: Samples, output: Output) -> dict[str, Any]:
    found: dict[str, Any] = {name: output.columns[name] for name in RESULTS}
    found |= {name: samples.values[name] for name in CHANNELS if name in samples.values}
    return found


def events_in(events: Any, from_us: int | None, to_us: int | None) -> list[Event]:
    """Events that touch the span, in order of start."""
    inside = [
        event
        for event in events
        if (to_us is None or event.start_us < to_us)
        and (from_us is None or event.end_us is None or event.end_us >= from_us)
    ]
    return sorted(inside, key=lambda event: (event.start_us, event.seq, event.kind))


def stands_in(rows: Any, from_us: int | None, to_us: int | None) -> list[TripRow]:
    """Stands that touch the span, in order."""
    inside = [
        row
        for row in rows
        if (to_us is None or row.out_of_slips_us < to_us)
        and (from_us is None or row.in_slips_us is None or row.in_slips_us >= from_us)
    ]
    return sorted(inside, key=lambda row: row.stand)


def events_before(events: Iterable[Event], from_us: int | None) -> list[Event]:
    """Events that were over before the span, in order of start."""
    before = [
        event
        for event in events
        if from_us is not None and event.end_us is not None and event.end_us < from_us
    ]
    return sorted(before, key=lambda event: (event.start_us, event.seq, event.kind))


def stands_before(rows: Iterable[TripRow], from_us: int | None) -> list[TripRow]:
    """Stands that were in slips before the span, in order."""
    before = [
        row
        for row in rows
        if from_us is not None and row.in_slips_us is not None and row.in_slips_us < from_us
    ]
    return sorted(before, key=lambda row: row.stand)


def stored_column(name: str, column: Any) -> Any:
    """Codes and flags whole, as the pipeline gives them; NULL as 0."""
    values = column.astype(np.float64)
    return np.nan_to_num(values).astype(np.int64) if name in INTEGER_RESULTS else values
