"""Which found event answers to which true one: pure, one to one.

A true and a found span of one kind may belong together where they overlap or where their
starts differ by 2 s at most. Each true span gets at most one found span and the other way
round; as many as possible, those that count first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

STARTS_WITHIN_US = 2_000_000
ENDLESS_US = 2**62  # end of a span that is still open


class Standing(IntEnum):
    """What a true span is to the row of the scorecard that is being counted."""

    COUNTED = 0  # must be found; a find is a hit
    OTHER = 1  # true, and another row's: its find is neither hit nor false
    NEITHER = 2  # too near the limit, too short or unseen: nothing about it counts


@dataclass(frozen=True, slots=True)
class Span:
    """One spell of one kind; times in microseconds."""

    kind: str
    start_us: int
    end_us: int

    def reaches(self, other: Span) -> bool:
        """Whether the two may be the same event."""
        if self.kind != other.kind:
            return False
        if abs(self.start_us - other.start_us) <= STARTS_WITHIN_US:
            return True
        return self.overlap_us(other) > 0

    def overlap_us(self, other: Span) -> int:
        """How long both last; negative where they are apart."""
        return min(self.end_us, other.end_us) - max(self.start_us, other.start_us)


@dataclass(frozen=True, slots=True)
class Tally:
    """Indices: pairs (true, found) that are hits, true ones missed, found ones false."""

    hits: tuple[tuple[int, int], ...]
    missed: tuple[int, ...]
    false: tuple[int, ...]


def matched(true: Sequence[Span], found: Sequence[Span], order: Sequence[int]) -> dict[int, int]:
    """Pair true spans with found ones, as many as possible, earlier in ``order`` first.

    Augmenting paths (Kuhn, 1955): a true span once matched stays matched, so those first in
    order are never given up for later ones. Of several, the longest overlap is tried first.
    """
    choices = [
        sorted(
            (j for j, span in enumerate(found) if one.reaches(span)),
            key=lambda j, one=one: (-one.overlap_us(found[j]), j),  # type: ignore[misc]
        )
        for one in true
    ]
    owner: dict[int, int] = {}

    def place(i: int, tried: set[int]) -> bool:
        for j in choices[i]:
            if j in tried:
                continue
            tried.add(j)
            if j not in owner or place(owner[j], tried):
                owner[j] = i
                return True
        return False

    for i in order:
        place(i, set())
    return {i: j for j, i in owner.items()}


def tally(true: Sequence[Span], standing: Sequence[Standing], found: Sequence[Span]) -> Tally:
    """Count one row of the scorecard.

    A found span left over is false, unless it reaches a true one that counts neither way.
    """
    order = sorted(range(len(true)), key=lambda i: (standing[i], true[i].start_us, i))
    pairs = matched(true, found, order)
    counted = [i for i, what in enumerate(standing) if what == Standing.COUNTED]
    neither = [true[i] for i, what in enumerate(standing) if what == Standing.NEITHER]
    taken = set(pairs.values())
    false = [
        j
        for j, span in enumerate(found)
        if j not in taken and not any(one.reaches(span) for one in neither)
    ]
    return Tally(
        tuple((i, pairs[i]) for i in counted if i in pairs),
        tuple(i for i in counted if i not in pairs),
        tuple(false),
    )


@dataclass(frozen=True, slots=True)
class Stand:
    """One stand as it was or as the trip sheet has it."""

    out_us: int
    into_us: int
    direction: str
    length_m: float
    depth_m: float


@dataclass(frozen=True, slots=True)
class StandTally:
    """Stands split right as pairs (true, found), and found stands that never were."""

    right: tuple[tuple[int, int], ...]
    extra: int


# A stand's length by the block may be off by this and still be the same stand: slips give
# and take the load over some centimetres, a reset tooth length is far more.
LENGTH_WITHIN_M = 0.5


def stands_split(true: Sequence[Stand], found: Sequence[Stand]) -> StandTally:
    """Pair the stands that were split right.

    Right is: one found stand and no other shares more than half of the shorter of the two
    spans, and it has the same direction and the same length within ``LENGTH_WITHIN_M``.
    """
    reach = [[j for j, b in enumerate(found) if _share(a, b) > 0.5] for a in true]
    used = [sum(j in row for row in reach) for j in range(len(found))]
    right = tuple(
        (i, row[0])
        for i, row in enumerate(reach)
        if len(row) == 1
        and used[row[0]] == 1
        and found[row[0]].direction == true[i].direction
        and abs(found[row[0]].length_m - true[i].length_m) <= LENGTH_WITHIN_M
    )
    return StandTally(right, sum(count == 0 for count in used))


def _share(a: Stand, b: Stand) -> float:
    shorter = min(a.into_us - a.out_us, b.into_us - b.out_us)
    both = min(a.into_us, b.into_us) - max(a.out_us, b.out_us)
    return both / shorter if shorter > 0 else 0.0
