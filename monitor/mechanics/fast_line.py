"""Fast line, efficiency and crown load of the block and tackle.

Belt-friction model of API RP 9B, as `monitor.mechanics.reeving`; this module looks at the
drum's end of the line and at what the crown carries.
"""

from __future__ import annotations

from monitor.mechanics.reeving import (
    Numeric,
    check_direction,
    check_reeving,
    dead_line_tension_N,
    load_factor_hoisting,
    load_factor_lowering,
)


def fast_line_tension_N(
    load_N: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    direction: str = "hoisting",
    extra_fast_line_sheaves: int = 0,
) -> Numeric:
    """Tension of the fast line at the drum under a load.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines, travelling equipment included. [N]
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    direction : str
        ``"held"``, ``"hoisting"`` or ``"lowering"``. [-]
    extra_fast_line_sheaves : int
        Turning lead sheaves between crown and drum beyond the fast-line sheave. [-]

    Returns
    -------
    float or ndarray
        Fast-line tension. [N]

    Raises
    ------
    ValueError
        For fewer than two lines, an efficiency outside (0, 1], another direction.

    Notes
    -----
    Hoisting: F = W (1 - e) / (e (1 - e^n)), n sheaves turning between drum and dead
    line, over e once more for each further lead sheave. Lowering: e turned to 1/e.

    Examples
    --------
    >>> fast_line_tension_N(300_000.0, 8, 1 / 1.04, "hoisting")
    44558.35
    >>> fast_line_tension_N(1.0, 10, 1 / 1.04, "hoisting")
    0.123

    References
    ----------
    .. [1] API RP 9B, 14th ed., Addendum 1 (2020), 2.3.3.4: fast-line factor 0.123 for
       ten lines; looked up.
    """
    check_reeving(n_lines, sheave_efficiency, "fixed", extra_fast_line_sheaves)
    check_direction(direction)
    if direction == "held":
        return load_N / n_lines
    # The drum's end sees what the dead line sees in the other direction, one sheave further.
    turned = sheave_efficiency ** (1 + extra_fast_line_sheaves)
    if direction == "hoisting":
        return load_N / (load_factor_lowering(n_lines, sheave_efficiency) * turned)
    return load_N / (load_factor_hoisting(n_lines, sheave_efficiency) / turned)


def block_and_tackle_efficiency(
    n_lines: int,
    sheave_efficiency: float,
    direction: str = "hoisting",
    extra_fast_line_sheaves: int = 0,
) -> float:
    """Efficiency of the block and tackle.

    Parameters
    ----------
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    direction : str
        ``"held"``, ``"hoisting"`` or ``"lowering"``. [-]
    extra_fast_line_sheaves : int
        Turning lead sheaves beyond the fast-line sheave. [-]

    Returns
    -------
    float
        Hoisting W / (n F_fast), lowering n F_fast / W, held 1. [-]

    Raises
    ------
    ValueError
        As `fast_line_tension_N`.

    Notes
    -----
    Hoisting it is the share of the drum's work that lifts the load; lowering, the share
    of the load's work that the brake must take.

    Examples
    --------
    >>> block_and_tackle_efficiency(8, 1 / 1.04)
    0.8416

    References
    ----------
    .. [1] API RP 9B, efficiency table for K = 1.04, recomputed from its formula.
    """
    fast = fast_line_tension_N(1.0, n_lines, sheave_efficiency, direction, extra_fast_line_sheaves)
    share = float(n_lines * fast)
    return 1.0 / share if direction == "hoisting" else share


def derrick_load_N(
    load_N: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    dead_line_sheave: str = "fixed",
    direction: str = "held",
    extra_fast_line_sheaves: int = 0,
) -> Numeric:
    """Total load on the crown: the load, the fast line and the dead line.

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
    extra_fast_line_sheaves : int
        Turning lead sheaves between crown and drum beyond the fast-line sheave. [-]

    Returns
    -------
    float or ndarray
        Load on the crown; its own weight is not counted. [N]

    Raises
    ------
    ValueError
        As `load_factor` and `fast_line_tension_N`.

    Notes
    -----
    Fast and dead line are both taken as pulling straight down. Textbooks often take the
    dead line as W/n even in motion; here it is the tension of that motion. An odd count
    ends at the travelling block: no dead line pulls on the crown.

    Examples
    --------
    >>> derrick_load_N(1000.0, 10, 0.98, "fixed", "held")
    1200.0

    References
    ----------
    .. [1] Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1; from memory.
    """
    fast = fast_line_tension_N(
        load_N, n_lines, sheave_efficiency, direction, extra_fast_line_sheaves
    )
    if n_lines % 2:
        return load_N + fast
    dead = dead_line_tension_N(load_N, n_lines, sheave_efficiency, dead_line_sheave, direction)
    return load_N + fast + dead
