"""The block's counter against what must come again: slips set at one height, stands of pipe."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.metrology.block_survey import (
    Heights,
    LengthCheck,
    against_lengths,
    repeated_heights,
)
from monitor.model import Floats, TripRow
from monitor.review.span import Span

# A stand is made of two or three joints: lengths further from the middle one are singles,
# doubles or spells cut short, and tell nothing of the counter.
SAME_KIND_m = 1.5
LEAST_STANDS = 6


@dataclass(frozen=True, slots=True)
class BlockConsistency:
    """What a record says of its block counter. None where it holds too little."""

    slips: Heights | None  # block heights at which slips took the string, running in
    lengths: Heights | None  # lengths of stands, which vary by a decimetre or two
    tally: LengthCheck | None


def block_consistency(
    rows: Sequence[TripRow], span: Span | None = None, tally_m: Sequence[float] = ()
) -> BlockConsistency:
    """Judge the counter by stands, by heights at slips where a span is given, by a tally.

    ``tally_m``: known lengths of the stands in the order of ``rows``, missing ones NaN.
    """
    stands = [row for row in rows if row.in_slips_us is not None and not row.void]
    return BlockConsistency(
        slips=None if span is None else _slips(stands, span),
        lengths=_lengths(stands),
        tally=_tally(stands, tally_m),
    )


def _slips(stands: Sequence[TripRow], span: Span) -> Heights | None:
    """Running in, the elevators are left on the pipe at one height above the floor."""
    block = span["block_position"]
    inside = [
        row.in_slips_us
        for row in stands
        if row.direction in ("in", "drilled")
        and row.in_slips_us is not None
        and len(span)
        and span.time_us[0] <= row.in_slips_us <= span.time_us[-1]
    ]
    heights: Floats = np.array([float(block[span.row_at(at)]) for at in inside])
    if np.count_nonzero(np.isfinite(heights)) < LEAST_STANDS:
        return None
    return repeated_heights(np.array(inside, dtype=np.int64), heights)


def _lengths(stands: Sequence[TripRow]) -> Heights | None:
    lengths = np.array([row.length_m for row in stands])
    middle = float(np.median(lengths)) if len(lengths) else math.nan
    near = np.abs(lengths - middle) <= SAME_KIND_m
    if np.count_nonzero(near) < LEAST_STANDS:
        return None
    times = np.array([row.in_slips_us for row in stands], dtype=np.int64)
    return repeated_heights(times[near], lengths[near])


def _tally(stands: Sequence[TripRow], tally_m: Sequence[float]) -> LengthCheck | None:
    if len(tally_m) < LEAST_STANDS or len(stands) < LEAST_STANDS:
        return None
    count = min(len(stands), len(tally_m))
    shown = np.array([row.length_m for row in stands[:count]])
    known = np.array(tally_m[:count], dtype=float)
    # A spell cut short is no stand of the tally.
    same = np.abs(shown - known) <= SAME_KIND_m
    if np.count_nonzero(same) < LEAST_STANDS:
        return None
    return against_lengths(shown[same], known[same])
