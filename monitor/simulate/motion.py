"""Block travel as a crew drives it: speed by stretches, limited acceleration, small unevenness."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np

from monitor.model import Floats

CREEP_M_S = 0.012  # slowest speed of a block that is still being moved


def travel_steps(
    distance_m: float,
    stretches: Sequence[tuple[float, float]],
    acceleration_m_s2: float,
    step_s: float,
    random: np.random.Generator,
    unevenness: float = 0.03,
) -> Floats:
    """Signed block travel in each time step.

    ``stretches`` are (distance from the start at which it ends, speed wanted); the last
    one ends at the end of the move.
    """
    length = abs(distance_m)
    if length == 0.0:
        return np.zeros(0)
    ends = [min(end, length) for end, _ in stretches[:-1]] + [length]
    speeds = [speed for _, speed in stretches] + [0.0]
    done, speed, steps, stage = 0.0, 0.0, [], 0
    while done < length - 1e-9:
        while stage < len(ends) - 1 and done >= ends[stage]:
            stage += 1
        allowed = speeds[stage]
        for k in range(stage, len(ends)):
            room = max(ends[k] - done, 0.0)
            allowed = min(allowed, sqrt(speeds[k + 1] ** 2 + 2.0 * acceleration_m_s2 * room))
        speed = max(min(speed + acceleration_m_s2 * step_s, allowed), CREEP_M_S)
        steps.append(speed * step_s)
        done += speed * step_s
    result = np.array(steps)
    phase, period = random.uniform(0.0, 2.0 * np.pi), random.uniform(4.0, 9.0)
    clock = np.arange(len(result)) * step_s
    result *= 1.0 + unevenness * np.sin(2.0 * np.pi * clock / period + phase)
    return np.asarray(np.copysign(result * (length / result.sum()), distance_m))
