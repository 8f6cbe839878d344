"""Hook load from a measured dead-line tension, and what hangs on the hook besides.

The friction state says which way the sheaves' friction acts: +1 after hoisting, -1 after
lowering, between the two while it turns over. The drilling line's own weight and the mud
hose come here as loads to add or to take off; which of them apply is for the caller.
"""

from __future__ import annotations

from monitor.mechanics.arguments import check_between, check_not_negative
from monitor.mechanics.reeving import (
    Numeric,
    check_direction,
    check_reeving,
    load_factor_hoisting,
    load_factor_lowering,
)
from monitor.mechanics.string_up import check_line_end


def hook_load_N(
    dead_line_tension_N: Numeric,
    friction_state: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    dead_line_sheave: str = "fixed",
) -> Numeric:
    """Load on the lines from the tension of the dead line and the friction state.

    Parameters
    ----------
    dead_line_tension_N : float or ndarray
        Tension at the sensor. [N]
    friction_state : float or ndarray
        +1 after hoisting, -1 after lowering, between while it turns over. [-]
    n_lines : int
        Lines strung, 2 to 16. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]

    Returns
    -------
    float or ndarray
        Hook load, travelling equipment included. [N]

    Raises
    ------
    ValueError
        For a friction state outside -1 to +1, a string-up that cannot be.

    Notes
    -----
    1 / f = ((1 + s) / f_up + (1 - s) / f_down) / 2, W = f F. At s = +1 and -1 it is the
    exact inverse of `dead_line_tension_N`; between them tension is taken as a straight
    line between its two values for one load, an approximation that a caller must widen
    its uncertainty for (`hook_load_bounds_N`). Friction state 0 is not "no friction".

    Examples
    --------
    >>> hook_load_N(32558.35, 1.0, 8, 1 / 1.04), hook_load_N(42844.57, -1.0, 8, 1 / 1.04)
    (300000.0, 300000.0)

    References
    ----------
    .. [1] As `monitor.mechanics.reeving.load_factor_hoisting`; the blend is our choice.
    """
    check_line_end(n_lines, dead_line_sheave)
    check_between(-1.0, 1.0, friction_state=friction_state)
    up = load_factor_hoisting(n_lines, sheave_efficiency, dead_line_sheave)
    down = load_factor_lowering(n_lines, sheave_efficiency, dead_line_sheave)
    share = 0.5 * ((1.0 + friction_state) / up + (1.0 - friction_state) / down)
    return dead_line_tension_N / share


def hook_load_bounds_N(
    dead_line_tension_N: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    dead_line_sheave: str = "fixed",
) -> tuple[Numeric, Numeric]:
    """Least and greatest load a tension at rest can mean when the last motion is unknown.

    Parameters
    ----------
    dead_line_tension_N : float or ndarray
        Tension at the sensor. [N]
    n_lines : int
        Lines strung, 2 to 16. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]

    Returns
    -------
    tuple of float or ndarray
        Least and greatest hook load. [N]

    Raises
    ------
    ValueError
        For a string-up that cannot be.

    Notes
    -----
    Friction stays locked in the direction of the last motion, so the load lies between
    the two factors; a single number would be a guess.

    Examples
    --------
    >>> hook_load_bounds_N(100.0, 10, 0.98)
    (914.636, 1097.018)

    References
    ----------
    .. [1] Derived; the two limits were seen in a quasi-static elastic rope model.
    """
    check_line_end(n_lines, dead_line_sheave)
    down = load_factor_lowering(n_lines, sheave_efficiency, dead_line_sheave)
    up = load_factor_hoisting(n_lines, sheave_efficiency, dead_line_sheave)
    return dead_line_tension_N * down, dead_line_tension_N * up


def _line_weight_terms(n_lines: int, ratio: float, turning: bool) -> tuple[float, float]:
    """Sums over the lines of what multiplies w (z_crown - z_anchor) and w (z_crown - z_block).

    Tensions are followed from the sensor to the fast line; ``ratio`` is the tension after
    a turning sheave over that before it.
    """
    ends_at_block = n_lines % 2 == 1
    dead = 0.0 if ends_at_block else (ratio if turning else 1.0)
    hanging = 0.0 if ends_at_block else -1.0
    sum_dead, sum_hanging = dead, hanging
    for line in range(n_lines, 1, -1):
        dead *= ratio
        if line % 2 == 0:  # round a sheave of the block
            hanging *= ratio
        else:  # up, over a sheave of the crown, and down again
            hanging = (hanging + 1.0) * ratio - 1.0
        sum_dead += dead
        sum_hanging += hanging
    return sum_dead, sum_hanging


