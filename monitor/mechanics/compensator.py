"""Motion compensator of a floating rig: stroke, load, and the swing it leaves at the bit.

A gas spring between block and hook, or at the crown. Stroke is counted as extension: how far
the hook has come down from where the compensator is fully drawn in. Inertia of hook and
string is not in it, so it holds for waves much slower than the string's own swinging.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from monitor.mechanics.reeving import Numeric

Array = NDArray[np.float64]

STATES = ("open", "locked")
ADIABATIC_EXPONENT = 1.4  # air and nitrogen at moderate pressure; 1 where it works slowly


@dataclass(frozen=True, slots=True)
class StrokeUse:
    """How much of the compensator's stroke a record used."""

    used_m: float  # greatest less least stroke
    share: float  # of the stroke limit
    middle_m: float  # of the strokes used
    room_drawn_in_m: float  # from the least stroke to the fully drawn-in end
    room_extended_m: float  # from the greatest stroke to the fully extended end


def stroke_use(stroke_m: ArrayLike, stroke_limit_m: float) -> StrokeUse:
    """Stroke used of the stroke limit, and the room left at both ends.

    Parameters
    ----------
    stroke_m : array_like
        Measured extension; rows with not-a-number are left out. [m]
    stroke_limit_m : float
        Whole stroke, above 0. [m]

    Returns
    -------
    StrokeUse
        Lengths [m] and the share [-]; not-a-number for a record without values.

    Raises
    ------
    ValueError
        For a stroke limit not above 0.

    Notes
    -----
    Room is below 0 where the record goes beyond an end: the sensor's zero is then wrong.

    Examples
    --------
    >>> use = stroke_use([2.0, 5.0, 3.0], 7.5)
    >>> use.used_m, use.share, use.room_drawn_in_m, use.room_extended_m
    (3.0, 0.4, 2.0, 2.5)

    References
    ----------
    .. [1] Derived.
    """
    if not stroke_limit_m > 0.0:
        raise ValueError(f"stroke_limit_m is {stroke_limit_m}; must be above 0")
    stroke = np.asarray(stroke_m, dtype=np.float64)
    stroke = stroke[~np.isnan(stroke)]
    if not stroke.size:
        return StrokeUse(math.nan, math.nan, math.nan, math.nan, math.nan)
    least, greatest = float(stroke.min()), float(stroke.max())
    used = greatest - least
    return StrokeUse(
        used, used / stroke_limit_m, (least + greatest) / 2, least, stroke_limit_m - greatest
    )


def compensator_room_N(
    load_N: Numeric, state: str, open_limit_N: float, locked_limit_N: float
) -> Array:
    """Load that may still be added to what the compensator carries.

    Parameters
    ----------
    load_N : float or ndarray
        Load on the compensator. [N]
    state : str
        ``"open"``: stroking; ``"locked"``: its bars or valves carry the load. [-]
    open_limit_N, locked_limit_N : float
        Ratings in the two states, above 0. [N]

    Returns
    -------
    ndarray
        Room left; below 0 over the rating. [N]

    Raises
    ------
    ValueError
        For another state or a rating not above 0.

    Notes
    -----
    Locked it usually carries more than open; both are its maker's figures.

    Examples
    --------
    >>> float(compensator_room_N(1.5e6, "open", 1.78e6, 4.0e6))
    280000.0

    References
    ----------
    .. [1] Derived.
    """
    if state not in STATES:
        raise ValueError(f"state is {state!r}; must be open or locked")
    for name, limit in (("open_limit_N", open_limit_N), ("locked_limit_N", locked_limit_N)):
        if limit <= 0.0:
            raise ValueError(f"{name} is {limit}; must be above 0")
    limit = open_limit_N if state == "open" else locked_limit_N
    return np.asarray(limit - np.asarray(load_N, dtype=np.float64))


def gas_spring_stiffness_N_m(
    load_N: Numeric, gas_length_m: float, exponent: float = ADIABATIC_EXPONENT
) -> Array:
    """Stiffness of a gas spring about its middle position.

    Parameters
    ----------
    load_N : float or ndarray
        Load it carries there. [N]
    gas_length_m : float
        Gas volume, bottles included, over the area that a metre of hook stroke sweeps;
        above 0. [m]
    exponent : float
        1 for slow strokes (isothermal) to 1.4 for quick ones (adiabatic), at least 1. [-]

    Returns
    -------
    ndarray
        Load per stroke. [N/m]

    Raises
    ------
    ValueError
        For a gas length not above 0, an exponent below 1.

    Notes
    -----
    p V^n = constant: k = n F / (V / A). At high pressure nitrogen is stiffer than that.

    Examples
    --------
    >>> float(gas_spring_stiffness_N_m(1e6, 70.0))
    20000.0

    References
    ----------
    .. [1] Derived from the polytropic law.
    """
    _check_gas(gas_length_m, exponent)
    return np.asarray(exponent * np.asarray(load_N, dtype=np.float64) / gas_length_m)


