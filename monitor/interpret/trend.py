"""Robust trend of moving weights against depth and pace, for one direction.

Pace is the speed of a sliding string, or what stands for it where a string turns.
A ridge regression with honest priors: the slope against depth is near the weight of pipe
per metre, the slope against speed near nothing, both until the record says otherwise.
Old stands fade; what lies far off is held back until it has lasted long enough to be the
new normal.
"""

from __future__ import annotations

import bisect
import math
from typing import Any, NamedTuple

import numpy as np

from monitor.interpret.stage import Carried
from monitor.model import Floats

NAN = float("nan")

# Centre, speed at the centre, level, slope against depth, against speed, their spreads, and
# how much wider a band must be for what whole stands are off (to be squared).
Parameters = tuple[float, float, float, float, float, float, float, float, float]

# One observation for so much pipe travel: a stand gives about forty, whatever its speed.
SPACING_M = 0.7
STANDS_KEPT = 8
# Weight of a stand's observations against those of the stand after it.
FADING = 0.75
OBSERVATIONS_KEPT = 400
REFIT_EVERY = 8
FIT_ROUNDS = 2
# About eight metres of steady pipe: a short lift tells of waves and stretch, not of weight.
LEAST_OBSERVATIONS = 12
# A weight caught on purpose is the median of several steady seconds: two of them teach what
# eight metres of pipe do.
CAUGHT_OBSERVATIONS = 6
# Nothing is said of the load so far from the last steady metre in that direction.
REACH_M = 120.0
# Noise of a one-second mean, before the record has shown its own.
NOISE_N = 3e3
# Scatter of stand means before two stands are known: a share of the string's weight.
STAND_SCATTER_SHARE = 0.012
LEAST_STAND_SCATTER_N = 3e3
# How far stands were off what was foretold of them fades, so that about ten count.
FORETOLD_FADING = 0.9
# What a whole stand is off lasts as long as a pull: beyond two standard deviations, the band of
# seconds, lies one stand in 44. One in 200 lies beyond 2.6 (derived: one side of a bell).
STAND_BEYOND = (2.6**2 - 2.0**2) ** 0.5
# Prior spread of the slope against depth, with and without the string described.
SLOPE_SPREAD_KNOWN = 0.25
SLOPE_SPREAD_UNKNOWN = 0.6
# Pipe weighs about this where nothing is known (derived: 5 in pipe in light mud).
SLOPE_GUESS_N_M = 250.0
# Prior spread of the slope against speed: drag of fluid, as a share of the string.
SPEED_SHARE_S_M = 0.04
LEAST_SPEED_SPREAD = 5e3
# So many observations tell of speed what one would alone: what is off along some metres of
# pipe (a bend, a string that still swings) goes with the speed that happened to be run there.
TOGETHER = 10.0
# Drag of mud bends against speed (power law, exponent about 0.6): a straight line through
# one speed is off by up to this share of its rise at another (derived).
CURVED_SHARE = 0.25
HUBER = 1.5
# Squares of a bell clipped at that many standard deviations are this share of its variance
# (derived): no single stand makes the others look uncertain, none is left out.
CLIPPED_SHARE = 0.778
# Share of seconds that the band of a stand should hold.
TAIL_SHARE = 0.95
# Further off than this (or than the band) is not learnt from at once ...
OUTLIER_N = 20e3
# ... but after this much pipe travel without a normal second it is the new normal.
NEW_NORMAL_M = 45.0


class PaceLaw(NamedTuple):
    """What is known beforehand of the slope against pace, as shares of the string's weight."""

    mean: float
    spread: float
    curved: float  # of the rise at another pace, by which a straight line may be off
    together: float  # observations that tell as much as one alone


# Drag of a sliding string against its speed.
BY_SPEED = PaceLaw(0.0, SPEED_SHARE_S_M, CURVED_SHARE, TOGETHER)


class Second(NamedTuple):
    """One steady second: pipe travel, pipe hung, load left over, speed, stand's number, calm."""

    along_m: float
    hung_m: float
    load_N: float
    speed_m_s: float
    stand: float
    is_calm: bool  # no change of speed rings on


