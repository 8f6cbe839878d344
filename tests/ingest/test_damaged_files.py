"""Files damaged at random: read or refused, never a crash, never dependent on block size."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.ingest.errors import InputError
from tests.ingest.records import HEADER, read, rig_with, same, stamp

GOOD = "\n".join([HEADER, *(f"{stamp(i * 0.1)},{50 + i % 7}.5,{i % 30}" for i in range(60)), ""])
PIECES = st.one_of(
    st.binary(min_size=1, max_size=6),
    st.sampled_from(
        [b"\n", b"\r", b'"', b",", b";", b"\x00", b"\xff", b",,", b"\n\n", b"-", b"+", b"e", b"Z"]
    ),
    st.sampled_from(
        [b"nan", b"inf", b"1e999", b"-999.25", b"2026-02-30T00:00:00Z", b"9999-12-31"]
    ),
)


@settings(max_examples=250, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 5), PIECES), max_size=12),
    st.booleans(),
)
def test_damage_is_read_or_refused(edits: list[tuple[int, int, bytes]], comma: bool) -> None:
    content = GOOD.encode()
    for place, cut, piece in edits:
        content = content[:place] + piece + content[place + cut :]
    rig = rig_with(decimal=",", time_zone="Europe/Oslo") if comma else rig_with()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "damaged.csv"
        path.write_bytes(content)
        try:
            whole, counts = read(path, rig)
        except InputError as error:
            assert "damaged.csv" in str(error)  # noqa: PT017 -- either way of ending is right
            return
        assert counts.samples == int((whole.row & 32 == 0).sum())


@pytest.mark.parametrize("year", ["0001", "9999"])
def test_stamps_at_the_ends_of_the_calendar(tmp_path: Path, year: str) -> None:
    path = tmp_path / "a.csv"
    rows = [f"{year}-01-01T00:00:0{i},50,1" for i in range(5)]
    path.write_text("\n".join([HEADER, *rows, ""]))
    samples, _ = read(path, rig_with(time_zone="Europe/Oslo"))
    assert len(samples) == 5
    assert same(samples, samples)