def gas_spring_load_N(
    load_N: Numeric,
    stroke_from_middle_m: Numeric,
    gas_length_m: float,
    exponent: float = ADIABATIC_EXPONENT,
) -> Array:
    """Load a gas spring carries away from its middle position.

    Parameters
    ----------
    load_N : float or ndarray
        Load it carries in the middle. [N]
    stroke_from_middle_m : float or ndarray
        Extension from there: the hook drawn down, the gas compressed. [m]
    gas_length_m : float
        As `gas_spring_stiffness_N_m`, in the middle. [m]
    exponent : float
        As there. [-]

    Returns
    -------
    ndarray
        Load. [N]

    Raises
    ------
    ValueError
        For a gas length not above 0, an exponent below 1, a stroke that leaves no gas.

    Notes
    -----
    F (L / (L - x))^n.

    Examples
    --------
    3 m either way on 70 m of gas:

    >>> gas_spring_load_N(1e6, np.array([-3.0, 3.0]), 70.0).round(-3).tolist()
    [943000.0, 1063000.0]

    References
    ----------
    .. [1] Derived from the polytropic law.
    """
    _check_gas(gas_length_m, exponent)
    left = gas_length_m - np.asarray(stroke_from_middle_m, dtype=np.float64)
    if np.any(left <= 0.0):
        raise ValueError(
            f"stroke_from_middle_m is {np.nanmax(stroke_from_middle_m)}; must be less than the "
            f"gas length {gas_length_m}"
        )
    return np.asarray(load_N * (gas_length_m / left) ** exponent)


def _check_gas(gas_length_m: float, exponent: float) -> None:
    if not gas_length_m > 0.0:
        raise ValueError(f"gas_length_m is {gas_length_m}; must be above 0")
    if exponent < 1.0:
        raise ValueError(f"exponent is {exponent}; must be at least 1")


def load_swing_at_bit_N(
    heave_height_m: Numeric,
    compensator_stiffness_N_m: float,
    string_stiffness_N_m: float = math.inf,
    friction_N: float = 0.0,
) -> Array:
    """Swing of the weight on bit that heave leaves, from trough to crest.

    Parameters
    ----------
    heave_height_m : float or ndarray
        Heave from trough to crest, at least 0. [m]
    compensator_stiffness_N_m : float
        Of the compensator; infinite when it is locked, at least 0. [N/m]
    string_stiffness_N_m : float
        Pull per stretch of the string on bottom; infinite is on the safe side, above 0. [N/m]
    friction_N : float
        Friction of seals and sheaves of the compensator, at least 0. [N]

    Returns
    -------
    ndarray
        Swing of the load at the bit. [N]

    Raises
    ------
    ValueError
        For a negative height, stiffness or friction, or both stiffnesses infinite.

    Notes
    -----
    String and compensator in series, friction reversing at the crests:
    k_s (k_c H + 2 f) / (k_c + k_s), never more than k_s H, where friction holds the
    compensator still. The bit stays on bottom; a swing above the weight on bit says that
    it does not.

    Examples
    --------
    4 m of heave, 20 kN/m, 15 kN of friction; locked on a string of 100 kN/m:

    >>> float(load_swing_at_bit_N(4.0, 20e3, friction_N=15e3))
    110000.0
    >>> float(load_swing_at_bit_N(4.0, math.inf, 100e3))
    400000.0

    References
    ----------
    .. [1] Derived: two springs in series with dry friction.
    """
    height = np.asarray(heave_height_m, dtype=np.float64)
    if np.any(height < 0.0):
        raise ValueError(f"heave_height_m is {heave_height_m}; must be at least 0")
    if compensator_stiffness_N_m < 0.0 or friction_N < 0.0 or string_stiffness_N_m <= 0.0:
        raise ValueError(
            f"compensator_stiffness_N_m is {compensator_stiffness_N_m}, string_stiffness_N_m "
            f"{string_stiffness_N_m}, friction_N {friction_N}; must not be negative, and that of "
            "the string above 0"
        )
    if math.isinf(compensator_stiffness_N_m):
        if math.isinf(string_stiffness_N_m):
            raise ValueError("string_stiffness_N_m is infinite; must be finite with a locked one")
        return np.asarray(string_stiffness_N_m * height)
    moved = compensator_stiffness_N_m * height + 2.0 * friction_N * (height > 0.0)
    if math.isinf(string_stiffness_N_m):
        return np.asarray(moved)
    share = string_stiffness_N_m / (compensator_stiffness_N_m + string_stiffness_N_m)
    return np.asarray(np.minimum(share * moved, string_stiffness_N_m * height))
