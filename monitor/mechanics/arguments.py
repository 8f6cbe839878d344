"""Arguments of formulas: refusals in the same words everywhere, floats kept floats.

A not-a-number passes: it comes out of the formula as not-a-number.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Argument = float | NDArray[np.float64]


def plain(values: Argument) -> Argument:
    """A single value as a float, so that floats in give floats out.

    Parameters
    ----------
    values : float or ndarray
        What numpy made of it. [any]

    Returns
    -------
    float or ndarray
        A float for a single value, else the array. [any]

    Examples
    --------
    >>> plain(np.float64(2.0))
    2.0

    References
    ----------
    .. [1] None: it computes nothing.
    """
    array = np.asarray(values, dtype=float)
    return array if array.ndim else float(array)


def _refuse(bad: NDArray[np.bool_], name: str, value: Argument, rule: str) -> None:
    if bad.any():
        first = np.asarray(value, dtype=float)[bad].flat[0] if bad.ndim else value
        raise ValueError(f"{name} is {float(first)}; must be {rule}")


def check_not_negative(**arguments: Argument) -> None:
    """Refuse a value below zero, naming the first."""
    for name, value in arguments.items():
        _refuse(np.asarray(np.less(value, 0.0)), name, value, "at least 0")


def check_above_zero(**arguments: Argument) -> None:
    """Refuse a value that is zero or less, naming the first."""
    for name, value in arguments.items():
        _refuse(np.asarray(np.less_equal(value, 0.0)), name, value, "above 0")


def check_between(low: float, high: float, **arguments: Argument) -> None:
    """Refuse a value outside a closed range, naming the first."""
    for name, value in arguments.items():
        outside = np.less(value, low) | np.greater(value, high)
        _refuse(np.asarray(outside), name, value, f"{low:g} to {high:g}")
