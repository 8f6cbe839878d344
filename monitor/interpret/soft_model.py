"""The soft string as the record has it: friction factors learnt stand by stand.

Where the rig file has string, survey and mud, the weight in each direction starts from the
soft string with the usual factor. A stand says one thing a direction: how far its moving
weight was off that. `soft_fit` makes factors of it, for people and for a direction that has
not been learnt; the trend takes what is left over.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.soft_fit import (
    FACTOR_SPREAD,
    MEANS,
    USUAL_FACTOR,
    Fit,
    fitted,
    foretold,
    unlearnt,
)
from monitor.interpret.soft_tables import GRID_M, SoftTables, has_bends
from monitor.interpret.speeds import GREATEST_SPEED_M_S
from monitor.interpret.stage import Carried, Rows
from monitor.interpret.trend import (
    LEAST_STAND_SCATTER_N,
    SLOPE_GUESS_N_M,
    SLOPE_SPREAD_KNOWN,
    SLOPE_SPREAD_UNKNOWN,
    SPACING_M,
    Second,
)
from monitor.mechanics.pipe import string_weight_N
from monitor.model import Floats
from monitor.rig.rig import Rig, Section

NAN = float("nan")

# Loads hoisting and lowering, and their standard deviations [N].
Guess = tuple[Floats, Floats, Floats, Floats]

# A stand is heard from so many seconds, 0.7 m apart, on; a caught weight is as good.
LEAST_SECONDS = 6
SECONDS_KEPT = 80
STANDS_KEPT = 24
# A factor is said to be known from so many stands on, and if they told so much of it.
LEAST_STANDS = 3
KNOWN_SHARE = 0.6
# Stands that scatter about the fit by more than this share of the string: it is not the
# string described, or not this hole.
GREATEST_MISFIT = 0.04
# However the block channel counts, no more pipe than this stands above the floor.
GREATEST_ABOVE_M = 50.0
# Over two stands each way the slope against depth is read.
SLOPE_REACH_M = 60.0


class Told(Carried):
    """What the stands of one direction say."""

    STATE = ("stand", "seconds", "last_along", "kept")

    def __init__(self) -> None:
        self.stand = NAN
        self.seconds: list[list[float]] = []  # depth, speed, load left over
        self.last_along = NAN
        self.kept: list[list[float]] = []  # the same, median of a stand, and its number

    def add(self, stand: float, along_m: float, seen: list[float], times: int) -> bool:
        """Take one steady second; returns whether there is something new to fit."""
        is_new = stand != self.stand
        if is_new:
            self.kept = self.stands()[-STANDS_KEPT:]
            self.stand, self.seconds = stand, []
        if times == 1 and abs(along_m - self.last_along) < SPACING_M:
            return is_new
        self.last_along = along_m
        self.seconds = [*self.seconds, *[seen] * times][-SECONDS_KEPT:]
        is_first = not self.kept and len(self.seconds) % LEAST_SECONDS == 0
        return is_new or is_first or times > 1

    def stands(self) -> list[list[float]]:
        """Give a row a stand, the present one too as soon as it can be heard."""
        if len(self.seconds) < LEAST_SECONDS:
            return self.kept
        middle = np.median(np.array(self.seconds), axis=0)
        return [*self.kept, [*middle.tolist(), self.stand]]


class SoftModel(Carried):
    """Friction factors, and the loads they foretell. Does nothing without a survey."""

    STATE = ("up", "down", "found", "covariance", "scatter_N", "stands", "string_N")

    def __init__(self, rig: Rig) -> None:
        self.string, self.survey = rig.string, rig.survey
        self.tables: SoftTables | None = None
        self._density = NAN  # of the mud in the tables
        # From which row of the piece on each fit holds: what was known there, not later.
        self._held: list[tuple[int, Fit]] = []
        self.forget()

    def forget(self) -> None:
        """Learn again from the usual factor."""
        self.up, self.down = Told(), Told()
        self._keep(unlearnt())

    def _keep(self, fit: Fit) -> None:
        self._slopes: dict[tuple[int, bool, int], float] = {}
        self.found, self.covariance = fit.found, fit.covariance.ravel()
        self.scatter_N, self.stands, self.string_N = fit.scatter_N, fit.stands, fit.string_N

    @property
    def fit(self) -> Fit:
        """What has been fitted."""
        covariance = self.covariance.reshape(len(MEANS), len(MEANS))
        return Fit(self.found, covariance, self.scatter_N, self.stands, self.string_N)

    def for_mud(self, density_kg_m3: float) -> SoftTables | None:
        """Tables for this mud; None where the rig file does not say enough."""
        if not (self.string and has_bends(self.survey) and math.isfinite(density_kg_m3)):
            self.tables = None
        elif self.tables is None or self._density != density_kg_m3:
            self.tables = SoftTables(self.string, self.survey, density_kg_m3)
            self._density, self._slopes = density_kg_m3, {}
        return self.tables

    def begin(self) -> None:
        """Begin a piece: what is known holds from its first row on."""
        self._held = [(0, self.fit)]

    def prior(
        self, base_N: float, string_N: float, depth_m: float, side: int, *, turning: bool = False
    ) -> tuple[float, float, float]:
        """Slope of the load against depth as foretold, its spread [N/m], the string's weight [N].

        ``base_N`` is the weight of the described string, ``string_N`` what hung on the hook.
        """
        string = max(string_N, 0.0)
        if self.string and math.isfinite(depth_m):
            per_m = max(base_N, 1.0) / max(depth_m, 1.0)
            slope = self.slope_N_m(side, depth_m, turning=turning)
            return slope, SLOPE_SPREAD_KNOWN * per_m, string
        if depth_m > 200.0:
            per_m = string / depth_m
            return per_m, SLOPE_SPREAD_UNKNOWN * per_m + 10.0, string
        return SLOPE_GUESS_N_M, SLOPE_SPREAD_UNKNOWN * SLOPE_GUESS_N_M, string

    def sided_N(
        self, density_kg_m3: float, base_N: Floats, depth_m: Floats
    ) -> tuple[Floats, Floats]:
        """Turn the weight as in a vertical hole into that hoisting and lowering here."""
        tables = self.for_mud(density_kg_m3)
        if tables is None:
            return base_N, base_N
        depth = np.maximum(np.nan_to_num(depth_m), 0.0)
        rest = base_N - tables.buoyed_weight_N(depth)
        up, down = (tables.weight_N(side, depth, USUAL_FACTOR) for side in (0, 1))
        return rest + up, rest + down

    def learn(
        self, row: int, side: int, seen: Second, depth_m: float, empty_N: float,
        *, caught: bool = False,
    ) -> None:  # fmt: skip
        """Take a steady second of the sliding string, known at a row; 0 hoisted, 1 lowered.

        ``empty_N`` is what the empty block reads too much: a zero that has moved is in every
        load.
        """
        tables = self.tables
        if tables is None:
            return
        says = [depth_m, seen.speed_m_s, seen.load_N - empty_N]
        if not all(math.isfinite(value) for value in says):
            return
        told = self.down if side else self.up
        times = LEAST_SECONDS if caught else 1
        if told.add(seen.stand, seen.along_m, says, times):
            up, down = (np.array(t.stands()).reshape(-1, 4) for t in (self.up, self.down))
            fit = fitted(tables, (up, down))
            self._keep(fit)
            self._held.append((row, fit))

    def slope_N_m(self, side: int, depth_m: float, *, turning: bool) -> float:
        """How what the usual factor leaves over goes with depth; a turning string slides none."""
        tables = self.tables
        if tables is None:
            return 0.0
        # One for each piece of the hole, kept as long as the fit and the mud are the same.
        piece = round(depth_m / GRID_M)
        if (side, turning, piece) not in self._slopes:
            factor = 0.0 if turning else float(self.found[side])
            middle = piece * GRID_M
            ends = np.array([max(middle - SLOPE_REACH_M, 0.0), middle + SLOPE_REACH_M])
            left = tables.weight_N(side, ends, factor) - tables.weight_N(side, ends, USUAL_FACTOR)
            self._slopes[side, turning, piece] = float((left[1] - left[0]) / (ends[1] - ends[0]))
        return self._slopes[side, turning, piece]

    def instead(
        self, rows: Rows, where: NDArray[np.bool_], empty_N: Floats, density_kg_m3: float,
        guess: Guess, sides: Sequence[int] = (0, 1),
    ) -> Guess:  # fmt: skip
        """Give the loads foretold in place of a guess, where the soft string is known and fits.

        Only of the sides asked for, hoisting 0, lowering 1.
        """
        tables, depth = self.for_mud(density_kg_m3), rows.column["bit_depth_m"][where]
        known = np.isfinite(depth)
        if tables is None or not known.any():
            return guess
        depth = np.maximum(np.nan_to_num(depth), 0.0)
        above = rows.column["hung_m"][where] - rows.column["along_m"][where]
        whole = depth + np.clip(above, 0.0, GREATEST_ABOVE_M)
        rest = empty_N + string_weight_N(self.string, whole) - string_weight_N(self.string, depth)
        pace = np.nan_to_num(np.abs(rows.column["block_speed_m_s"][where]))
        pace = np.minimum(pace, GREATEST_SPEED_M_S)
        rows_at = np.array([row for row, _ in self._held])
        which = np.searchsorted(rows_at, np.flatnonzero(where), side="right") - 1
        loads = [column.copy() for column in guess]
        for number in np.unique(which[known]).tolist():
            fit, here = self._held[number][1], known & (which == number)
            if not is_fitting(fit):
                continue
            for side in sides:
                load, spread = foretold(tables, fit, side, depth[here], pace[here])
                loads[side][here], loads[side + 2][here] = rest[here] + load, spread
        return loads[0], loads[1], loads[2], loads[3]

    def status(self) -> dict[str, Any] | None:
        """Friction factors with their 95 % half widths; None where nothing is fitted."""
        if self.tables is None:
            return None
        told: dict[str, Any] = {"fits": is_fitting(self.fit), "mud_density_kg_m3": self._density}
        for side, (name, own) in enumerate((("hoisting", self.up), ("lowering", self.down))):
            spread, stands = self.fit.spread(side), len(own.stands())
            told[name] = {
                "friction_factor": round(float(self.found[side]), 4),
                "half_width": round(2.0 * spread, 4),
                "stands": stands,
                "learning": stands < LEAST_STANDS or spread > KNOWN_SHARE * FACTOR_SPREAD,
            }
        return told


def is_fitting(fit: Fit) -> bool:
    """Whether the stands agree with string and survey as described."""
    least = GREATEST_MISFIT * fit.string_N
    return fit.scatter_N <= max(least, 3.0 * LEAST_STAND_SCATTER_N)


def described_weight_N(
    sections: Sequence[Section], density_kg_m3: float, depth_m: Floats, above_m: Floats
) -> Floats:
    """Weight of the string described, 0 where there is none or the depth is not known.

    The stand above the floor hangs on the hook too, out of the mud: it leaves with the
    connection.
    """
    if not sections:
        return np.zeros(len(depth_m))
    below = np.maximum(depth_m, 0.0)
    whole = below + np.clip(above_m, 0.0, GREATEST_ABOVE_M)
    weight = string_weight_N(sections, whole)
    if math.isfinite(density_kg_m3):
        weight = weight - string_weight_N(sections, below)
        weight = weight + string_weight_N(sections, below, density_kg_m3)
    # Where the depth is not known, what hangs is told by the record alone.
    return np.where(np.isfinite(depth_m), weight, 0.0)
