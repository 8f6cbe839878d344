"""Known loads at hand on a rig, as the dead-line sensor feels them.

The same model that turns a tension into a hook load, the other way round: a calibration made
with it and a load taken with it belong together.
"""

from __future__ import annotations

from monitor.mechanics.arguments import check_not_negative
from monitor.mechanics.reeving import Numeric, dead_line_tension_N
from monitor.rig.rig import Rig


def sensor_tension_N(
    hook_load_N: Numeric,
    rig: Rig,
    n_lines: int,
    direction: str,
    block_height_m: float | None = None,
) -> Numeric:
    """Tension at the sensor under a known hook load.

    Parameters
    ----------
    hook_load_N : float or ndarray
        All that hangs on the lines, travelling equipment included. [N]
    rig : Rig
        Sheave efficiency, and where it is given the drilling line's weight.
    n_lines : int
        Lines strung. [-]
    direction : str
        Way the block last moved: ``"hoisting"``, ``"lowering"``, or ``"held"`` where no
        friction is left. [-]
    block_height_m : float, optional
        Block height, which the line's own weight is taken off by; without it, or without a
        line in the rig file, nothing is taken off. [m]

    Returns
    -------
    float or ndarray
        Tension. [N]

    Raises
    ------
    ValueError
        For a load below zero, another direction, a string-up that cannot be.

    Notes
    -----
    F = W / f(direction) - w (z_block - z_anchor), f the load factor of the string-up.

    Examples
    --------
    >>> from monitor.rig.rig import Reeving
    >>> rig = Rig("invented", 245e3, Reeving(10, 0.985))
    >>> round(sensor_tension_N(245e3, rig, 10, "hoisting"))
    22868

    References
    ----------
    .. [1] Derived; the inverse of `monitor.mechanics.dead_line.hook_load_N` with the line's
       weight as the load stage takes it.
    """
    check_not_negative(hook_load_N=hook_load_N)
    reeving = rig.reeving
    tension_N = dead_line_tension_N(
        hook_load_N, n_lines, reeving.sheave_efficiency, reeving.dead_line_sheave, direction
    )
    if rig.line is None or block_height_m is None:
        return tension_N
    return tension_N - rig.line.weight_N_m * (block_height_m - rig.line.anchor_height_m)
