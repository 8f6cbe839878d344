"""Numbering: the same for any cut, and what it makes of clocks that misbehave."""

from __future__ import annotations

import json

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.ingest.clock import Numbering
from monitor.ingest.rows import Rows, rows_of
from monitor.model import Quality, Samples

S = 1_000_000
LATE, GAP, EPOCH = int(Quality.LATE), int(Quality.GAP), int(Quality.EPOCH)


def rows(seconds: list[float]) -> Rows:
    time_us = np.array([round(s * S) for s in seconds], np.int64)
    load = np.arange(len(seconds), dtype=float)
    load[::7] = np.nan
    return rows_of(time_us, {"hook_load": load}, np.arange(2, 2 + len(seconds)))


def joined(parts: list[Samples]) -> tuple[list[object], ...]:
    parts = [p for p in parts if len(p)]
    return (
        [int(s) for p in parts for s in p.seq],
        [int(t) for p in parts for t in p.time_us],
        [int(r) for p in parts for r in p.row],
        [v.hex() for p in parts for v in p.values["hook_load"].tolist()],
        [int(q) for p in parts for q in p.quality["hook_load"]],
    )


def whole(seconds: list[float]) -> tuple[Numbering, tuple[list[object], ...]]:
    numbering = Numbering(("hook_load",))
    parts = [numbering.feed(rows(seconds))]
    rest = numbering.finish()
    return numbering, joined([*parts, rest] if rest is not None else parts)


def flags(seconds: list[float]) -> list[tuple[float, int]]:
    _, (_, times, row, _, _) = whole(seconds)
    return [(t / S, r) for t, r in zip(times, row, strict=True)]  # type: ignore[operator]


# Steps of every kind: ordinary, doubled, back, a gap, far ahead, sparse.
STEP = st.one_of(
    st.sampled_from([0.1, 0.1, 0.1, 1.0, 1.0, 4.0, 6.0, 10.0, 10.0, 0.0, -0.1, -3.0, 30.0]),
    st.sampled_from([61.0, 200.0, -30.0, -200.0, 3600.0, -3600.0]),
)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(STEP, min_size=1, max_size=120),
    st.lists(st.integers(0, 119), max_size=8),
    st.booleans(),
)
def test_any_cut_and_any_restart_give_the_same_samples(
    steps: list[float], cuts: list[int], one_by_one: bool
) -> None:
    seconds = np.round(np.cumsum([1000.0, *steps]), 6).tolist()
    _, expected = whole(seconds)
    every = rows(seconds)
    places = range(len(seconds) + 1) if one_by_one else sorted({0, len(seconds), *cuts})
    places = [p for p in places if p <= len(seconds)]
    numbering = Numbering(("hook_load",))
    parts = []
    for start, stop in zip(places, places[1:], strict=False):
        parts.append(numbering.feed(every.piece(start, stop)))
        numbering = Numbering.restore(json.loads(json.dumps(numbering.state())))
    rest = numbering.finish()
    assert joined([*parts, rest] if rest is not None else parts) == expected


@settings(max_examples=100, deadline=None)
@given(st.lists(STEP, min_size=1, max_size=200))
def test_no_row_is_lost_and_accepted_time_only_runs_forward_within_an_epoch(
    steps: list[float],
) -> None:
    seconds = np.round(np.cumsum([1000.0, *steps]), 6).tolist()
    numbering, (seq, times, row, _, _) = whole(seconds)
    real = [t for t, r in zip(times, row, strict=True) if not int(str(r)) & GAP]
    assert sorted(real) == sorted(round(s * S) for s in seconds)  # type: ignore[type-var]
    assert seq == list(range(1, len(seq) + 1))
    assert numbering.totals["rows"] == len(seconds)
    newest = None
    for t, r in zip(times, row, strict=True):
        if int(str(r)) & LATE:
            continue
        if newest is not None and not int(str(r)) & EPOCH:
            assert int(str(t)) > newest
        newest = int(str(t))


def test_steady_rows_pass_untouched_without_a_copy() -> None:
    every = rows([i * 0.1 for i in range(1000)])
    samples = Numbering(("hook_load",)).feed(every)
    assert samples.values["hook_load"] is every.values["hook_load"]
    assert not samples.row.any()


def test_gap_marker_comes_five_seconds_after_the_last_of_fast_rows() -> None:
    found = flags([0, 1, 2, 3, 4, 5, 11, 12])
    assert found == [(t, 0) for t in (0, 1, 2, 3, 4, 5)] + [(10, GAP), (11, 0), (12, 0)]


def test_no_marker_where_the_next_row_comes_just_in_time() -> None:
    assert (10, GAP) not in flags([0, 1, 2, 3, 4, 5, 10])


def test_gap_is_three_medians_of_slow_rows() -> None:
    found = flags([10.0 * i for i in range(8)] + [105.0])
    assert found[-2:] == [(100.0, GAP), (105.0, 0)]
    assert [r for _, r in found].count(GAP) == 1


def test_gap_is_sixty_seconds_until_four_intervals_are_known() -> None:
    assert [r for _, r in flags([0, 20, 40, 90, 91])] == [0] * 5
    assert flags([0, 1, 62, 63])[2] == (61, GAP)


def test_sampling_that_becomes_slow_is_learnt_and_makes_no_lasting_gaps() -> None:
    found = flags([i * 0.1 for i in range(100)] + [10.0 + 10 * i for i in range(1, 60)])
    assert 0 < [r for _, r in found].count(GAP) <= 9


