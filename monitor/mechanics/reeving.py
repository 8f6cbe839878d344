"""Block and tackle: tensions along the drilling line and the load they carry.

Belt-friction model of API RP 9B with one efficiency for every turning sheave. A line of
tension T on one side of a turning sheave has e T on the side that is pulled along, so
with the block hoisting the tension falls from the fast line to the dead line, and with
the block lowering it rises. Weight of the line itself is not in this module.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Numeric = float | NDArray[np.float64]

DEAD_LINE_SHEAVES = ("fixed", "turning")
DIRECTIONS = ("held", "hoisting", "lowering")

# Tension ratio K over one turning sheave by its bearings: API RP 9B, looked up (0.123 for ten
# lines); plain 1.09: Wire Rope Users Manual, 4th ed., p. 88, looked up. For sizing rope only:
# on the safe side there, and far too much friction to correct a measured tension with.
SIZING_FRICTION_FACTOR = {"rolling": 1.04, "plain": 1.09}


def check_reeving(
    n_lines: int, sheave_efficiency: float, dead_line_sheave: str = "fixed", n_extra: int = 0
) -> None:
    """Refuse a string-up that cannot be, so that every formula refuses it in the same words."""
    if n_lines < 2:
        raise ValueError(f"n_lines is {n_lines}; must be at least 2")
    if not (0.0 < sheave_efficiency <= 1.0) and not math.isnan(sheave_efficiency):
        raise ValueError(
            f"sheave_efficiency is {sheave_efficiency}; must be above 0 and at most 1"
        )
    if dead_line_sheave not in DEAD_LINE_SHEAVES:
        raise ValueError(f"dead_line_sheave is {dead_line_sheave!r}; must be fixed or turning")
    if n_extra < 0:
        raise ValueError(f"extra_fast_line_sheaves is {n_extra}; must be at least 0")


def check_direction(direction: str) -> None:
    """Refuse a direction that is not one of the three."""
    if direction not in DIRECTIONS:
        raise ValueError(f"direction is {direction!r}; must be held, hoisting or lowering")


def _geometric_sum(ratio: float, n_terms: int) -> float:
    """1 + r + ... + r^(n-1), summed term by term: exact in the limit r -> 1."""
    total, term = 0.0, 1.0
    for _ in range(n_terms):
        total += term
        term *= ratio
    return total


def load_factor_hoisting(
    n_lines: int, sheave_efficiency: float, dead_line_sheave: str = "fixed"
) -> float:
    """Load on the lines over dead-line tension while the block goes up.

    Parameters
    ----------
    n_lines : int
        Lines strung at the travelling block, at least 2. [-]
    sheave_efficiency : float
        Efficiency e of one turning sheave, above 0 and at most 1. [-]
    dead_line_sheave : str
        ``"fixed"``: the crown sheave of the dead line does not turn; ``"turning"``: it
        turns and its friction counts too. [-]

    Returns
    -------
    float
        W / F, at least n_lines. [-]

    Raises
    ------
    ValueError
        For fewer than two lines, an efficiency outside (0, 1], another sheave word.

    Notes
    -----
    Fixed: W = F (1 - e^-n) / (1 - 1/e). Turning: that over e. Limit n F as e -> 1.
    The geometric sum is added term by term, so the limit is exact. A not-a-number
    efficiency gives not-a-number.

    Examples
    --------
    >>> load_factor_hoisting(10, 1 / 1.04)
    12.006107

    References
    ----------
    .. [1] API RP 9B, Application, Care, and Use of Wire Rope for Oil Field Service:
       fast-line factor with roller-bearing sheaves (same model, other end of the line);
       from memory.
    .. [2] Luke, Juvkam-Wold, "The Determination of True Hook-and-Line Tension Under
       Dynamic Conditions", SPE Drilling & Completion, Dec 1993; from memory.
    """
    check_reeving(n_lines, sheave_efficiency, dead_line_sheave)
    fixed = _geometric_sum(1.0 / sheave_efficiency, n_lines)
    return fixed if dead_line_sheave == "fixed" else fixed / sheave_efficiency


def load_factor_lowering(
    n_lines: int, sheave_efficiency: float, dead_line_sheave: str = "fixed"
) -> float:
    """Load on the lines over dead-line tension while the block goes down.

    Parameters
    ----------
    n_lines : int
        Lines strung at the travelling block, at least 2. [-]
    sheave_efficiency : float
        Efficiency e of one turning sheave, above 0 and at most 1. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``, as in `load_factor_hoisting`. [-]

    Returns
    -------
    float
        W / F, at most n_lines. [-]

    Raises
    ------
    ValueError
        For fewer than two lines, an efficiency outside (0, 1], another sheave word.

    Notes
    -----
    Fixed: W = F (1 - e^n) / (1 - e). Turning: that times e. Limit n F as e -> 1.

    Examples
    --------
    >>> load_factor_lowering(10, 1 / 1.04)
    8.435332

    References
    ----------
    .. [1] As `load_factor_hoisting`, with the friction turned round.
    """
    check_reeving(n_lines, sheave_efficiency, dead_line_sheave)
    fixed = _geometric_sum(sheave_efficiency, n_lines)
    return fixed if dead_line_sheave == "fixed" else fixed * sheave_efficiency


def load_factor(
    n_lines: int, sheave_efficiency: float, dead_line_sheave: str, direction: str
) -> float:
    """Load on the lines over dead-line tension for a direction by name.

    Parameters
    ----------
    n_lines : int
        Lines strung at the travelling block, at least 2. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]
    direction : str
        ``"held"``, ``"hoisting"`` or ``"lowering"``. [-]

    Returns
    -------
    float
        W / F; n_lines when held. [-]

    Raises
    ------
    ValueError
        For another direction, or as `load_factor_hoisting`.

    Notes
    -----
    Held means without friction. A block that has stopped keeps the friction of its last
    motion, so a measurement at rest lies between the two factors.

    Examples
    --------
    >>> load_factor(10, 0.985, "fixed", "held")
    10.0

    References
    ----------
    .. [1] As `load_factor_hoisting`.
    """
    check_direction(direction)
    if direction == "hoisting":
        return load_factor_hoisting(n_lines, sheave_efficiency, dead_line_sheave)
    if direction == "lowering":
        return load_factor_lowering(n_lines, sheave_efficiency, dead_line_sheave)
    check_reeving(n_lines, sheave_efficiency, dead_line_sheave)
    return float(n_lines)


def dead_line_tension_N(
    load_N: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    dead_line_sheave: str = "fixed",
    direction: str = "held",
) -> Numeric:
    """Tension of the dead line under a load.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines, travelling equipment included. [N]
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]
    direction : str
        ``"held"``, ``"hoisting"`` or ``"lowering"``. [-]

    Returns
    -------
    float or ndarray
        Tension at the anchor. [N]

    Raises
    ------
    ValueError
        As `load_factor`.

    Notes
    -----
    F = W / load factor. The plain n F reads low while hoisting, high while lowering.

    Examples
    --------
    >>> dead_line_tension_N(300_000.0, 8, 1 / 1.04, "fixed", "hoisting")
    32558.35

    References
    ----------
    .. [1] As `load_factor_hoisting`.
    """
    return load_N / load_factor(n_lines, sheave_efficiency, dead_line_sheave, direction)


def sizing_sheave_efficiency(bearings: str = "rolling") -> float:
    """Efficiency of one turning sheave for sizing the drilling line.

    Parameters
    ----------
    bearings : str
        ``"rolling"`` or ``"plain"``. [-]

    Returns
    -------
    float
        Efficiency e = 1 / K. [-]

    Raises
    ------
    ValueError
        For other bearings.

    Notes
    -----
    Not for correcting a measurement: rolling bearings in good order have 0.98 to 0.99.

    Examples
    --------
    >>> sizing_sheave_efficiency("rolling"), sizing_sheave_efficiency("plain")
    (0.9615, 0.9174)

    References
    ----------
    .. [1] As `SIZING_FRICTION_FACTOR`.
    """
    if bearings not in SIZING_FRICTION_FACTOR:
        raise ValueError(f"bearings is {bearings!r}; must be rolling or plain")
    return 1.0 / SIZING_FRICTION_FACTOR[bearings]


def line_tensions_N(
    load_N: Numeric, n_lines: int, sheave_efficiency: float, direction: str = "held"
) -> NDArray[np.float64]:
    """Tension of each line strung, from the fast-line end to the dead-line end.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines. [N]
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    direction : str
        ``"held"``, ``"hoisting"`` or ``"lowering"``. [-]

    Returns
    -------
    ndarray
        n_lines tensions that add up to the load, first axis the lines. [N]

    Raises
    ------
    ValueError
        For fewer than two lines, an efficiency outside (0, 1], another direction.

    Notes
    -----
    T_(i+1) = e T_i while hoisting, T_i / e while lowering, equal when held.

    Examples
    --------
    >>> [float(round(t, 3)) for t in line_tensions_N(700.0, 3, 0.5, "hoisting")]
    [400.0, 200.0, 100.0]

    References
    ----------
    .. [1] As `load_factor_hoisting`.
    """
    check_reeving(n_lines, sheave_efficiency)
    check_direction(direction)
    ratio = {
        "held": 1.0,
        "hoisting": sheave_efficiency,
        "lowering": 1.0 / sheave_efficiency,
    }[direction]
    first = load_N / _geometric_sum(ratio, n_lines)
    return np.array([first * ratio**i for i in range(n_lines)])
