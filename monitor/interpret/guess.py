"""What may be expected in a direction that has not been learnt, from what is known.

Drag is much the same both ways, so a known hoisting weight tells the lowering weight and the
other way round; with neither, the described string tells both, roughly. The spread says how
little that is: wide, but a string set down hard on stuck pipe lies far outside.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.reeving import Numeric
from monitor.model import Floats

# Drag lowering as a share of drag hoisting, and its spread: curves drag more under more
# tension (soft string, derived: exp(-mu angle) against exp(mu angle)).
DRAG_SHARE, DRAG_SHARE_SPREAD = 0.8, 0.15
# Drag as a share of the neutral weight of the string where nothing tells it, and its spread:
# from a straight hole to a long reach, where it is near half (common practice, from memory).
USUAL_DRAG, USUAL_DRAG_SPREAD = 0.18, 0.12
# Where nothing of it was seen yet and no survey is told, the hole may be deviated all the same:
# two of these leave half the string's weight, as at 60 degrees (derived: cos 60).
UNSEEN_SPREAD = 0.25
# The same where only the weight one way is known and no string described: twice it reaches
# half, the long reach, from a share that may as well be nothing.
WEIGHT_ALONE_SPREAD = 0.16
# Weight of a described string against the real one: nominal weights, tool joints (2 % at 95 %,
# common practice, from memory); and a stand more or less, or the stand that hangs while the
# slips hold the string. An error of the weight is one of the drag read with it, the other way.
WEIGHT_SPREAD = 0.01
LENGTH_SPREAD_M = 30.0
# A string that reads less than its neutral weight by more than this share is another one than
# the one described.
GREATEST_LIGHTNESS = 0.02


def guessed_loads(
    up_N: Floats,
    down_N: Floats,
    neutral_N: Floats,
    travelling_weight_N: Floats,
    length_m: Floats,
    drag_share: Numeric = USUAL_DRAG,
    drag_share_spread: Numeric = WEIGHT_ALONE_SPREAD,
) -> tuple[Floats, Floats, Floats, Floats]:
    """Middles and spreads both ways where the record has not told them.

    Parameters
    ----------
    up_N, down_N : ndarray
        Learnt middles, travelling equipment included; not-a-number where not learnt. [N]
    neutral_N : ndarray
        Weight without drag, travelling equipment included, of the string as described;
        not-a-number where it is not. [N]
    travelling_weight_N : ndarray
        Weight of the travelling equipment as it is read. [N]
    length_m : ndarray
        Length of string that hangs, greater than 0. [m]
    drag_share, drag_share_spread : float or ndarray
        Drag as a share of the neutral weight where only the weight one way is known, and its
        standard deviation. [-]

    Returns
    -------
    tuple of ndarray
        Guess of the hoisting load, of the lowering load [N], and their standard deviations
        [N]. Not-a-number where nothing tells.
    """
    up, down, neutral = (v - travelling_weight_N for v in (up_N, down_N, neutral_N))
    # Described: drag is what is over the weight.
    with np.errstate(invalid="ignore"):
        by_up = up - neutral > -GREATEST_LIGHTNESS * neutral
        by_down = neutral - down > -GREATEST_LIGHTNESS * neutral
    drag_up, drag_down = np.maximum(up - neutral, 0.0), np.maximum(neutral - down, 0.0)
    error_down = np.hypot((1.0 + DRAG_SHARE) * WEIGHT_SPREAD, LENGTH_SPREAD_M / length_m) * neutral
    error_up = (
        np.hypot((1.0 + 1 / DRAG_SHARE) * WEIGHT_SPREAD, LENGTH_SPREAD_M / length_m) * neutral
    )
    low_up, low_up_spread = _by_share(up, -1.0, drag_share, drag_share_spread)
    high_down, high_down_spread = _by_share(down, 1.0, drag_share, drag_share_spread)
    usual = USUAL_DRAG * neutral
    usual_spread = np.hypot(np.hypot(USUAL_DRAG_SPREAD, UNSEEN_SPREAD) * neutral, error_up)
    lowering = _first(
        (by_up, neutral - DRAG_SHARE * drag_up, np.hypot(DRAG_SHARE_SPREAD * drag_up, error_down)),
        (np.isfinite(up), low_up, low_up_spread),
        (np.isfinite(neutral), neutral - DRAG_SHARE * usual, usual_spread),
    )
    ratio = DRAG_SHARE_SPREAD / DRAG_SHARE**2
    hoisting = _first(
        (by_down, neutral + drag_down / DRAG_SHARE, np.hypot(ratio * drag_down, error_up)),
        (np.isfinite(down), high_down, high_down_spread),
        (np.isfinite(neutral), neutral + usual, usual_spread),
    )
    return (
        hoisting[0] + travelling_weight_N,
        lowering[0] + travelling_weight_N,
        hoisting[1],
        lowering[1],
    )


def _by_share(
    string_N: Floats, sign: float, share: Numeric, share_spread: Numeric
) -> tuple[Floats, Floats]:
    """Weight of the string the other way where only its weight one way is known."""
    other = (1.0 + sign * share) / (1.0 - sign * share)
    # Derivative of that ratio by the drag share.
    spread = 2.0 / (1.0 - sign * share) ** 2 * share_spread
    return string_N * other, np.abs(string_N) * spread


def _first(*choices: tuple[NDArray[np.bool_], Floats, Floats]) -> tuple[Floats, Floats]:
    where = [choice[0] for choice in choices]
    middle = np.select(where, [choice[1] for choice in choices], np.nan)
    spread = np.select(where, [choice[2] for choice in choices], np.nan)
    return middle, spread
