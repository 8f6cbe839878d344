"""Friction factors that explain the stands of both directions, and what they foretell.

Least squares with priors: the factor hoisting, the factor lowering, and what both share,
string heavier or lighter than described and the drag of the mud. So hoisting alone tells
lowering as well as it can, and the spread says how well. Pure functions over arrays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from monitor.interpret.guess import LENGTH_SPREAD_M, WEIGHT_SPREAD
from monitor.interpret.soft_tables import GREATEST_FACTOR, SIGNS, SoftTables
from monitor.interpret.trend import LEAST_STAND_SCATTER_N, STAND_SCATTER_SHARE
from monitor.model import Floats

# Friction factor before the record says anything, and its standard deviation: 0.1 to 0.4,
# cased to open hole, water-based mud (common practice).
USUAL_FACTOR, FACTOR_SPREAD = 0.25, 0.08
# Hoisting and lowering differ by what is no soft string: cuttings pushed or dragged, tool
# joints, stiffness. Factors fitted each way are up to 0.1 apart (common practice, from memory).
DIRECTIONS_DIFFER = 0.05
# Drag of the mud, a share of the buoyed string for each m/s, and its standard deviation
# (derived: 5 to 10 Pa at the wall of 5 in pipe are 1.3 % of its weight, at 0.5 m/s).
FLUID_SHARE_S_M, FLUID_SPREAD_S_M = 0.02, 0.02
# What reads differently up and down besides: rail of the block, sheaves (common practice:
# the empty block reads 1 to 3 t apart).
OFFSET_SPREAD_N = 5e3
# What makes one stand drag more than another reaches over several: four say what one would.
STANDS_ALIKE = 4.0
# An older stand counts less by this: ten of them tell of the hole as it is.
FADING = 0.9
ROUNDS = 4
HUBER = 1.5
# Unknowns: factor hoisting, factor lowering, weight over that described (share), drag of
# mud (share a m/s), offset hoisting, offset lowering [N].
WEIGHT, FLUID, OFFSET = 2, 3, 4
MEANS = (USUAL_FACTOR, USUAL_FACTOR, 0.0, FLUID_SHARE_S_M, 0.0, 0.0)
# Columns of a stand: bit depth, speed, load left over, its number.
DEPTH, SPEED, LEFT, NUMBER = 0, 1, 2, 3


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Unknowns with their covariance, and the scatter of stands about them."""

    found: Floats
    covariance: Floats
    scatter_N: float = 0.0
    stands: float = 0.0  # that tell of it, older ones less
    string_N: float = 0.0  # buoyed weight where it was fitted

    def spread(self, side: int) -> float:
        """Standard deviation of the friction factor hoisting (0) or lowering (1)."""
        return math.sqrt(float(self.covariance[side, side]))


def unlearnt() -> Fit:
    """Give what is taken before any stand."""
    return Fit(np.array(MEANS), _prior(WEIGHT_SPREAD))


def fitted(tables: SoftTables, stands: tuple[Floats, Floats]) -> Fit:
    """Fit the stands hoisted and lowered, oldest first.

    Gauss-Newton with the priors above and Huber's weights: a tight stand pulls no harder
    than a usual one. ``LEFT`` is counted from the weight by the usual factor.
    """
    last = [float(s[-1, DEPTH]) for s in stands if len(s)]
    if not last:
        return unlearnt()
    depth_m = max(max(last), LENGTH_SPREAD_M)
    prior = np.linalg.inv(_prior(math.hypot(WEIGHT_SPREAD, LENGTH_SPREAD_M / depth_m)))
    load, age = [], []
    for side, s in enumerate(stands):
        load.append(s[:, LEFT] + tables.weight_N(side, s[:, DEPTH], USUAL_FACTOR))
        age.append(s[-1:, NUMBER] - s[:, NUMBER])
    seen, faded = np.concatenate(load), FADING ** np.concatenate(age)
    buoyed = np.concatenate([tables.buoyed_weight_N(s[:, DEPTH]) for s in stands])
    least = np.maximum(LEAST_STAND_SCATTER_N, STAND_SCATTER_SHARE * buoyed)
    found, means = np.array(MEANS), np.array(MEANS)
    trust = faded / (STANDS_ALIKE * least**2)
    for _ in range(ROUNDS):
        parts = [slopes(tables, found, k, s[:, DEPTH], s[:, SPEED]) for k, s in enumerate(stands)]
        jacobian = np.concatenate(parts)
        off = seen - _load_N(found, jacobian)
        matrix = prior + (jacobian.T * trust) @ jacobian
        right = (jacobian.T * trust) @ off + prior @ (means - found)
        before = found
        found = before + np.linalg.solve(matrix, right)
        found[:WEIGHT] = np.clip(found[:WEIGHT], 0.0, GREATEST_FACTOR)
        # Judged by what the fit leaves over, not by what the priors did: a hole that drags
        # as no other is no scatter.
        size = np.abs(off - jacobian @ (found - before))
        scatter = np.maximum(least, 1.4826 * float(np.median(size)))
        trust = faded * np.minimum(1.0, HUBER * scatter / np.maximum(size, 1e-9))
        trust = trust / (STANDS_ALIKE * scatter**2)
    string_N = float(tables.buoyed_weight_N(np.array([depth_m]))[0])
    covariance = np.asarray(np.linalg.inv(matrix), dtype=np.float64)
    scatter_N = 1.4826 * float(np.median(size))
    return Fit(found, covariance, scatter_N, float(np.sum(faded)), string_N)


