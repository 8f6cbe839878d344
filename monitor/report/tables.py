"""The CSV tables: a row an event, an alarm, a change of its state, a stand; kN and UTC."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

from monitor.model import Alarm, AlarmChange, Event, TripRow
from monitor.report.finished_file import finished_file
from monitor.units import iso_utc

EVENT_HEADER = (
    "kind",
    "start",
    "raised",
    "end",
    "peak_time",
    "bit_depth_m",
    "peak_hook_load_kN",
    "expected_hook_load_kN",
    "peak_excess_kN",
    "confidence",
    "duration_s",
    "work_kNm",
    "repeat",
    "why",
)
ALARM_HEADER = (
    "id",
    "kind",
    "priority",
    "state",
    "raised",
    "returned",
    "acknowledged",
    "acknowledged_by",
    "first_up",
    "times",
    "event",
    "why",
)
CHANGE_HEADER = ("time", "seq", "kind", "from", "to", "cause", "who")
TRIP_HEADER = (
    "stand",
    "direction",
    "out_of_slips",
    "in_slips",
    "bit_depth_m",
    "length_m",
    "moving_weight_kN",
    "expected_weight_kN",
    "max_overpull_kN",
    "max_slack_off_kN",
    "average_speed_m_per_s",
    "seconds_in_slips_before",
    "greatest_hook_load_kN",
    "least_hook_load_kN",
    "trip_tank_change_m3",
    "events",
    "hoisting_weight_kN",
    "lowering_weight_kN",
    "rotating_weight_kN",
    "weights_flow",
    "tally_depth_m",
    "tally_difference_m",
)


def number(value: float | None, decimals: int = 3) -> str:
    """Decimal text; empty where the value is not known. Never "-0.000"."""
    if value is None or not math.isfinite(value):
        return ""
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def kilonewtons(force_N: float) -> str:
    """Force as the tables print it [kN]."""
    return number(force_N / 1000.0)


def stamp(time_us: int | None) -> str:
    """ISO 8601 UTC; empty while it has not happened yet."""
    return "" if time_us is None else iso_utc(time_us)


def event_cells(event: Event) -> tuple[str, ...]:
    """One row of events.csv, in the order of ``EVENT_HEADER``."""
    return (
        event.kind,
        stamp(event.start_us),
        stamp(event.raised_us),
        stamp(event.end_us),
        stamp(event.peak_time_us),
        number(event.bit_depth_m),
        kilonewtons(event.peak_hook_load_N),
        kilonewtons(event.expected_hook_load_N),
        kilonewtons(event.peak_excess_N),
        number(event.confidence),
        number(event.duration_s, 1),
        kilonewtons(event.work_J),
        str(event.repeat),
        event.why,
    )


def alarm_cells(alarm: Alarm) -> tuple[str, ...]:
    """One row of alarms.csv, in the order of ``ALARM_HEADER``."""
    return (
        alarm.id,
        alarm.kind,
        alarm.priority,
        alarm.state,
        stamp(alarm.raised_us),
        stamp(alarm.returned_us),
        stamp(alarm.acknowledged_us),
        alarm.acknowledged_by,
        "yes" if alarm.first_up else "no",
        str(alarm.times),
        alarm.event_id,
        alarm.why,
    )


def change_cells(change: AlarmChange) -> tuple[str, ...]:
    """One row of alarm_journal.csv, in the order of ``CHANGE_HEADER``."""
    return (
        stamp(change.time_us),
        str(change.seq),
        change.kind,
        change.before,
        change.after,
        change.cause,
        change.who,
    )


def trip_cells(row: TripRow) -> tuple[str, ...]:
    """One row of trip_sheet.csv, in the order of ``TRIP_HEADER``."""
    return (
        str(row.stand),
        row.direction,
        stamp(row.out_of_slips_us),
        stamp(row.in_slips_us),
        number(row.bit_depth_m),
        number(row.length_m),
        kilonewtons(row.moving_weight_N),
        kilonewtons(row.expected_weight_N),
        kilonewtons(row.max_overpull_N),
        kilonewtons(row.max_slack_off_N),
        number(row.average_speed_m_s, 4),
        number(row.seconds_in_slips_before_s, 1),
        kilonewtons(row.greatest_hook_load_N),
        kilonewtons(row.least_hook_load_N),
        number(row.trip_tank_change_m3),
        str(row.events),
        kilonewtons(row.hoisting_weight_N),
        kilonewtons(row.lowering_weight_N),
        kilonewtons(row.rotating_weight_N),
        row.weights_flow,
        number(row.tally_depth_m),
        number(row.tally_depth_m - row.bit_depth_m),
    )


def write_events(path: Path, events: Iterable[Event]) -> None:
    """Write events.csv in order of start."""
    ordered = sorted(events, key=lambda event: (event.start_us, event.seq, event.kind))
    _write(path, EVENT_HEADER, map(event_cells, ordered))


def write_alarms(path: Path, alarms: Iterable[Alarm]) -> None:
    """Write alarms.csv in the order in which they were raised."""
    ordered = sorted(alarms, key=lambda alarm: (alarm.raised_us, alarm.seq, alarm.kind))
    _write(path, ALARM_HEADER, map(alarm_cells, ordered))


def write_alarm_journal(path: Path, changes: Iterable[AlarmChange]) -> None:
    """Write alarm_journal.csv in the order in which the states changed."""
    _write(path, CHANGE_HEADER, map(change_cells, changes))


def write_trip_sheet(path: Path, rows: Iterable[TripRow]) -> None:
    """Write trip_sheet.csv in order of stands."""
    ordered = sorted(rows, key=lambda row: row.stand)
    _write(path, TRIP_HEADER, map(trip_cells, ordered))


def _write(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with finished_file(path) as part, part.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)
