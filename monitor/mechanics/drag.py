"""Weight of the string with drag along a surveyed hole: hoisting, lowering, rotating.

Soft string: the string follows the path, has no bending stiffness and lies against the
wall with all of its side force; friction is that force times the friction factor.
Buckling, stiffness, tool joints that catch, cuttings, mud drag and swab are not in it: the
factor found from recorded weights takes them in as far as they look like friction.
Without a survey the hole is vertical, and all three weights are the hanging weight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics import soft_string
from monitor.mechanics.pipe import string_weight_N
from monitor.mechanics.reeving import Numeric
from monitor.mechanics.soft_string import Hole, LONGEST_ELEMENT_m
from monitor.rig.rig import Section

Array = NDArray[np.float64]

# Which way friction acts on the pull at the floor.
FRICTION_SIGN = {"hoisting": 1.0, "lowering": -1.0, "rotating": 0.0}


@dataclass(frozen=True, slots=True, eq=False)
class WeightFan:
    """Weights over depth, a row for each friction factor; travelling equipment not included."""

    bit_depth_m: Array
    friction_factor: Array
    hoisting_N: Array  # friction factors x depths
    lowering_N: Array
    rotating_N: Array  # depths


@dataclass(frozen=True, slots=True, eq=False)
class TensionProfile:
    """Tension along the string at one bit depth, from the bit up to the rig floor."""

    depth_m: Array
    tension_N: Array  # of the buoyed string: compression is negative


def friction_sign(direction: str) -> float:
    """Sign with which friction adds to the pull at the rig floor.

    Parameters
    ----------
    direction : str
        ``"hoisting"``, ``"lowering"`` or ``"rotating"``. [-]

    Returns
    -------
    float
        +1, -1 or 0. [-]

    Raises
    ------
    ValueError
        For another direction.

    Notes
    -----
    Rotating off bottom without axial motion: all friction goes around, none along.

    Examples
    --------
    >>> friction_sign("lowering")
    -1.0

    References
    ----------
    .. [1] Derived.
    """
    if direction not in FRICTION_SIGN:
        raise ValueError(f"direction is {direction!r}; must be hoisting, lowering or rotating")
    return FRICTION_SIGN[direction]


def _check_factor(name: str, factor: Numeric | None) -> None:
    if factor is not None and np.any(np.asarray(factor) < 0.0):
        raise ValueError(f"{name} is {factor}; must be at least 0")


def moving_weight_N(
    sections: Sequence[Section],
    hole: Hole,
    bit_depth_m: Numeric,
    friction_factor: Numeric,
    direction: str,
    *,
    cased_friction_factor: Numeric | None = None,
    weight_on_bit_N: float = 0.0,
    above_floor_m: Numeric = 0.0,
    longest_element_m: float = LONGEST_ELEMENT_m,
) -> Array:
    """Weight of the string while it is hoisted, lowered or rotated, travelling gear left out.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    hole : Hole
        Path, mud and casing shoe; ``Hole(well_path(()))`` is vertical. [-]
    bit_depth_m : float or ndarray
        Measured bit depths, any shape and order; a negative one counts as 0. [m]
    friction_factor : float or ndarray
        In the open hole, or in all of it; at least 0. [-]
    direction : str
        ``"hoisting"``, ``"lowering"`` or ``"rotating"``. [-]
    cased_friction_factor : float, ndarray or None
        Above the hole's casing shoe, at least 0; None: as in the open hole. [-]
    weight_on_bit_N : float
        Force of the bottom on the bit. [N]
    above_floor_m : float or ndarray
        Pipe between rig floor and elevators, which hangs in air. [m]
    longest_element_m : float
        Longest piece of hole that is worked in one step, above 0. [m]

    Returns
    -------
    ndarray
        Shape of the factors followed by the shape of the depths. [N]

    Raises
    ------
    ValueError
        For another direction, a negative factor, a string without sections, an infinite
        depth, or as `monitor.mechanics.pipe.buoyancy_factor`.

    Notes
    -----
    See `monitor.mechanics.soft_string.floor_tension_N`. A lowering weight below 0 says that
    the string would not go in by its own weight; nothing is clipped. Not-a-number in gives
    not-a-number.

    Examples
    --------
    5000 ft of 18.37 lb/ft at 60 deg, 10 000 lb on its lower end, in lb and ft: 75 811,
    36 039 and 55 925.

    >>> from math import pi
    >>> from monitor.mechanics.survey import well_path
    >>> from monitor.rig.rig import SurveyStation
    >>> hole = Hole(well_path([SurveyStation(0.0, pi / 3, 0.0)]))
    >>> pipe = Section("drill pipe", None, 5.0, 4.0, 18.37)
    >>> for direction in FRICTION_SIGN:
    ...     print(moving_weight_N([pipe], hole, 5e3, 0.25, direction, weight_on_bit_N=-1e4))
    75811.10
    36038.89
    55925.0

    References
    ----------
    .. [1] Johancsik, Friesen, Dawson, Torque and Drag in Directional Wells, JPT, June 1984,
       987-992 (SPE 11380); abstract looked up, equations from memory.
    """
    sign = friction_sign(direction)
    _check_factor("friction_factor", friction_factor)
    _check_factor("cased_friction_factor", cased_friction_factor)
    weight = soft_string.floor_tension_N(
        sections,
        hole,
        bit_depth_m,
        friction_factor,
        sign,
        cased_friction_factor=cased_friction_factor,
        weight_on_bit_N=weight_on_bit_N,
        longest_element_m=longest_element_m,
    )
    if np.all(np.asarray(above_floor_m) == 0.0):
        return weight
    depth = np.maximum(np.asarray(bit_depth_m, dtype=np.float64), 0.0)
    whole = string_weight_N(sections, depth + above_floor_m)
    return weight + (whole - string_weight_N(sections, depth))


def weight_fan(
    sections: Sequence[Section],
    hole: Hole,
    bit_depth_m: Numeric,
    friction_factor: Numeric,
    *,
    cased_friction_factor: Numeric | None = None,
    above_floor_m: Numeric = 0.0,
    longest_element_m: float = LONGEST_ELEMENT_m,
) -> WeightFan:
    """Curves of hoisting, lowering and rotating weight over depth for several factors.

    Parameters
    ----------
    sections, hole, cased_friction_factor, above_floor_m, longest_element_m
        As `moving_weight_N`. [-]
    bit_depth_m : ndarray
        Measured bit depths, one axis. [m]
    friction_factor : ndarray
        Friction factors, one axis, each at least 0. [-]

    Returns
    -------
    WeightFan
        Weights at the rig floor. [N]

    Raises
    ------
    ValueError
        As `moving_weight_N`.

    Notes
    -----
    Hoisting and lowering are worked in one pass.

    Examples
    --------
    >>> from monitor.mechanics.survey import well_path
    >>> from monitor.rig.rig import SurveyStation
    >>> hole = Hole(well_path([SurveyStation(0.0, 1.0, 0.0)]))
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> fan = weight_fan([pipe], hole, np.array([0.0, 1000.0]), np.array([0.2, 0.3]))
    >>> fan.hoisting_N[:, 1].round().tolist(), float(fan.rotating_N[1].round())
    ([233837.0, 261605.0], 178300.0)

    References
    ----------
    .. [1] As `moving_weight_N`.
    """
    _check_factor("friction_factor", friction_factor)
    _check_factor("cased_friction_factor", cased_friction_factor)
    factor = np.atleast_1d(np.asarray(friction_factor, dtype=np.float64))
    depth = np.atleast_1d(np.asarray(bit_depth_m, dtype=np.float64))
    cased = factor if cased_friction_factor is None else np.broadcast_to(
        np.asarray(cased_friction_factor, dtype=np.float64), factor.shape
    )  # fmt: skip
    signs = np.repeat([1.0, -1.0, 0.0], [len(factor), len(factor), 1])
    weight = soft_string.floor_tension_N(
        sections,
        hole,
        depth,
        signs * np.concatenate((factor, factor, [0.0])),
        1.0,
        cased_friction_factor=signs * np.concatenate((cased, cased, [0.0])),
        longest_element_m=longest_element_m,
    )
    if not np.all(np.asarray(above_floor_m) == 0.0):
        below = np.maximum(depth, 0.0)
        whole = string_weight_N(sections, below + above_floor_m)
        weight = weight + (whole - string_weight_N(sections, below))
    n = len(factor)
    return WeightFan(depth, factor, weight[:n], weight[n : 2 * n], weight[2 * n])


def tension_profile(
    sections: Sequence[Section],
    hole: Hole,
    bit_depth_m: float,
    friction_factor: float,
    direction: str,
    *,
    cased_friction_factor: float | None = None,
    weight_on_bit_N: float = 0.0,
    longest_element_m: float = LONGEST_ELEMENT_m,
) -> TensionProfile:
    """Tension along the string at one bit depth.

    Parameters
    ----------
    sections, hole, friction_factor, direction, cased_friction_factor, weight_on_bit_N, \
