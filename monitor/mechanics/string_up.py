"""String-up of the drilling line: where it ends, sheaves it needs, length it takes.

From the drum the line goes up over the fast-line sheave of the crown, down to the block,
and so on. Each sheave of the travelling block adds two lines. With an even count the line
comes down from the crown to the dead-line anchor; with an odd count it ends at the
travelling block, and no dead line hangs from the crown.
"""

from __future__ import annotations

import math

from monitor.mechanics.arguments import check_not_negative
from monitor.mechanics.reeving import Numeric

LINE_ENDS = ("anchor", "travelling block")
FEWEST_LINES, MOST_LINES = 2, 16


def check_line_end(n_lines: int, dead_line_sheave: str = "fixed") -> None:
    """Refuse a line count out of range, or a turning dead-line sheave where there is none."""
    if not FEWEST_LINES <= n_lines <= MOST_LINES:
        raise ValueError(f"n_lines is {n_lines}; must be {FEWEST_LINES} to {MOST_LINES}")
    if n_lines % 2 and dead_line_sheave == "turning":
        raise ValueError(
            f"n_lines is {n_lines}; an odd count ends at the travelling block and has no "
            "dead-line sheave that could be turning; give an even count or a fixed one"
        )


def line_end(n_lines: int) -> str:
    """Where the dead end of the line is made fast.

    Parameters
    ----------
    n_lines : int
        Lines strung at the travelling block, 2 to 16. [-]

    Returns
    -------
    str
        ``"anchor"`` for an even count, ``"travelling block"`` for an odd one. [-]

    Raises
    ------
    ValueError
        For a count outside 2 to 16.

    Notes
    -----
    An odd count with the tension sensed at the block has the load factors of a fixed
    dead-line sheave: n sheaves turn in both cases.

    Examples
    --------
    >>> line_end(10), line_end(9)
    ('anchor', 'travelling block')

    References
    ----------
    .. [1] Derived: the line goes between crown and block once a line.
    """
    check_line_end(n_lines)
    return LINE_ENDS[n_lines % 2]


def lines_of_passes(n_travelling_sheaves: int, end: str = "anchor") -> int:
    """Lines strung by a number of passes round the travelling block.

    Parameters
    ----------
    n_travelling_sheaves : int
        Sheaves of the travelling block that are strung, at least 1. [-]
    end : str
        ``"anchor"`` or ``"travelling block"``: where the line ends. [-]

    Returns
    -------
    int
        Lines strung. [-]

    Raises
    ------
    ValueError
        For fewer than one sheave, another end, more than 16 lines.

    Notes
    -----
    Two lines a sheave; one more where the line ends at the block.

    Examples
    --------
    >>> lines_of_passes(5), lines_of_passes(4, "travelling block")
    (10, 9)

    References
    ----------
    .. [1] Five passes between the blocks make ten lines: common practice.
    """
    if end not in LINE_ENDS:
        raise ValueError(f"end is {end!r}; must be anchor or travelling block")
    if n_travelling_sheaves < 1:
        raise ValueError(f"n_travelling_sheaves is {n_travelling_sheaves}; must be at least 1")
    n_lines = 2 * n_travelling_sheaves + LINE_ENDS.index(end)
    check_line_end(n_lines)
    return n_lines


def travelling_sheaves(n_lines: int) -> int:
    """Sheaves of the travelling block that a string-up needs.

    Parameters
    ----------
    n_lines : int
        Lines strung, 2 to 16. [-]

    Returns
    -------
    int
        Sheaves. [-]

    Raises
    ------
    ValueError
        For a count outside 2 to 16.

    Notes
    -----
    Half the lines, rounded down.

    Examples
    --------
    >>> travelling_sheaves(10), travelling_sheaves(9)
    (5, 4)

    References
    ----------
    .. [1] Derived: see `line_end`.
    """
    check_line_end(n_lines)
    return n_lines // 2


def crown_sheaves(n_lines: int) -> int:
    """Sheaves of the crown block that a string-up needs.

    Parameters
    ----------
    n_lines : int
        Lines strung, 2 to 16. [-]

    Returns
    -------
    int
        Sheaves, the fast-line sheave and the dead-line sheave counted. [-]

    Raises
    ------
    ValueError
        For a count outside 2 to 16.

    Notes
    -----
    One more than half the lines, rounded down: ten lines cannot be strung on a crown of
    five sheaves.

    Examples
    --------
    >>> crown_sheaves(10), crown_sheaves(9)
    (6, 5)

    References
    ----------
    .. [1] Derived: see `line_end`.
    """
    check_line_end(n_lines)
    return n_lines // 2 + 1


def line_in_use_m(
    line_on_drum_m: Numeric,
    block_height_m: Numeric,
    n_lines: int,
    crown_height_m: float,
    anchor_height_m: float = 0.0,
    drum_height_m: float = 0.0,
    sheave_diameter_m: float = 0.0,
) -> Numeric:
    """Length of drilling line between the drum's clamp and the dead end.

    Parameters
    ----------
    line_on_drum_m : float or ndarray
        Line on the drum. [m]
    block_height_m : float or ndarray
        Height of the travelling block's sheaves above the rig floor. [m]
    n_lines : int
        Lines strung, 2 to 16. [-]
    crown_height_m : float
        Height of the crown's sheaves above the rig floor. [m]
    anchor_height_m : float
        Height of the dead-line anchor, for an even count. [m]
    drum_height_m : float
        Height of the drum's axis. [m]
    sheave_diameter_m : float
        Pitch diameter of the sheaves, for the half turns round them. [m]

    Returns
    -------
    float or ndarray
        Length in use. [m]

    Raises
    ------
    ValueError
        For a count outside 2 to 16, a negative line on the drum or sheave diameter.

    Notes
    -----
    L_drum + n (z_crown - z_block) + (z_crown - z_drum) + (z_crown - z_anchor) + half a turn
    a sheave. Fast and dead line are taken as vertical, fleet and slant left out.

    Examples
    --------
    >>> line_in_use_m(100.0, 10.0, 10, 45.0)
    540.0

    References
    ----------
    .. [1] Derived: geometry.
    """
    check_line_end(n_lines)
    check_not_negative(line_on_drum_m=line_on_drum_m, sheave_diameter_m=sheave_diameter_m)
    to_end = crown_height_m - anchor_height_m if n_lines % 2 == 0 else 0.0
    n_half_turns = crown_sheaves(n_lines) + travelling_sheaves(n_lines)
    round_sheaves = n_half_turns * math.pi / 2.0 * sheave_diameter_m
    fixed = crown_height_m - drum_height_m + to_end + round_sheaves
    return line_on_drum_m + n_lines * (crown_height_m - block_height_m) + fixed
