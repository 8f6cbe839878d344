from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.model import Quality
from monitor.store.entry import Entry
from monitor.store.errors import StoreError
from monitor.store.reader import Reader
from monitor.store.writer import Writer
from tests.store.invented import START_us, results, rows

HOUR_us = 3_600_000_000


def append(writer, samples, **columns):
    writer.append(Entry(START_us, [(samples, results(samples, **columns))]))


@pytest.fixture(scope="module")
def long_record(tmp_path_factory):
    """Six hours at 2 Hz with a spike of one row in the middle of the third hour."""
    folder = tmp_path_factory.mktemp("long")
    samples = rows(43_200, step_us=500_000)
    load = 1.5e6 + np.zeros(len(samples))
    load[18_001] = 2.5e6
    with closing(Writer(folder)) as writer:
        for start in range(0, len(samples), 997):
            piece = samples.piece(start, start + 997)
            append(writer, piece, hook_load_N=load[start : start + 997])
    return folder, samples, load


@pytest.mark.parametrize("points", [2, 3, 10, 50, 300, 1000, 5000, 50_000])
@pytest.mark.parametrize("hours", [0.3, 1, 6, 100])
def test_a_spike_of_one_row_is_never_thinned_away(long_record, points, hours):
    folder, samples, _ = long_record
    spike_us = int(samples.time_us[18_001])
    with closing(Reader(folder)) as reader:
        half_us = int(hours * HOUR_us / 2)
        chart = reader.window(spike_us - half_us, spike_us + half_us, ["hook_load_N"], points)
    assert max(value for value in chart["hook_load_N_max"] if value is not None) == 2.5e6
    assert len(chart["time_us"]) <= points + 2


@pytest.mark.parametrize("points", [100, 1000, 5000, 50_000])
def test_buckets_hold_what_the_rows_hold(long_record, points):
    folder, samples, _ = long_record
    from_us, to_us = int(samples.time_us[1000]), int(samples.time_us[-700])
    with closing(Reader(folder)) as reader:
        chart = reader.window(from_us, to_us, ["block_position_m"], points)
    step_us = chart["step_us"]
    if step_us == 0:
        start_us = samples.time_us[(samples.time_us >= from_us) & (samples.time_us < to_us)]
        assert chart["time_us"] == start_us.tolist()
        return
    bucket = samples.time_us // step_us * step_us
    for at_us, least, greatest, last in zip(
        chart["time_us"],
        chart["block_position_m_min"],
        chart["block_position_m_max"],
        chart["block_position_m"],
        strict=True,
    ):
        inside = samples.values["block_position"][bucket == at_us]
        known = inside[~np.isnan(inside)]
        assert (least, greatest, last) == (known.min(), known.max(), known[-1])


def test_a_window_wider_than_the_data_is_drawn_as_finely_as_the_data(long_record):
    folder, samples, _ = long_record
    with closing(Reader(folder)) as reader:
        chart = reader.window(0, 2 * int(samples.time_us[-1]), ["hook_load_N"], 1000)
    assert chart["step_us"] == 30_000_000


def test_buckets_stand_still_while_the_window_slides(long_record):
    folder, samples, _ = long_record
    first_us = int(samples.time_us[0])
    with closing(Reader(folder)) as reader:
        one = reader.window(first_us, first_us + HOUR_us, ["hook_load_N"], 500)
        two = reader.window(first_us + 3_700_000, first_us + 3_700_000 + HOUR_us, ["tare_N"], 500)
    assert one["step_us"] == two["step_us"]
    assert len(set(one["time_us"]) & set(two["time_us"])) >= len(one["time_us"]) - 2


def test_late_rows_are_left_out_and_a_gap_breaks_the_line(tmp_path):
    first = rows(600)
    gap = rows(1, seq=601, start_us=START_us + 65_000_000)
    gap = replace(
        gap,
        row=np.array([Quality.GAP], dtype=np.uint16),
        values={name: np.full(1, np.nan) for name in gap.values},
    )
    late = replace(rows(5, seq=602), row=np.full(5, int(Quality.LATE), dtype=np.uint16))
    late.values["block_position"][:] = 99.0
    after = rows(600, seq=607, start_us=START_us + 300_000_000)
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        for samples in (first, gap, late, after):
            append(writer, samples)
        for points in (50, 10_000):
            chart = reader.window(START_us, START_us + HOUR_us, ["block_position_m"], points)
            values = chart["block_position_m_max"]
            assert 99.0 not in values
            assert chart["time_us"] == sorted(chart["time_us"])
            gaps = [
                at_us
                for at_us, value in zip(chart["time_us"], values, strict=True)
                if value is None and START_us + 60_000_000 <= at_us < START_us + 300_000_000
            ]
            assert gaps


def test_unknown_columns_are_an_error_and_absent_channels_are_missing(tmp_path):
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        append(writer, rows(10))
        with pytest.raises(StoreError, match="no column 'hook_lode_N'"):
            reader.window(START_us, START_us + HOUR_us, ["hook_lode_N"], 100)
        chart = reader.window(START_us, START_us + HOUR_us, ["reported_hook_load_N"], 100)
    assert chart["reported_hook_load_N"] == [None] * 10


def rollups(folder):
    with closing(sqlite3.connect(folder / "record.sqlite")) as raw:
        return [
            raw.execute(f"SELECT * FROM {level} ORDER BY first_seq").fetchall()  # noqa: S608
            for level in ("rollup_10s", "rollup_10min")
        ]


@settings(deadline=None, max_examples=12)
@given(
    cuts=st.lists(st.integers(1, 2999), max_size=12, unique=True),
    reopened=st.integers(0, 12),
)
def test_rollups_are_the_same_for_any_cut_and_after_reopening(tmp_path_factory, cuts, reopened):
    samples = rows(3000, step_us=700_000)
    whole, parts = tmp_path_factory.mktemp("whole"), tmp_path_factory.mktemp("parts")
    with closing(Writer(whole)) as writer:
        append(writer, samples)
    ends = [0, *sorted(cuts), len(samples)]
    writer = Writer(parts)
    for place, (start, stop) in enumerate(zip(ends[:-1], ends[1:], strict=True)):
        if place == reopened:
            writer.close()
            writer = Writer(parts)
        append(writer, samples.piece(start, stop))
    writer.close()
    assert rollups(parts) == rollups(whole)


def test_a_clock_that_steps_back_keeps_both_buckets(tmp_path):
    first = rows(300)
    again = rows(300, seq=301)
    again = replace(again, row=np.array([int(Quality.EPOCH)] + [0] * 299, dtype=np.uint16))
    with closing(Writer(tmp_path)) as writer, closing(Reader(tmp_path)) as reader:
        append(writer, first, hook_load_N=np.full(300, 1e6))
        append(writer, again, hook_load_N=np.full(300, 2e6))
        chart = reader.window(START_us, START_us + HOUR_us, ["hook_load_N"], 4)
    assert chart["step_us"] == 10_000_000
    assert chart["hook_load_N_min"] == [1e6] * 3
    assert chart["hook_load_N_max"] == [2e6] * 3
