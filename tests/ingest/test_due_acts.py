"""Acts and rows share one counter, however the file is cut into chunks."""

from collections.abc import Iterator

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from monitor.ingest.due_acts import DueActs, merged
from monitor.model import Command, Samples

NAN = float("nan")


def _samples(times: list[int], first_seq: int) -> Samples:
    n = len(times)
    return Samples(
        np.arange(first_seq, first_seq + n, dtype=np.int64),
        np.array(times, dtype=np.int64),
        np.zeros(n, dtype=np.uint16),
        {},
        {},
    )


def _chunks(times: list[int], cuts: list[int]) -> Iterator[Samples]:
    edges = sorted({0, len(times), *(cut % (len(times) + 1) for cut in cuts)})
    for start, stop in zip(edges, edges[1:], strict=False):
        yield _samples(times[start:stop], start + 1)


def _act(time_us: int) -> Command:
    return Command(0, time_us, "tare", NAN, "", "driller")


def _order(times: list[int], acts: list[int], cuts: list[int]) -> list[tuple[int, str, int]]:
    found = []
    for samples, commands in merged(_chunks(times, cuts), [_act(time) for time in acts]):
        found += [
            (seq, "row", time)
            for seq, time in zip(samples.seq.tolist(), samples.time_us.tolist(), strict=True)
        ]
        found += [(command.seq, "act", command.time_us) for command in commands]
    return sorted(found)


def test_an_act_comes_before_the_first_row_not_older_than_it() -> None:
    assert _order([10, 20, 30], [20, 5], []) == [
        (1, "act", 5),
        (2, "row", 10),
        (3, "act", 20),
        (4, "row", 20),
        (5, "row", 30),
    ]


def test_an_act_after_the_record_is_never_given() -> None:
    assert [kind for _, kind, _ in _order([10], [11], [])] == ["row"]


@given(
    times=st.lists(st.integers(0, 30), min_size=1, max_size=20),
    acts=st.lists(st.integers(-2, 35), max_size=6),
    cuts=st.lists(st.integers(0, 20), max_size=5),
)
def test_any_cut_gives_the_same_numbers_each_used_once(
    times: list[int], acts: list[int], cuts: list[int]
) -> None:
    whole = _order(times, acts, [])
    assert _order(times, acts, cuts) == whole
    assert [seq for seq, _, _ in whole] == list(range(1, len(whole) + 1))


@given(
    times=st.lists(st.integers(0, 30), min_size=1, max_size=20),
    acts=st.lists(st.integers(-2, 35), max_size=6),
    cuts=st.lists(st.integers(0, 20), max_size=5),
    stop=st.integers(0, 5),
)
def test_rows_are_cut_at_acts_in_the_same_order_and_gone_on_with(
    times: list[int], acts: list[int], cuts: list[int], stop: int
) -> None:
    due = DueActs([_act(time) for time in acts])
    found: list[tuple[str, int]] = []
    for number, samples in enumerate(_chunks(times, cuts)):
        if number == stop:  # a later run goes on from the two figures
            due = DueActs([_act(time) for time in acts], due.given, due.newest_us)
        for given_now, piece in due.pieces(samples):
            found += [("act", command.time_us) for command in given_now]
            found += [("row", time) for time in piece.time_us.tolist()]
    assert found == [(kind, time) for _, kind, time in _order(times, acts, [])]
    assert len(due.left) == sum(time > max(times) for time in acts)
