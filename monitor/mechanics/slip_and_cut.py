"""Slip-and-cut programme of the drilling line, over a log of its cuts.

Work between cuts divided by the length cut is held at a goal. Line work is no proof of a
sound line: inspection, the clamp at the anchor and days since the last cut count as well.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor import units
from monitor.mechanics.arguments import check_above_zero, check_not_negative

# Printed: ton-miles a foot of line; 2000 lbf x 5280 ft / 1 ft.
TON_MILE_PER_FT_J_m = units.to_si("1 ton-mile", "work") / units.to_si("1 ft", "length")

# Goal of line work for each length cut at a design factor of 5, ton-miles per foot by
# diameter in inches: a sheet citing API RP 9B, looked up. Defaults: the line's maker and the
# line's own history go before them; a lower design factor asks for a lower goal.
GOAL_ton_miles_per_ft: Mapping[float, float] = {
    1.0: 8.0, 1.125: 12.0, 1.25: 16.0, 1.375: 20.0, 1.5: 24.0, 1.625: 28.0,
    1.75: 32.0, 1.875: 36.0, 2.0: 40.0, 2.125: 44.0,
}  # fmt: skip

# A cut nearer than this to whole laps moves worn places to the same crossovers again: our
# choice of a tenth of a lap.
LAP_TOLERANCE = 0.1


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut: when, how much line was cut off, line work shown by the counter then."""

    time_us: int
    length_m: float
    line_work_J: float


@dataclass(frozen=True, slots=True)
class CutDue:
    """Where the programme stands."""

    done_J: float  # since the last cut
    goal_J: float  # for the length of the next cut
    left_J: float  # below 0: overdue
    due_us: int | None  # at the present rate; None: no rate, or too far away to say

    @property
    def share(self) -> float:
        """Done over goal."""
        return self.done_J / self.goal_J

    @property
    def is_overdue(self) -> bool:
        """Whether more was done than the next cut takes off."""
        return self.left_J < 0.0


def goal_J_m(diameter_m: float, share: float = 1.0) -> float:
    """Goal of line work for each length of line cut.

    Parameters
    ----------
    diameter_m : float
        Nominal diameter, 1 to 2 1/8 in by eighths. [m]
    share : float
        Share of the table's goal, above 0: below 1 for a new line's first cuts, for a design
        factor below 5, or by the line's history. [-]

    Returns
    -------
    float
        Goal. [J/m]

    Raises
    ------
    ValueError
        For a diameter that is not in the table, a share not above 0.

    Notes
    -----
    At a design factor of 5. The standard's curve for other factors is not in this tool.

    Examples
    --------
    >>> goal_J_m(0.0254) / 1e6  # 8 ton-miles a foot
    375.8

    References
    ----------
    .. [1] As `GOAL_ton_miles_per_ft`; the sheet prints 375 MJ/m for 8 ton-miles a foot.
    """
    check_above_zero(share=share)
    diameter_in = units.from_si(diameter_m, "in", "length")
    for size_in, goal in GOAL_ton_miles_per_ft.items():
        if abs(size_in - diameter_in) <= 0.02:  # 1/50 in: metric roundings
            return goal * share * TON_MILE_PER_FT_J_m
    raise ValueError(f"diameter_m is {diameter_m}; not a size of the table, 1 to 2 1/8 in")


def work_since_cut_J(cuts: Sequence[Cut], line_work_J: float) -> float:
    """Line work done since the last cut.

    Parameters
    ----------
    cuts : sequence of Cut
        Log of cuts in order of time; empty for a line not cut yet. [-]
    line_work_J : float
        Line work shown by the counter now, 0 with a new line. [J]

    Returns
    -------
    float
        Work since. [J]

    Raises
    ------
    ValueError
        For a log out of order, a negative length, a counter that went back.

    Notes
    -----
    Counter now less counter at the last cut.

    Examples
    --------
    >>> work_since_cut_J([Cut(0, 30.0, 5e9)], 7e9)
    2e9

    References
    ----------
    .. [1] API RP 9B, cutoff practice; from memory.
    """
    check_log(cuts)
    last_J = cuts[-1].line_work_J if cuts else 0.0
    if line_work_J < last_J:
        raise ValueError(
            f"line_work_J is {line_work_J}; must be at least the last cut's, {last_J}"
        )
    return line_work_J - last_J