def test_marker_has_no_values_and_a_number_of_its_own() -> None:
    numbering = Numbering(("hook_load",))
    samples = numbering.feed(rows([0, 1, 2, 3, 4, 5, 20]))
    at = int(np.flatnonzero(samples.row == GAP)[0])
    assert np.isnan(samples.values["hook_load"][at])
    assert samples.quality["hook_load"][at] == GAP
    assert samples.seq.tolist() == list(range(1, 9))


def test_live_marker_has_the_stamp_of_the_batch_marker_and_comes_once() -> None:
    _, (_, times, row, _, _) = whole([0, 1, 2, 3, 4, 5, 20])
    live = Numbering(("hook_load",))
    live.feed(rows([0, 1, 2, 3, 4, 5]))
    assert live.idle(9 * S) is None
    assert live.idle(10 * S) is None
    marker = live.idle(11 * S)
    assert marker is not None
    assert int(marker.time_us[0]) == times[row.index(GAP)]
    assert live.idle(30 * S) is None
    assert live.feed(rows([20])).row.tolist() == [0]


def test_live_marker_is_not_given_before_any_row() -> None:
    assert Numbering(("hook_load",)).idle(10**15) is None


def test_row_behind_a_marker_already_given_is_late() -> None:
    live = Numbering(("hook_load",))
    live.feed(rows([0, 1, 2, 3, 4, 5]))
    assert live.idle(60 * S) is not None
    assert live.feed(rows([9, 11])).row.tolist() == [LATE, 0]


def test_doubled_and_earlier_rows_are_kept_and_late() -> None:
    assert flags([0, 1, 1, 2, 1.5, 3]) == [(0, 0), (1, 0), (1, LATE), (2, 0), (1.5, LATE), (3, 0)]


def test_one_wild_stamp_ahead_is_not_believed() -> None:
    found = flags([0, 1, 2, 3, 4, 100_000, 5, 6])
    assert found == [(t, 0) for t in range(5)] + [(100_000, LATE), (5, 0), (6, 0)]


def test_jump_ahead_is_believed_when_the_next_row_confirms_it() -> None:
    found = flags([0, 1, 2, 3, 4, 3600, 3601])
    assert found[4:] == [(4, 0), (9, GAP), (3600, 0), (3601, 0)]


def test_jump_ahead_at_the_very_end_stays_unconfirmed() -> None:
    numbering, (_, times, row, _, _) = whole([0, 1, 2, 3, 4, 3600])
    assert (times[-1], row[-1]) == (3600 * S, LATE)
    assert numbering.totals["unconfirmed"] == 1


def test_clock_set_back_is_a_new_epoch_after_ten_seconds() -> None:
    seconds = [1000.0 + i for i in range(20)] + [100.0 + i for i in range(30)]
    numbering, (_, times, row, _, _) = whole(seconds)
    assert row[:20] == [0] * 20
    assert row[20:30] == [LATE] * 10
    assert (times[30], row[30]) == (110 * S, EPOCH)
    assert row[31:] == [0] * 19
    assert numbering.totals["step"] == 1


def test_two_kinds_of_rows_one_by_one_are_late_rows_not_a_clock_step() -> None:
    seconds = [t for i in range(300) for t in (1000.0 + i, 900.0 + i)]
    numbering, (_, _, row, _, _) = whole(seconds)
    assert numbering.totals["step"] == 0
    assert row == [0, LATE] * 300


def test_two_late_kinds_that_run_backwards_between_them_are_no_clock_step() -> None:
    seconds = [5000.0, *(t for i in range(100) for t in (1000.0 + i, 900.0 + i))]
    numbering, _ = whole(seconds)
    assert numbering.totals["step"] == 0


def test_second_kind_in_short_bursts_is_no_clock_step() -> None:
    seconds: list[float] = []
    for turn in range(20):
        seconds += [1000.0 + 8 * turn + i for i in range(8)]
        seconds += [500.0 + 8 * turn + i for i in range(8)]
    numbering, (_, _, row, _, _) = whole(seconds)
    assert numbering.totals["step"] == 0
    assert row.count(LATE) == 160


def test_second_kind_in_long_bursts_deceives_once_at_most() -> None:
    seconds: list[float] = []
    for turn in range(20):
        seconds += [1000.0 + 20 * turn + i for i in range(20)]
        seconds += [970.0 + 20 * turn + i for i in range(20)]
    numbering, _ = whole(seconds)
    assert numbering.totals["step"] <= 1


def test_rows_a_further_file_repeats_are_late_not_a_clock_step() -> None:
    numbering = Numbering(("hook_load",))
    numbering.feed(rows([float(i) for i in range(100)]))
    numbering.new_file()
    second = numbering.feed(rows([float(i) for i in range(50, 150)]))
    assert second.row.tolist() == [LATE] * 50 + [0] * 50
    assert numbering.totals["step"] == 0


def test_command_takes_its_number_between_rows() -> None:
    numbering = Numbering(("hook_load",))
    numbering.feed(rows([0, 1]))
    assert numbering.take_seq() == 3
    assert numbering.feed(rows([2])).seq.tolist() == [4]


def test_findings_name_line_and_stamps() -> None:
    numbering = Numbering(("hook_load",))
    numbering.feed(rows([0, 1, 1, 2]))
    finding = numbering.findings[0]
    assert (finding.kind, finding.line, finding.time_us, finding.newest_us) == ("late", 4, S, S)
