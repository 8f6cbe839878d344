"""The batch fold: record files through the one pipeline into tables and a summary.

Memory does not grow with the record: rows go through in chunks, and only events, stands
and running totals are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from monitor.ingest.acts import read_acts
from monitor.ingest.csv_file import read_csv
from monitor.model import Alarm, Command, Event, Ints, Output, Quality, Samples, TripRow
from monitor.pipeline import Pipeline
from monitor.report.finished_file import finished_file, output_folder
from monitor.report.summary import heading, results_part, span_part, write_json
from monitor.report.tables import write_alarms, write_events, write_trip_sheet
from monitor.rig.rig import Rig

Progress = Callable[[int], None]


@dataclass
class Collected:
    """Newest version of each event and stand, and the span seen so far."""

    events: dict[str, Event] = field(default_factory=dict)
    alarms: dict[str, Alarm] = field(default_factory=dict)
    trip_rows: dict[int, TripRow] = field(default_factory=dict)
    first_us: int | None = None
    last_us: int | None = None
    rows: int = 0

    def add(self, samples: Samples, output: Output) -> None:
        """Take in one chunk and what the pipeline made of it."""
        self.events.update((event.id, event) for event in output.events)
        self.alarms.update((alarm.id, alarm) for alarm in output.alarms)
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
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Write events.csv, alarms.csv, trip_sheet.csv, summary.json; return the summary.

    ``series``: series.parquet too. ``paths`` are parts of one record in time order. An
    earlier analysis in ``out_dir`` is replaced, its series.parquet included, so that what
    lies there belongs together.
    """
    commands = read_acts(acts, rig) if acts is not None else []
    output_folder(out_dir)
    source = read_csv(paths, rig, start=start)
    pipeline = Pipeline(rig, bit_depth_m=bit_depth_m)
    collected = Collected()
    with ExitStack() as stack:
        writer = None
        if series:
            from monitor.report.series import SeriesWriter  # parquet's library is slow to load

            part = stack.enter_context(finished_file(out_dir / "series.parquet"))
            writer = stack.enter_context(SeriesWriter(part))
        for samples, due in merged(ahead(source), commands):
            output = pipeline.feed(samples, due)
            collected.add(samples, output)
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
        "notes": list(counts.notes),
        "examples": list(counts.examples),
    }
    write_events(out_dir / "events.csv", events)
    write_alarms(out_dir / "alarms.csv", collected.alarms.values())
    write_trip_sheet(out_dir / "trip_sheet.csv", collected.trip_rows.values())
    write_json(out_dir / "summary.json", summary)
    if not series:
        (out_dir / "series.parquet").unlink(missing_ok=True)
    return summary


def ahead(source: Iterator[Samples]) -> Iterator[Samples]:
    """Read the next chunk while this one is interpreted; most of reading holds no lock."""
    with ThreadPoolExecutor(max_workers=1) as pool:
        coming = pool.submit(next, source, None)
        while (samples := coming.result()) is not None:
            coming = pool.submit(next, source, None)
            yield samples


def merged(
    source: Iterator[Samples], commands: Sequence[Command]
) -> Iterator[tuple[Samples, list[Command]]]:
    """Give acts and rows numbers from one counter, each act before the first row not older.

    Rows keep their order; an act later than the whole record is never reached. After a
    clock step the acts that are left follow the new clock.
    """
    waiting = sorted(commands, key=lambda command: command.time_us)
    act_times = np.array([command.time_us for command in waiting], dtype=np.int64)
    given, newest_us = 0, np.iinfo(np.int64).min
    for samples in source:
        if not waiting or not len(samples):
            yield samples, []
            continue
        reached = _reached(samples, newest_us)
        newest_us = reached[-1]
        before = np.searchsorted(act_times, reached, side="right")
        before = np.maximum.accumulate(np.maximum(before, given))
        due = []
        for index in range(given, int(before[-1])):
            row = int(np.searchsorted(before, index, side="right"))
            due.append(replace(waiting[index], seq=int(samples.seq[row]) + index))
        given = int(before[-1])
        yield replace(samples, seq=samples.seq + before), due


def _reached(samples: Samples, newest_us: np.int64 | int) -> Ints:
    """Newest time known at each row: late rows do not turn it back, clock steps do."""
    steps = np.flatnonzero(samples.row & int(Quality.EPOCH))
    parts = np.split(samples.time_us, steps)
    parts[0] = np.maximum(parts[0], newest_us)
    return np.concatenate([np.maximum.accumulate(part) for part in parts])