class Trend(Carried):
    """Middle and spread of the moving weight in one direction."""

    STATE = (
        "hung",
        "load",
        "speed",
        "stand",
        "calm",
        "held",
        "last_along",
        "fresh",
        "centre_m",
        "centre_speed",
        "level_N",
        "slope_N_m",
        "speed_slope",
        "noise_N",
        "scatter_N",
        "slope_spread_N_m",
        "speed_spread",
        "known",
        "off",
        "off_square",
        "off_stands",
        "doubt_N",
    )

    def __init__(self, law: PaceLaw = BY_SPEED) -> None:
        self.law = law  # a constant of the trend
        self.hung: list[float] = []
        self.load: list[float] = []
        self.speed: list[float] = []
        self.stand: list[float] = []
        self.calm: list[bool] = []
        self.held: list[list[Any]] = []
        self.last_along = NAN
        self.fresh = 0
        self.centre_m = 0.0
        self.centre_speed = 0.0
        self.level_N = NAN
        self.slope_N_m = SLOPE_GUESS_N_M
        self.speed_slope = 0.0
        self.noise_N = NOISE_N
        self.scatter_N = LEAST_STAND_SCATTER_N
        self.slope_spread_N_m = SLOPE_SPREAD_UNKNOWN * SLOPE_GUESS_N_M
        self.speed_spread = LEAST_SPEED_SPREAD
        self.known = False
        self.off = [0.0, 0.0, NAN]  # sum and count of what the stand was off, its number
        self.off_square = 0.0
        self.off_stands = 0.0
        self.doubt_N = 0.0  # what the string may weigh otherwise since a spell out of sight

    def doubt(self, more_N: float) -> None:
        """Nobody saw what was pulled or run: the next metres tell anew what is normal."""
        if self.known:
            self.doubt_N += more_N
            self.held = []

    def count_from(self, more_N: float, more_N_m: float, at_m: float) -> None:
        """Count loads from a weight greater by so much, and so much a metre: keep what was read.

        ``at_m``: pipe hung where it is greater by ``more_N``.
        """

        def more(hung_m: float) -> float:
            return more_N + more_N_m * (hung_m - at_m)

        self.level_N -= more(self.centre_m)
        self.slope_N_m -= more_N_m
        self.load = [n - more(m) for n, m in zip(self.load, self.hung, strict=True)]
        self.held = [[*held[:2], held[2] - more(held[1]), *held[3:]] for held in self.held]

    def parameters(self) -> Parameters:
        """What a row needs: centre, speed centre, level, slopes, spread, slope spread."""
        return (
            self.centre_m,
            self.centre_speed,
            self.level_N if self.known else NAN,
            self.slope_N_m,
            self.speed_slope,
            math.hypot(self.noise_N, self.scatter_N, self.doubt_N),
            self.slope_spread_N_m,
            self.speed_spread,
            STAND_BEYOND * self.scatter_N,
        )

    def middle_N(self, hung_m: float, speed_m_s: float) -> float:
        """Expected load above the modelled string weight."""
        return (
            self.level_N
            + self.slope_N_m * (hung_m - self.centre_m)
            + self.speed_slope * (speed_m_s - self.centre_speed)
        )

    def is_near(self, along_m: float) -> bool:
        """Whether the pipe has moved on too little for another observation."""
        return abs(along_m - self.last_along) < SPACING_M

    def add(self, seen: Second, prior: tuple[float, float, float]) -> bool:
        """Take one steady second; ``prior`` is slope, its spread, string weight.

        Returns whether the trend was fitted anew.
        """
        if self.is_near(seen.along_m):
            return False
        self.last_along = seen.along_m
        if self.known and self.doubt_N:
            self.held.append(list(seen))
            return len(self.held) >= LEAST_OBSERVATIONS and self._begin_again(prior)
        if self.known:
            off = seen.load_N - self.middle_N(seen.hung_m, seen.speed_m_s)
            doubt = 0.0
            if self.law is not BY_SPEED:
                # Turning, the drag goes with the pace so much that another pace is no outlier.
                doubt = self.speed_spread * (seen.speed_m_s - self.centre_speed)
            reach = max(OUTLIER_N, 2.4 * math.hypot(self.noise_N, self.scatter_N, doubt))
            self._compare(off, seen.stand)
            if abs(off) > reach:
                return self._hold(seen, prior)
        self.held = []
        self._append(seen)
        self.fresh += 1
        if self.fresh < REFIT_EVERY and self.known:
            return False
        return self._fit(prior)

    def _compare(self, off_N: float, stand: float) -> None:
        """Keep how far each stand was off what was foretold of it."""
        total, count, number = self.off
        if stand != number:
            if count:
                most = HUBER * self.scatter_N
                square = min((total / count) ** 2, most**2) / CLIPPED_SHARE
                self.off_square = FORETOLD_FADING * self.off_square + square
                self.off_stands = FORETOLD_FADING * self.off_stands + 1.0
            total, count = 0.0, 0.0
        self.off = [total + off_N, count + 1.0, stand]

    def caught(self, seen: Second, prior: tuple[float, float, float]) -> bool:
        """Take a weight caught at a connection while nothing else is known.

        Returns whether the trend was fitted.
        """
        if self.known:
            return False
        for _ in range(CAUGHT_OBSERVATIONS):
            self._append(seen)
        return self._fit(prior)

    def _hold(self, seen: Second, prior: tuple[float, float, float]) -> bool:
        self.held.append(list(seen))
        travelled = sum(
            min(abs(b[0] - a[0]), 3 * SPACING_M)
            for a, b in zip(self.held, self.held[1:], strict=False)
        )
        if travelled < NEW_NORMAL_M:
            return False
        return self._begin_again(prior)

    def _begin_again(self, prior: tuple[float, float, float]) -> bool:
        """Fit what has been held: the old observations describe another hole or string."""
        self.doubt_N = 0.0
        self.hung, self.load, self.speed, self.stand, self.calm = [], [], [], [], []
        for held in self.held:
            self._append(Second(*held))
        self.held = []
        return self._fit(prior)

    def _append(self, seen: Second) -> None:
        self.hung.append(seen.hung_m)
        self.load.append(seen.load_N)
        self.speed.append(seen.speed_m_s)
        self.stand.append(seen.stand)
        self.calm.append(seen.is_calm)
        drop = bisect.bisect_right(self.stand, self.stand[-1] - STANDS_KEPT)
        drop = max(drop, len(self.hung) - OBSERVATIONS_KEPT)
        if drop > 0:
            self.hung, self.load = self.hung[drop:], self.load[drop:]
            self.speed, self.stand = self.speed[drop:], self.stand[drop:]
            self.calm = self.calm[drop:]

    def _fit(self, prior: tuple[float, float, float]) -> bool:
        if len(self.hung) < LEAST_OBSERVATIONS:
            return False
        self.fresh = 0
        slope, spread, string = prior
        load, stand = np.array(self.load), np.array(self.stand)
        speed = np.array(self.speed)
        centre_m, centre_speed = self.hung[-1], _middle(speed)
        design = np.column_stack(
            (np.ones(len(load)), np.array(self.hung) - centre_m, speed - centre_speed)
        )
        pace_spread = max(LEAST_SPEED_SPREAD, self.law.spread * string)
        # All of a stand is off by the same: its observations tell of the slope what one does.
        shared_N = math.hypot(self.noise_N, self.scatter_N * _each(stand) ** 0.5)
        precision = np.diag(
            [
                1e-12,
                (shared_N / spread) ** 2,
                self.law.together * (self.noise_N / pace_spread) ** 2,
            ]
        )
        faded = FADING ** (stand[-1] - stand)
        weight = faded
        for _ in range(FIT_ROUNDS):
            weighted = design.T * weight
            matrix = weighted @ design + precision
            right = weighted @ load
            right[1] += precision[1, 1] * slope
            right[2] += precision[2, 2] * self.law.mean * string
            solution = np.linalg.solve(matrix, right)
            residual = load - design @ solution
            off = np.abs(residual)
            size = max(1.4826 * _middle(off), 0.3 * NOISE_N)
            weight = faded * np.minimum(1.0, HUBER * size / np.maximum(off, 1e-9))
        self.centre_m, self.centre_speed = centre_m, centre_speed
        self.level_N, self.slope_N_m, self.speed_slope = (float(v) for v in solution)
        covariance = np.linalg.inv(matrix)
        self.slope_spread_N_m = shared_N * math.sqrt(float(covariance[1, 1]))
        self.speed_spread = math.hypot(
            self.noise_N * math.sqrt(float(covariance[2, 2])), self.law.curved * self.speed_slope
        )
        self._spread(residual, stand, string)
        self.known = True
        return True

    def _spread(self, residual: np.ndarray, stand: np.ndarray, string_N: float) -> None:
        starts = np.flatnonzero(np.diff(stand, prepend=-1.0))
        counts = np.diff(np.append(starts, len(stand)))
        means = np.add.reduceat(residual, starts) / counts
        within = residual - np.repeat(means, counts)
        # Waves have a band of their own. Tails are longer than a bell's: half of what holds 95 %
        # of seconds.
        calm = np.array(self.calm)
        if np.count_nonzero(calm) >= LEAST_OBSERVATIONS:
            within = within[calm]
        sizes = np.sort(np.abs(within))
        tail = 0.5 * float(sizes[int(TAIL_SHARE * (len(sizes) - 1))])
        self.noise_N = max(1.4826 * float(sizes[len(sizes) // 2]), tail, 0.5 * NOISE_N)
        guess = max(LEAST_STAND_SCATTER_N, STAND_SCATTER_SHARE * string_N)
        # The guess counts as one stand: it fades as stands are foretold.
        square = (guess**2 + self.off_square) / (1.0 + self.off_stands)
        self.scatter_N = max(math.sqrt(square), LEAST_STAND_SCATTER_N)


def _each(stand: Floats) -> float:
    """Observations of a stand, on average."""
    return len(stand) / (1.0 + float(np.count_nonzero(np.diff(stand))))


def _middle(values: Floats) -> float:
    """Median, the upper one of two: a fifth of the time numpy's takes on so few values."""
    half = len(values) // 2
    return float(np.partition(values, half)[half])
