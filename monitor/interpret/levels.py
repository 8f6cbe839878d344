"""Two load levels, empty block and string, found in the last hours where limits have failed.

On a light string, or with a travelling weight declared wrong, the limits between slips
and hook may lie outside both levels; then nothing is ever set or picked up. The loads of
the last three hours say where the levels are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.interpret.stage import Carried
from monitor.model import Floats, Ints

# A class must hold this share of the samples, and the two lie so many spreads apart.
LEAST_SHARE = 0.08
LEAST_SEPARATION = 3.0
# Samples needed before anything is said: ten minutes at one in 10 s.
LEAST_SAMPLES = 60

# One load in 10 s is remembered for three hours; the levels are looked at every 10 min.
HEARD_EVERY_US = 10_000_000
HEARD_KEPT = 1080
LOOK_EVERY_HEARD = 60


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
