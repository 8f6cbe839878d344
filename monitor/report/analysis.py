"""The batch fold: record files through the one pipeline into tables and a summary.

Memory does not grow with the record: rows go through in chunks, and only events, stands
and running totals are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from monitor.ingest.acts import read_acts
from monitor.ingest.certificate_file import read_certificate
from monitor.ingest.csv_file import read_csv
from monitor.ingest.due_acts import DueActs, no_rows, not_reached
from monitor.ingest.errors import InputError, message
from monitor.model import Alarm, AlarmChange, Command, Event, Output, Quality, Samples, TripRow
from monitor.pipeline import Pipeline
from monitor.report.finished_file import finished_file, output_folder
from monitor.report.summary import heading, results_part, span_part, write_json
from monitor.report.tables import write_alarm_journal, write_alarms, write_events, write_trip_sheet
from monitor.rig.rig import Rig

Progress = Callable[[int], None]


@dataclass
class Collected:
    """Newest version of each event and stand, and the span seen so far."""

    events: dict[str, Event] = field(default_factory=dict)
    alarms: dict[str, Alarm] = field(default_factory=dict)
    alarm_changes: list[AlarmChange] = field(default_factory=list)
    trip_rows: dict[int, TripRow] = field(default_factory=dict)
    first_us: int | None = None
    last_us: int | None = None
    rows: int = 0

    def add(self, samples: Samples, output: Output) -> None:
        """Take in one chunk and what the pipeline made of it."""
        self.events.update((event.id, event) for event in output.events)
        self.alarms.update((alarm.id, alarm) for alarm in output.alarms)
        self.alarm_changes += output.alarm_changes
        for row in output.trip_rows:
            self.trip_rows[row.stand] = row
            if row.void:
                del self.trip_rows[row.stand]
        real = (samples.row & int(Quality.GAP | Quality.LATE)) == 0
        times = samples.time_us[real]
        self.rows += len(samples)
        if len(times):
            self.first_us = int(times[0]) if self.first_us is None else self.first_us
            self.last_us = int(times[-1])


def analyse(
    paths: Sequence[Path],
    rig: Rig,
    out_dir: Path,
    *,
    bit_depth_m: float | None = None,
    acts: Path | None = None,
    series: bool = False,
    start: str | None = None,
    calibration: Path | None = None,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Write events.csv, alarms.csv and journal, trip_sheet.csv, summary.json; return the last.

    ``series``: series.parquet too. ``paths`` are parts of one record in time order. An
    earlier analysis in ``out_dir`` is replaced, its series.parquet included, so that what
    lies there belongs together. With a ``calibration`` the record is read by that certificate
    from its first row on.
    """
    due_acts = DueActs(read_acts(acts, rig) if acts is not None else [])
    by_certificate = [] if calibration is None else put_in_force(calibration, rig)
    output_folder(out_dir)
    source = read_csv(paths, rig, start=start)
    pipeline = Pipeline(rig, bit_depth_m=bit_depth_m)
    if by_certificate:
        pipeline.feed(no_rows(), by_certificate)
    collected = Collected()
    with ExitStack() as stack:
        writer = None
        if series:
            from monitor.report.series import SeriesWriter  # parquet's library is slow to load

            part = stack.enter_context(finished_file(out_dir / "series.parquet"))
            writer = stack.enter_context(SeriesWriter(part))
        for samples, due in due_acts.numbered(ahead(source)):
            output = pipeline.feed(samples, due)
            collected.add(samples, output)
            if calibration is not None:
                check_applies(pipeline, calibration)
            if writer is not None:
                writer.append(samples, output)
            if progress is not None:
                progress(collected.rows)
    events = list(collected.events.values())
    counts = source.counts
    summary = {
        **heading(rig.name, paths),
        "samples": counts.samples,
        "rejected": dict(counts.rejected),
        **span_part(collected.first_us, collected.last_us),
        **results_part({**pipeline.summary(), "stands": len(collected.trip_rows)}, events),
        "ignored_columns": list(counts.ignored_columns),
        "notes": [*counts.notes, *counts.order_note(), *not_reached(due_acts.left)],
        "examples": list(counts.examples),
    }
    write_events(out_dir / "events.csv", events)
    write_alarms(out_dir / "alarms.csv", collected.alarms.values())
    write_alarm_journal(out_dir / "alarm_journal.csv", collected.alarm_changes)
    write_trip_sheet(out_dir / "trip_sheet.csv", collected.trip_rows.values())
    write_json(out_dir / "summary.json", summary)
    if not series:
        (out_dir / "series.parquet").unlink(missing_ok=True)
    return summary


def put_in_force(path: Path, rig: Rig) -> list[Command]:
    """Acts that propose and approve a certificate before the first row."""
    proposal = read_certificate(path, rig.sensor)
    who = proposal.measured_by or "hookload analyse --calibration"
    return [
        Command(0, 0, "calibration_proposed", float("nan"), proposal.to_text(), who),
        Command(0, 0, "calibration_approved", 1.0, "asked for at the command line", who),
    ]


def check_applies(pipeline: Pipeline, path: Path) -> None:
    """Refuse to go on where the record has nothing that the certificate is of."""
    calibrations = pipeline.load.calibrations
    if pipeline.samples == 0 or calibrations.in_force == 0:
        return
    wanted = calibrations.proposal(calibrations.in_force).reading_of
    if calibrations.reading_of != wanted:
        has = calibrations.reading_of or "a reported hook load, which is never corrected"
        raise InputError(message(str(path), f"is of {wanted}, and the record gives {has}"))


def ahead(source: Iterator[Samples]) -> Iterator[Samples]:
    """Read the next chunk while this one is interpreted; most of reading holds no lock."""
    with ThreadPoolExecutor(max_workers=1) as pool:
        coming = pool.submit(next, source, None)
        while (samples := coming.result()) is not None:
            coming = pool.submit(next, source, None)
            yield samples
