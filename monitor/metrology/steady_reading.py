"""Spells in which a reading stands still, so that it can be set against a known load.

Causal: whether a second belongs to a spell is decided from it and those before it, on whole
seconds of the clock, so that the same rows give the same spells wherever a look begins within
a spell's break. It judges the reading only, not whether the load was what it is said to be.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

# Our choices. The sheaves and the transmitter's lag have settled two seconds after a move;
# eight seconds after that are some eighty readings at 10 Hz, whose mean is ten times quieter.
SETTLE_S = 2
LEAST_S = 8
LONGEST_HOLE_S = 3  # seconds without a reading that do not break a spell
# A second's mean within this share of the signal's range of the spell's mean belongs to it:
# a fifth of the half per cent that an uncalibrated load is taken to be uncertain by.
TOLERANCE_SHARE = 0.001


@dataclass(frozen=True, slots=True)
class SteadySpell:
    """One spell, settling time left out; ``why_not`` is empty where it may be used."""

    start_us: int
    end_us: int  # of the last reading in it
    n_readings: int
    mean: float
    scatter: float  # standard deviation of single readings
    mean_uncertainty: float  # standard uncertainty of the mean, from the seconds' means
    drift: float  # change over the spell by least squares
    is_open: bool  # nothing has ended it yet
    why_not: str
    is_frozen: bool  # not one reading differs from another

    @property
    def duration_s(self) -> float:
        """How long it lasted."""
        return (self.end_us - self.start_us) / 1e6


@dataclass(slots=True)
class _Second:
    number: int  # seconds since 1970
    first: int  # places of its rows
    stop: int
    mean: float


def steady_spells(
    time_us: NDArray[np.int64], values: Values, tolerance: float
) -> tuple[SteadySpell, ...]:
    """Find the spells in which a reading stood still.

    Parameters
    ----------
    time_us : ndarray of int64
        Stamps, rising. [us]
    values : ndarray
        Readings; missing ones are passed over. [any]
    tolerance : float
        How far the mean of one second may lie from the spell's, and how far the spell may
        drift, above 0. [as values]

    Returns
    -------
    tuple of SteadySpell
        In order; the last may be open, and is then given however short it is. [us]

    Raises
    ------
    ValueError
        For columns that do not pair or a tolerance that is not above zero.

    Notes
    -----
    A spell is ended by a second whose mean is off by more than the tolerance, or by more than
    three seconds without a reading. Its first two seconds are left out as settling. The
    standard uncertainty of the mean comes from the scatter of the seconds' means, which
    allows for noise that is correlated within a second.

    Examples
    --------
    >>> t = np.arange(0, 40_000_000, 100_000)
    >>> found = steady_spells(t, np.where(t < 20_000_000, 5.0, 7.0), 0.01)
    >>> [(one.mean, one.n_readings, one.is_open) for one in found]
    [(5.0, 180, False), (7.0, 180, True)]

    References
    ----------
    .. [1] Batch means; common practice. The limits are our choice.
    """
    stamps, column = np.asarray(time_us, dtype=np.int64), np.asarray(values, dtype=float)
    if stamps.shape != column.shape:
        raise ValueError(f"time_us has {len(stamps)} rows and values {len(column)}; must pair")
    if not tolerance > 0.0:
        raise ValueError(f"tolerance is {tolerance}; must be above 0")
    known = np.isfinite(column)
    newest_s = int(stamps[-1] // 1_000_000) if len(stamps) else 0
    stamps, column = stamps[known], column[known]
    found = []
    spells = list(_spells(_seconds(stamps, column), tolerance))
    for place, spell in enumerate(spells):
        is_last = place == len(spells) - 1
        is_open = is_last and newest_s - spell[-1].number <= LONGEST_HOLE_S
        told = _told(spell, stamps, column, tolerance, is_open=is_open)
        if told is not None and (is_open or not told.why_not):
            found.append(told)
    return tuple(found)


def _seconds(stamps: NDArray[np.int64], column: Values) -> list[_Second]:
    if len(stamps) == 0:
        return []
    numbers = stamps // 1_000_000
    starts = np.flatnonzero(np.diff(numbers, prepend=numbers[0] - 1))
    stops = np.append(starts[1:], len(stamps))
    return [
        _Second(int(numbers[first]), first, stop, float(column[first:stop].mean()))
        for first, stop in zip(starts.tolist(), stops.tolist(), strict=True)
    ]


def _spells(seconds: list[_Second], tolerance: float) -> Iterator[list[_Second]]:
    """Cut the seconds into spells; each second is judged by those before it only."""
    spell: list[_Second] = []
    for second in seconds:
        if spell and (
            second.number - spell[-1].number > LONGEST_HOLE_S
            or abs(second.mean - _middle(spell)) > tolerance
        ):
            yield spell
            spell = []
        spell.append(second)
    if spell:
        yield spell


def _middle(spell: list[_Second]) -> float:
    kept = spell[SETTLE_S:] or spell
    return math.fsum(second.mean for second in kept) / len(kept)


def _told(
    spell: list[_Second],
    stamps: NDArray[np.int64],
    column: Values,
    tolerance: float,
    *,
    is_open: bool,
) -> SteadySpell | None:
    kept = spell[SETTLE_S:]
    if not kept:
        if not is_open:
            return None
        kept = spell
    part = slice(kept[0].first, kept[-1].stop)
    own, at_s = column[part], (stamps[part] - stamps[kept[0].first]) / 1e6
    means = np.array([second.mean for second in kept])
    n = len(kept)
    drift = 0.0
    if len(own) > 2 and at_s[-1] > 0.0:
        centred = at_s - at_s.mean()
        drift = float((centred * own).sum() / (centred**2).sum() * at_s[-1])
    lasted_s = kept[-1].number - kept[0].number + 1
    why_not = ""
    if lasted_s < LEAST_S:
        why_not = f"steady for {lasted_s if len(spell) > SETTLE_S else 0} of {LEAST_S} s"
    elif abs(drift) > tolerance:
        why_not = "drifting"
    return SteadySpell(
        start_us=int(stamps[kept[0].first]),
        end_us=int(stamps[kept[-1].stop - 1]),
        n_readings=len(own),
        mean=float(own.mean()),
        scatter=float(own.std(ddof=1)) if len(own) > 1 else math.nan,
        mean_uncertainty=float(means.std(ddof=1)) / math.sqrt(n) if n > 1 else math.nan,
        drift=drift,
        is_open=is_open,
        why_not=why_not,
        is_frozen=len(own) > 1 and float(np.ptp(own)) == 0.0,
    )
