from __future__ import annotations

import pytest

from monitor.web.ring import Ring


def rows(*seqs: int) -> list[list[int]]:
    return [[seq, seq * 100] for seq in seqs]


def test_a_browser_gets_what_follows_its_number_although_numbers_skip() -> None:
    ring = Ring(100)
    ring.start_at(4)
    ring.extend(rows(5, 6, 9, 10))
    batch = ring.after(6, 10)
    assert batch is not None
    assert (batch.after, [row[0] for row in batch.rows]) == (6, [9, 10])
    everything = ring.after(4, 10)
    assert everything is not None
    assert len(everything.rows) == 4


@pytest.mark.parametrize("seq", [3, 11])
def test_what_is_no_longer_held_or_never_was_is_said(seq: int) -> None:
    ring = Ring(100)
    ring.start_at(4)
    ring.extend(rows(5, 6, 9, 10))
    assert ring.after(seq, 10) is None


def test_rows_come_once_and_the_oldest_go() -> None:
    ring = Ring(8)
    ring.extend(rows(*range(1, 8)))
    ring.extend(rows(*range(4, 12)))
    assert ring.last == 11
    assert len(ring) <= 8 + 8 // 4
    held = ring.after(ring.floor, 100)
    assert held is not None
    assert [row[0] for row in held.rows] == list(range(ring.floor + 1, 12))


def test_limit_gives_the_oldest_first_so_that_nothing_is_skipped() -> None:
    ring = Ring(100)
    ring.extend(rows(*range(1, 50)))
    seen, at = [], 0
    while (batch := ring.after(at, 7)) and batch.rows:
        seen += [row[0] for row in batch.rows]
        at = seen[-1]
    assert seen == list(range(1, 50))
