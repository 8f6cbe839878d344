"""The material of what happened over a long span: full rows only where something happened.

A sequence needs every row while an event was open and for a while after a stuck spell, the
first and the last row, and for the rest only stands and events. So a month costs what its
events cost.
"""

from __future__ import annotations

import numpy as np

from monitor.model import Event
from monitor.report.finished_file import OutputError
from monitor.report.material import (
    Material,
    Rows,
    events_before,
    events_in,
    stands_before,
    stands_in,
    stored_column,
)
from monitor.review.span import CHANNELS, RESULTS
from monitor.review.spell import AFTER_US, FREE_WITHIN_US
from monitor.rig.file import parse_rig
from monitor.store.columns import PUBLIC_NAMES
from monitor.store.moments import Moments
from monitor.store.notes import notes_of

# Rows read for one story: a few seconds of reading.
MOST_STORY_ROWS = 600_000
MOST_STORY_EVENTS = 4000
MOST_EARLIER = 20_000
ROW_US = 1
# Kinds whose rows the sequence looks at.
LOOKED_AT = ("overpull", "slack_off", "stuck", "jar_blow")


def story_material(record: Moments, from_us: int, to_us: int) -> Material:
    """Material of ``from_us <= time < to_us`` for the sequence and the stuck spells in it."""
    whole = record.span_us()
    if whole is None:
        raise OutputError("the record holds no row yet")
    first, last = max(from_us, whole[0]), min(to_us - 1, whole[1])
    if last < first:
        raise OutputError("no row of the record lies in that span")
    events = events_in(record.events_touching(first, to_us, MOST_STORY_EVENTS + 1), first, to_us)
    if len(events) > MOST_STORY_EVENTS:
        raise OutputError(f"over {MOST_STORY_EVENTS} events in that span; choose a shorter one")
    rows = Rows(first, to_us)
    raw = {name: PUBLIC_NAMES[name] for name in CHANNELS}
    for start, stop in pieces(events, first, last):
        page = record.between(start, stop, MOST_STORY_ROWS - rows.count + 1)
        columns = {name: stored_column(name, page.columns[name]) for name in RESULTS}
        columns |= {
            name: page.columns[column].astype(np.float64)
            for name, column in raw.items()
            if column in page.columns
        }
        rows.add(page.time_us, page.columns["row"], columns)
        if rows.count > MOST_STORY_ROWS:
            raise OutputError("too much happened in that span at once; choose a shorter one")
    status = record.status()
    everything = record.events_touching(0, to_us, MOST_EARLIER)
    stands = [row for row in record.trip_rows() if not row.void]
    return Material(
        rig=parse_rig(record.rig_text(), file="rig file of the record"),
        span=rows.span(),
        events=events,
        trip_rows=stands_in(stands, first, to_us),
        earlier_events=events_before(everything, first),
        earlier_trip_rows=stands_before(stands, first),
        commands=[each for each in record.commands() if each.time_us < to_us],
        sources=[],
        counts=status.get("counts", {}),
        alarm_limits_N=status.get("alarm_limits_N", {}),
        notes=notes_of(record, first, to_us),
    )


def pieces(events: list[Event], first_us: int, last_us: int) -> list[tuple[int, int]]:
    """Times worth every row, in order, none twice.

    >>> pieces([], 10, 99)
    [(10, 11), (99, 100)]
    """
    wanted = [(first_us, first_us + ROW_US), (last_us, last_us + ROW_US)]
    for event in events:
        if event.kind in LOOKED_AT:
            end_us = last_us if event.end_us is None else event.end_us
            after_us = FREE_WITHIN_US if event.kind == "stuck" else ROW_US
            wanted.append((event.start_us - AFTER_US, end_us + after_us + ROW_US))
    joined: list[tuple[int, int]] = []
    for start, stop in sorted(wanted):
        start, stop = max(start, first_us), min(stop, last_us + ROW_US)
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], stop))
        elif start < stop:
            joined.append((start, stop))
    return joined
