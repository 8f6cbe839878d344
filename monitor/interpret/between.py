"""What is expected while the string turns from one direction to the other."""

from __future__ import annotations

import numpy as np

from monitor.interpret.break_over import BREAK_OVER_M
from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.stage import Rows
from monitor.model import Floats


def between_N(rows: Rows, active: Floats) -> Floats:
    """Expect what lies between both directions as long as the string has not turned.

    After a stop or a reversal the load goes from one to the other while the top of the
    string moves and its bit does not: nothing in between is out of the ordinary.
    """
    column = rows.column
    follows = column.get("follows_heave", "load_mean_N" not in column)
    load, back = of_pipe(rows, "pipe_load_N"), column["reversed"]
    # A block that goes back turns the friction in the sheaves before it is known to.
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where(back, column["turned_load_N"] / column["smooth_load_N"], 1.0)
    turned = np.where(column["direction"] > 0, load * ratio, load / ratio)
    low = np.minimum(column["judged_up_N"], column["judged_down_N"])
    high = np.maximum(column["judged_up_N"], column["judged_down_N"])
    above = np.maximum(np.minimum(load, turned) - high, 0.0)
    below = np.maximum(low - np.maximum(load, turned), 0.0)
    between = load - above + below
    turning = back | of_pipe(rows, "pipe_reversed") | (of_pipe(rows, "pipe_run_m") < BREAK_OVER_M)
    result: Floats = np.where(follows & turning & np.isfinite(between), between, active)
    return result
