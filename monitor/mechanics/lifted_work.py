"""Line work by integrating what was really lifted, and beside the formulas' figure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.arguments import check_not_negative


def lifted_work_J(
    hook_load_N: NDArray[np.float64], block_position_m: NDArray[np.float64], before_J: float = 0.0
) -> NDArray[np.float64]:
    """Running line work of what was really lifted and lowered.

    Parameters
    ----------
    hook_load_N : ndarray
        Hook load, travelling equipment included, row by row. [N]
    block_position_m : ndarray
        Block position at the same rows. [m]
    before_J : float
        Line work before the first row. [J]

    Returns
    -------
    ndarray
        Line work up to each row. [J]

    Raises
    ------
    ValueError
        For two lengths that differ.

    Notes
    -----
    Integral of load times block travel, up and down, loaded and empty, the load between two
    rows taken as their mean. A step with a missing value at either end adds nothing, so
    travel over a gap is not counted here.

    Examples
    --------
    >>> lifted_work_J(np.array([1e3, 1e3, 1e3]), np.array([0.0, 2.0, 1.0])).tolist()
    [0.0, 2000.0, 3000.0]

    References
    ----------
    .. [1] Derived: the formulas of API RP 9B are this sum over ideal strokes.
    """
    if len(hook_load_N) != len(block_position_m):
        raise ValueError(
            f"hook_load_N has {len(hook_load_N)} rows; must have as many as block_position_m, "
            f"{len(block_position_m)}"
        )
    mean_N = 0.5 * (hook_load_N[1:] + hook_load_N[:-1])
    steps_J = np.nan_to_num(np.abs(mean_N * np.diff(block_position_m)), nan=0.0)
    start = [before_J] if len(hook_load_N) else []
    # The start goes in front: added afterwards it would depend on where the record is cut.
    running: NDArray[np.float64] = np.cumsum(np.concatenate((start, steps_J)))
    return running


@dataclass(frozen=True, slots=True)
class WorkComparison:
    """Line work integrated beside that of the formula."""

    lifted_J: float
    formula_J: float

    @property
    def difference_J(self) -> float:
        """Lifted less formula: above 0, more was done than the formula books."""
        return self.lifted_J - self.formula_J

    @property
    def ratio(self) -> float:
        """Lifted over formula; not-a-number where the formula gives nothing."""
        return self.lifted_J / self.formula_J if self.formula_J else float("nan")


def compared_work(lifted_J: float, formula_J: float) -> WorkComparison:
    """Line work really done, beside the formula's for the same operation.

    Parameters
    ----------
    lifted_J : float
        Integrated line work of the operation. [J]
    formula_J : float
        The formula's. [J]

    Returns
    -------
    WorkComparison
        Both, their difference and ratio. [J]

    Raises
    ------
    ValueError
        For a negative value.

    Notes
    -----
    Expect a ratio above 1 with drag, jarring or pipe worked; well below 1 for drilling with
    a top drive, which the formulas overstate.

    Examples
    --------
    >>> compared_work(110e6, 100e6).ratio
    1.1

    References
    ----------
    .. [1] Derived.
    """
    check_not_negative(lifted_J=lifted_J, formula_J=formula_J)
    return WorkComparison(lifted_J, formula_J)
