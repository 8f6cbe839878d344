"""Turns of the drum, as an encoder counts them, into block position through layer changes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from monitor.mechanics.block_position import block_height_of_turns_m
from monitor.mechanics.drum import wraps_of_width, wraps_on_drum
from monitor.model import Floats
from monitor.rig.rig import DrumTurns

NEEDED = (
    "counts turns of the drum: the rig file needs [line] diameter and [drum] diameter, width, "
    "line_on_drum and at_block_height, where the count is zero"
)


def height_of_turns(drum: DrumTurns) -> Callable[[Floats], Floats]:
    """Block height in metres of turns, hoisting positive; what no drum can do is missing."""
    per_layer = wraps_of_width(drum.width_m, drum.line_diameter_m)
    at_zero = float(
        wraps_on_drum(drum.line_on_drum_m, drum.diameter_m, drum.line_diameter_m, per_layer)
    )

    def height_m(turns: Floats) -> Floats:
        known = np.isfinite(turns) & (turns > -at_zero)
        height: Floats = np.asarray(
            block_height_of_turns_m(
                np.where(known, turns, 0.0),
                drum.lines_strung,
                drum.diameter_m,
                drum.line_diameter_m,
                per_layer,
                at_zero,
                drum.at_block_height_m,
            ),
            dtype=float,
        )
        return np.where(known, height, np.nan)

    return height_m
