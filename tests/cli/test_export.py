"""A span of a record as a file, and the way back: analysed again it gives the same tables."""

import csv
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from monitor.cli import main
from tests.report.test_workbook import cells

DAY = "2026-03-01T"


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ten minutes recorded by the recorder itself, to the end of its source."""
    folder = tmp_path_factory.mktemp("export")
    trip = folder / "trip.csv"
    words = ["simulate", "trip_out", "--seed", "4", "--hours", "0.5", "--hz", "5"]
    assert main([*words, "--out", str(trip)]) == 0
    rig = str(folder / "trip.rig.toml")
    words = ["record", "--rig", rig, "--source", f"csv:{trip}", "--data", str(folder / "data")]
    assert main([*words, "--until-finished"]) == 0
    return folder


def exported(record: Path, path: Path, start: str, end: str) -> int:
    span = ["--from", f"{DAY}{start}", "--to", f"{DAY}{end}"]
    return main(["export", "--data", str(record / "data"), *span, "--out", str(path)])


def test_csv_has_what_came_in_and_what_was_made_of_it(record: Path, tmp_path: Path) -> None:
    path = tmp_path / "span.csv"
    assert exported(record, path, "00:05:00Z", "00:06:00Z") == 0
    with path.open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 300
    assert rows[0]["time"] == f"{DAY}00:05:00.000Z"
    columns = {"deadline_tension [N]", "block_position [m]", "hook_load_N", "activity"}
    assert columns <= set(rows[0])
    with (record / "trip.csv").open(newline="") as stream:
        source = {row["time"]: row for row in csv.DictReader(stream)}
    for row in rows:
        tension_kN = float(source[row["time"]]["deadline_tension [kN]"])
        assert float(row["deadline_tension [N]"]) == pytest.approx(tension_kN * 1e3, rel=1e-12)


def test_parquet_has_the_same_rows(record: Path, tmp_path: Path) -> None:
    path = tmp_path / "span.parquet"
    assert exported(record, path, "00:05:00Z", "00:06:00Z") == 0
    table = pq.read_table(path)
    assert table.num_rows == 300
    assert str(table.schema.field("time").type) == "timestamp[us, tz=UTC]"
    assert {"deadline_tension_N", "block_position_m", "hook_load_N"} <= set(table.column_names)


def test_workbook_has_the_same_cells_as_the_table(record: Path, tmp_path: Path) -> None:
    table, book = tmp_path / "span.csv", tmp_path / "span.xlsx"
    for path in (table, book):
        assert exported(record, path, "00:05:00Z", "00:05:20Z") == 0
    with table.open(newline="") as stream:
        rows = list(csv.reader(stream))
    found = cells(book)
    assert [found[f"{chr(65 + at)}1"][1] for at in range(5)] == rows[0][:5]
    load = rows[0].index("hook_load_N")
    assert load < 26
    for line, row in enumerate(rows[1:], 2):
        # A sheet keeps 16 digits.
        value = float(found[f"{chr(65 + load)}{line}"][1])
        assert value == pytest.approx(float(row[load]), rel=1e-15)
    assert f"A{len(rows) + 1}" not in found


def test_an_exported_record_analysed_again_gives_the_same_tables(
    record: Path, tmp_path: Path
) -> None:
    whole = tmp_path / "whole.csv"
    assert exported(record, whole, "00:00:00Z", "01:00:00Z") == 0
    rig = str(record / "trip.rig.toml")
    for source, out in ((record / "trip.csv", tmp_path / "a"), (whole, tmp_path / "b")):
        assert main(["analyse", str(source), "--rig", rig, "--out", str(out)]) == 0
    for name in ("events.csv", "trip_sheet.csv"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_a_span_without_rows_and_a_folder_without_record_are_refused(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert exported(record, tmp_path / "x.csv", "09:00:00Z", "10:00:00Z") == 2
    assert "no row" in capsys.readouterr().err
    assert not (tmp_path / "x.csv").exists()
    assert exported(tmp_path, tmp_path / "x.csv", "09:00:00Z", "10:00:00Z") == 2
    assert "no record" in capsys.readouterr().err
    assert exported(record, tmp_path / "x.csv", "10:00:00Z", "09:00:00Z") == 2
    assert "--to is not after --from" in capsys.readouterr().err
    assert exported(record, tmp_path / "x.csv", "tomorrow", "09:00:00Z") == 2
    assert "--from" in capsys.readouterr().err
    assert exported(record, tmp_path / "x.txt", "00:00:00Z", "01:00:00Z") == 2
    assert ".parquet" in capsys.readouterr().err
