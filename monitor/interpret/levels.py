"""Two load levels, empty block and string, found in the last hours where limits have failed.

On a light string, or with a travelling weight declared wrong, the limits between slips
and hook may lie outside both levels; then nothing is ever set or picked up. The loads of
the last three hours say where the levels are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from monitor.interpret.stage import Carried, Rows
from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.model import Floats, Ints, Quality
from monitor.rig.rig import Reeving

# A class must hold this share of the samples, and the two lie so many spreads apart.
LEAST_SHARE = 0.08
LEAST_SEPARATION = 3.0
# Samples needed before anything is said: ten minutes at one in 10 s.
LEAST_SAMPLES = 60

# One load in 10 s is remembered for three hours; the levels are looked at every 10 min.
HEARD_EVERY_US = 10_000_000
HEARD_KEPT = 1080
LOOK_EVERY_HEARD = 60

# The empty block's level is the load that a quarter of the spell's seconds lie below: whatever
# hangs in the elevators hangs there for part of the time only, and inertia for less.
LOW_PART = 4
LEAST_SPELL = 3

# A stand or three collars hang in the elevators while the slips hold the string: 9 to 61 kN
# (derived: 29 m of 330 N/m pipe to 28 m of 2184 N/m collars).
ELEVATOR_LOAD_N = 61e3
# Rail drag and zero error of the empty block, as a share of its weight (real records: 1-3 t).
EMPTY_SPREAD = 0.05
# Below this share of the string's weight the string is in slips, while that is less than
# what may hang in the elevators; near the surface both shrink together.
LIGHT_SHARE = 0.45
# Load out of slips must exceed the limit into slips by this share of the string's weight.
HYSTERESIS_SHARE = 0.12
GREATEST_HYSTERESIS_N = 30e3
# With nothing known of the string's weight.
UNKNOWN_SHARE = 0.10
LEAST_UNKNOWN_N = 25e3


@dataclass(frozen=True, slots=True)
class Levels:
    """Middle and spread of the low and the high level [N]."""

    low_N: float
    low_spread_N: float
    high_N: float
    high_spread_N: float


def two_levels(load_N: Floats) -> Levels | None:
    """Split loads in two by the least spread within (Otsu's rule); None if they are one.

    Parameters
    ----------
    load_N : ndarray
        Loads, in any order, no missing ones [N].

    Returns
    -------
    Levels or None
        Medians and robust spreads of both classes [N]; None where one class is too
        small or the two are not well apart.

    References
    ----------
    N. Otsu, "A threshold selection method from gray-level histograms", IEEE Trans. SMC
    9(1), 1979, 62-66 (from memory).

    Examples
    --------
    >>> levels = two_levels(np.array([660e3, 662e3, 658e3] * 20 + [760e3, 758e3] * 20))
    >>> levels.low_N, levels.high_N
    (660000.0, 759000.0)
    """
    if len(load_N) < LEAST_SAMPLES:
        return None
    ordered = np.sort(load_N)
    count = np.arange(1, len(ordered))
    total = np.cumsum(ordered)
    below = total[:-1] / count
    above = (total[-1] - total[:-1]) / (len(ordered) - count)
    between = count * (len(ordered) - count) * (above - below) ** 2
    split = int(np.argmax(between)) + 1
    low, high = ordered[:split], ordered[split:]
    if min(len(low), len(high)) < LEAST_SHARE * len(ordered):
        return None
    middle = [float(np.median(part)) for part in (low, high)]
    spread = [
        1.4826 * float(np.median(np.abs(part - value)))
        for part, value in zip((low, high), middle, strict=True)
    ]
    if middle[1] - middle[0] < LEAST_SEPARATION * (spread[0] + spread[1]):
        return None
    return Levels(middle[0], spread[0], middle[1], spread[1])


def low_N(spell_N: list[float]) -> float:
    """Level of the empty block by the loads of a spell in slips; not-a-number: too few.

    Examples
    --------
    >>> low_N([250e3, 280e3, 251e3, 310e3])
    251000.0
    """
    if len(spell_N) < LEAST_SPELL:
        return float("nan")
    return sorted(spell_N)[len(spell_N) // LOW_PART]


def empty_spread(rows: Rows, reeving: Reeving) -> float:
    """By what share the empty block may read more after lowering than after hoisting [-].

    A reported load that is nothing but tension times lines swings by the friction in all the
    sheaves, and nobody can tell from its name that it is.
    """
    if not np.any(rows.column["load_quality"] & np.uint16(Quality.AS_REPORTED)):
        return EMPTY_SPREAD
    args = (reeving.lines_strung, reeving.sheave_efficiency, reeving.dead_line_sheave)
    return EMPTY_SPREAD + load_factor_hoisting(*args) / load_factor_lowering(*args) - 1.0


def hung_N(empty_N: float, spread: float = EMPTY_SPREAD) -> float:
    """What the elevators may carry besides the string, and the empty block's spread [N]."""
    return 1.3 * ELEVATOR_LOAD_N + spread * empty_N


def slip_limits_N(
    empty_N: float, string_N: float, spread: float = EMPTY_SPREAD
) -> tuple[float, float]:
    """Load below which slips have the string, and above which the hook has it [N].

    ``empty_N`` is the load of the empty block, ``string_N`` the string's own,
    not-a-number where it is not known; ``spread`` is by what share the empty block strays.

    Examples
    --------
    >>> slip_limits_N(400e3, 800e3)
    (499300.0, 529300.0)
    >>> slip_limits_N(400e3, 800e3, 0.25)
    (579300.0, 609300.0)
    """
    if not math.isfinite(string_N) or string_N <= 0:
        into = max(LEAST_UNKNOWN_N, UNKNOWN_SHARE * empty_N)
        return empty_N + into, empty_N + 1.3 * into
    into = min(LIGHT_SHARE * string_N, hung_N(empty_N, spread))
    out = into + min(HYSTERESIS_SHARE * string_N, GREATEST_HYSTERESIS_N)
    return empty_N + into, empty_N + out


class Heard(Carried):
    """Loads of the last hours, thinned, and the rows at which to look at them."""

    STATE = ("loads", "bucket")

    def __init__(self) -> None:
        self.loads: list[float] = []
        self.bucket = 0

    def looks(self, time_us: Ints, load: Floats) -> list[tuple[int, Floats]]:
        """Rows at which the levels are looked at anew, with the loads heard until then."""
        bucket = time_us // HEARD_EVERY_US
        changed = np.flatnonzero(np.diff(np.concatenate(([self.bucket], bucket))))
        self.bucket = int(bucket[-1])
        heard = self.loads + load[changed].tolist()
        due = np.flatnonzero(bucket[changed] % LOOK_EVERY_HEARD == 0)
        already = len(self.loads)
        self.loads = heard[-HEARD_KEPT:]
        ends = already + due + 1
        return [
            (int(changed[i]), np.array(heard[max(0, end - HEARD_KEPT) : end]))
            for i, end in zip(due.tolist(), ends.tolist(), strict=True)
        ]
