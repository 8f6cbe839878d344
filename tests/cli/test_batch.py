"""The commands that end by themselves, on records the simulator makes."""

import csv
import gzip
import json
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest

from monitor.cli import main

ROOT = Path(__file__).parent.parent.parent
LAND_RIG = str(ROOT / "config" / "land_rig.toml")
HOUR_ROWS = 3600 * 5


@pytest.fixture(scope="module")
def trip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One hour of pulling out at 5 Hz."""
    path = tmp_path_factory.mktemp("trip") / "trip.csv"
    words = ("simulate", "trip_out", "--seed", "11", "--hours", "1", "--hz", "5")
    assert main([*words, "--out", str(path)]) == 0
    return path


def rig_of(trip: Path) -> str:
    return str(trip.with_name("trip.rig.toml"))


def truth_of(trip: Path) -> dict[str, object]:
    content: dict[str, object] = json.loads(trip.with_name("trip.truth.json").read_text())
    return content


@pytest.fixture(scope="module")
def result(trip: Path) -> Path:
    """Everything `analyse` writes of that hour."""
    out = trip.with_name("result")
    depth = f"{truth_of(trip)['bit_depth_m']} m"
    words = ["analyse", str(trip), "--rig", rig_of(trip), "--out", str(out), "--series"]
    assert main([*words, "--bit-depth", depth]) == 0
    return out


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as stream:
        return list(csv.DictReader(stream))


def test_a_simulated_record_is_in_the_contracts_form(trip: Path) -> None:
    header, first, *_ = trip.read_text().splitlines()
    assert header.startswith("time,deadline_tension [kN],block_position [m]")
    assert first.startswith("2026-03-01T00:00:00.000Z,")
    assert truth_of(trip)["seed"] == 11


def test_the_same_seed_gives_the_same_bytes_packed_or_not(trip: Path, tmp_path: Path) -> None:
    words = ["simulate", "trip_out", "--seed", "11", "--hours", "1", "--hz", "5", "--out"]
    packed = [tmp_path / "one" / "a.csv.gz", tmp_path / "two" / "b.csv.gz"]
    for path in packed:
        path.parent.mkdir()
        assert main([*words, str(path)]) == 0
    assert packed[0].read_bytes() == packed[1].read_bytes()
    assert gzip.decompress(packed[0].read_bytes()) == trip.read_bytes()
    truth = packed[0].with_name("a.truth.json").read_bytes()
    assert truth == trip.with_name("trip.truth.json").read_bytes()


def test_chosen_columns_are_the_only_ones(tmp_path: Path) -> None:
    path = tmp_path / "two.csv"
    words = ["simulate", "drilling", "--seed", "1", "--hours", "0.01", "--out", str(path)]
    assert main([*words, "--columns", "block_position,deadline_tension"]) == 0
    header = path.read_text().splitlines()[0]
    assert header == "time,deadline_tension [kN],block_position [m]"


def test_every_output_of_an_analysis_is_there(result: Path) -> None:
    assert sorted(path.name for path in result.iterdir()) == [
        "alarm_journal.csv",
        "alarms.csv",
        "events.csv",
        "series.parquet",
        "summary.json",
        "trip_sheet.csv",
    ]


def test_the_summary_holds_what_the_contract_names(result: Path, trip: Path) -> None:
    summary = json.loads((result / "summary.json").read_text())
    assert summary["samples"] == HOUR_ROWS
    assert summary["rejected"] == {}
    assert summary["span_s"] == pytest.approx(3600.0 - 0.2, abs=1e-6)  # last row, not the end
    assert summary["stands"] == len(rows_of(result / "trip_sheet.csv"))
    assert sum(summary["events"].values()) == len(rows_of(result / "events.csv"))
    assert sum(summary["alarms"].values()) == len(rows_of(result / "alarms.csv"))
    journal = rows_of(result / "alarm_journal.csv")
    raised = [row for row in journal if (row["from"], row["to"]) == ("normal", "unacknowledged")]
    assert len(raised) == len(rows_of(result / "alarms.csv"))
    assert summary["greatest_hook_load_kN"] > 245.0
    assert summary["line_work_MJ"] > 0.0
    # 1 ton-mile = 2000 lbf x 5280 ft = 14.317 MJ
    assert summary["ton_miles"] == pytest.approx(summary["line_work_MJ"] / 14.3174, rel=1e-4)
    assert isinstance(summary["margins_kN"], dict)
    assert isinstance(summary["stuck"], list)
    assert summary["files"] == [str(trip)]


def test_stands_follow_the_truth(result: Path, trip: Path) -> None:
    """Sound, not final: each stand that ended in the hour is found, with its direction."""
    stands = truth_of(trip)["stands"]
    assert isinstance(stands, list)
    found = rows_of(result / "trip_sheet.csv")
    assert abs(len(found) - len(stands)) <= 1  # the open one may or may not have moved 3 m
    assert {row["direction"] for row in found} == {"out"}


def test_the_series_has_a_row_for_each_row_read(result: Path) -> None:
    table = pq.read_table(result / "series.parquet")
    assert table.num_rows == HOUR_ROWS
    assert table.column_names == [
        "time", "hook_load_N", "weight_on_bit_N", "bit_depth_m", "activity",
        "expected_up_N", "expected_down_N", "quality",
    ]  # fmt: skip
    assert str(table.schema.field("time").type) == "timestamp[us, tz=UTC]"
    activities = set(table["activity"].to_pylist())
    assert {"in_slips", "hoisting"} <= activities


def test_an_analysis_without_series_leaves_no_older_one(trip: Path, tmp_path: Path) -> None:
    (tmp_path / "series.parquet").write_text("from an earlier analysis")
    assert main(["analyse", str(trip), "--rig", rig_of(trip), "--out", str(tmp_path)]) == 0
    assert not (tmp_path / "series.parquet").exists()


def test_parts_of_a_record_give_the_tables_of_the_whole(
    trip: Path, result: Path, tmp_path: Path
) -> None:
    header, *lines = trip.read_text().splitlines(keepends=True)
    parts = []
    for number, (start, stop) in enumerate([(0, 5000), (5000, 5003), (5003, len(lines))]):
        path = tmp_path / f"part{number}.csv"
        path.write_text("".join([header, *lines[start:stop]]))
        parts.append(str(path))
    out = tmp_path / "out"
    depth = f"{truth_of(trip)['bit_depth_m']} m"
    words = ["analyse", *parts, "--rig", rig_of(trip), "--out", str(out)]
    assert main([*words, "--bit-depth", depth]) == 0
    for name in ("events.csv", "trip_sheet.csv"):
        assert (out / name).read_bytes() == (result / name).read_bytes()


def test_acts_take_effect_at_their_time(trip: Path, tmp_path: Path) -> None:
    acts = tmp_path / "acts.csv"
    acts.write_text("time,act,value,who\n2026-03-01T00:30:00Z,lines_strung,12,driller\n")
    out = tmp_path / "out"
    words = ["analyse", str(trip), "--rig", rig_of(trip), "--out", str(out), "--series"]
    assert main([*words, "--acts", str(acts)]) == 0
    load = pq.read_table(out / "series.parquet", columns=["hook_load_N"])["hook_load_N"]
    plain = pq.read_table(trip.with_name("result") / "series.parquet", columns=["hook_load_N"])
    ratio = load.to_numpy() / plain["hook_load_N"].to_numpy()
    before, after = np.nanmedian(ratio[:8000]), np.nanmedian(ratio[10_000:])
    assert before == 1.0
    assert after == pytest.approx(1.2, abs=0.02)  # 12 lines for 10, friction changes a little


def test_json_on_stdout_is_the_summary(
    trip: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["analyse", str(trip), "--rig", rig_of(trip), "--out", str(tmp_path), "--json"]
    assert main(words) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(
        (tmp_path / "summary.json").read_text()
    )


def test_refused_cells_are_counted_and_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = tmp_path / "record.csv"
    good = "\n".join(f"2026-03-01T00:00:0{i}Z,100,5" for i in range(9))
    record.write_text(
        "time,deadline_tension [kN],block_position [m]\n"
        f"{good}\n2026-03-01T00:00:09Z,bad,5\n2026-03-01T00:00:09Z,100,5\nnever,100,5\n"
    )
    out = tmp_path / "out"
    assert main(["analyse", str(record), "--rig", LAND_RIG, "--out", str(out)]) == 0
    summary = json.loads((out / "summary.json").read_text())
    assert sum(summary["rejected"].values()) == 3
    assert len(summary["rejected"]) == 3
    said = capsys.readouterr().err
    assert "record.csv" in said
    assert "bad" in said


def test_rig_sheet_as_json_gives_tensions_by_direction(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["rig", LAND_RIG, "--load", "300 klbf", "--json"]) == 0
    sheet = json.loads(capsys.readouterr().out)
    for direction in ("held", "hoisting", "lowering"):
        assert set(sheet[direction]) == {
            "block_and_tackle_efficiency",
            "fast_line_tension_N",
            "dead_line_tension_N",
            "derrick_load_N",
        }
    # 300 klbf = 1334466.48 N on 10 lines, held: a tenth in each
    assert sheet["held"]["dead_line_tension_N"] == pytest.approx(133_446.648, abs=0.01)


@pytest.mark.parametrize("display", ["metric", "field", "tonnes"])
def test_rig_sheet_for_people(capsys: pytest.CaptureFixture[str], display: str) -> None:
    assert main(["rig", LAND_RIG, "--display", display]) == 0
    assert "Weakest link" in capsys.readouterr().out


def test_bench_measures_both_in_fresh_processes(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench", "--hours", "0.1", "--repeat", "1", "--json"]) == 0
    measured = json.loads(capsys.readouterr().out)
    assert measured["rows"] == 3600
    for part in ("analyse", "pandas_read_csv"):
        assert measured[part]["seconds"] > 0.0
    assert measured["ratio"] == pytest.approx(
        measured["analyse"]["seconds"] / measured["pandas_read_csv"]["seconds"]
    )


def test_a_file_newest_first_is_told_to_be_sorted(tmp_path: Path) -> None:
    """Nothing of it but its first row can be interpreted: nobody takes that for a quiet day."""
    rows = [f"2026-03-01T00:{i // 60:02d}:{i % 60:02d}Z,100,5" for i in range(300)]
    record = tmp_path / "record.csv"
    header = "time,deadline_tension [kN],block_position [m]"
    record.write_text("\n".join([header, *reversed(rows), ""]))
    assert main(["analyse", str(record), "--rig", LAND_RIG, "--out", str(tmp_path / "out")]) == 0
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())
    (note,) = summary["notes"]
    assert "sort the file by time, oldest first" in note
    assert note.startswith("299 of 300 rows")
