"""What is looked at of each second with the string hanging, to tell on bottom from off it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.motion import TURNING_RAD_S
from monitor.interpret.stage import Blocks, Rows
from monitor.model import Floats

# Places in the figures of a second: time in the record, pipe travel, load and so on.
TIME, ALONG, LOAD, SPEED, FRICTION, ROTARY, FLOW, DEPTH, REPORTED = range(9)
# Above this the pumps are on.
FLOWING_M3_S = 1e-4


def hanging_seconds(rows: Rows, blocks: Blocks, wanted: NDArray[np.bool_]) -> Floats:
    """Figures of the seconds wanted, a line each."""
    columns = (
        (blocks.start_us - rows.origin_us) / 1e6,
        blocks.last["along_m"],
        blocks.mean["hook_load_N"],
        blocks.mean["block_speed_m_s"],
        blocks.mean["friction_state"],
        blocks.mean["rotary_speed"],
        blocks.mean["flow_in"],
        blocks.last["bit_depth_m"],
        blocks.last["hole_depth"],
    )
    return np.column_stack([column[wanted] for column in columns])


def in_service(turning: float, flow: float) -> bool:
    """Rotating and circulating as when drilling, as far as the record can say."""
    if math.isfinite(turning) and turning < TURNING_RAD_S and not flow > FLOWING_M3_S:
        return False
    return not (math.isfinite(flow) and flow < FLOWING_M3_S)
