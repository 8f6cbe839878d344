"""What a string held fast tells of the direction that was never seen moving freely.

Pulled and set down where it is stuck, a string stretches along two lines of one slope. Where
the line going up crosses the free hoisting weight nothing pulls at the stuck point. The line
coming back lies below it there by the drag up and the drag down together, less what turning
them over does to the stretch: drag far down the string changes the stretch of all above it. So
the drag follows within what is not known of where along the hole it works.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.hold import ABOVE_FREE_N, GREATEST_MISFIT, LEAST_SPEED_M_S
from monitor.interpret.stage import Blocks, Carried, Rows
from monitor.interpret.steady import sheaves_turned
from monitor.interpret.transfer import TRANSMITTER_LAG_S
from monitor.interpret.turning_drag import YES
from monitor.interpret.windows import held_from, middle
from monitor.model import Floats

# Loads up and down, and their standard deviations.
Loads = tuple[Floats, Floats, Floats, Floats]

NAN = float("nan")

# A line spans at least this load and so many seconds; how well it keeps to them, how far beyond
# the free weight it begins and which seconds move is as for pulls.
LEAST_SPAN_N = 50e3
LEAST_SECONDS = 3
# Coming back, hole friction has turned nearly all the way where the load falls as steeply as it
# rose, within this share; before, it falls more steeply. The slope is taken over the last load.
LAST_N = 100e3
SLOPES_ALIKE = 0.35
# A string moves freely beyond so much travel one way (as for pulls: a working stroke of a held
# string is shorter).
GREATEST_STROKE_M = 3.0
MOST_SECONDS = 400
# Drag up and down together over the distance between the lines (derived: distance over drag is
# 1 less the stretch from the top to the middle of the drag, as a share of the whole): 2 where drag
# is the same all along, 1.5 where it goes with the tension that falls to nothing at the bit. By
# the soft string 1.4 to 2 in crooked vertical and S-shaped wells, 2 to 7 in slants and builds
# (collars, a cased top), 4 to 7 in horizontal wells: drag next to where it is held is not seen.
# The middle, and a spread that holds them.
DRAG_OVER_WIDTH, DRAG_OVER_WIDTH_SPREAD = 3.0, 1.5
# What noise, block position and the speed of one leg against the other do to a distance.
LEAST_SPREAD_N = 4e3
LOOPS_KEPT = 8
# Told at the place where the string is held; further on the trends take over.
REACH_M = 15.0
# No drag takes more than this of the string's weight (derived: nothing is left to lower).
GREATEST_SHARE = 0.9


class Second(NamedTuple):
    """One second of a string that moves on the hook, or the first of one that is in slips."""

    row: int
    is_usable: bool
    side: int  # 0 up, 1 down
    block_m: float
    load_N: float
    speed_m_s: float
    hung_m: float
    expected: tuple[float, float]


class HeldLoops(Carried):
    """Follows the two lines second by second; keeps how far apart they were."""

    STATE = ("legs", "side", "told", "widths", "known_side", "hung_m")

    def __init__(self) -> None:
        # Seconds of the present or last leg up and down: block position, load, what is expected
        # of it in the direction that was learnt, speed.
        self.legs: list[list[list[float]]] = [[], []]
        self.side = -1
        self.told = False
        self.widths: list[float] = []
        self.known_side = -1
        self.hung_m = NAN

    def gap(self) -> None:
        """Legs do not reach across a gap."""
        self._let_go()

    def _let_go(self) -> None:
        self.legs, self.side, self.told = [[], []], -1, False

    def follow(self, rows: Rows, learnt: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
        """Sum of the drag both ways, and its standard deviation, a row each. [N].

        ``learnt``: expected loads up and down, not-a-number where not learnt. The sum is
        not-a-number away from where the string was held.
        """
        changes = [(0, *self._drag(), self.hung_m)]
        blocks = rows.blocks
        if blocks is not None and len(blocks):
            for second in _seconds(rows, blocks, learnt):
                if self._second(second):
                    changes.append((second.row, *self._drag(), self.hung_m))
        rows_at, *columns = zip(*changes, strict=True)
        drag, spread, place = (held_from(rows_at, column, len(rows)) for column in columns)
        with np.errstate(invalid="ignore"):
            here = np.abs(rows.column["hung_m"] - place) < REACH_M
        return np.where(here, drag, NAN), spread

    def instead(
        self,
        gaps: NDArray[np.bool_],
        loops: tuple[Floats, Floats],
        middles: list[Floats],
        spreads: list[Floats],
        guess: Loads,
    ) -> Loads:
        """Put what the loops told in place of a guess of both loads, where it is the surer."""
        drag, doubt = loops[0][gaps], loops[1][gaps]
        (up, down), (up_spread, down_spread) = middles, spreads
        better = (down[gaps] + drag, up[gaps] - drag)
        doubts = (np.hypot(doubt, down_spread[gaps]), np.hypot(doubt, up_spread[gaps]))
        with np.errstate(invalid="ignore"):
            surer = [
                np.isfinite(load) & (new < old)
                for load, new, old in zip(better, doubts, guess[2:], strict=True)
            ]
        return (
            np.where(surer[0], better[0], guess[0]),
            np.where(surer[1], better[1], guess[1]),
            np.where(surer[0], doubts[0], guess[2]),
            np.where(surer[1], doubts[1], guess[3]),
        )

    def _drag(self) -> tuple[float, float]:
        if not self.widths:
            return NAN, NAN
        width = middle(self.widths)
        spread = math.hypot(DRAG_OVER_WIDTH * LEAST_SPREAD_N, DRAG_OVER_WIDTH_SPREAD * width)
        return DRAG_OVER_WIDTH * width, spread

    def _second(self, second: Second) -> bool:
        """Take one second; whether it told a loop."""
        if not second.is_usable:
            self._let_go()
            return False
        expected, block = second.expected, second.block_m
        is_known = [math.isfinite(value) for value in expected]
        side = second.side
        leg = self.legs[side]
        if side != self.side:
            self.side, self.told = side, False
            leg.clear()
        elif leg and abs(block - leg[0][0]) > GREATEST_STROKE_M:
            self._let_go()
            return False
        known = 0 if is_known[0] else 1
        leg.append([block, second.load_N, expected[known], second.speed_m_s])
        del leg[:-MOST_SECONDS]
        if all(is_known) or side == known:
            return False
        sign = 1.0 if known == 0 else -1.0
        width = loop_width_N(np.array(self.legs[known]), np.array(leg), sign)
        if not 0.0 <= DRAG_OVER_WIDTH * width <= GREATEST_SHARE * expected[known]:
            return False
        hung = second.hung_m
        if known != self.known_side or not abs(hung - self.hung_m) < REACH_M:
            self.widths, self.told = [], False
        # The further back, the more of the friction has turned: the last of a leg counts.
        before = self.widths[:-1] if self.told else self.widths
        self.told, self.known_side, self.hung_m = True, known, hung
        self.widths = [*before, width][-LOOPS_KEPT:]
        return True


def _seconds(rows: Rows, blocks: Blocks, learnt: tuple[Floats, Floats]) -> Iterator[Second]:
    """Seconds in which something is to be done, in order."""
    at, mean = blocks.known_at, blocks.mean
    hangs = (blocks.low["phase"] == 2) & (rows.column["turning"][at] != YES)
    friction = blocks.low["friction_state"] + blocks.high["friction_state"]
    up, down = learnt[0][at], learnt[1][at]
    usable = hangs & sheaves_turned(blocks) & (np.isfinite(up) | np.isfinite(down))
    usable &= np.isfinite(mean["hook_load_N"] + mean["block_m"])
    usable &= np.abs(mean["block_speed_m_s"]) > LEAST_SPEED_M_S
    gone = ~hangs & (blocks.high["phase"] == 0)
    gone[1:] &= ~gone[:-1]
    place = np.flatnonzero(usable | gone)
    columns = (
        at, usable, (friction < 0.0).astype(int), mean["block_m"], mean["hook_load_N"],
        mean["block_speed_m_s"], blocks.last["hung_m"],
    )  # fmt: skip
    expected = zip(up[place].tolist(), down[place].tolist(), strict=True)
    for values in zip(*(column[place].tolist() for column in columns), expected, strict=True):
        yield Second(*values)


def loop_width_N(pull: NDArray[np.float64], back: NDArray[np.float64], sign: float) -> float:
    """How far apart a held string's two lines are where nothing pulls at the stuck point.

    Parameters
    ----------
    pull : ndarray, shape (n, 4)
        Block position [m], hook load [N], expected load in the direction of the pull [N], block
        speed [m/s], a row a second.
    back : ndarray, shape (m, 4)
        The same of the leg that came back, so far.
    sign : float
        1 where the pull is upwards, -1 where it is a set-down.

    Returns
    -------
    float
        Load between the lines; not-a-number while the legs do not tell it. [N]

    Notes
    -----
    Derived: elastic string with Coulomb friction, held at one point. Once friction has turned
    along the whole string both lines rise by its stiffness, ``1 / c``. Drag ``f(s)`` over a
    length ``L`` that turns changes the load by ``2 f`` and the stretch by ``2 f c s / L``, ``s``
    from the top: the distance is the sum of ``2 f (1 - s / L)``, half of the drag up and
    down where ``f`` is the same all along. The load is read late by the lag of
    the transmitter, so both lines are read too near to each other by lag, slope and speed.

    Examples
    --------
    >>> x = np.linspace(0.0, 0.8, 9)
    >>> up = np.column_stack((x, 1000e3 + 250e3 * x, np.full(9, 1000e3), np.zeros(9)))
    >>> x = x[::-1] - 0.8
    >>> down = np.column_stack((x, 850e3 + 250e3 * x, np.full(9, 1000e3), np.zeros(9)))
    >>> round(loop_width_N(up, down, 1.0))
    150000
    """
    if len(pull) < LEAST_SECONDS or len(back) < LEAST_SECONDS:
        return NAN
    beyond = pull[sign * (pull[:, 1] - pull[:, 2]) > ABOVE_FREE_N]
    last = back[sign * (back[:, 1] - back[-1, 1]) <= LAST_N]
    if min(len(beyond), len(last)) < LEAST_SECONDS:
        return NAN
    if min(np.ptp(beyond[:, 1]), np.ptp(last[:, 1])) < LEAST_SPAN_N:
        return NAN
    slope, load, misfit = _line(beyond)
    if not slope > 0.0 or misfit > GREATEST_MISFIT * float(np.ptp(beyond[:, 1])):
        return NAN
    load += _late_N(slope, beyond)
    free_N = float(np.mean(beyond[:, 2]))
    neutral_m = float(np.mean(beyond[:, 0])) + (free_N - load) / slope
    back_slope, load, _ = _line(last)
    if not abs(back_slope - slope) <= SLOPES_ALIKE * slope:
        return NAN
    load += _late_N(back_slope, last)
    width = free_N - load - back_slope * (neutral_m - float(np.mean(last[:, 0])))
    # What has not come back by as much cannot have turned all its friction.
    fallen = float(np.max(sign * pull[:, 1]) - sign * back[-1, 1])
    return sign * width if fallen > DRAG_OVER_WIDTH * sign * width else NAN


def _late_N(slope_N_m: float, points: NDArray[np.float64]) -> float:
    """How much the transmitter's lag takes off a load that rises with the block."""
    return TRANSMITTER_LAG_S * slope_N_m * float(np.mean(points[:, 3]))


def _line(points: NDArray[np.float64]) -> tuple[float, float, float]:
    """Slope [N/m], load in the middle and root mean square misfit [N] of a straight line."""
    block, load = points[:, 0] - np.mean(points[:, 0]), points[:, 1]
    middle = float(np.mean(load))
    spread = float(block @ block)
    slope = float(block @ (load - middle)) / spread if spread > 0.0 else 0.0
    misfit = float(np.sqrt(np.mean((load - middle - slope * block) ** 2)))
    return slope, middle, misfit
