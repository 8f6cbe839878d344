"""How a string rings after its speed has changed: learnt from the side no event lies on.

A change of speed sends a wave down the string, which comes back and goes down again. How
much of it shows in the load, and how fast it dies away, is the string's, the hole's and the
sensor's own: one string swings for half a minute, another not at all. It is read where the
load falls short while hoisting (or stays high while lowering), which no tight spot does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import LONGEST_STEP_S, Tail, near_start, sliding_high
from monitor.model import Floats

# Until the record tells: share of the wave of a sudden change that the load swings by one,
# two ... returns after it. A rod that is free below swings by the whole wave (elastic rod,
# derived); that it dies away within some seven returns is our choice, on the wide side.
SHARES = (0.9, 0.8, 0.6, 0.45, 0.3, 0.2, 0.15)
# A change of speed that a quantum of 1 cm makes over half a second.
LEAST_SWING_M_S = 0.03
# Changes of speed below this tell nothing: the load they move is lost in its scatter.
TELLING_SWING_M_S = 0.2
# What was learnt of these first spans is no less: the wave of a change that is still going on
# is on the side of events, and is not read there.
LEAST_SHARES = (0.25, 0.15, 0.0, 0.0, 0.0, 0.0, 0.0)
# Below this, weighed by the shares, waves are lost in the scatter.
CALM_SWING_M_S = 0.07
# Stands remembered, and how many must have told before they are gone by.
STANDS_KEPT = 8
LEAST_STANDS = 3
# The band holds the widest of those stands and so much more: of the next eight, one will
# swing wider still.
MARGIN = 1.4


def is_calm(swings: tuple[Floats, Floats]) -> NDArray[np.bool_]:
    """Rows in which nothing rings that would tell: scatter, not waves."""
    weighted = np.max(swings[0] * np.array(SHARES)[:, np.newaxis], axis=0)
    result: NDArray[np.bool_] = np.fmax(weighted, SHARES[0] * swings[1]) < CALM_SWING_M_S
    return result


class Ringing(Carried):
    """Follows changes of block speed and what the load makes of them."""

    STATE = ("recent", "stand", "stands", "shares")

    def __init__(self, longest_s: float) -> None:
        # Slow rows: a span is at least one row.
        span_s = (len(SHARES) + 1) * max(longest_s, LONGEST_STEP_S)
        self.recent = Tail(("time_s", "speed", "span_s"), span_s, 1)
        self.stand = [-1.0] * len(SHARES)
        self.stands: list[list[float]] = [[] for _ in SHARES]
        self.shares = list(SHARES)

    def gap(self) -> None:
        """A change of speed is not told across a gap."""
        self.recent.clear()

    def swings(self, rows: Rows, span_s: Floats) -> tuple[Floats, Floats]:
        """Changes of speed within 1, 2 ... spans before each row, a line each. [m/s].

        The last span has only what adds to the load in the direction of events: speeding up
        does at once, slowing down when its wave has come back. The second result is the
        last span with what takes off the load.
        """
        speed = np.nan_to_num(rows.column["quick_speed_m_s"])
        joined, kept = self.recent.join({"time_s": rows.time_s, "speed": speed, "span_s": span_s})
        times, speed = joined["time_s"], joined["speed"]
        start = near_start(times, 0, joined["span_s"])
        high, low = sliding_high(speed, start, 0), -sliding_high(-speed, start, 0)
        place = np.arange(kept, len(times))
        highest, lowest, now = high[place], low[place], speed[place]
        direction = rows.column["direction"]
        faster = np.where(direction < 0, highest - now, now - lowest)
        slower = np.where(direction < 0, now - lowest, highest - now)
        result = np.empty((len(SHARES), len(rows)))
        result[0] = np.maximum(faster - LEAST_SWING_M_S, 0.0)
        for number in range(1, len(SHARES)):
            place = start[place]
            np.maximum(highest, high[place], out=highest)
            np.minimum(lowest, low[place], out=lowest)
            np.maximum(highest - lowest - LEAST_SWING_M_S, 0.0, out=result[number])
        return result, np.maximum(slower - LEAST_SWING_M_S, 0.0)

    def follow(
        self,
        rows: Rows,
        short_N: Floats,
        scatter_N: Floats,
        wave_N: Floats,
        swings: tuple[Floats, Floats],
    ) -> Floats:
        """Half width that ringing adds to the band of each row. [N].

        ``short_N``: how far the load is off on the side no event lies on; not-a-number where
        it tells nothing. ``scatter_N``: what it may be off by without any ringing.
        """
        events, slower = swings
        # Only these rows tell: what rings most in them, and its share of the wave.
        here = np.flatnonzero(np.isfinite(short_N))
        weighted = events[1:, here] * np.array(SHARES[1:])[:, np.newaxis]
        dominant = np.argmax(weighted, axis=0)
        place = np.arange(len(here))
        is_first = SHARES[0] * slower[here] > weighted[dominant, place]
        swing = np.where(is_first, slower[here], events[1 + dominant, here])
        dominant = np.where(is_first, 0, 1 + dominant)
        short, scatter = np.maximum(short_N[here], 0.0), scatter_N[here]
        beyond = np.sqrt(np.maximum(short**2 - scatter**2, 0.0))
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = np.where(swing > TELLING_SWING_M_S, beyond / (wave_N[here] * swing), np.nan)
        tells = np.isfinite(ratio)
        told, dominant, ratio = here[tells], dominant[tells], ratio[tells]
        sets = [turn.row for turn in rows.turns if turn.kind == "set"]
        edges = [0, *sets, len(rows)]
        result = np.empty(len(rows))
        for number, (start, stop) in enumerate(zip(edges[:-1], edges[1:], strict=True)):
            if number:
                self._end_stand()
            if start == stop:
                continue
            scale = self.shares[0] * events[0, start:stop]
            for share, swing in zip(self.shares[1:], events[1:, start:stop], strict=True):
                np.maximum(scale, share * swing, out=scale)
            np.multiply(wave_N[start:stop], scale, out=result[start:stop])
            part = slice(*np.searchsorted(told, (start, stop)).tolist())
            for k in np.flatnonzero(np.bincount(dominant[part])).tolist():
                greatest = float(np.max(ratio[part][dominant[part] == k]))
                self.stand[k] = max(self.stand[k], greatest)
        return result

    def _end_stand(self) -> None:
        for k, greatest in enumerate(self.stand):
            if greatest >= 0.0:
                self.stands[k] = [*self.stands[k], greatest][-STANDS_KEPT:]
            if len(self.stands[k]) >= LEAST_STANDS:
                usual = MARGIN * max(self.stands[k])
                self.shares[k] = min(max(usual, LEAST_SHARES[k]), SHARES[k])
        self.stand = [-1.0] * len(SHARES)
