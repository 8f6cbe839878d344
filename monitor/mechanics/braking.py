"""Braking: how far a moving block goes before it stops, and how fast it may go.

Two things stop it: the reaction that passes first, at the old speed, and the brake. The
load is taken as one rigid mass; the string's spring, the drum's clutch and fading brakes
are not in it. The figures advise; the crown saver and the brakes' own tests decide.
"""

from __future__ import annotations

import numpy as np

from monitor.mechanics.arguments import check_above_zero, check_not_negative, plain
from monitor.mechanics.fast_line import block_and_tackle_efficiency
from monitor.mechanics.reeving import Numeric
from monitor.units import STANDARD_GRAVITY_m_s2


def stopping_distance_m(
    speed_m_s: Numeric, deceleration_m_s2: Numeric, reaction_time_s: float = 0.0
) -> Numeric:
    """Travel until a moving block stands.

    Parameters
    ----------
    speed_m_s : float or ndarray
        Speed, up or down. [m/s]
    deceleration_m_s2 : float or ndarray
        Deceleration once the brake holds; 0 or less never stops it. [m/s2]
    reaction_time_s : float
        Time until the brake holds, at least 0. [s]

    Returns
    -------
    float or ndarray
        Distance, infinite where it does not stop. [m]

    Raises
    ------
    ValueError
        For a negative reaction time.

    Notes
    -----
    |v| t + v^2 / (2 a). While the driller reacts the speed is taken as kept.

    Examples
    --------
    >>> stopping_distance_m(2.0, 4.0, 0.5)
    1.5

    References
    ----------
    .. [1] Derived.
    """
    check_not_negative(reaction_time_s=reaction_time_s)
    speed = np.abs(np.asarray(speed_m_s, dtype=float))
    slowing = np.asarray(deceleration_m_s2, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        braked = np.where(slowing <= 0.0, np.inf, speed**2 / (2.0 * slowing))
    standing = np.where(np.isnan(slowing), np.nan, 0.0)
    return plain(np.where(speed == 0.0, standing, speed * reaction_time_s + braked))


def greatest_speed_m_s(
    distance_m: Numeric, deceleration_m_s2: Numeric, reaction_time_s: float = 0.0
) -> Numeric:
    """Greatest speed from which the block stops within a distance.

    Parameters
    ----------
    distance_m : float or ndarray
        Distance to the limit; at or past it (0 or less) the speed is 0. [m]
    deceleration_m_s2 : float or ndarray
        Deceleration once the brake holds; 0 or less allows no speed. [m/s2]
    reaction_time_s : float
        Time until the brake holds, at least 0. [s]

    Returns
    -------
    float or ndarray
        Speed, without sign. [m/s]

    Raises
    ------
    ValueError
        For a negative reaction time.

    Notes
    -----
    sqrt((a t)^2 + 2 a d) - a t: the inverse of `stopping_distance_m`. Clipped at 0.

    Examples
    --------
    >>> greatest_speed_m_s(1.5, 4.0, 0.5)
    2.0

    References
    ----------
    .. [1] Derived.
    """
    check_not_negative(reaction_time_s=reaction_time_s)
    room = np.maximum(np.asarray(distance_m, dtype=float), 0.0)
    slowing = np.maximum(np.asarray(deceleration_m_s2, dtype=float), 0.0)
    lost = slowing * reaction_time_s
    return plain(np.sqrt(lost**2 + 2.0 * slowing * room) - lost)


def room_to_stop_m(
    block_height_m: Numeric,
    block_speed_m_s: Numeric,
    deceleration_m_s2: Numeric,
    reaction_time_s: float,
    floor_m: float,
    crown_m: float,
) -> Numeric:
    """Distance left between where the block would stand and the limit it moves to.

    Parameters
    ----------
    block_height_m : float or ndarray
        Height of the block. [m]
    block_speed_m_s : float or ndarray
        Speed of the block, up positive. [m/s]
    deceleration_m_s2 : float or ndarray
        Deceleration in that direction. [m/s2]
    reaction_time_s : float
        Time until the brake holds. [s]
    floor_m : float
        Lowest height allowed. [m]
    crown_m : float
        Greatest height allowed, above the lowest. [m]

    Returns
    -------
    float or ndarray
        Room; below 0 the limit is passed before it stands. At rest, to the nearer. [m]

    Raises
    ------
    ValueError
        For a crown limit not above the floor limit, a negative reaction time.

    Notes
    -----
    Up: crown - height - stopping distance. Down: height - floor - stopping distance.

    Examples
    --------
    >>> room_to_stop_m(30.0, 2.0, 4.0, 0.5, 0.5, 38.0)
    6.5
    >>> room_to_stop_m(3.0, -2.0, 1.0, 0.5, 0.5, 38.0)
    -0.5

    References
    ----------
    .. [1] Derived.
    """
    if crown_m <= floor_m:
        raise ValueError(f"crown_m is {crown_m}; must be above floor_m, {floor_m}")
    stopping = stopping_distance_m(block_speed_m_s, deceleration_m_s2, reaction_time_s)
    height = np.asarray(block_height_m, dtype=float)
    to_crown, to_floor = crown_m - height, height - floor_m
    ahead = np.where(np.greater(block_speed_m_s, 0.0), to_crown, to_floor)
    ahead = np.where(np.equal(block_speed_m_s, 0.0), np.minimum(to_crown, to_floor), ahead)
    return plain(ahead - stopping)


def braking_deceleration_m_s2(
    load_N: Numeric,
    brake_torque_Nm: Numeric,
    drum_pitch_diameter_m: Numeric,
    n_lines: int,
    sheave_efficiency: float,
    direction: str,
    drum_inertia_kg_m2: float = 0.0,
    moving_mass_kg: Numeric | None = None,
) -> Numeric:
    """Deceleration of the block under the drum's brake, the drum driven by nothing else.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines, above 0. [N]
    brake_torque_Nm : float or ndarray
        Torque of the brake on the drum, at least 0. [N m]
    drum_pitch_diameter_m : float or ndarray
        Pitch diameter of the layer being spooled. [m]
    n_lines : int
        Lines strung. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    direction : str
        ``"hoisting"`` or ``"lowering"``: the way the block moves. [-]
    drum_inertia_kg_m2 : float
        Moment of inertia of all that turns with the drum. [kg m2]
    moving_mass_kg : float or ndarray, optional
        Mass that moves; without it the load over gravity, though steel in mud weighs less
        than its mass and stops in a longer distance. [kg]

    Returns
    -------
    float or ndarray
        Deceleration; lowering, 0 or less where the brake cannot hold the load. [m/s2]

    Raises
    ------
    ValueError
        For a load or diameter not above 0, a negative torque, ``"held"``.

    Notes
    -----
    With F = torque / radius, E the efficiency in that direction and J the inertia:
    lowering a = (n F / E - W) / (m + J n^2 / (E r^2)), hoisting
    a = (W + E n F) / (m + E J n^2 / r^2). Hoisting, a block cannot be slowed by its weight
    alone faster than W / m; a brake that stops the drum sooner leaves the fast line slack,
    and the value is held at W / m. Friction helps the brake in both directions.

    Examples
    --------
    A brake that holds twice the load stops it at 1 g:

    >>> braking_deceleration_m_s2(1e6, 80e3, 0.8, 10, 1.0, "lowering")
    9.80665

    References
    ----------
    .. [1] Derived: equations of motion of load and drum.
    """
    if direction not in ("hoisting", "lowering"):
        raise ValueError(f"direction is {direction!r}; must be hoisting or lowering")
    check_above_zero(load_N=load_N, drum_pitch_diameter_m=drum_pitch_diameter_m)
    check_not_negative(brake_torque_Nm=brake_torque_Nm, drum_inertia_kg_m2=drum_inertia_kg_m2)
    mass = load_N / STANDARD_GRAVITY_m_s2 if moving_mass_kg is None else moving_mass_kg
    check_above_zero(moving_mass_kg=mass)
    efficiency = block_and_tackle_efficiency(n_lines, sheave_efficiency, direction)
    radius = drum_pitch_diameter_m / 2.0
    at_block = n_lines * brake_torque_Nm / radius
    drum_mass = drum_inertia_kg_m2 * (n_lines / radius) ** 2
    if direction == "lowering":
        return (at_block / efficiency - load_N) / (mass + drum_mass / efficiency)
    slowing = (load_N + efficiency * at_block) / (mass + efficiency * drum_mass)
    return plain(np.minimum(slowing, load_N / mass))


def braking_energy_J(
    load_N: Numeric, speed_m_s: Numeric, distance_m: Numeric, moving_mass_kg: Numeric | None = None
) -> Numeric:
    """Energy to be taken off when a lowered load is stopped over a distance.

    Parameters
    ----------
    load_N : float or ndarray
        All that hangs on the lines, above 0. [N]
    speed_m_s : float or ndarray
        Speed where the brake begins to hold. [m/s]
    distance_m : float or ndarray
        Distance over which it stops, at least 0. [m]
    moving_mass_kg : float or ndarray, optional
        Mass that moves; without it the load over gravity. [kg]

    Returns
    -------
    float or ndarray
        Energy that brake and sheave friction share. [J]

    Raises
    ------
    ValueError
        For a load not above 0 or a negative distance.

    Notes
    -----
    W d + m v^2 / 2. The drum's own motion comes on top.

    Examples
    --------
    >>> braking_energy_J(9.80665e5, 2.0, 1.0) / 1e6
    1.180665

    References
    ----------
    .. [1] Derived: energy balance.
    """
    check_above_zero(load_N=load_N)
    check_not_negative(distance_m=distance_m)
    mass = load_N / STANDARD_GRAVITY_m_s2 if moving_mass_kg is None else moving_mass_kg
    return plain(load_N * distance_m + 0.5 * mass * np.square(speed_m_s))
