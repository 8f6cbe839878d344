"""Lifting: power at the drum, the speed it allows, drum speed and torque.

Steady speed. Power is that of the drum; engines, gears and chains lose theirs before it.
"""

from __future__ import annotations

from monitor.mechanics.arguments import check_above_zero, check_not_negative
from monitor.mechanics.fast_line import block_and_tackle_efficiency
from monitor.mechanics.reeving import Numeric, check_reeving


def lifting_power_W(
    load_N: Numeric,
    block_speed_m_s: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    extra_fast_line_sheaves: int = 0,
) -> Numeric:
    """Power at the drum to lift a load at a steady speed.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines. [N]
    block_speed_m_s : float or ndarray
        Speed of the block upwards, at least 0. [m/s]
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    extra_fast_line_sheaves : int
        Turning lead sheaves beyond the fast-line sheave. [-]

    Returns
    -------
    float or ndarray
        Power: fast-line tension times fast-line speed. [W]

    Raises
    ------
    ValueError
        For a negative load or speed, a string-up that cannot be.

    Notes
    -----
    P = W v / E.

    Examples
    --------
    >>> lifting_power_W(1e6, 0.5, 10, 1.0)
    500e3

    References
    ----------
    .. [1] Bourgoyne et al., Applied Drilling Engineering, SPE, 1986, ch. 1, example 1.1;
       looked up in a worked copy.
    """
    check_not_negative(load_N=load_N, block_speed_m_s=block_speed_m_s)
    efficiency = block_and_tackle_efficiency(
        n_lines, sheave_efficiency, "hoisting", extra_fast_line_sheaves
    )
    return load_N * block_speed_m_s / efficiency


def lifting_speed_m_s(
    power_W: Numeric,
    load_N: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    extra_fast_line_sheaves: int = 0,
) -> Numeric:
    """Greatest steady speed of the block that a power at the drum allows.

    Parameters
    ----------
    power_W : float or ndarray
        Power at the drum, at least 0. [W]
    load_N : float or ndarray
        All that hangs on the lines, above 0. [N]
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    extra_fast_line_sheaves : int
        Turning lead sheaves beyond the fast-line sheave. [-]

    Returns
    -------
    float or ndarray
        Speed; gears, the drum's greatest speed and the crown may allow less. [m/s]

    Raises
    ------
    ValueError
        For a negative power, a load not above 0, a string-up that cannot be.

    Notes
    -----
    v = E P / W.

    Examples
    --------
    >>> lifting_speed_m_s(500e3, 1e6, 10, 1.0)
    0.5

    References
    ----------
    .. [1] As `lifting_power_W`.
    """
    check_not_negative(power_W=power_W)
    check_above_zero(load_N=load_N)
    efficiency = block_and_tackle_efficiency(
        n_lines, sheave_efficiency, "hoisting", extra_fast_line_sheaves
    )
    return efficiency * power_W / load_N


def drum_speed_rad_s(
    block_speed_m_s: Numeric, n_lines: int, drum_pitch_diameter_m: Numeric
) -> Numeric:
    """Speed of the drum for a speed of the block.

    Parameters
    ----------
    block_speed_m_s : float or ndarray
        Speed of the block, up positive. [m/s]
    n_lines : int
        Lines strung. [-]
    drum_pitch_diameter_m : float or ndarray
        Pitch diameter of the layer being spooled, above 0. [m]

    Returns
    -------
    float or ndarray
        Angular speed. [rad/s]

    Raises
    ------
    ValueError
        For a diameter not above 0, fewer than two lines.

    Notes
    -----
    The fast line runs n times as fast as the block: omega = 2 n v / D.

    Examples
    --------
    >>> drum_speed_rad_s(0.5, 10, 1.0)
    10.0

    References
    ----------
    .. [1] Derived; a university homework of a 5 ft drum, looked up, is among the tests.
    """
    check_reeving(n_lines, 1.0)
    check_above_zero(drum_pitch_diameter_m=drum_pitch_diameter_m)
    return 2.0 * n_lines * block_speed_m_s / drum_pitch_diameter_m


def drum_torque_Nm(fast_line_tension_N: Numeric, drum_pitch_diameter_m: Numeric) -> Numeric:
    """Torque that the fast line puts on the drum.

    Parameters
    ----------
    fast_line_tension_N : float or ndarray
        Fast-line tension, at least 0. [N]
    drum_pitch_diameter_m : float or ndarray
        Pitch diameter of the layer being spooled, above 0. [m]

    Returns
    -------
    float or ndarray
        Torque; it grows with each layer. [N m]

    Raises
    ------
    ValueError
        For a negative tension or a diameter not above 0.

    Notes
    -----
    F D / 2.

    Examples
    --------
    >>> drum_torque_Nm(200e3, 0.8)
    80e3

    References
    ----------
    .. [1] Derived.
    """
    check_not_negative(fast_line_tension_N=fast_line_tension_N)
    check_above_zero(drum_pitch_diameter_m=drum_pitch_diameter_m)
    return fast_line_tension_N * drum_pitch_diameter_m / 2.0
