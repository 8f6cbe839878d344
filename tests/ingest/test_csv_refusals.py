"""Files that cannot be used: one clear message with file, line, column, value and the mend."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest

from monitor.ingest.csv_file import read_csv
from monitor.ingest.errors import InputError
from monitor.model import Quality
from monitor.rig.rig import ColumnMap
from tests.ingest.records import HEADER, RIG, read, rig_with, stamp, write

ROW = f"{stamp(0)},50,10"

# name, content, what the message must hold
REFUSED = [
    ("empty", b"", r"is empty; it needs a header"),
    ("blank lines", b"\n\r\n\n", r"is empty"),
    ("header only", (HEADER + "\n").encode(), r"has a header and no rows"),
    ("zero bytes", b"\x00" * 500, r"zero bytes"),
    ("binary", bytes(range(256)) * 20, r"binary file, not text"),
    ("workbook", b"PK\x03\x04" + b"x" * 100, r"ZIP archive or a spreadsheet"),
    ("utf-16", f"{HEADER}\n{ROW}\n".encode("utf-16"), r"UTF-16 text; save it as UTF-8"),
    ("utf-16 bare", f"{HEADER}\n{ROW}\n".encode("utf-16-le"), r"UTF-16 text"),
    ("no separator", b"hello\nworld\n", r"no comma, semicolon or tab .*"),
    ("no header", b"1,2,3\n4,5,6\n", r"line 1: holds a number in every cell"),
    (
        "no time column",
        b"deadline_tension [kN],block_position [m]\n1,2\n",
        r'line 1: no time column \(found: "deadline_tension \[kN\]", .*name it "time"',
    ),
    (
        "no load column",
        f"time,block_position [m]\n{stamp(0)},1\n".encode(),
        r"no load column .*deadline_tension \[kN\]",
    ),
    (
        "no block position",
        f"time,deadline_tension [kN]\n{stamp(0)},1\n".encode(),
        r"no block position column .*block_position \[m\]",
    ),
    (
        "misspelt",
        f"time,dead_line_tension [kN],block_position [m]\n{ROW}\n".encode(),
        r'did you mean "deadline_tension \[kN\]" by "dead_line_tension \[kN\]"',
    ),
    (
        "no unit",
        f"time,deadline_tension,block_position [m]\n{ROW}\n".encode(),
        r'column "deadline_tension": has no unit; known for force: N, .*klbf',
    ),
    (
        "unknown unit",
        f"time,deadline_tension [kNN],block_position [m]\n{ROW}\n".encode(),
        r'line 1: column "deadline_tension \[kNN\]": unit \'kNN\' is not known .*kN',
    ),
    (
        "unit of another quantity",
        f"time,deadline_tension [m],block_position [m]\n{ROW}\n".encode(),
        r"unit 'm' is a length unit",
    ),
    (
        "double header",
        f"{HEADER},block_position [ft]\n{ROW},3\n".encode(),
        r'2 columns are block_position: "block_position \[m\]", "block_position \[ft\]"',
    ),
    (
        "no zone",
        f"{HEADER}\n2026-03-01T00:00:00,1,2\n".encode(),
        r'line 2: column "time": value "2026-03-01T00:00:00": .*no zone.*\[input\] time_zone',
    ),
    (
        "decimal comma",
        f"{HEADER.replace(',', ';')}\n{stamp(0)};50,5;1,5\n".encode(),
        r'line 2: column "deadline_tension \[kN\]": value "50,5": .*decimal comma.*decimal = ","',
    ),
    (
        "thousands",
        f'{HEADER}\n{stamp(0)},"1,242,000",10\n'.encode(),
        r'value "1,242,000": .*thousands set apart.*without commas in its numbers',
    ),
    (
        "quoted decimal comma",
        f'{HEADER}\n{stamp(0)},"50,5","1,5"\n'.encode(),
        r'value "50,5": .*decimal comma',
    ),
    (
        "no usable row",
        f"{HEADER}\n{stamp(0)},x,1\n{stamp(1)},y,1\n".encode(),
        r"no usable row \(2 x unreadable cell\)",
    ),
    (
        "other time form",
        f"{HEADER}\n01.03.2026 00:00:00,1,1\n".encode(),
        r'value "01.03.2026 00:00:00": not an ISO 8601 time; .*format = ',
    ),
    ("time as a number", f"{HEADER}\n1,1,1\n2,1,1\n".encode(), r'name the column "time \[s\]"'),
    ("only short rows", f"{HEADER}\n1\n2\n".encode(), r"2 x wrong number of cells"),
    ("only empty loads", f"{HEADER}\n{stamp(0)},,1\n".encode(), r"every load cell is empty"),
]


@pytest.mark.parametrize(("name", "content", "says"), REFUSED, ids=[row[0] for row in REFUSED])
def test_refused_with_a_clear_message(
    tmp_path: Path, name: str, content: bytes, says: str
) -> None:
    path = tmp_path / "trip.csv"
    path.write_bytes(content)
    with pytest.raises(InputError, match=re.compile(says, re.DOTALL)) as caught:
        read(path)
    assert str(path) in str(caught.value)
    assert "Traceback" not in str(caught.value)


def test_folder_and_missing_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"is a folder, not a file"):
        read_csv([tmp_path], RIG)
    with pytest.raises(InputError, match=r"nothing\.csv: no such file"):
        read_csv([tmp_path / "nothing.csv"], RIG)
    with pytest.raises(InputError, match=r"no input file given"):
        read_csv([], RIG)


def test_every_fault_of_a_header_is_told_at_once(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [ROW], "time,deadline_tension [kNN],block_position [yd]")
    with pytest.raises(InputError, match=r"kNN.*\n.*yd"):
        read(path)


def test_decimal_point_where_a_comma_is_declared(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [f"{stamp(0)};50.5;1.5"], HEADER.replace(",", ";"))
    with pytest.raises(InputError, match=r'decimal point, .*decimal = "\."'):
        read(path, rig_with(decimal=","))


def test_bad_start_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", ["0,1,1"], HEADER.replace("time", "time [s]"))
    with pytest.raises(InputError, match=r"--start: '2026-13-01' is no ISO 8601 time"):
        read(path, start="2026-13-01")


def test_mapped_header_that_is_not_there(tmp_path: Path) -> None:
    rig = rig_with(columns={"Stamp": ColumnMap("time"), "WT": ColumnMap("hook_load", "klbf")})
    path = write(tmp_path / "a.csv", [f"{stamp(0)},5,1"], "Zeit,WT,block_position [m]")
    with pytest.raises(InputError, match=r'no time column .*expects it under "Stamp"'):
        read(path, rig)


BAD_ROWS = [
    f"{stamp(0)},50,1",
    f"{stamp(1)},abc,1",
    "",
    f"{stamp(1)},51,1",
    f"{stamp(2)},52",
    "yesterday,53,1",
    ",54,1",
    f"{stamp(3)},,1",
    f"{stamp(4)},1e9,-999.25",
    f"{stamp(5)}, +5.5 ,1",
    f"{stamp(6)},1_0,NULL",
]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_each_refusal_of_rows_and_cells_is_counted_and_told(
    tmp_path: Path, end: str, packed: bool, mark: bytes
) -> None:
    path = write(tmp_path / "bad.csv", BAD_ROWS, end=end)
    content = mark + path.read_bytes()
    path.write_bytes(gzip.compress(content) if packed else content)
    samples, counts = read(path)
    assert counts.rejected == {
        "unreadable cell": 2,
        "time not newer": 1,
        "wrong number of cells": 1,
        "unreadable time": 1,
        "missing time": 1,
        "absurd value": 1,
        "undeclared null value": 1,
    }
    assert counts.missing == {"deadline_tension": 1, "block_position": 1}
    assert counts.samples == len(samples) == 7
    quality = samples.quality["deadline_tension"]
    assert quality.tolist() == [
        0,
        Quality.UNREADABLE,
        0,
        Quality.MISSING,
        Quality.ABSURD,
        0,
        Quality.UNREADABLE,
    ]
    assert samples.values["deadline_tension"][[0, 5]].tolist() == [50e3, 5500.0]
    assert samples.row.tolist() == [0, 0, Quality.LATE, 0, 0, 0, 0]
    told = "\n".join(counts.examples)
    for says in (
        r'line 3: column "deadline_tension \[kN\]": value "abc": not a number',
        r'line 5: column "time": value "2026-03-01T00:00:01.000Z": not newer than',
        r"line 6: value .*: 2 cells where 3 are expected",
        r'line 7: column "time": value "yesterday": not an ISO 8601 time',
        r'line 8: column "time": value "": no time',
        r'line 10: column "deadline_tension \[kN\]": value "1e9": outside -100 to 3000 kN',
        r'line 10: column "block_position \[m\]": value "-999.25": .*null_values',
        r'line 12: .*value "1_0"',
    ):
        assert re.search(says, told), says


def test_messages_stay_few_but_all_are_counted(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [ROW, *(f"{stamp(i)},bad,1" for i in range(1, 500))])
    _, counts = read(path)
    assert counts.rejected == {"unreadable cell": 499}
    assert len(counts.examples) == 5


def test_unclosed_quotation_mark_spoils_one_cell_only(tmp_path: Path) -> None:
    rows = [f"{stamp(i)},50,1" for i in range(100)]
    rows[40] = f'{stamp(40)},"50,1'
    samples, counts = read(write(tmp_path / "a.csv", rows))
    assert len(samples) == 100
    assert counts.rejected == {"unreadable cell": 1}


def test_text_that_is_not_utf8_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    head = f"{HEADER},temperature [°C],remark\n".encode("cp1252")
    path.write_bytes(
        head + f"{stamp(0)},50,1,10,gr\xfc\xdf\n{stamp(1)},\xff,1,10,\n".encode("cp1252")
    )
    samples, counts = read(path)
    assert samples.values["temperature"].tolist() == [283.15, 283.15]
    assert counts.rejected == {"unreadable cell": 1}
    assert counts.ignored_columns == ["remark"]
    assert any("Windows-1252" in note for note in counts.notes)


def test_gzip_cut_short_is_used_as_far_as_it_goes_and_said(tmp_path: Path) -> None:
    path = write(tmp_path / "a.csv", [f"{stamp(i * 0.1)},{i % 97},1" for i in range(20_000)])
    packed = gzip.compress(path.read_bytes())
    path.write_bytes(packed[: len(packed) // 2])
    samples, counts = read(path)
    assert 1000 < len(samples) < 20_000
    assert any("cut short" in note for note in counts.notes)


def test_short_row_that_is_not_utf8_is_counted(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(f"{HEADER}\n{ROW}\n{stamp(1)},gr\xfc\xdf\n".encode("cp1252"))
    _, counts = read(path)
    assert counts.rejected == {"wrong number of cells": 1}
    assert "grüß" in counts.examples[0]
