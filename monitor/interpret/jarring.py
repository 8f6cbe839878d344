"""Jar blows on a held string, second by second.

A jar that fires gives its stroke back at once: the load falls (a blow up) or rises (a blow
down) far more than the travel of the block accounts for. So it does where a string jumps
loose; a jar leaves it held where it was. So a blow is known only once the load has come back
with the block no further on than the stretch takes it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from monitor.interpret.hold import (
    FREE_SHARE,
    LEAST_STRETCH_M,
    SETTLED,
    SLOW_M_S,
    HangingSecond,
)
from monitor.interpret.stage import Carried
from monitor.interpret.tracker import confidence
from monitor.model import Event
from monitor.units import format_value

# Load given back at once, and as share of what was pulled or set down (our choices): six
# times what block travel within the limit below explains. A jar gives back its stroke over
# the compliance of the string, whatever was pulled: 0.4 m of a soft string are 50 kN.
LEAST_STEP_N = 40e3
LEAST_SHARE = 0.10
# Judged over two seconds, so that one of them lies wholly on either side of the blow.
STEP_S = 2.5
# Block travel the other way within them: no more than two quanta, 7 kN of a stiff string.
GREATEST_TRAVEL_M = 0.025
# Blows nearer than this are one and its echo in the string.
APART_US = 4_000_000
# The load is back at this share of what it was within so long: crews cock a jar again in
# minutes.
AGAIN_SHARE = 0.8
AGAIN_US = 600_000_000
MOST_WAITING = 8
# Seen by the second: within two of them.
BLOW_US = 2_000_000


@dataclass(frozen=True, slots=True)
class Blow:
    """One jar blow: the load it fired at, and what was left."""

    time_us: int
    way: float  # +1 up, -1 down
    free_N: float  # free weight in that direction
    cocked_N: float
    after_N: float

    @property
    def direction(self) -> str:
        """Which way it struck."""
        return "up" if self.way > 0.0 else "down"

    @property
    def pulled_N(self) -> float:
        """Magnitude of what was pulled, or set down."""
        return self.way * (self.cocked_N - self.free_N)

    @property
    def step_N(self) -> float:
        """Load given back."""
        return abs(self.cocked_N - self.after_N)


def blow_event(blow: Blow, place: tuple[int, int, float], band_N: float) -> Event:
    """Event of a blow; ``place`` are seq and time of the row that made it known, and bit depth."""
    seq, raised_us, depth_m = place
    spread_N = max(band_N / 2.0 if math.isfinite(band_N) else 0.0, 1.0)
    what = "fell" if blow.way > 0.0 else "rose"
    return Event(
        seq=seq,
        kind="jar_blow",
        start_us=blow.time_us,
        raised_us=raised_us,
        end_us=blow.time_us + BLOW_US,
        peak_time_us=blow.time_us,
        bit_depth_m=depth_m,
        peak_hook_load_N=blow.cocked_N,
        expected_hook_load_N=blow.free_N,
        peak_excess_N=blow.pulled_N,
        confidence=confidence(blow.step_N - LEAST_STEP_N, spread_N),
        why=(
            f"{blow.direction}: the load {what} by {format_value(blow.step_N, 'force')} at once, "
            "the block standing, and came back with the string where it was"
        ),
    )


class Jarring(Carried):
    """Sees steps of the load, and waits for what makes them blows."""

    STATE = ("recent", "waiting")

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        """Nothing is waited for."""
        self.recent: list[list[float]] = []  # seconds before: time, block, load, friction
        # Steps that may be blows: time, way, free weight, load before and after, block.
        self.waiting: list[list[float]] = []

    def follow(
        self, second: HangingSecond, free_N: tuple[float, float], compliance_m_N: float
    ) -> Blow | None:
        """Take a second of a held string; give the blow that is known with it.

        ``free_N`` are the free weights up and down, ``compliance_m_N`` that of the whole
        string held at its bit, the softest it can be.
        """
        if not (math.isfinite(second.load_N) and math.isfinite(second.block_m)):
            return None
        self.waiting = [w for w in self.waiting if second.time_us - w[0] <= AGAIN_US]
        known = self._known(second, compliance_m_N)
        self._look(second, free_N)
        now = [float(second.time_us), second.block_m, second.load_N, second.friction]
        self.recent = [*self.recent[-1:], now]
        return known

    def _look(self, second: HangingSecond, free_N: tuple[float, float]) -> None:
        """Compare with two seconds before."""
        if len(self.recent) < 2:
            return
        time_us, block, load, friction = self.recent[0]
        if second.time_us - time_us > STEP_S * 1e6 or _turning(friction, second.friction):
            return
        if self.waiting and second.time_us - self.waiting[-1][0] < APART_US:
            last = self.waiting[-1]  # the second in which it fired was only partly after it
            if last[1] * (second.load_N - last[4]) < 0.0:
                last[4] = second.load_N
            return
        if self.waiting and time_us - self.waiting[-1][0] <= BLOW_US:
            return  # compared with that second it would be a blow of its own
        for way, free in zip((1.0, -1.0), free_N, strict=True):
            pulled, given = way * (load - free), way * (load - second.load_N)
            travel = way * (second.block_m - block)
            if pulled < LEAST_STEP_N or given < max(LEAST_STEP_N, LEAST_SHARE * pulled):
                continue
            if -GREATEST_TRAVEL_M <= travel <= 2.0 * SLOW_M_S:
                step = [float(time_us), way, free, load, second.load_N, block]
                self.waiting = [*self.waiting, step][-MOST_WAITING:]
                return

    def _known(self, second: HangingSecond, compliance_m_N: float) -> Blow | None:
        """Give the oldest step that the load has come back from, the string not moved on."""
        for at, (time_us, way, free, cocked, after, block) in enumerate(self.waiting):
            again = way * (second.load_N - free) / (way * (cocked - free))
            if again < AGAIN_SHARE or second.time_us - time_us < APART_US:
                continue
            if not way * second.friction > SETTLED and math.isfinite(second.friction):
                continue
            self.waiting = [w for other, w in enumerate(self.waiting) if other != at]
            # The least stretch that the load still lacks puts the block at least so far back.
            short = FREE_SHARE * compliance_m_N * way * (cocked - second.load_N)
            if way * (second.block_m - block) <= LEAST_STRETCH_M - short:
                return Blow(int(time_us), way, free, cocked, after)
            return None
        return None


def _turning(before: float, now: float) -> bool:
    """Whether sheave friction turned over in between, which bends the load."""
    if not (math.isfinite(before) and math.isfinite(now)):
        return False
    return min(abs(before), abs(now)) <= SETTLED or before * now < 0.0