longest_element_m
        As `moving_weight_N`, one value each. [-]
    bit_depth_m : float
        Measured bit depth, at least 0. [m]

    Returns
    -------
    TensionProfile
        Depths [m] and tensions [N] from the bit up to the rig floor.

    Raises
    ------
    ValueError
        As `moving_weight_N`, and for a bit depth below 0.

    Notes
    -----
    Tension of the buoyed string, which is what buckling goes by; the stress in the steel
    has the mud's pressure on its ends on top.

    Examples
    --------
    >>> from monitor.mechanics.survey import well_path
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> profile = tension_profile([pipe], Hole(well_path(())), 50.0, 0.2, "hoisting")
    >>> profile.tension_N.tolist()
    [0.0, 6600.0, 16500.0]

    References
    ----------
    .. [1] As `moving_weight_N`.
    """
    _check_factor("friction_factor", friction_factor)
    _check_factor("cased_friction_factor", cased_friction_factor)
    depth, tension = soft_string.tension_along_N(
        sections,
        hole,
        bit_depth_m,
        friction_factor,
        friction_sign(direction),
        cased_friction_factor=cased_friction_factor,
        weight_on_bit_N=weight_on_bit_N,
        longest_element_m=longest_element_m,
    )
    return TensionProfile(depth, tension)


def axial_friction_factor(
    friction_factor: Numeric, axial_speed_m_s: Numeric, rotary_speed_rad_s: Numeric,
    outside_diameter_m: float,
) -> Array:  # fmt: skip
    """Part of the friction factor that acts along the hole while the string also turns.

    Parameters
    ----------
    friction_factor : float or ndarray
        Friction factor of sliding. [-]
    axial_speed_m_s : float or ndarray
        Speed along the hole, either sign. [m/s]
    rotary_speed_rad_s : float or ndarray
        Rotary speed. [rad/s]
    outside_diameter_m : float
        Diameter that touches the wall, tool joints mostly; above 0. [m]

    Returns
    -------
    ndarray
        Axial factor, at least 0; that of sliding when the string does not turn. [-]

    Raises
    ------
    ValueError
        For a diameter not above 0.

    Notes
    -----
    Friction points against the resultant of both speeds: f v / sqrt(v^2 + (w D/2)^2). A
    string that stands still is counted as sliding.

    Examples
    --------
    Tripping at 0.3 m/s while turning at 60 rpm takes most of the drag away:

    >>> float(axial_friction_factor(0.25, 0.3, 6.2832, 0.168))
    0.124

    References
    ----------
    .. [1] Derived; the velocity-vector form is common in torque-and-drag work.
    """
    if not outside_diameter_m > 0.0:
        raise ValueError(f"outside_diameter_m is {outside_diameter_m}; must be above 0")
    speed = np.abs(np.asarray(axial_speed_m_s, dtype=np.float64))
    around = np.asarray(rotary_speed_rad_s, dtype=np.float64) * outside_diameter_m / 2
    resultant = np.hypot(speed, around)
    share = np.where(around == 0.0, 1.0, speed / np.where(resultant == 0.0, 1.0, resultant))
    return np.asarray(friction_factor * np.where(np.isnan(resultant), np.nan, share))
