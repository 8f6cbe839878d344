"""Matching by hand-made cases: one to one, near truths neither way, stands one for one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.score.matching import (
    ENDLESS_US,
    STARTS_WITHIN_US,
    Span,
    Stand,
    Standing,
    matched,
    stands_split,
    tally,
)

COUNTED, OTHER, NEITHER = Standing.COUNTED, Standing.OTHER, Standing.NEITHER


def span(start_s: float, end_s: float, kind: str = "overpull") -> Span:
    return Span(kind, round(start_s * 1e6), round(end_s * 1e6))


@pytest.mark.parametrize(
    ("true", "found", "expected"),
    [
        (span(10, 20), span(19, 30), True),  # they overlap
        (span(10, 20), span(20, 30), False),  # they touch, and start 10 s apart
        (span(10, 10.5), span(12, 13), True),  # starts differ by just 2 s
        (span(10, 10.5), span(12.000001, 13), False),
        (span(12, 13), span(10, 10.5), True),
        (span(10, 20), span(10, 20, "slack_off"), False),  # the other way
        (span(10, 20), Span("overpull", 5_000_000, ENDLESS_US), True),  # still open
    ],
)
def test_what_may_be_the_same_event(true: Span, found: Span, *, expected: bool) -> None:
    assert true.reaches(found) is expected
    assert found.reaches(true) is expected


def test_one_find_answers_to_one_truth_only() -> None:
    counts = tally([span(10, 20), span(25, 30)], [COUNTED, COUNTED], [span(12, 40)])
    assert counts.hits == ((0, 0),)
    assert counts.missed == (1,)
    assert counts.false == ()


def test_a_truth_found_twice_has_one_false_find() -> None:
    counts = tally([span(10, 30)], [COUNTED], [span(11, 12), span(20, 30)])
    assert counts.hits == ((0, 1),)  # the longer overlap
    assert counts.false == (0,)


def test_as_many_pairs_as_possible() -> None:
    """Taking the best overlap first would pair (0, 0) and leave truth 1 without a find."""
    true = [span(10, 30), span(31, 40)]
    found = [span(12, 33), span(27, 28)]
    assert true[1].reaches(found[0])
    assert not true[1].reaches(found[1])
    counts = tally(true, [COUNTED, COUNTED], found)
    assert counts.hits == ((0, 1), (1, 0))


def test_near_truths_count_neither_way() -> None:
    near = [span(10, 20)]
    assert tally(near, [NEITHER], []).missed == ()
    assert tally(near, [NEITHER], [span(11, 12), span(15, 16)]).false == ()
    assert tally(near, [NEITHER], [span(11, 12)]).hits == ()
    assert tally(near, [NEITHER], [span(30, 31)]).false == (0,)


def test_a_find_goes_to_the_truth_that_counts_before_one_that_does_not() -> None:
    counts = tally([span(10, 20), span(18, 25)], [NEITHER, COUNTED], [span(12, 20)])
    assert counts.hits == ((1, 0),)


def test_truth_of_another_row_takes_its_find_and_no_more() -> None:
    counts = tally([span(10, 20)], [OTHER], [span(10, 14), span(17, 18)])
    assert counts.hits == ()
    assert counts.missed == ()
    assert counts.false == (1,)


def test_nothing_true_and_nothing_found() -> None:
    assert tally([], [], []).hits == ()
    assert tally([], [], [span(1, 2)]).false == (0,)
    assert tally([span(1, 2)], [COUNTED], []).missed == (0,)


SPANS = st.lists(
    st.builds(
        lambda start, length: span(start, start + length),
        st.integers(0, 60),
        st.integers(1, 20),
    ),
    max_size=7,
)


@given(SPANS, SPANS)
def test_pairs_are_one_to_one_allowed_and_none_is_left_that_could_be_made(
    true: list[Span], found: list[Span]
) -> None:
    pairs = matched(true, found, range(len(true)))
    assert len(set(pairs.values())) == len(pairs)
    assert all(true[i].reaches(found[j]) for i, j in pairs.items())
    free = set(range(len(found))) - set(pairs.values())
    for i, one in enumerate(true):
        assert i in pairs or not any(one.reaches(found[j]) for j in free)


@given(SPANS, SPANS)
def test_as_many_pairs_as_by_trying_all(true: list[Span], found: list[Span]) -> None:
    true, found = true[:4], found[:4]

    def most(i: int, free: frozenset[int]) -> int:
        if i == len(true):
            return 0
        taken = [1 + most(i + 1, free - {j}) for j in free if true[i].reaches(found[j])]
        return max([most(i + 1, free), *taken])

    assert len(matched(true, found, range(len(true)))) == most(0, frozenset(range(len(found))))


def stand(out_s: float, into_s: float, length_m: float = 28.4, direction: str = "out") -> Stand:
    return Stand(round(out_s * 1e6), round(into_s * 1e6), direction, length_m, 2000.0)


def test_stands_split_right() -> None:
    true = [stand(0, 100), stand(150, 250), stand(300, 400)]
    counts = stands_split(true, [stand(1, 99), stand(152, 251, 28.1), stand(300, 398)])
    assert counts.right == ((0, 0), (1, 1), (2, 2))
    assert counts.extra == 0


@pytest.mark.parametrize(
    ("found", "right", "extra"),
    [
        ([stand(0, 100, direction="in"), stand(150, 250)], 1, 0),  # wrong way
        ([stand(0, 100, 27.8), stand(150, 250)], 1, 0),  # 0.6 m short
        ([stand(0, 250, 56.8)], 0, 0),  # two as one
        ([stand(0, 49, 14.0), stand(51, 100, 14.4), stand(150, 250)], 1, 0),  # one as two
        ([stand(0, 100), stand(110, 120, 3.5), stand(150, 250)], 2, 1),  # one that never was
        ([], 0, 0),
    ],
)
def test_stands_split_wrong(found: list[Stand], right: int, extra: int) -> None:
    counts = stands_split([stand(0, 100), stand(150, 250)], found)
    assert (len(counts.right), counts.extra) == (right, extra)


def test_reach_of_starts_is_what_the_definition_says() -> None:
    assert STARTS_WITHIN_US == 2_000_000
