"""The workbook: what a spreadsheet finds in it, read by the file format's own XML (ECMA-376)."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest

from monitor.report import workbook
from monitor.report.finished_file import OutputError
from monitor.report.workbook import Sheet, day_number, write_workbook

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
SHEET = Sheet(
    "made",
    ("time", "load_kN", "text"),
    [
        ("2026-03-01T06:00:00.250Z", "12.5", "=1+1"),
        ("", "-3", "12 kN"),
        (None, float("nan"), "a < b & c"),
        ("2026-03-01T06:00:00.250Z", 0.1, "“quoted”"),
    ],
)


def cells(path: Path, number: int = 1) -> dict[str, tuple[str, str]]:
    """Reference -> kind and text of every cell, from the sheet's XML."""
    with zipfile.ZipFile(path) as packed:
        root = ElementTree.fromstring(packed.read(f"xl/worksheets/sheet{number}.xml"))
    found = {}
    for cell in root.iter(f"{MAIN}c"):
        assert cell.find(f"{MAIN}f") is None, "a formula"
        text = "".join(part.text or "" for part in cell.iter() if part.tag != f"{MAIN}c")
        found[cell.attrib["r"]] = (cell.attrib.get("t", "n"), text)
    return found


def test_numbers_times_and_words_are_what_they_are(tmp_path: Path) -> None:
    path = tmp_path / "made.xlsx"
    assert write_workbook(path, [SHEET]) == 4
    found = cells(path)
    assert [found[at][1] for at in ("A1", "B1", "C1")] == ["time", "load_kN", "text"]
    # 2026-03-01 is day 46 082 of the 1900 date system (25 569 is 1970-01-01), 6 h a quarter.
    assert found["A2"][0] == "n"
    assert float(found["A2"][1]) == pytest.approx(46_082.25 + 0.25 / 86_400, abs=1e-9)
    assert found["B2"] == ("n", "12.5")
    assert found["C2"] == ("inlineStr", "=1+1")
    assert (found["B3"], found["C3"]) == (("n", "-3"), ("inlineStr", "12 kN"))
    assert "A3" not in found
    assert "B4" not in found
    assert found["C4"][1] == "a < b & c"
    assert float(found["B5"][1]) == 0.1


def test_same_tables_same_bytes(tmp_path: Path) -> None:
    first, second = tmp_path / "first.xlsx", tmp_path / "second.xlsx"
    for path in (first, second):
        write_workbook(path, [SHEET])
    assert first.read_bytes() == second.read_bytes()
    with zipfile.ZipFile(first) as packed:
        assert {entry.date_time[0] for entry in packed.infolist()} == {1980}
        core = packed.read("docProps/core.xml").decode()
    assert set(re.findall(r">(\d{4}-[^<]+)<", core)) == {"2000-01-01T00:00:00Z"}


def test_more_rows_than_a_sheet_holds_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workbook, "MOST_ROWS", 4)
    path = tmp_path / "long.xlsx"
    with pytest.raises(OutputError, match=r"more than 3 rows.*write \.csv or \.parquet"):
        write_workbook(path, [SHEET])
    assert not path.exists()


def test_day_number_of_the_epoch() -> None:
    assert day_number(0) == 25_569.0
