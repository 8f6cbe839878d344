"""Block position from the drum's encoder, through layer changes, with a survey's correction.

The encoder counts turns of the drum. A layer change alters the travel of a turn by about
7 %, so turns are turned into line layer by layer. What geometry leaves (stretch of line and
mast, flattened wraps, a barrel not measured well) a survey of the block takes off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from monitor.mechanics.arguments import check_above_zero, plain
from monitor.mechanics.drum import LEAST_WRAPS, NESTED_RISE, line_on_drum_m, wraps_on_drum
from monitor.mechanics.reeving import Numeric


def block_height_of_turns_m(
    turns: Numeric,
    n_lines: int,
    barrel_diameter_m: float,
    line_diameter_m: float,
    n_wraps_per_layer: float,
    wraps_at_zero: float,
    height_at_zero_m: float,
    layer_rise: float = NESTED_RISE,
) -> Numeric:
    """Height of the block from turns of the drum.

    Parameters
    ----------
    turns : float or ndarray
        Turns since the encoder read zero, hoisting positive. [-]
    n_lines : int
        Lines strung, at least 2. [-]
    barrel_diameter_m : float
        Diameter of the drum's barrel. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    n_wraps_per_layer : float
        Wraps in a layer. [-]
    wraps_at_zero : float
        Wraps on the drum when the encoder read zero. [-]
    height_at_zero_m : float
        Height of the block when the encoder read zero. [m]
    layer_rise : float
        Rise of a layer over the line's diameter. [-]

    Returns
    -------
    float or ndarray
        Height. [m]

    Raises
    ------
    ValueError
        For fewer than two lines, turns that would take off more line than there is, a drum
        that cannot be.

    Notes
    -----
    z = z_0 + (L(wraps_0 + turns) - L(wraps_0)) / n, L by `line_on_drum_m`.

    Examples
    --------
    >>> block_height_of_turns_m(10.0, 10, 0.762, 0.035, 35, 10.0, 2.0)
    4.5038

    References
    ----------
    .. [1] Derived: travel of a turn is pi D_pitch / n.
    """
    if n_lines < 2:
        raise ValueError(f"n_lines is {n_lines}; must be at least 2")
    drum = (barrel_diameter_m, line_diameter_m, n_wraps_per_layer, layer_rise)
    taken = line_on_drum_m(wraps_at_zero + turns, *drum) - line_on_drum_m(wraps_at_zero, *drum)
    return height_at_zero_m + taken / n_lines


def turns_of_block_height(
    block_height_m: Numeric,
    n_lines: int,
    barrel_diameter_m: float,
    line_diameter_m: float,
    n_wraps_per_layer: float,
    wraps_at_zero: float,
    height_at_zero_m: float,
    layer_rise: float = NESTED_RISE,
) -> Numeric:
    """Turns of the drum for a height of the block: the inverse of `block_height_of_turns_m`.

    Parameters
    ----------
    block_height_m : float or ndarray
        Height of the block. [m]
    n_lines : int
        Lines strung, at least 2. [-]
    barrel_diameter_m : float
        Diameter of the drum's barrel. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    n_wraps_per_layer : float
        Wraps in a layer. [-]
    wraps_at_zero : float
        Wraps on the drum when the encoder read zero. [-]
    height_at_zero_m : float
        Height of the block when the encoder read zero. [m]
    layer_rise : float
        Rise of a layer over the line's diameter. [-]

    Returns
    -------
    float or ndarray
        Turns, hoisting positive. [-]

    Raises
    ------
    ValueError
        For fewer than two lines or a drum that cannot be.

    Notes
    -----
    Wraps of L(wraps_0) + n (z - z_0), less wraps_0.

    Examples
    --------
    >>> turns_of_block_height(4.5038, 10, 0.762, 0.035, 35, 10.0, 2.0)
    10.000

    References
    ----------
    .. [1] Derived.
    """
    if n_lines < 2:
        raise ValueError(f"n_lines is {n_lines}; must be at least 2")
    drum = (barrel_diameter_m, line_diameter_m, n_wraps_per_layer, layer_rise)
    line_m = line_on_drum_m(wraps_at_zero, *drum) + n_lines * (block_height_m - height_at_zero_m)
    return wraps_on_drum(line_m, *drum) - wraps_at_zero


def travel_of_turn_m(pitch_diameter_m: Numeric, n_lines: int) -> Numeric:
    """Travel of the block for one turn of the drum.

    Parameters
    ----------
    pitch_diameter_m : float or ndarray
        Pitch diameter of the layer being spooled. [m]
    n_lines : int
        Lines strung, at least 2. [-]

    Returns
    -------
    float or ndarray
        Travel. [m]

    Raises
    ------
    ValueError
        For a diameter not above 0 or fewer than two lines.

    Notes
    -----
    pi D / n. A wrong line count or a layer left out shows as a constant error of scale.

    Examples
    --------
    >>> travel_of_turn_m(31.375 / 12, 10), travel_of_turn_m(33.7565 / 12, 10)  # ft
    (0.8214, 0.88374)

    References
    ----------
    .. [1] Derived.
    """
    if n_lines < 2:
        raise ValueError(f"n_lines is {n_lines}; must be at least 2")
    check_above_zero(pitch_diameter_m=pitch_diameter_m)
    return math.pi * pitch_diameter_m / n_lines


def surveyed_height_m(
    height_m: Numeric, shown_m: Sequence[float], surveyed_m: Sequence[float]
) -> Numeric:
    """Height of the block corrected by a survey table.

    Parameters
    ----------
    height_m : float or ndarray
        Height from the encoder. [m]
    shown_m : sequence of float
        Heights shown when surveyed, rising, at least two. [m]
    surveyed_m : sequence of float
        Heights measured there, by tape or by laser, rising. [m]

    Returns
    -------
    float or ndarray
        Corrected height. [m]

    Raises
    ------
    ValueError
        For fewer than two points, tables of two lengths, or one that does not rise.

    Notes
    -----
    The correction, measured less shown, runs straight between the points; above and below
    the table it stays that of the nearest end. Place points on either side of each layer
    change. A survey holds for one line count and one load: stretch is in it.

    Examples
    --------
    >>> surveyed_height_m(15.0, (0.0, 10.0, 20.0), (0.0, 10.1, 20.3))
    15.2

    References
    ----------
    .. [1] Derived; a correction table is common practice.
    """
    shown, surveyed = np.asarray(shown_m, dtype=float), np.asarray(surveyed_m, dtype=float)
    if len(shown) < 2 or len(shown) != len(surveyed):
        raise ValueError(
            f"shown_m has {len(shown)} points and surveyed_m {len(surveyed)}; "
            "must be at least 2 and as many"
        )
    for name, table in (("shown_m", shown), ("surveyed_m", surveyed)):
        if not np.all(np.diff(table) > 0.0):
            raise ValueError(f"{name} is {table.tolist()}; must rise from point to point")
    return plain(height_m + np.interp(height_m, shown, surveyed - shown))


def wraps_at_block_height(
    block_height_m: Numeric,
    n_lines: int,
    barrel_diameter_m: float,
    line_diameter_m: float,
    n_wraps_per_layer: float,
    wraps_at_zero: float,
    height_at_zero_m: float,
    layer_rise: float = NESTED_RISE,
) -> Numeric:
    """Wraps on the drum for a height of the block, from wraps counted at one height.

    Parameters
    ----------
    block_height_m : float or ndarray
        Height of the block; its lowest for the wraps left. [m]
    n_lines : int
        Lines strung, at least 2. [-]
    barrel_diameter_m : float
        Diameter of the drum's barrel. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    n_wraps_per_layer : float
        Wraps in a layer. [-]
    wraps_at_zero : float
        Wraps counted. [-]
    height_at_zero_m : float
        Height of the block when they were counted. [m]
    layer_rise : float
        Rise of a layer over the line's diameter. [-]

    Returns
    -------
    float or ndarray
        Wraps; below `drum.LEAST_WRAPS` warn, below 0 there is no line left. [-]

    Raises
    ------
    ValueError
        For fewer than two lines or a drum that cannot be.

    Notes
    -----
    A slip and cut, or another line count, makes the count void: count anew.

    Examples
    --------
    >>> wraps_at_block_height(0.5, 10, 0.762, 0.035, 35, 150.0, 30.0)
    50.05

    References
    ----------
    .. [1] At least six wraps: common practice.
    """
    turns = turns_of_block_height(
        block_height_m,
        n_lines,
        barrel_diameter_m,
        line_diameter_m,
        n_wraps_per_layer,
        wraps_at_zero,
        height_at_zero_m,
        layer_rise,
    )
    return wraps_at_zero + turns


def lowest_block_height_m(
    n_lines: int,
    barrel_diameter_m: float,
    line_diameter_m: float,
    n_wraps_per_layer: float,
    wraps_at_zero: float,
    height_at_zero_m: float,
    layer_rise: float = NESTED_RISE,
    least_wraps: float = LEAST_WRAPS,
) -> float:
    """Lowest height of the block that leaves the least wraps on the drum.

    Parameters
    ----------
    n_lines : int
        Lines strung, at least 2. [-]
    barrel_diameter_m : float
        Diameter of the drum's barrel. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    n_wraps_per_layer : float
        Wraps in a layer. [-]
    wraps_at_zero : float
        Wraps counted. [-]
    height_at_zero_m : float
        Height of the block when they were counted. [m]
    layer_rise : float
        Rise of a layer over the line's diameter. [-]
    least_wraps : float
        Wraps that must stay, at least 0. [-]

    Returns
    -------
    float
        Height; above the floor limit there is too little line on the drum. [m]

    Raises
    ------
    ValueError
        For fewer than two lines, negative wraps, a drum that cannot be.

    Notes
    -----
    z_0 - (L(wraps_0) - L(least)) / n.

    Examples
    --------
    >>> lowest_block_height_m(10, 0.762, 0.035, 35, 60.0, 15.0)
    1.003

    References
    ----------
    .. [1] Derived; at least six wraps: common practice.
    """
    return float(
        block_height_of_turns_m(
            least_wraps - wraps_at_zero,
            n_lines,
            barrel_diameter_m,
            line_diameter_m,
            n_wraps_per_layer,
            wraps_at_zero,
            height_at_zero_m,
            layer_rise,
        )
    )
