"""Load on the legs of the derrick: uneven share, equivalent derrick load.

The load hangs in the middle; the fast line pulls down on the drawworks' side, between two
legs, and the dead line beside one leg. Set-back, wind and guy lines are not counted.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.arguments import check_not_negative
from monitor.mechanics.reeving import Numeric

# Shares of the four legs. Fast line between two legs, dead line at a third: the usual plan.
FAST_LINE_SHARES = (0.0, 0.0, 0.5, 0.5)
DEAD_LINE_SHARES = (1.0, 0.0, 0.0, 0.0)


def _check_shares(name: str, shares: Sequence[float]) -> None:
    if len(shares) != 4 or abs(sum(shares) - 1.0) > 1e-9:
        raise ValueError(f"{name} is {tuple(shares)}; must be four shares that add up to 1")


def derrick_leg_loads_N(
    load_N: Numeric,
    fast_line_tension_N: Numeric,
    dead_line_tension_N: Numeric,
    crown_weight_N: float = 0.0,
    fast_line_shares: Sequence[float] = FAST_LINE_SHARES,
    dead_line_shares: Sequence[float] = DEAD_LINE_SHARES,
) -> NDArray[np.float64]:
    """Load of each of the four legs.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines. [N]
    fast_line_tension_N : float or ndarray
        Tension of the fast line. [N]
    dead_line_tension_N : float or ndarray
        Tension of the dead line at the crown; 0 where the line ends at the block. [N]
    crown_weight_N : float
        Weight of the crown block, shared evenly. [N]
    fast_line_shares : sequence of float
        Share of the fast line's pull on each leg, adding up to 1. [-]
    dead_line_shares : sequence of float
        Share of the dead line's pull on each leg, adding up to 1. [-]

    Returns
    -------
    ndarray
        Four loads, first axis the legs. [N]

    Raises
    ------
    ValueError
        For a negative load or tension, shares that do not add up to 1.

    Notes
    -----
    Each leg: (W + crown) / 4 + its share of both lines.

    Examples
    --------
    >>> [float(leg) for leg in derrick_leg_loads_N(8000.0, 1000.0, 1000.0)]
    [3000.0, 2000.0, 2500.0, 2500.0]

    References
    ----------
    .. [1] Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1; from memory.
    """
    check_not_negative(
        load_N=load_N,
        fast_line_tension_N=fast_line_tension_N,
        dead_line_tension_N=dead_line_tension_N,
        crown_weight_N=crown_weight_N,
    )
    _check_shares("fast_line_shares", fast_line_shares)
    _check_shares("dead_line_shares", dead_line_shares)
    even = (np.asarray(load_N, dtype=float) + crown_weight_N) / 4.0
    legs = [
        even + fast * fast_line_tension_N + dead * dead_line_tension_N
        for fast, dead in zip(fast_line_shares, dead_line_shares, strict=True)
    ]
    return np.array(legs, dtype=float)


def equivalent_derrick_load_N(leg_loads_N: NDArray[np.float64]) -> Numeric:
    """Four times the load of the most loaded leg.

    Parameters
    ----------
    leg_loads_N : ndarray
        Loads of the four legs, first axis the legs. [N]

    Returns
    -------
    float or ndarray
        The even load that would stress every leg as the worst one is. [N]

    Raises
    ------
    ValueError
        For other than four legs.

    Notes
    -----
    With a static dead line beside one leg it is W (n + 4) / n.

    Examples
    --------
    >>> equivalent_derrick_load_N(derrick_leg_loads_N(8000.0, 1000.0, 1000.0))
    12000.0

    References
    ----------
    .. [1] Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1; from memory.
    """
    if len(leg_loads_N) != 4:
        raise ValueError(f"leg_loads_N has {len(leg_loads_N)} legs; must be 4")
    greatest: NDArray[np.float64] = 4.0 * np.max(leg_loads_N, axis=0)
    return greatest if greatest.ndim else float(greatest)


def derrick_efficiency_factor(leg_loads_N: NDArray[np.float64]) -> Numeric:
    """Total derrick load over the equivalent derrick load.

    Parameters
    ----------
    leg_loads_N : ndarray
        Loads of the four legs, first axis the legs. [N]

    Returns
    -------
    float or ndarray
        1 where all legs carry the same, less where they do not. [-]

    Raises
    ------
    ValueError
        For other than four legs.

    Notes
    -----
    Sum of the legs / (4 x greatest leg); not-a-number without load.

    Examples
    --------
    >>> derrick_efficiency_factor(derrick_leg_loads_N(8000.0, 1000.0, 1000.0))
    0.8333

    References
    ----------
    .. [1] Standard Handbook of Petroleum and Natural Gas Engineering, p. 543; ratio looked
       up.
    """
    equivalent = np.asarray(equivalent_derrick_load_N(leg_loads_N))
    with np.errstate(invalid="ignore"):
        factor: NDArray[np.float64] = np.asarray(np.sum(leg_loads_N, axis=0) / equivalent)
    return factor if factor.ndim else float(factor)
