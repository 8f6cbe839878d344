"""The material of a report from a record that `hookload` keeps itself."""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np

from monitor.model import CHANNELS as ALL_CHANNELS
from monitor.report.export import pages
from monitor.report.finished_file import OutputError
from monitor.report.material import (
    Material,
    Rows,
    Source,
    events_before,
    events_in,
    stands_before,
    stands_in,
    stored_column,
)
from monitor.review.span import CHANNELS, RESULTS
from monitor.rig.file import parse_rig
from monitor.store.columns import PUBLIC_NAMES
from monitor.store.notes import notes_of
from monitor.store.reader import Reader

MOST_EVENTS = 1_000_000


def from_record(reader: Reader, from_us: int | None = None, to_us: int | None = None) -> Material:
    """Take a span of the record as it stands: what the recorder made of it, not made anew."""
    whole = reader.span_us()
    if whole is None:
        raise OutputError(f"{reader.path}: holds no row yet; no report is written")
    start = whole[0] if from_us is None else from_us
    stop = whole[1] + 1 if to_us is None else to_us
    rows, digest = Rows(start, stop), hashlib.sha256()
    for page in pages(reader, start, stop):
        raw = {name: PUBLIC_NAMES[name] for name in ALL_CHANNELS}
        _digest(digest, page, raw)
        columns = {name: stored_column(name, page.columns[name]) for name in RESULTS}
        columns |= {
            name: page.columns[raw[name]].astype(np.float64)
            for name in CHANNELS
            if raw[name] in page.columns
        }
        rows.add(page.time_us, page.columns["row"], columns)
    span = rows.span()
    status = reader.status()
    events = reader.events(MOST_EVENTS)
    rows_of_trips = [row for row in reader.trip_rows() if not row.void]
    what = f"{rows.count:,} rows as received, their times and values"
    return Material(
        rig=parse_rig(reader.rig_text(), file="rig file of the record"),
        span=span,
        events=events_in(events, start, stop),
        trip_rows=stands_in(rows_of_trips, start, stop),
        earlier_events=events_before(events, start),
        earlier_trip_rows=stands_before(rows_of_trips, start),
        commands=[each for each in reader.commands() if each.time_us < stop],
        sources=[Source(reader.path.name, what, digest.hexdigest())],
        counts=status.get("counts", {}),
        alarm_limits_N=status.get("alarm_limits_N", {}),
        notes=notes_of(reader, start, stop),
        calibrations=[act for act in reader.calibrations() if act.time_us < stop],
    )


def _digest(digest: Any, page: Any, raw: dict[str, str]) -> None:
    """Times and raw values in a fixed order of channels: the same rows, the same hash."""
    digest.update(page.time_us.astype("<i8").tobytes())
    for name, column in raw.items():
        if column in page.columns:
            digest.update(name.encode())
            digest.update(page.columns[column].astype("<f8").tobytes())