def line_weight_load_N(
    block_height_m: Numeric,
    line_weight_N_m: float,
    n_lines: int,
    anchor_height_m: float = 0.0,
    sheave_efficiency: float = 1.0,
    dead_line_sheave: str = "fixed",
    direction: str = "held",
    crown_height_m: float | None = None,
) -> Numeric:
    """Load that the drilling line's own weight keeps from the dead-line sensor.

    Parameters
    ----------
    block_height_m : float or ndarray
        Height of the travelling block above the rig floor. [m]
    line_weight_N_m : float
        Weight of the drilling line per length. [N/m]
    n_lines : int
        Lines strung, 2 to 16. [-]
    anchor_height_m : float
        Height of the sensor on the dead line above the rig floor. [m]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]
    direction : str
        ``"held"``, ``"hoisting"`` or ``"lowering"``. [-]
    crown_height_m : float, optional
        Height of the crown; needed unless held or without friction. [m]

    Returns
    -------
    float or ndarray
        To be added to load factor times tension. [N]

    Raises
    ------
    ValueError
        For a negative line weight, a string-up that cannot be, a missing crown height.

    Notes
    -----
    Tension grows by w z along a hanging line and is continuous round a sheave but for its
    friction. Held: n w (z_block - z_anchor). With friction the sum is followed sheave by
    sheave, and the crown's height enters. An odd count is sensed at the block: held, its
    line weight cancels. Over a stand this moves the reading by 15 to 43 kN.

    Examples
    --------
    >>> line_weight_load_N(36.6, 51.1, 10) - line_weight_load_N(9.1, 51.1, 10)
    14052.5

    References
    ----------
    .. [1] Derived; Cayeux, Skadsem, Kluge, "Accuracy and Correction of Hook Load
       Measurements During Drilling Operations", SPE/IADC-173035, 2015, names the effect;
       from memory.
    """
    check_line_end(n_lines, dead_line_sheave)
    check_reeving(n_lines, sheave_efficiency, dead_line_sheave)
    check_direction(direction)
    check_not_negative(line_weight_N_m=line_weight_N_m)
    ratio = {"held": 1.0, "hoisting": 1.0 / sheave_efficiency, "lowering": sheave_efficiency}
    dead, hanging = _line_weight_terms(n_lines, ratio[direction], dead_line_sheave == "turning")
    if crown_height_m is None:
        if dead + hanging != 0.0:
            raise ValueError(
                f"crown_height_m is {crown_height_m}; must be given when friction acts"
            )
        crown_height_m = 0.0  # of no account: the two terms cancel in it
    return line_weight_N_m * (
        dead * (crown_height_m - anchor_height_m) + hanging * (crown_height_m - block_height_m)
    )


def mud_hose_load_N(
    gooseneck_height_m: Numeric,
    hose_length_m: float,
    hose_weight_N_m: float,
    standpipe_height_m: float,
) -> Numeric:
    """Weight of the mud hose that hangs on the travelling equipment.

    Parameters
    ----------
    gooseneck_height_m : float or ndarray
        Height of the hose's end at the swivel or top drive. [m]
    hose_length_m : float
        Length of the hose. [m]
    hose_weight_N_m : float
        Weight of the hose per length, filled as it is. [N/m]
    standpipe_height_m : float
        Height of the hose's end at the standpipe. [m]

    Returns
    -------
    float or ndarray
        Vertical pull at the gooseneck. [N]

    Raises
    ------
    ValueError
        For a negative length or weight, or ends further apart in height than the length.

    Notes
    -----
    w (L + z_gooseneck - z_standpipe) / 2: a slack hose in a narrow U, stiffness left out.
    Slope w / 2 a metre of block travel.

    Examples
    --------
    >>> mud_hose_load_N(36.0, 23.0, 440.0, 30.0)
    6380.0

    References
    ----------
    .. [1] Derived, idealised.
    """
    check_not_negative(hose_length_m=hose_length_m, hose_weight_N_m=hose_weight_N_m)
    apart_m = gooseneck_height_m - standpipe_height_m
    check_between(-hose_length_m, hose_length_m, gooseneck_above_standpipe_m=apart_m)
    return hose_weight_N_m * (hose_length_m + apart_m) / 2.0


def mud_hose_change_N(
    block_height_m: Numeric, reference_height_m: float, hose_weight_N_m: float
) -> Numeric:
    """How much more of the mud hose hangs on the block than at a reference height.

    Parameters
    ----------
    block_height_m : float or ndarray
        Height of the block. [m]
    reference_height_m : float
        Height at which the travelling weight was read, hose included. [m]
    hose_weight_N_m : float
        Weight of the hose per length, filled as it is, at least 0. [N/m]

    Returns
    -------
    float or ndarray
        Change of the pull at the gooseneck, below 0 lower down. [N]

    Raises
    ------
    ValueError
        For a negative weight.

    Notes
    -----
    w (z - z_0) / 2: the slope of `mud_hose_load_N`, whose length and standpipe drop out.

    Examples
    --------
    >>> mud_hose_change_N(31.0, 1.0, 440.0)
    6600.0

    References
    ----------
    .. [1] Derived, idealised.
    """
    check_not_negative(hose_weight_N_m=hose_weight_N_m)
    return hose_weight_N_m * (block_height_m - reference_height_m) / 2.0
