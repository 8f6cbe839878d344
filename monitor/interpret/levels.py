"""Two load levels, empty block and string, found in the last hours where limits have failed.

On a light string, or with a travelling weight declared wrong, the limits between slips
and hook may lie outside both levels; then nothing is ever set or picked up. The loads of
the last three hours say where the levels are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.model import Floats

# A class must hold this share of the samples, and the two lie so many spreads apart.
LEAST_SHARE = 0.08
LEAST_SEPARATION = 3.0
# Samples needed before anything is said: ten minutes at one in 10 s.
LEAST_SAMPLES = 60


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
