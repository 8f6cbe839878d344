"""Waves told by the load of the empty block, where a floating rig's record has no heave.

In slips the string stands on the rig; block, hook and top drive go up and down with the
vessel, and what they pull more or less is their mass times its acceleration.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.motion import STILL_M_S
from monitor.interpret.stage import Rows
from monitor.mechanics.heave import HeaveWaves, heave_waves
from monitor.model import Floats
from monitor.units import STANDARD_GRAVITY_m_s2

NAN = float("nan")

# A load above this share of the travelling equipment has a string on it.
EMPTY_SHARE = 1.3
# What swings less is noise of the line, or water as good as calm (0.2 m in waves of 10 s).
LEAST_M_S2 = 0.08
# So many whole waves are waves; fewer may be somebody who leans on a tong.
LEAST_WAVES = 3
# Heave of vessels that drill (common practice: 5 to 20 s).
SHORTEST_S, LONGEST_S = 4.0, 25.0
# Rows further apart belong to another rest of the block, and do not show a wave of 7 s.
LONGEST_STEP_S = 2.0
# A rest shorter than this has no middle of its own.
LEAST_REST_S = 8.0


def empty_block_pull(rows: Rows, travelling_weight_N: float) -> Floats:
    """Acceleration that the empty block at rest shows, its weight included; else nothing."""
    load = rows.column["smooth_load_N"]
    still = (rows.column["moving"] == 0.0) & (np.abs(rows.column["quick_speed_m_s"]) < STILL_M_S)
    still &= load < EMPTY_SHARE * travelling_weight_N
    result: Floats = np.where(still, load, NAN) * (STANDARD_GRAVITY_m_s2 / travelling_weight_N)
    return result


def waves_of_load(time_s: Floats, pull_m_s2: Floats) -> HeaveWaves | None:
    """Heave that the pull tells: its period, and heights that would need such a pull.

    ``None`` where it does not tell enough. The middle is not known: not-a-number.
    """
    known = np.flatnonzero(np.isfinite(pull_m_s2))
    if not len(known):
        return None
    parts = np.split(known, np.flatnonzero(np.diff(time_s[known]) > LONGEST_STEP_S) + 1)
    swing = np.full(len(pull_m_s2), NAN)
    for part in parts:
        if time_s[part[-1]] - time_s[part[0]] >= LEAST_REST_S:
            # What hangs in the elevators, and friction in the sheaves, is another at each rest.
            swing[part] = pull_m_s2[part] - float(pull_m_s2[part].mean())
    seen = heave_waves(time_s, swing, least_height_m=LEAST_M_S2, longest_gap_s=LONGEST_STEP_S)
    if seen.n_waves < LEAST_WAVES or not SHORTEST_S <= seen.period_s <= LONGEST_S:
        return None
    height = (seen.period_s / (2.0 * math.pi)) ** 2
    return HeaveWaves(
        seen.n_waves,
        NAN,
        height * seen.amplitude_m,
        height * seen.significant_height_m,
        height * seen.greatest_height_m,
        seen.period_s,
    )
