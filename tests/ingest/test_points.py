"""POINTS.csv: what is read, and what is refused with its place and the mend."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from monitor.ingest.errors import InputError
from monitor.ingest.points import read_points
from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from tests.ingest.records import RIG

HEADER = "reference_load [kN],reading [mA]"


def write(tmp_path: Path, *lines: str) -> Path:
    path = tmp_path / "points.csv"
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
    return path


def refusal(path: Path, *words: object) -> str:
    with pytest.raises(InputError, match=r"points\.csv") as caught:
        read_points(path, *words)  # type: ignore[arg-type]
    return str(caught.value)


def test_points_keep_their_units_and_lines(tmp_path: Path) -> None:
    path = write(tmp_path, "reading [div],series,Reference_Load [klbf]", "1.5,up,10", "", "3,,20")
    points = read_points(path)
    assert (points.load_unit, points.reading_unit) == ("klbf", "div")
    assert points.loads.tolist() == [10.0, 20.0]
    assert points.readings.tolist() == [1.5, 3.0]
    assert points.series == ("up", "")
    assert points.lines == (2, 4)
    assert points.hook_loads is None


@pytest.mark.parametrize("separator", [";", "\t", ","])
def test_separators_and_unknown_columns(tmp_path: Path, separator: str) -> None:
    path = write(tmp_path, *(separator.join(row) for row in (
        ("reference_load [kN]", "reading", "remark"), ("10", "1.5", "cold"), ("20", "3.0", "")
    )))  # fmt: skip
    points = read_points(path)
    assert points.readings.tolist() == [1.5, 3.0]
    assert points.reading_unit == ""
    assert len(points.notes) == 1
    assert '"remark" is not known' in points.notes[0]


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    path = write(tmp_path, HEADER, "10,", "ten,4", "-5,4", "10,inf", "10", "1e300,4")
    said = refusal(path).split("\n")
    assert len(said) == 6
    assert 'line 3: column "reference_load": value "ten": is no number' in said[0]
    assert 'line 4: column "reference_load": value "-5": is below zero' in said[1]
    assert 'value "1e300": is out of all reason' in said[2]
    assert 'line 2: column "reading": value "": is missing; give a number' in said[3]
    assert 'line 5: column "reading": value "inf": is no number' in said[4]
    assert "line 6" in said[5]


def test_a_damaged_gzip_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "points.csv.gz"
    packed = bytearray(gzip.compress((HEADER + "\n1,2\n" * 300).encode()))
    packed[12:20] = b"\xff" * 8
    path.write_bytes(packed)
    assert "cannot be unpacked" in refusal(path)


def test_a_file_full_of_faults_lists_the_first(tmp_path: Path) -> None:
    said = refusal(write(tmp_path, HEADER, *["x,1"] * 50)).split("\n")
    assert len(said) == 21
    assert said[-1] == "and 30 faults more"


def test_decimal_commas_are_not_guessed(tmp_path: Path) -> None:
    said = refusal(write(tmp_path, HEADER.replace(",", ";"), "10;4,5"))
    assert 'value "4,5": is written with a decimal comma; write it with a point' in said
    assert "more cells than the header's 2" in refusal(write(tmp_path, HEADER, "10,4,5"))


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ([], "is empty; the header is reference_load [kN],reading [mA]"),
        ([HEADER], "a header and no points"),
        (["a,b", "1,2"], "line 1: value \"a,b\": no column reference_load, reading"),
        (["reference_load,reading", "1,2"], "has no unit; write reference_load [kN]"),
        (["reference_load [m],reading", "1,2"], 'value "m": is no unit of force; known: '),
        ([f"{HEADER},reference_hook_load [kN]", "1,2,3"], "two reference loads"),
    ],
)  # fmt: skip
def test_files_that_hold_no_points(tmp_path: Path, lines: list[str], expected: str) -> None:
    assert expected in refusal(write(tmp_path, *lines))


def test_hook_loads_become_tensions_by_lines_and_direction(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        "reference_hook_load [klbf],reading [mA],lines_strung,direction",
        "300,10,,hoisting",
        "300,11,8,lowering",
        "300,12,8,",
    )
    points = read_points(path, RIG, "held")
    e, n = RIG.reeving.sheave_efficiency, RIG.reeving.lines_strung
    expected = [
        300 / load_factor_hoisting(n, e, RIG.reeving.dead_line_sheave),
        300 / load_factor_lowering(8, e, RIG.reeving.dead_line_sheave),
        300 / 8,
    ]
    assert points.loads.tolist() == pytest.approx(expected, rel=1e-12)
    assert points.hook_loads is not None
    assert points.hook_loads.tolist() == [300.0] * 3
    assert points.lines_strung == (n, 8, 8)
    assert points.directions == ("hoisting", "lowering", "held")


def test_hook_loads_without_rig_or_direction_are_refused(tmp_path: Path) -> None:
    path = write(tmp_path, "reference_hook_load [kN],reading [mA],lines_strung", "900,10,nine")
    assert "name the rig file with --rig R.toml" in refusal(path)
    said = refusal(path, RIG).split("\n")
    assert 'column "lines_strung": value "nine": a whole number of lines' in said[0]
    assert 'column "direction": value "": the block\'s direction is needed' in said[1]
    assert "or give --direction for all" in said[1]
