"""Block heights corrected by the rig file's survey table, before any stage sees them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from monitor.mechanics.block_position import surveyed_height_m
from monitor.model import Floats
from monitor.rig.hoisting import Drum


def surveyed(values: Mapping[str, Floats], drum: Drum | None) -> dict[str, Floats]:
    """Channels with the block position as measured; the raw rows stay as they came."""
    found = dict(values)
    if drum is not None and drum.shown_m and "block_position" in found:
        height = surveyed_height_m(found["block_position"], drum.shown_m, drum.surveyed_m)
        found["block_position"] = np.asarray(height, dtype=float)
    return found
