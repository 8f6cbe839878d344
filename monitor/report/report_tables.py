"""The report's data as CSV beside it: sequence, pulls, and a row a second."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from monitor.model import ACTIVITY_CODES
from monitor.report.findings import Findings
from monitor.report.finished_file import finished_file
from monitor.report.material import Material
from monitor.report.tables import kilonewtons, number, stamp, write_events, write_trip_sheet
from monitor.report.wording import sentence

PULL_HEADER = (
    "spell", "kind", "number", "start", "peak_time", "end", "start_hook_load_kN",
    "peak_hook_load_kN", "half_width_kN", "excess_kN", "end_hook_load_kN", "block_travel_m",
    "moved", "movement_m", "came_loose", "slope_up_mm_per_kN", "slope_down_mm_per_kN",
    "room_left_kN",
)  # fmt: skip
SECOND_HEADER = (
    "time", "hook_load_kN", "half_width_kN", "expected_hook_load_kN", "band_kN", "excess_kN",
    "block_position_m", "bit_depth_m", "activity",
)  # fmt: skip


def write_tables(path: Path, material: Material, findings: Findings) -> list[Path]:
    """Write the tables beside the report at ``path``; return their paths."""
    beside = {
        name: path.with_name(f"{path.stem}.{name}.csv")
        for name in ("sequence", "pulls", "seconds", "events", "trip_sheet")
    }
    _write(
        beside["sequence"],
        ("time", "kind", "text"),
        ((stamp(line.time_us), line.kind, sentence(line, "metric")) for line in findings.lines),
    )
    _write(beside["pulls"], PULL_HEADER, _pulls(findings))
    _write(beside["seconds"], SECOND_HEADER, _seconds(material))
    write_events(beside["events"], material.events)
    write_trip_sheet(beside["trip_sheet"], material.trip_rows)
    return list(beside.values())


def _pulls(findings: Findings) -> Iterable[Sequence[str]]:
    for at, found in enumerate(findings.spells, 1):
        rooms = {margin.number: margin.room_left_N for margin in found.margins}
        for pull in found.spell.pulls:
            room = rooms.get(pull.number) if pull.kind == "pull" else None
            yield (
                str(at),
                pull.kind,
                str(pull.number),
                stamp(pull.start_us),
                stamp(pull.peak_us),
                stamp(pull.end_us),
                kilonewtons(pull.start_load_N),
                kilonewtons(pull.load_N),
                kilonewtons(pull.half_width_N),
                kilonewtons(pull.excess_N),
                kilonewtons(pull.end_load_N),
                number(pull.travel_m),
                "yes" if pull.moved else "no",
                number(pull.movement_m),
                "yes" if pull.came_loose else "no",
                number(pull.compliance_m_N * 1e6, 5),
                number(pull.slack_compliance_m_N * 1e6, 5),
                "" if room is None else kilonewtons(room),
            )


def _seconds(material: Material) -> Iterable[Sequence[str]]:
    part = material.span.seconds()
    forces = ("hook_load_N", "hook_load_half_width_N", "expected_N", "band_N", "excess_N")
    loads = [part[name].tolist() for name in forces]
    block, depth = part["block_position"].tolist(), part["bit_depth_m"].tolist()
    activity = part["activity"].astype(int).tolist()
    for at, time_us in enumerate(part.time_us.tolist()):
        yield (
            stamp(time_us),
            *(kilonewtons(column[at]) for column in loads),
            number(block[at]),
            number(depth[at]),
            ACTIVITY_CODES[activity[at]],
        )


def _write(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with finished_file(path) as part, part.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)
