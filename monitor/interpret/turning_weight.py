"""What a turning string weighs at rest, and what it drags turning and sliding.

Turning at rest a string hangs by its own weight: that is the tare taken before the bit
touches. Moved, it is off that weight by the drag along the hole: whole when it slides, by
the share of the two speeds when it turns. Between the two lies where a run is told apart.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.stage import Carried
from monitor.interpret.turning_drag import axial_share
from monitor.interpret.windows import middle

NAN = float("nan")

# Drag of the sliding string before one has been seen: a share of the string's weight (common
# practice: 5 % in straight holes to 30 % in long deviated ones).
USUAL_DRAG_SHARE = 0.10
# What the turning string weighed holds for so much pipe: two stands change it by some 15 kN.
REACH_M = 60.0
# A load that stands closer than this share of the usual drag may be that of a turning string.
LEAST_SEEN = 0.25
# Doubt of the drag as guessed, or seen once, and as seen more often (common practice: weights
# read at connections repeat within some kN).
GUESS_DOUBT = 0.5
# A string lowered is under less tension in bends than one hoisted, and drags less there
# (derived: as much in a straight hole, half of it in a strong build).
DOWN_OVER_UP = 0.85
SEEN_DOUBT = 0.1
# As seen at pick-ups alone: the first half metre turns over most of the friction, not all.
PICKED_DOUBT = 0.2
TURNED_KEPT = 8
SLID_KEPT = 5
# Turning fast along the hole takes little drag away: the two are never taken to be closer.
GREATEST_TURNED_SHARE = 0.7
# At rest a turning string drags nothing; further off than this its speed was not as taken.
GREATEST_STILL = 0.3


class TurningWeight(Carried):
    """Weight at rest, and how far off it runs were that turned or slid."""

    STATE = ("travelling_weight_N", "weight_N", "at_m", "turned", "slid", "picked", "waiting")

    def __init__(self, travelling_weight_N: float, diameter_m: float) -> None:
        self.travelling_weight_N = travelling_weight_N
        self.diameter_m = diameter_m
        self.readings = 0  # taken in by this object: without a new one ``more_N`` stays the same
        self.forget()

    def forget(self) -> None:
        """Other gear, lines or mud: other loads."""
        self.weight_N = NAN
        self.at_m = NAN  # pipe travel at which it was read
        self.turned: dict[str, list[list[float]]] = {"up": [], "down": []}  # share, drag
        self.slid: dict[str, list[float]] = {"up": [], "down": []}
        self.picked: list[float] = []  # drag of a string picked up from slips: it slides
        self.waiting: list[float] = []  # load and pipe travel of such a one, weight not known yet

    def is_near(self, along_m: float) -> bool:
        """Whether the weight is known for this much pipe."""
        return math.isfinite(self.weight_N) and abs(along_m - self.at_m) < REACH_M

    def hang(self, load_N: float, along_m: float) -> None:
        """Take the load of the turning string at rest."""
        if math.isfinite(load_N):
            self.readings += load_N != self.weight_N
            self.weight_N, self.at_m = load_N, along_m
            if self.waiting and self.is_near(self.waiting[1]):
                self.pick_up(*self.waiting)
            self.waiting = []

    def drag_N(self, direction: float) -> float:
        """Drag of the sliding string; of the other direction, or a guess, before it was seen."""
        up, down = self.slid["up"], self.slid["down"]
        # A short pick-up has not turned all friction over, and what was taken for sliding and
        # turned drags less: the greatest is right.
        most = max([*self.picked, *([middle(up)] if up else [])], default=NAN)
        least = middle(down) if down else NAN
        if direction > 0:
            known = most if math.isfinite(most) else least / DOWN_OVER_UP
        else:
            known = least if math.isfinite(least) else most * DOWN_OVER_UP
        return known if math.isfinite(known) else self.usual_N

    @property
    def usual_N(self) -> float:
        """Drag before any has been seen."""
        return USUAL_DRAG_SHARE * max(self.weight_N - self.travelling_weight_N, 0.0)

    def turned_N(self, direction: float, speed_m_s: float) -> float:
        """Drag of the turning string at a speed."""
        drag, share = self.drag_N(direction), self._share(speed_m_s)
        seen = self.turned[_side(direction)]
        turned = drag * share
        if seen:
            turned = middle([off + drag * (share - at) for at, off in seen])
        return max(min(turned, GREATEST_TURNED_SHARE * drag), 0.0)

    def is_sliding(self, direction: float, speed_m_s: float, load_N: float) -> bool:
        """Whether a run drags more like one that slides than like one that turns."""
        turned, drag = self.turned_N(direction, speed_m_s), self.drag_N(direction)
        return direction * (load_N - self.weight_N) > 0.5 * (turned + drag)

    def more_N(self, direction: float) -> tuple[float, float]:
        """How far the sliding string is off the one that turns at rest, and the doubt of that.

        Both as read in this direction: what the sheaves leave in one is in the other too.
        """
        if not math.isfinite(self.weight_N):
            return NAN, NAN
        drag, still = self.drag_N(direction), 0.0
        seen = [off - drag * at for at, off in self.turned[_side(direction)]]
        if seen:
            still = min(max(middle(seen), -GREATEST_STILL * drag), GREATEST_STILL * drag)
        slid = len(self.slid[_side(direction)]) > 1
        seen_doubt = SEEN_DOUBT if slid else PICKED_DOUBT
        doubt = seen_doubt if self.has_seen(direction) else GUESS_DOUBT
        return drag - still, doubt * drag

    def has_seen(self, direction: float) -> bool:
        """Whether the drag of the sliding string has been seen more than once."""
        picked = self.picked if direction > 0 else []
        return max(len(self.slid[_side(direction)]), len(picked)) > 1

    def learn_turned(self, direction: float, share: float, load_N: float, along_m: float) -> None:
        """Take a second of the string that turns for sure, moved at this ``axial_share``."""
        self.readings += 1
        if not self.is_near(along_m):
            # No rest was seen: what the usual drag at this speed leaves.
            usual = USUAL_DRAG_SHARE * max(load_N - self.travelling_weight_N, 0.0)
            self.weight_N = load_N - direction * usual * share
            self.turned = {"up": [], "down": []}
        self.at_m = along_m
        side = _side(direction)
        off = direction * (load_N - self.weight_N)
        self.turned[side] = [*self.turned[side], [share, off]][-TURNED_KEPT:]

    def pick_up(self, load_N: float, along_m: float) -> None:
        """Take the load of a string that has been picked up from slips, its rotary at rest."""
        if not self.is_near(along_m):
            self.waiting = [load_N, along_m]
            return
        off = load_N - self.weight_N
        if off > LEAST_SEEN * self.usual_N:
            self.readings += 1
            self.picked = [*self.picked, off][-SLID_KEPT:]

    def learn_slid(self, direction: float, load_N: float) -> None:
        """Take the load of a string that slides for sure."""
        off = direction * (load_N - self.weight_N)
        if off > 0.0:
            self.readings += 1
            side = _side(direction)
            self.slid[side] = [*self.slid[side], off][-SLID_KEPT:]

    def _share(self, speed_m_s: float) -> float:
        return float(axial_share(np.array([speed_m_s]), None, self.diameter_m)[0])


def _side(direction: float) -> str:
    return "up" if direction > 0 else "down"
