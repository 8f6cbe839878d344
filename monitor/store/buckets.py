"""Min, max and last of columns in absolute time buckets, so that no spike is thinned away."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from monitor.model import Floats, Ints


@dataclass(frozen=True, slots=True)
class Buckets:
    """Buckets in order; matrices have one line a column of data and one column a bucket.

    A single row is a bucket of its own: min, max and last are its values.
    """

    start_us: Ints
    first_seq: Ints
    last_seq: Ints
    n: Ints  # rows with data
    gaps: Ints  # gap markers
    least: Floats
    greatest: Floats
    last: Floats

    def __len__(self) -> int:
        return len(self.start_us)

    def piece(self, start: int, stop: int) -> Buckets:
        """Buckets ``start`` to ``stop``."""
        return Buckets(*(getattr(self, part.name)[..., start:stop] for part in fields(self)))


def single_rows(seq: Ints, time_us: Ints, is_gap: np.ndarray, values: Floats) -> Buckets:
    """Each row as a bucket of its own; ``values`` has one line a column of data."""
    gaps = is_gap.astype(np.int64)
    return Buckets(time_us, seq, seq, 1 - gaps, gaps, values, values, values)


def joined(first: Buckets, second: Buckets) -> Buckets:
    """One run of buckets after the other."""
    return Buckets(
        *(
            np.concatenate([getattr(first, part.name), getattr(second, part.name)], axis=-1)
            for part in fields(first)
        )
    )


def regrouped(parts: Buckets, step_us: int) -> Buckets:
    """Neighbours of the same absolute bucket of ``step_us`` put together.

    Buckets are in the order of the rows: where the clock steps back, an older bucket
    appears again as another one with a later ``first_seq``.
    """
    if len(parts) == 0:
        return parts
    start_us = parts.start_us // step_us * step_us
    cuts = np.concatenate([[0], np.flatnonzero(np.diff(start_us)) + 1])
    ends = np.concatenate([cuts[1:], [len(parts)]]) - 1
    known = np.where(np.isnan(parts.last), -1, np.arange(len(parts)))
    newest = np.maximum.reduceat(known, cuts, axis=1)
    last = np.take_along_axis(parts.last, np.maximum(newest, 0), axis=1)
    return Buckets(
        start_us[cuts],
        parts.first_seq[cuts],
        parts.last_seq[ends],
        np.add.reduceat(parts.n, cuts),
        np.add.reduceat(parts.gaps, cuts),
        np.fmin.reduceat(parts.least, cuts, axis=1),
        np.fmax.reduceat(parts.greatest, cuts, axis=1),
        np.where(newest < 0, np.nan, last),
    )


class OpenBucket:
    """Collects rows or finer buckets and gives each bucket once, when it is closed."""

    def __init__(self, step_us: int) -> None:
        self.step_us = step_us
        self._open: Buckets | None = None

    def closed_by(self, parts: Buckets) -> Buckets:
        """Take ``parts``; return the buckets that they close."""
        if len(parts) == 0:
            return parts
        grouped = regrouped(
            parts if self._open is None else joined(self._open, parts), self.step_us
        )
        self._open = grouped.piece(len(grouped) - 1, len(grouped))
        return grouped.piece(0, len(grouped) - 1)
