"""The report's data beside it, as CSV and as one workbook: from the sequence to the seconds."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from monitor import __version__
from monitor.model import ACTIVITY_CODES
from monitor.report.findings import Findings
from monitor.report.finished_file import finished_file
from monitor.report.material import Material
from monitor.report.tables import (
    EVENT_HEADER,
    TRIP_HEADER,
    event_cells,
    kilonewtons,
    number,
    stamp,
    trip_cells,
)
from monitor.report.wording import sentence
from monitor.report.workbook import Sheet, write_workbook

PULL_HEADER = (
    "spell", "kind", "number", "start", "peak_time", "end", "start_hook_load_kN",
    "peak_hook_load_kN", "half_width_kN", "excess_kN", "end_hook_load_kN", "block_travel_m",
    "moved", "movement_m", "came_loose", "slope_up_mm_per_kN", "slope_down_mm_per_kN",
    "room_left_kN",
)  # fmt: skip
FREE_HEADER = (
    "spell", "slopes", "pull", "free_length_m", "low_m", "high_m", "why_no_figure",
)  # fmt: skip
LIMIT_HEADER = ("spell", "limit", "as_hook_load_kN", "acts_on", "rating")
OVER_HEADER = (
    "whose", "kind", "limit_kN", "times_passed", "seconds_over", "first_time", "greatest_kN",
)  # fmt: skip
AGREED_HEADER = ("time", "kind", "from_kN", "to_kN", "who", "why")
CORRECTION_HEADER = (
    "at", "time", "deadline_tension_kN", "times_lines_kN", "drilling_line_kN",
    "sheave_friction_kN", "inertia_kN", "mud_hose_kN", "hook_load_kN", "half_width_kN",
    "by_calibration_kN",
)  # fmt: skip
NOTE_HEADER = ("start", "end", "who", "text", "written_time")
SECOND_HEADER = (
    "time", "hook_load_kN", "half_width_kN", "expected_hook_load_kN", "band_kN", "excess_kN",
    "block_position_m", "bit_depth_m", "activity",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Table:
    """One table as text: SI cells in kN and metres, times ISO 8601 UTC."""

    name: str
    header: Sequence[str]
    rows: Sequence[Sequence[str]]


def report_tables(material: Material, findings: Findings) -> list[Table]:
    """Every table of the report, the longest last."""
    events = sorted(material.events, key=lambda event: (event.start_us, event.seq, event.kind))
    stands = sorted(material.trip_rows, key=lambda row: row.stand)
    return [
        Table(
            "sequence",
            ("time", "kind", "text"),
            list(_sequence(findings)),
        ),
        Table("pulls", PULL_HEADER, list(_pulls(findings))),
        Table("free_length", FREE_HEADER, list(_free_lengths(findings))),
        Table("limits", LIMIT_HEADER, list(_limits(findings))),
        Table("time_over", OVER_HEADER, list(_over(findings))),
        Table("agreed", AGREED_HEADER, list(_agreed(material))),
        Table("corrections", CORRECTION_HEADER, list(_corrections(findings))),
        Table("notes", NOTE_HEADER, list(_notes(material))),
        Table("events", EVENT_HEADER, [event_cells(event) for event in events]),
        Table("trip_sheet", TRIP_HEADER, [trip_cells(row) for row in stands]),
        Table("seconds", SECOND_HEADER, list(_seconds(material))),
    ]


def about(material: Material) -> Table:
    """What the workbook is of: source with its hash, span, rig, program."""
    first, last = (stamp(int(material.span.time_us[at])) for at in (0, -1))
    rows = [(f"source {each.name}", f"SHA-256 {each.sha256}") for each in material.sources]
    return Table(
        "about",
        ("what", "value"),
        [
            ("rig", material.rig.name),
            ("from", first),
            ("to", last),
            *rows,
            ("rig file", f"SHA-256 {material.rig.text_hash}"),
            ("program", f"Hook Load Monitor {__version__}"),
            ("loads", "at the hook, friction-corrected, travelling equipment included"),
            ("times", "UTC"),
            ("caution", "advises people; no safety device"),
        ],
    )


def write_tables(path: Path, material: Material, findings: Findings) -> list[Path]:
    """Write the tables beside the report at ``path``, as CSV and as one workbook."""
    tables = report_tables(material, findings)
    written = []
    for each in tables:
        beside = path.with_name(f"{path.stem}.{each.name}.csv")
        _write(beside, each.header, each.rows)
        written.append(beside)
    book = path.with_suffix(".xlsx")
    write_workbook(book, [Sheet(t.name, t.header, t.rows) for t in (about(material), *tables)])
    return [book, *written]


def _sequence(findings: Findings) -> Iterable[Sequence[str]]:
    for line in findings.lines:
        yield (stamp(line.time_us), line.kind, sentence(line, "metric"))


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


def _free_lengths(findings: Findings) -> Iterable[Sequence[str]]:
    """Each spell's figure with its interval, then what each slope tells by itself."""
    for at, found in enumerate(findings.spells, 1):
        free = found.spell.free
        figures = (free.free_length_m, free.low_m, free.high_m)
        yield (str(at), "all", "", *(number(value, 1) for value in figures), free.why)
        for leg in free.legs:
            yield (str(at), leg.sense, str(leg.pull), number(leg.free_length_m, 1), "", "", "")


def _limits(findings: Findings) -> Iterable[Sequence[str]]:
    for at, found in enumerate(findings.spells, 1):
        for limit in found.limits:
            words = (limit.name.replace("_", " "), limit.acts, limit.printed)
            yield (str(at), words[0], kilonewtons(limit.limit_N), *words[1:])


def _over(findings: Findings) -> Iterable[Sequence[str]]:
    for each in findings.over:
        yield (
            each.name,
            each.kind,
            kilonewtons(each.limit_N),
            str(each.times),
            number(each.seconds, 1),
            stamp(each.first_us),
            kilonewtons(each.greatest_N),
        )


def _agreed(material: Material) -> Iterable[Sequence[str]]:
    agreed = material.rig.agreed
    for kind, limit_N in (("overpull", agreed.overpull_N), ("slack_off", agreed.slack_off_N)):
        if limit_N is not None:
            yield ("", kind, "", kilonewtons(limit_N), agreed.who, f"rig file, {agreed.when}")
    for change in material.agreed_changes():
        yield (
            stamp(change.time_us),
            change.kind,
            kilonewtons(change.before_N),
            kilonewtons(change.after_N),
            change.who,
            change.text,
        )


def _corrections(findings: Findings) -> Iterable[Sequence[str]]:
    for label, each in findings.corrections:
        terms = (
            each.tension_N,
            each.plain_N,
            each.line_N,
            each.friction_N,
            each.inertia_N,
            each.hose_N,
            each.hook_load_N,
            each.half_width_N,
            each.calibration_N,
        )
        yield (label, stamp(each.time_us), *(kilonewtons(term) for term in terms))


def _notes(material: Material) -> Iterable[Sequence[str]]:
    for note in material.notes:
        yield (stamp(note.from_us), stamp(note.to_us), note.who, note.text, stamp(note.wall_us))


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
