"""What the string displaces and holds, and the mud the hole takes for it on a trip.

Volume of steel by weight, which has tool joints and upsets in it; volume inside by the inside
diameter of the body.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.reeving import Numeric
from monitor.rig.catalogue import STEEL_DENSITY_kg_m3
from monitor.rig.rig import Section
from monitor.units import STANDARD_GRAVITY_m_s2

Array = NDArray[np.float64]

PULLED = ("dry", "wet")


def pipe_capacity_m3_m(inside_diameter_m: float) -> float:
    """Volume inside a pipe, per length.

    Parameters
    ----------
    inside_diameter_m : float
        Inside diameter, at least 0. [m]

    Returns
    -------
    float
        Capacity. [m3/m]

    Raises
    ------
    ValueError
        For a negative diameter.

    Notes
    -----
    pi / 4 d^2; in bbl/ft, d^2 / 1029.4 with d in inches.

    Examples
    --------
    2 13/16 in, in bbl/ft; 0.007684 is published:

    >>> pipe_capacity_m3_m(2.8125 * 0.0254) * 0.3048 / 0.158987294928
    0.007684

    References
    ----------
    .. [1] Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover; looked
       up.
    """
    if inside_diameter_m < 0.0:
        raise ValueError(f"inside_diameter_m is {inside_diameter_m}; must be at least 0")
    return math.pi / 4 * inside_diameter_m**2


def pipe_displacement_m3_m(weight_in_air_N_m: float) -> float:
    """Volume of steel of a pipe, per length, from its weight.

    Parameters
    ----------
    weight_in_air_N_m : float
        Weight with tool joints, at least 0. [N/m]

    Returns
    -------
    float
        Open-ended displacement. [m3/m]

    Raises
    ------
    ValueError
        For a negative weight.

    Notes
    -----
    Weight over density of steel, 7850 kg/m3; in field units the weight in lb/ft over 2747 is
    printed, 7837 kg/m3.

    Examples
    --------
    5-in 19.50 lb/ft with tool joints 23.52 lb/ft, in bbl/ft:

    >>> pipe_displacement_m3_m(23.52 * 14.593903) * 0.3048 / 0.158987294928
    0.00855

    References
    ----------
    .. [1] Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover; looked
       up.
    """
    if weight_in_air_N_m < 0.0:
        raise ValueError(f"weight_in_air_N_m is {weight_in_air_N_m}; must be at least 0")
    return weight_in_air_N_m / (STEEL_DENSITY_kg_m3 * STANDARD_GRAVITY_m_s2)


def string_displacement_m3(
    sections: Sequence[Section], hanging_length_m: Numeric, *, is_closed_ended: bool = False
) -> Array:
    """Volume that the string in the hole displaces.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    hanging_length_m : float or ndarray
        Bit depth along the hole; a negative one counts as 0. [m]
    is_closed_ended : bool
        Whether the inside is displaced too: a float that holds, or pipe pulled full. [-]

    Returns
    -------
    ndarray
        Displaced volume, of the shape of the length. [m3]

    Raises
    ------
    ValueError
        For a string without sections.

    Notes
    -----
    Sum over sections; the uppermost goes on. Not-a-number in gives not-a-number.

    Examples
    --------
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 343.0)
    >>> both = [string_displacement_m3([pipe], 1000.0, is_closed_ended=c) for c in (False, True)]
    >>> [float(volume) for volume in both]
    [4.456, 13.719]

    References
    ----------
    .. [1] Derived.
    """
    if not sections:
        raise ValueError("sections is empty; at least one section is needed")
    left = np.maximum(np.asarray(hanging_length_m, dtype=np.float64), 0.0)
    volume = np.zeros_like(left)
    for number, section in enumerate(sections):
        is_top = number == len(sections) - 1 or section.length_m is None
        length = left if is_top else np.minimum(left, section.length_m or 0.0)
        per_length = pipe_displacement_m3_m(section.weight_in_air_N_m)
        if is_closed_ended:
            per_length += pipe_capacity_m3_m(section.inside_diameter_m)
        volume = volume + per_length * length
        if is_top:
            break
        left = left - length
    return np.asarray(volume)


def trip_fill_m3(
    sections: Sequence[Section],
    bit_depth_before_m: Numeric,
    bit_depth_after_m: Numeric,
    *,
    pulled: str = "dry",
) -> Array:
    """Mud the hole should take between two bit depths; below 0, what it should give.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    bit_depth_before_m, bit_depth_after_m : float or ndarray
        Bit depth before and after: a stand, or any stretch of the trip. [m]
    pulled : str
        ``"dry"``: mud runs out of the pipe inside the hole. ``"wet"``: it is pulled full and
        drained outside the well, or run in with a float and not filled. [-]

    Returns
    -------
    ndarray
        Fill; below 0 the return on the way in. [m3]

    Raises
    ------
    ValueError
        For another way of pulling, or a string without sections.

    Notes
    -----
    Difference of what is displaced. Near surface the collars leave, and a stand of them
    takes five to seven times as much as one of pipe. Mud caught from pipe pulled wet goes
    back to the trip tank and must be counted there.

    Examples
    --------
    A stand of 28 m of pipe, out and in, in litres:

    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 343.0)
    >>> out = trip_fill_m3([pipe], 1000.0, 972.0), trip_fill_m3([pipe], 972.0, 1000.0)
    >>> [float(volume * 1000) for volume in out]
    [124.75, -124.75]

    References
    ----------
    .. [1] Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, hydrostatic
       pressure decrease when pulling pipe; looked up.
    """
    if pulled not in PULLED:
        raise ValueError(f"pulled is {pulled!r}; must be dry or wet")
    before, after = (
        string_displacement_m3(sections, depth, is_closed_ended=pulled == "wet")
        for depth in (bit_depth_before_m, bit_depth_after_m)
    )
    return before - after


def unfilled_level_fall_m(
    pulled_length_m: Numeric,
    casing_capacity_m3_m: float,
    displacement_m3_m: float,
    capacity_m3_m: float = 0.0,
) -> Array:
    """Fall of the mud level when pipe is pulled and the hole is not filled.

    Parameters
    ----------
    pulled_length_m : float or ndarray
        Length pulled. [m]
    casing_capacity_m3_m : float
        Of the empty casing, above displacement and capacity of the pipe together. [m3/m]
    displacement_m3_m : float
        Of the steel of the pipe, at least 0. [m3/m]
    capacity_m3_m : float
        Of the pipe where it is pulled wet; 0 dry. [m3/m]

    Returns
    -------
    ndarray
        Fall of the level. [m]

    Raises
    ------
    ValueError
        For a casing in which that pipe does not fit.

    Notes
    -----
    Volume taken out over the cross-section that is left around the pipe; times the mud's
    weight per volume it is the loss of pressure at the bottom.

    Examples
    --------
    460 ft pulled wet, in bbl/ft, 11.5 ppg; 133.52 psi is published:

    >>> float(unfilled_level_fall_m(460.0, 0.0773, 0.0075, 0.01776) * 0.052 * 11.5)
    133.52

    References
    ----------
    .. [1] Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover; looked
       up.
    """
    out = displacement_m3_m + capacity_m3_m
    if displacement_m3_m < 0.0 or capacity_m3_m < 0.0 or casing_capacity_m3_m <= out:
        raise ValueError(
            f"casing_capacity_m3_m is {casing_capacity_m3_m}; must be above displacement and "
            f"capacity of the pipe together, {out}, neither of them negative"
        )
    return np.asarray(np.asarray(pulled_length_m) * out / (casing_capacity_m3_m - out))