def check_log(cuts: Sequence[Cut]) -> None:
    """Refuse a log out of order or with cuts that cannot be."""
    for number, cut in enumerate(cuts, start=1):
        if not cut.length_m > 0.0:
            raise ValueError(f"length_m of cut {number} is {cut.length_m}; must be above 0")
        if number == 1:
            continue
        before = cuts[number - 2]
        if cut.time_us <= before.time_us:
            raise ValueError(f"time_us of cut {number} is {cut.time_us}; must be after the last")
        if cut.line_work_J < before.line_work_J:
            raise ValueError(
                f"line_work_J of cut {number} is {cut.line_work_J}; must not be less than before"
            )


def work_rate_W(time_us: NDArray[np.int64], line_work_J: NDArray[np.float64]) -> float:
    """Mean rate of line work over a span of the record.

    Parameters
    ----------
    time_us : ndarray
        Times, rising; say the last days. [us]
    line_work_J : ndarray
        Line work shown by the counter at them. [J]

    Returns
    -------
    float
        Rate; not-a-number for fewer than two known rows. [W]

    Raises
    ------
    ValueError
        For a counter that went back over the span.

    Notes
    -----
    Last less first over the time between, idle time included: the rate a calendar sees.

    Examples
    --------
    >>> work_rate_W(np.array([0, 3_600_000_000]), np.array([0.0, 3.6e9]))
    1e6

    References
    ----------
    .. [1] Derived.
    """
    known = np.flatnonzero(np.isfinite(line_work_J))
    if len(known) < 2:
        return math.nan
    first, last = int(known[0]), int(known[-1])
    done_J = float(line_work_J[last] - line_work_J[first])
    if done_J < 0.0:
        raise ValueError(f"line_work_J goes back by {-done_J}; must not fall")
    elapsed_us = int(time_us[last]) - int(time_us[first])
    return done_J / (elapsed_us * 1e-6) if elapsed_us > 0 else math.nan


def cut_due(
    cuts: Sequence[Cut],
    line_work_J: float,
    goal_J_m: float,
    cut_length_m: float,
    now_us: int,
    rate_W: float,
) -> CutDue:
    """Goal, done and left of the slip-and-cut programme, and when the next cut is due.

    Parameters
    ----------
    cuts : sequence of Cut
        Log of cuts in order of time. [-]
    line_work_J : float
        Line work shown by the counter now. [J]
    goal_J_m : float
        Goal for each length cut, above 0. [J/m]
    cut_length_m : float
        Length planned to be cut next, above 0. [m]
    now_us : int
        Time now, UTC. [us]
    rate_W : float
        Present rate of line work; 0 or not-a-number where unknown. [W]

    Returns
    -------
    CutDue
        The state of the programme; overdue, the due date is in the past at that rate. [J]

    Raises
    ------
    ValueError
        As `work_since_cut_J`; a goal or length not above 0, a negative rate.

    Notes
    -----
    Due after (goal x length - done) / rate; no date beyond ten years.

    Examples
    --------
    >>> due = cut_due([], 5e9, 400e6, 30.0, 0, 1e5)
    >>> due.left_J, due.due_us
    (7e9, 70000000000)

    References
    ----------
    .. [1] API RP 9B, cutoff practice; from memory. Due date: derived.
    """
    check_above_zero(goal_J_m=goal_J_m, cut_length_m=cut_length_m)
    check_not_negative(rate_W=rate_W)
    done_J = work_since_cut_J(cuts, line_work_J)
    goal_J = goal_J_m * cut_length_m
    left_J = goal_J - done_J
    due_us = None
    if rate_W > 0.0 and abs(left_J) < rate_W * 10 * 365.25 * 86_400:
        due_us = now_us + round(left_J / rate_W * 1e6)
    return CutDue(done_J, goal_J, left_J, due_us)