def foretold(
    tables: SoftTables, fit: Fit, side: int, depth_m: Floats, speed_m_s: Floats
) -> tuple[Floats, Floats]:
    """Load of the string below the floor and its standard deviation [N], row by row.

    The spread holds what is not known of the unknowns, what stands differ by, and a stand
    more or less than the bit depth says.
    """
    jacobian = slopes(tables, fit.found, side, depth_m, speed_m_s)
    variance = np.zeros(len(depth_m))
    # What the other direction has of its own moves nothing here.
    moving = (side, WEIGHT, FLUID, OFFSET + side)
    for k, i in enumerate(moving):
        variance += fit.covariance[i, i] * np.square(jacobian[:, i])
        for j in moving[:k]:
            variance += 2.0 * fit.covariance[i, j] * jacobian[:, i] * jacobian[:, j]
    buoyed = tables.buoyed_weight_N(depth_m)
    guess = np.maximum(STAND_SCATTER_SHARE * buoyed, LEAST_STAND_SCATTER_N)
    # The guess counts as one stand.
    alike = fit.stands / STANDS_ALIKE
    local = (guess**2 + alike * fit.scatter_N**2) / (1.0 + alike)
    length = buoyed * LENGTH_SPREAD_M / np.maximum(depth_m, LENGTH_SPREAD_M)
    variance = np.maximum(variance, 0.0) + local + length**2
    return _load_N(fit.found, jacobian), np.sqrt(variance)


def slopes(
    tables: SoftTables, found: Floats, side: int, depth_m: Floats, speed_m_s: Floats
) -> Floats:
    """Change of the load with each unknown, a column each."""
    factor = float(found[side])
    jacobian = np.zeros((len(depth_m), len(MEANS)))
    jacobian[:, side] = (1.0 + found[WEIGHT]) * tables.slope_N(side, depth_m, factor)
    jacobian[:, WEIGHT] = tables.weight_N(side, depth_m, factor)
    jacobian[:, FLUID] = SIGNS[side] * speed_m_s * tables.buoyed_weight_N(depth_m)
    jacobian[:, OFFSET + side] = 1.0
    return jacobian


def _load_N(found: Floats, jacobian: Floats) -> Floats:
    """Load that the unknowns make: all but the factors, which bend it, go straight."""
    load: Floats = jacobian[:, WEIGHT] * (1.0 + found[WEIGHT]) + jacobian[:, FLUID] * found[FLUID]
    for k in (OFFSET, OFFSET + 1):
        load = load + jacobian[:, k] * found[k]
    return load


def _prior(weight_spread: float) -> Floats:
    """Covariance of the unknowns before any stand."""
    spreads = (FACTOR_SPREAD, FACTOR_SPREAD, weight_spread, FLUID_SPREAD_S_M)
    covariance = np.diag(np.square([*spreads, OFFSET_SPREAD_N, OFFSET_SPREAD_N]))
    covariance[0, 1] = covariance[1, 0] = FACTOR_SPREAD**2 - 0.5 * DIRECTIONS_DIFFER**2
    return covariance
