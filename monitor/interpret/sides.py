"""Up and down: what events of one direction are judged by."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.break_over import BreakOver
from monitor.interpret.tracker import Tracker
from monitor.model import Floats


class Kind(NamedTuple):
    """What follows one direction."""

    name: str
    tracker: Tracker
    break_over: BreakOver
    sign: float
    limit_N: float


class Side(NamedTuple):
    """Excess in one direction, a value a row, and where it counts."""

    excess: Floats
    steady: Floats
    way: NDArray[np.bool_]  # the string goes, or went last, in this direction
    onward: NDArray[np.bool_]
    may_start: NDArray[np.bool_]
    settled: NDArray[np.bool_]  # no start that may be a usual one
    eased: NDArray[np.bool_]  # within a start that is no higher than usual
