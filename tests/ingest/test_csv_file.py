"""CSV records that can be used: forms, units, foreign headers, times, blocks, several files."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from monitor.model import Quality
from monitor.rig.rig import ColumnMap
from tests.ingest.records import HEADER, RIG, T0, mapped, read, rig_with, same, stamp, write


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separator_is_found_from_the_header(tmp_path: Path, separator: str) -> None:
    header = HEADER.replace(",", separator)
    path = write(tmp_path / "a.csv", [separator.join([stamp(0), "50.5", "1.5"])], header)
    samples, _ = read(path)
    assert samples.time_us.tolist() == [T0]
    assert samples.values["deadline_tension"].tolist() == [50_500.0]
    assert samples.values["block_position"].tolist() == [1.5]


def test_units_of_each_column_become_si(tmp_path: Path) -> None:
    header = (
        "time,deadline_tension [klbf],block_position [ft],"
        "standpipe_pressure [psi],rotary_speed [rpm]"
    )
    samples, _ = read(write(tmp_path / "a.csv", [f"{stamp(0)},10,100,1000,60"], header))
    assert samples.values["deadline_tension"][0] == pytest.approx(44_482.216, abs=0.001)
    assert samples.values["block_position"][0] == pytest.approx(30.48)
    assert samples.values["standpipe_pressure"][0] == pytest.approx(6.894757e6)
    assert samples.values["rotary_speed"][0] == pytest.approx(2 * np.pi)


def test_foreign_file_through_the_rig_file(tmp_path: Path) -> None:
    rig = rig_with(
        columns={
            "Time": ColumnMap("time", zone="UTC"),
            "Weight": ColumnMap("hook_load", "klbf"),
            "Blk": ColumnMap("block_position", "ft"),
            "Missing here": ColumnMap("flow_in", "L/min"),
        },
        null_values=("-9999", "n.v."),
    )
    rows = ["2026-03-01 00:00:00,100,10,x", "2026-03-01 00:00:01,-9999.0,n.v.,y"]
    samples, counts = read(write(tmp_path / "a.csv", rows, "Time,Weight,Blk,Remark"), rig)
    assert samples.time_us.tolist() == [T0, T0 + 1_000_000]
    assert samples.values["hook_load"][0] == pytest.approx(444_822.16, abs=0.01)
    assert samples.quality["hook_load"].tolist() == [0, Quality.MISSING]
    assert samples.quality["block_position"].tolist() == [0, Quality.MISSING]
    assert counts.ignored_columns == ["Remark"]
    assert counts.rejected == {}
    assert any('no column "Missing here"' in note for note in counts.notes)


def test_bare_channel_name_in_a_foreign_file_is_left_alone(tmp_path: Path) -> None:
    columns = mapped(T=ColumnMap("time"), W=ColumnMap("hook_load", "kN"))
    columns["block_position"] = ColumnMap("block_position", "m")
    path = write(tmp_path / "a.csv", [f"{stamp(0)},5,1,7"], "T,W,block_position,torque")
    samples, counts = read(path, rig_with(columns=columns))
    assert set(samples.values) == {"hook_load", "block_position"}
    assert counts.ignored_columns == ["torque"]


def test_mapped_column_wins_over_one_that_bears_the_name(tmp_path: Path) -> None:
    columns = mapped(W=ColumnMap("hook_load", "kN"))
    header = "time [s],W,hook_load [kN],block_position [m]"
    samples, counts = read(
        write(tmp_path / "a.csv", ["0,5,6,1"], header), rig_with(columns=columns)
    )
    assert samples.values["hook_load"].tolist() == [5000.0]
    assert counts.ignored_columns == ["hook_load [kN]"]


def test_decimal_comma_when_declared(tmp_path: Path) -> None:
    rows = [f"{stamp(0)};50,5;1,25", f"{stamp(1)};x;1"]
    samples, counts = read(
        write(tmp_path / "a.csv", rows, HEADER.replace(",", ";")), rig_with(decimal=",")
    )
    assert samples.values["deadline_tension"][0] == 50_500.0
    assert samples.values["block_position"].tolist() == [1.25, 1.0]
    assert counts.rejected == {"unreadable cell": 1}


def test_one_cell_with_a_comma_is_a_bad_cell_not_a_bad_file(tmp_path: Path) -> None:
    rows = [f"{stamp(i)};50.5;1" for i in range(10)] + [f"{stamp(10)};50,5;1"]
    _, counts = read(write(tmp_path / "a.csv", rows, HEADER.replace(",", ";")))
    assert counts.rejected == {"unreadable cell": 1}


STAMPS = [
    ("2026-03-01T00:00:00.1Z", 100_000),
    ("2026-03-01T00:00:00.123456Z", 123_456),
    ("2026-03-01 01:00:00.5+01:00", 500_000),
    ("2026-03-01T00:00:00,25Z", 250_000),
    ("2026-03-01T00:00:00.1234567Z", 123_457),
    ("2026-03-01T00:00:00.123456400Z", 123_456),
    ("20260301T000000Z", 0),
    (" 2026-03-01T00:00:00Z ", 0),
]


@pytest.mark.parametrize(("text", "micros"), STAMPS, ids=[s for s, _ in STAMPS])
def test_iso_times_are_exact(tmp_path: Path, text: str, micros: int) -> None:
    samples, _ = read(write(tmp_path / "a.csv", [f"{text};1;1"], HEADER.replace(",", ";")))
    assert samples.time_us.tolist() == [T0 + micros]


@pytest.mark.parametrize(
    ("form", "text"),
    [
        ("%d/%m/%Y %H:%M:%S", "01/03/2026 00:00:01"),
        ("%d.%m.%Y %H:%M:%S.%f", "01.03.2026 00:00:01.000"),
        ("%m/%d/%y %I:%M:%S %p", "03/01/26 12:00:01 AM"),
        ("%Y-%m-%dT%H:%M:%S%z", "2026-03-01T01:00:01+0100"),
        ("%d %b %Y %H:%M:%S", "01 Mar 2026 00:00:01"),
    ],
)
def test_declared_time_formats(tmp_path: Path, form: str, text: str) -> None:
    columns = mapped(T=ColumnMap("time", zone="UTC", format=form), W=ColumnMap("hook_load", "kN"))
    columns["B"] = ColumnMap("block_position", "m")
    path = write(tmp_path / "a.csv", [f"{text},1,1", "nonsense,1,1"], "T,W,B")
    samples, counts = read(path, rig_with(columns=columns))
    assert samples.time_us.tolist() == [T0 + 1_000_000]
    assert counts.rejected == {"unreadable time": 1}
    assert re.search(r'value "nonsense": not a time of the form', counts.examples[0])


def test_counted_time_is_rounded_to_the_microsecond_and_its_origin_said(tmp_path: Path) -> None:
    header = HEADER.replace("time", "time [s]")
    path = write(
        tmp_path / "a.csv", ["0,1,1", "0.1,1,1", "0.2000004,1,1", "0.3000006,1,1"], header
    )
    samples, counts = read(path)
    assert samples.time_us.tolist() == [0, 100_000, 200_000, 300_001]
    assert counts.notes == ["time is counted from 1970-01-01T00:00:00.000Z (no --start given)"]
    samples, counts = read(path, start="2026-03-01T00:00:00Z")
    assert samples.time_us[0] == T0
    assert counts.notes == ["time is counted from 2026-03-01T00:00:00.000Z"]


def test_epoch_milliseconds_in_a_foreign_file(tmp_path: Path) -> None:
    columns = mapped(T=ColumnMap("time", "ms"), W=ColumnMap("hook_load", "kN"))
    columns["B"] = ColumnMap("block_position", "m")
    path = write(tmp_path / "a.csv", [f"{T0 // 1000 + 7},1,1", "x,1,1"], "T,W,B")
    samples, counts = read(path, rig_with(columns=columns))
    assert samples.time_us.tolist() == [T0 + 7000]
    assert counts.rejected == {"unreadable time": 1}


def test_local_time_through_the_doubled_hour(tmp_path: Path) -> None:
    # Europe/Oslo 2026-10-25: 02:00 to 03:00 occurs twice; 00:59:59Z is the last summer second.
    texts = [f"2026-10-25T02:{m:02d}:00" for m in range(0, 60, 10)] * 2 + ["2026-10-25T03:00:00"]
    path = write(tmp_path / "a.csv", [f"{text},50,1" for text in texts])
    samples, counts = read(path, rig_with(time_zone="Europe/Oslo"))
    real = samples.time_us[samples.row & int(Quality.GAP) == 0]
    assert np.diff(real).tolist() == [600_000_000] * 12
    assert counts.rejected == {}
    assert any("occur twice in Europe/Oslo" in note for note in counts.notes)


def test_local_time_that_does_not_exist_is_said(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", ["2026-03-29T02:30:00,50,1"])
    _, counts = read(path, rig_with(time_zone="Europe/Oslo"))
    assert any("do not exist in Europe/Oslo" in note for note in counts.notes)


def test_fixed_offset_as_zone(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", ["2026-03-01T02:00:00,50,1"])
    samples, _ = read(path, rig_with(time_zone="+02:00"))
    assert samples.time_us.tolist() == [T0]


def test_trailing_separator_in_every_row_is_no_fault(tmp_path: Path) -> None:
    samples, counts = read(write(tmp_path / "a.csv", [f"{stamp(i)},50,1," for i in range(5)]))
    assert len(samples) == 5
    assert counts.rejected == {}


def test_titles_above_the_header_are_skipped_and_said(tmp_path: Path) -> None:
    path = write(
        tmp_path / "a.csv", [HEADER, f"{stamp(0)},50,1"], "Invented record, rig Heron 3\n"
    )
    samples, counts = read(path)
    assert len(samples) == 1
    assert any("the header is line 3" in note for note in counts.notes)


def test_quoted_cells_with_separators_and_line_breaks(tmp_path: Path) -> None:
    rows = [f'{stamp(i)},"50","1","slips, set\nslowly"' for i in range(200)]
    samples, counts = read(write(tmp_path / "a.csv", rows, HEADER + ",remark"), chunk_rows=10)
    assert len(samples) == 200
    assert counts.rejected == {}


def test_wide_file_gives_only_what_is_mapped(tmp_path: Path) -> None:
    header = ",".join(
        ["time", *(f"x{i}" for i in range(150)), "hook_load [kN]", "block_position [m]"]
    )
    rows = [",".join([stamp(i), *["text"] * 150, str(i), "1"]) for i in range(50)]
    samples, counts = read(write(tmp_path / "a.csv", rows, header))
    assert set(samples.values) == {"hook_load", "block_position"}
    assert samples.values["hook_load"][-1] == 49_000.0
    assert len(counts.ignored_columns) == 150


def mixed_rows(n: int) -> list[str]:
    """Rows with every fault there is, in blocks large enough to be cut."""
    random = np.random.default_rng(5)
    rows, second = [], 0.0
    for i in range(n):
        second += float(random.choice([0.1, 0.1, 0.1, 0.1, 7.0, -0.2, 0.0]))
        load = random.choice(
            ["50.5", "51", "", "bad", "1e12", "+7"], p=[0.6, 0.3, 0.04, 0.02, 0.02, 0.02]
        )
        rows.append(
            f"{stamp(abs(second) + 10)},{load},{i % 30}" + ",x" * int(random.random() < 0.01)
        )
    return rows


def test_block_size_changes_nothing(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", mixed_rows(30_000))
    whole, counts = read(path)
    for chunk_rows in (100, 7000):
        parts, other = read(path, chunk_rows=chunk_rows)
        assert same(whole, parts)
        assert other.rejected == counts.rejected
        assert other.missing == counts.missing
    assert set(counts.rejected) >= {"unreadable cell", "absurd value", "time not newer"}


def test_several_files_are_one_record_in_time_order(tmp_path: Path) -> None:
    rows = [f"{stamp(i)},50,{i % 30}" for i in range(300)]
    whole, _ = read(write(tmp_path / "all.csv", rows))
    a = write(tmp_path / "a.csv", rows[:100])
    b = write(tmp_path / "b.csv", rows[100:180])
    c = write(tmp_path / "c.csv", rows[180:])
    parts, counts = read([c, a, b])
    assert same(whole, parts)
    assert any("put in order of time" in note for note in counts.notes)
    overlapping, counts = read([a, write(tmp_path / "d.csv", rows[50:])])
    assert counts.rejected == {"time not newer": 50}
    assert counts.clock_steps == 0
    assert (overlapping.row == 0).sum() == 300


def test_files_with_different_channels_share_one_set(tmp_path: Path) -> None:
    a = write(tmp_path / "a.csv", [f"{stamp(0)},50,1"])
    b = write(tmp_path / "b.csv", [f"{stamp(1)},51,2,3"], HEADER + ",torque [kN.m]")
    samples, _ = read([a, b])
    assert samples.quality["torque"].tolist() == [Quality.MISSING, 0]


def test_reading_does_not_pull_in_pandas() -> None:
    import subprocess
    import sys

    code = (
        "import sys, tempfile, pathlib\n"
        "from tests.ingest.records import HEADER, RIG, read, stamp, write\n"
        "path = pathlib.Path(tempfile.mkdtemp()) / 'a.csv'\n"
        "write(path, [f'{stamp(0)},5,1', f'{stamp(1)},bad,', 'x,1,1', '1'])\n"
        "read(path)\n"
        "sys.exit('pandas' in sys.modules)\n"
    )
    assert RIG.name
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