def programme_balance_m(cuts: Sequence[Cut], goal_J_m: float) -> float:
    """Line cut so far more than the work between the cuts asked for.

    Parameters
    ----------
    cuts : sequence of Cut
        Log of cuts in order of time. [-]
    goal_J_m : float
        Goal for each length cut, above 0. [J/m]

    Returns
    -------
    float
        Above 0: line was cut sooner than the goal; below 0: line is owed. [m]

    Raises
    ------
    ValueError
        For a log out of order, a goal not above 0.

    Notes
    -----
    Sum of lengths less (work at the last cut) / goal. What is owed belongs to the next cut.

    Examples
    --------
    >>> programme_balance_m([Cut(0, 30.0, 10e9), Cut(1, 30.0, 26e9)], 400e6)
    -5.0

    References
    ----------
    .. [1] Derived.
    """
    check_above_zero(goal_J_m=goal_J_m)
    check_log(cuts)
    if not cuts:
        return 0.0
    return math.fsum(cut.length_m for cut in cuts) - cuts[-1].line_work_J / goal_J_m


def is_lap_multiple(length_m: float, lap_m: float, tolerance: float = LAP_TOLERANCE) -> bool:
    """Whether a cut is so near to whole laps that wear meets the same places again.

    Parameters
    ----------
    length_m : float
        Length of the cut, at least 0. [m]
    lap_m : float
        Length of a lap: one wrap on the drum, or the spacing of pick-up points. [m]
    tolerance : float
        In laps, 0 to 0.5. [-]

    Returns
    -------
    bool
        True where it is. [-]

    Raises
    ------
    ValueError
        For a negative length, a lap not above 0, a tolerance outside 0 to 0.5.

    Notes
    -----
    |length / lap - nearest whole| <= tolerance.

    Examples
    --------
    >>> is_lap_multiple(25.0, 2.5), is_lap_multiple(26.25, 2.5)
    (True, False)

    References
    ----------
    .. [1] API RP 9B: the cut should not be a multiple of the lap or of the spacing of the
       pick-up points; from memory. The tolerance is our choice.
    """
    check_not_negative(length_m=length_m)
    check_above_zero(lap_m=lap_m)
    if not 0.0 <= tolerance <= 0.5:
        raise ValueError(f"tolerance is {tolerance}; must be 0 to 0.5")
    laps = length_m / lap_m
    return abs(laps - math.floor(laps + 0.5)) <= tolerance


def cut_length_m(work_J: float, goal_J_m: float, lap_m: float) -> float:
    """Length to cut for work done: enough for the goal, and half a lap off whole laps.

    Parameters
    ----------
    work_J : float
        Work since the last cut, at least 0. [J]
    goal_J_m : float
        Goal for each length cut, above 0. [J/m]
    lap_m : float
        Length of one wrap on the drum, above 0. [m]

    Returns
    -------
    float
        The shortest length of k + 1/2 laps that is at least work / goal. [m]

    Raises
    ------
    ValueError
        For negative work, a goal or lap not above 0.

    Notes
    -----
    Half a lap brings each crossover midway between the worn places.

    Examples
    --------
    >>> cut_length_m(12e9, 400e6, 2.5)
    31.25

    References
    ----------
    .. [1] API RP 9B: change the point of crossover with each cut; from memory.
    """
    check_not_negative(work_J=work_J)
    check_above_zero(goal_J_m=goal_J_m, lap_m=lap_m)
    if math.isnan(work_J):
        return math.nan
    needed = work_J / goal_J_m / lap_m
    return (max(0.0, math.ceil(needed - 0.5 - 1e-9)) + 0.5) * lap_m
