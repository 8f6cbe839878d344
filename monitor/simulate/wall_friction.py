"""How friction along an elastic string turns over, and what of the top's travel reaches its end.

Derived for a rod with Coulomb friction spread along it. Reverse the top: friction turns from
the top down, and what turns at a piece changes the load by its swing ``w`` and the stretch by
``w C``, ``C`` the compliance from the top down to it. The lower end feels nothing until all
has turned, until the top has moved by ``sum(w C)``: it follows the top with a play of that
width (a play operator). What the load does meanwhile is a curve of decreasing slope, ``1 / C``
of the piece that turns: here a chain of straight lines, each line's end an element that slides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from monitor.model import Floats

# Shares of the whole swing at which the lines meet: where friction is spread evenly the curve
# is a root, and these leave the least error, 2 % of the swing (derived).
KNOTS = (0.04, 0.16, 0.36, 0.64, 1.0)
SLIDE_M = 0.35  # static friction is gone after sliding about so far
LEAST_REST = 1e-3  # of sliding friction; less is gone


@dataclass(frozen=True, slots=True)
class Turning:
    """Elements of one string in one place; the shares add up to one."""

    shares: Floats  # of the drag, by element
    slopes_N_m: Floats  # drag turned over top travel, by element
    give_m_N: float  # stretch that goes with a newton of drag

    @classmethod
    def of(cls, swing_N: Floats, compliance_m_N: Floats) -> Turning:
        """Tell it from pieces of the string, from the top down.

        ``swing_N``: drag up and down of each; ``compliance_m_N``: from the top down to it.
        """
        turned = np.concatenate(([0.0], np.cumsum(swing_N)))
        travel = np.concatenate(([0.0], np.cumsum(swing_N * compliance_m_N)))
        whole = float(turned[-1])
        if whole <= 0.0:  # a wall that drags nowhere
            return cls.of(np.ones_like(swing_N), compliance_m_N)
        at_m = np.interp(KNOTS, turned / whole, travel) / whole  # per newton of swing
        slopes = np.diff(KNOTS, prepend=0.0) / np.diff(at_m, prepend=0.0)
        shares = (slopes - np.append(slopes[1:], 0.0)) * at_m
        return cls(shares, 1.0 / at_m, float(at_m[-1]))


class Turned(NamedTuple):
    """What one move does: drag by element, friction and its slope, the lower end's move."""

    drags_N: list[float]
    force_N: float
    slope_N_m: float
    followed_m: float


class WallFriction:
    """State of the elements: the drag each would give if it were alone, + while hoisting."""

    def __init__(self, drag_N: float, turning: Turning) -> None:
        self.turning = turning
        self.drags_N = np.full(len(KNOTS), drag_N)
        self.rests = np.zeros(len(KNOTS))  # static over sliding friction, less one

    @property
    def force_N(self) -> float:
        """What the wall adds to the load at the top."""
        return float(self.turning.shares @ self.drags_N)

    def rest(self, share: float) -> None:
        """Stand still until static friction is more than sliding friction by a share."""
        self.rests = np.maximum(self.rests, share)

    def play_m(self, drag_N: float) -> float:
        """Give the travel of the top, up positive, until its end follows against a drag."""
        bound = (1.0 + float(self.rests[-1])) * drag_N
        return self.turning.give_m_N * (bound - float(self.drags_N[-1]))

    def turn(self, travel_m: Floats, high_N: Floats, low_N: Floats) -> tuple[Floats, Floats]:
        """Move the top one way: friction, and how far the lower end has moved, a step each.

        ``high_N``, ``low_N``: what drags a sliding string upwards, downwards (negative).
        """
        first, slopes = self.drags_N[:, None], self.turning.slopes_N_m[:, None]
        rests, rise = self.rests[:, None], slopes * travel_m
        upward = float(travel_m[-1]) >= 0.0
        bound = high_N if upward else low_N
        fading = rests
        if travel_m[-1] != 0.0 and np.any(self.rests > LEAST_REST):
            # A piece keeps its static friction until it slides.
            slid = np.abs(travel_m) - np.abs((1.0 + rests) * bound[0] - first) / slopes
            fading = rests * np.exp(-np.maximum(slid, 0.0) / SLIDE_M)
            self.rests = fading[:, -1].copy()
        bound = (1.0 + fading) * bound
        if upward:
            drags = np.minimum(first, np.minimum.accumulate(bound - rise, axis=1)) + rise
        else:
            drags = np.maximum(first, np.maximum.accumulate(bound - rise, axis=1)) + rise
        drags = np.clip(drags, (1.0 + rests) * low_N, (1.0 + rests) * high_N)
        followed = travel_m - self.turning.give_m_N * (drags[-1] - self.drags_N[-1])
        self.drags_N = drags[:, -1].copy()
        return self.turning.shares @ drags, followed

    def trial(self, move_m: float, high_N: float, low_N: float) -> Turned:
        """Tell what one little move of the top would do."""
        turning, drags, force, slope = self.turning, [], 0.0, 0.0
        rows = zip(
            self.drags_N.tolist(), turning.shares.tolist(), turning.slopes_N_m.tolist(),
            strict=True,
        )  # fmt: skip
        for before, share, rise in rows:
            drag = min(max(before + rise * move_m, low_N), high_N)
            if low_N < drag < high_N:
                slope += share * rise
            force += share * drag
            drags.append(drag)
        followed = move_m - turning.give_m_N * (drag - before)
        return Turned(drags, force, slope, followed)

    def take(self, turned: Turned) -> None:
        """Make a tried move."""
        self.drags_N = np.array(turned.drags_N)
