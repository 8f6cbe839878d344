"""Rows and seconds in which the whole string hangs freely and moves one way: what weighs it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.stage import Blocks, Rows

# Moving weights are taken at this speed or more, without acceleration (design definition).
LEAST_SPEED_M_S = 0.05
STEADY_M_S2 = 0.12
# Travel after a stop before the load is steady: static friction has broken by then.
LEAST_RUN_M = 1.5
# Sheave friction has turned all the way: its state is +1 or -1.
SETTLED = 0.99
# ... at its least and its greatest of a second together.
BOTH_TURNED = 1.99


def free_run(rows: Rows) -> NDArray[np.bool_]:
    """Rows in which the whole string hangs and moves one way."""
    column = rows.column
    result: NDArray[np.bool_] = (
        (column["phase"] == 2)
        & ~column["on_bottom"]
        & ~column["drag_settles"]
        & ~column["learning"]
        & (np.abs(column["friction_state"]) > SETTLED)
        & (of_pipe(rows, "pipe_run_m") > LEAST_RUN_M)
    )
    return result


def sheaves_turned(blocks: Blocks) -> NDArray[np.bool_]:
    """Seconds in which friction in the sheaves stood turned all the way, and one way."""
    both = blocks.low["friction_state"] + blocks.high["friction_state"]
    result: NDArray[np.bool_] = np.abs(both) > BOTH_TURNED
    return result


def steady_seconds(rows: Rows, blocks: Blocks) -> NDArray[np.bool_]:
    """Seconds of steady movement with the string hanging freely."""
    result: NDArray[np.bool_] = (
        (blocks.low["phase"] == 2)
        & ~rows.column["on_bottom"][blocks.known_at]
        & (np.abs(blocks.mean["pipe_speed_m_s"]) >= LEAST_SPEED_M_S)
        & sheaves_turned(blocks)
        & (np.abs(blocks.low["acceleration_m_s2"]) < STEADY_M_S2)
        & (np.abs(blocks.high["acceleration_m_s2"]) < STEADY_M_S2)
        & (blocks.low["pipe_run_m"] > LEAST_RUN_M)
        & (blocks.high["pipe_turns"] == 0.0)
        & np.isfinite(blocks.mean["taught_load_N"])
    )
    return result
