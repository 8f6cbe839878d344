"""Spooling of the drilling line on the drawworks' drum, layer by layer.

Each layer has the same number of wraps; the first has the pitch diameter barrel + line,
each further one more by twice the layer's rise. Wraps and length are joined piece by piece
in straight lines. Stretch, flattening and crossovers are not in it: a survey of the block
position (`monitor.mechanics.block_position`) takes up what is left.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.mechanics.arguments import check_above_zero, check_not_negative, plain
from monitor.mechanics.reeving import Numeric

# Rise of a layer over the line's diameter. Nested in the grooves of the layer below: half of
# the square root of 3, derived. Stacked line on line: 1.
NESTED_RISE = math.sqrt(3.0) / 2.0
STACKED_RISE = 1.0

# Wraps that stay on the drum with the block at its lowest: common practice. Rules ask for at
# least 3 (Wyoming servicing 6-2(e)) and, in a condition not seen, 7 (Michigan R 408.15732(5)).
LEAST_WRAPS = 6.0

# Fleet angle: at most for a smooth and for a grooved drum, at least for the line to cross
# back. Wire rope makers' figures, looked up (1 1/2, 2 and 1/2 degrees).
GREATEST_FLEET_ANGLE_rad = {"smooth": math.radians(1.5), "grooved": math.radians(2.0)}
LEAST_FLEET_ANGLE_rad = math.radians(0.5)


def _check_drum(
    barrel_diameter_m: float, line_diameter_m: float, n_wraps_per_layer: float, layer_rise: float
) -> None:
    check_above_zero(
        barrel_diameter_m=barrel_diameter_m,
        line_diameter_m=line_diameter_m,
        n_wraps_per_layer=n_wraps_per_layer,
    )
    if not 0.5 <= layer_rise <= 1.1 and not math.isnan(layer_rise):
        raise ValueError(f"layer_rise is {layer_rise}; must be 0.5 to 1.1 line diameters")


def wraps_of_width(width_m: float, line_diameter_m: float) -> int:
    """Wraps that lie side by side on a drum.

    Parameters
    ----------
    width_m : float
        Width between the flanges, or of the grooved part. [m]
    line_diameter_m : float
        Nominal diameter of the line. [m]

    Returns
    -------
    int
        Wraps in a layer. [-]

    Raises
    ------
    ValueError
        For a width or diameter not above 0, or a drum narrower than its line.

    Notes
    -----
    Width over diameter, rounded down. Grooves are cut somewhat wider than the line: count
    them, where they can be counted.

    Examples
    --------
    >>> wraps_of_width(1.25, 0.035)
    35

    References
    ----------
    .. [1] Derived.
    """
    check_above_zero(width_m=width_m, line_diameter_m=line_diameter_m)
    n_wraps = math.floor(width_m / line_diameter_m + 1e-9)
    if n_wraps < 1:
        raise ValueError(f"width_m is {width_m}; must hold one line of {line_diameter_m} m")
    return n_wraps


def pitch_diameter_m(
    layer: Numeric,
    barrel_diameter_m: float,
    line_diameter_m: float,
    layer_rise: float = NESTED_RISE,
) -> Numeric:
    """Diameter at the line's axis in a layer.

    Parameters
    ----------
    layer : float or ndarray
        Layer, 1 on the barrel. [-]
    barrel_diameter_m : float
        Diameter of the barrel, at the bottom of its grooves. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    layer_rise : float
        Rise of a layer over the line's diameter, 0.866 nested, 1 stacked. [-]

    Returns
    -------
    float or ndarray
        Pitch diameter. [m]

    Raises
    ------
    ValueError
        For a layer below 1, a diameter not above 0, a rise outside 0.5 to 1.1.

    Notes
    -----
    D + d + 2 (layer - 1) rise d.

    Examples
    --------
    >>> [round(float(pitch_diameter_m(k, 30.0, 1.375, 0.866)), 4) for k in (1, 2, 3)]  # inches
    [31.375, 33.7565, 36.138]

    References
    ----------
    .. [1] Derived.
    """
    _check_drum(barrel_diameter_m, line_diameter_m, 1.0, layer_rise)
    check_not_negative(layer_above_the_first=np.subtract(layer, 1.0))
    rise_m = layer_rise * line_diameter_m
    return barrel_diameter_m + line_diameter_m + 2.0 * (layer - 1.0) * rise_m


def line_on_drum_m(
    wraps: Numeric,
    barrel_diameter_m: float,
    line_diameter_m: float,
    n_wraps_per_layer: float,
    layer_rise: float = NESTED_RISE,
) -> Numeric:
    """Length of line that a number of wraps takes.

    Parameters
    ----------
    wraps : float or ndarray
        Wraps on the drum, parts of a wrap too. [-]
    barrel_diameter_m : float
        Diameter of the barrel. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    n_wraps_per_layer : float
        Wraps in a layer. [-]
    layer_rise : float
        Rise of a layer over the line's diameter. [-]

    Returns
    -------
    float or ndarray
        Length. [m]

    Raises
    ------
    ValueError
        For negative wraps or a drum that cannot be.

    Notes
    -----
    Sum over full layers of pi N D_pitch, and what lies in the last one.

    Examples
    --------
    A 10 in barrel, 10 layers of 24 wraps of 1/2 in stacked: 942.5 ft.

    >>> line_on_drum_m(240.0, 0.254, 0.0127, 24, 1.0) / 0.3048
    942.478

    References
    ----------
    .. [1] Public page on winch drums: "about 940 ft"; looked up.
    """
    _check_drum(barrel_diameter_m, line_diameter_m, n_wraps_per_layer, layer_rise)
    check_not_negative(wraps=wraps)
    full = np.floor_divide(wraps, n_wraps_per_layer)
    first = barrel_diameter_m + line_diameter_m
    rise_m = layer_rise * line_diameter_m
    in_full = full * n_wraps_per_layer * (first + (full - 1.0) * rise_m)
    in_last = (wraps - full * n_wraps_per_layer) * (first + 2.0 * full * rise_m)
    length = math.pi * (in_full + in_last)
    return plain(length)


def wraps_on_drum(
    line_m: Numeric,
    barrel_diameter_m: float,
    line_diameter_m: float,
    n_wraps_per_layer: float,
    layer_rise: float = NESTED_RISE,
) -> Numeric:
    """Wraps that a length of line makes: the inverse of `line_on_drum_m`.

    Parameters
    ----------
    line_m : float or ndarray
        Line on the drum; below 0 the drum is short of line. [m]
    barrel_diameter_m : float
        Diameter of the barrel. [m]
    line_diameter_m : float
        Diameter of the line. [m]
    n_wraps_per_layer : float
        Wraps in a layer. [-]
    layer_rise : float
        Rise of a layer over the line's diameter. [-]

    Returns
    -------
    float or ndarray
        Wraps; negative where line is missing, counted in wraps of the first layer. [-]

    Raises
    ------
    ValueError
        For a drum that cannot be.

    Notes
    -----
    Full layers are the floor of the root of a quadratic, then the rest by its layer.

    Examples
    --------
    >>> wraps_on_drum(287.267, 0.254, 0.0127, 24, 1.0)
    240.0

    References
    ----------
    .. [1] Derived.
    """
    _check_drum(barrel_diameter_m, line_diameter_m, n_wraps_per_layer, layer_rise)
    first = barrel_diameter_m + line_diameter_m
    rise_m = layer_rise * line_diameter_m
    turns_m = np.asarray(line_m, dtype=float) / (math.pi * n_wraps_per_layer)
    # m layers take m (first + (m - 1) rise): rise m^2 + (first - rise) m - turns = 0.
    b = first - rise_m
    root = (np.sqrt(b * b + 4.0 * rise_m * np.maximum(turns_m, 0.0)) - b) / (2.0 * rise_m)
    full = np.floor(root * (1.0 + 1e-12))
    in_last = turns_m - full * (first + (full - 1.0) * rise_m)
    wraps = n_wraps_per_layer * (full + in_last / (first + 2.0 * full * rise_m))
    return plain(wraps)


def layer_of_wraps(wraps: Numeric, n_wraps_per_layer: float) -> Numeric:
    """Layer that is being spooled, 1 on the barrel.

    Parameters
    ----------
    wraps : float or ndarray
        Wraps on the drum, at least 0. [-]
    n_wraps_per_layer : float
        Wraps in a layer. [-]

    Returns
    -------
    float or ndarray
        Layer. [-]

    Raises
    ------
    ValueError
        For negative wraps, or not one wrap in a layer.

    Notes
    -----
    1 + floor(wraps / N): the next layer begins when one is full.

    Examples
    --------
    >>> layer_of_wraps(70.5, 35)
    3.0

    References
    ----------
    .. [1] Derived.
    """
    check_not_negative(wraps=wraps)
    check_above_zero(n_wraps_per_layer=n_wraps_per_layer)
    return plain(1.0 + np.floor_divide(wraps, n_wraps_per_layer))


def line_at_block_height_m(
    block_height_m: Numeric, n_lines: int, line_at_reference_m: float, reference_height_m: float
) -> Numeric:
    """Line on the drum for a height of the block.

    Parameters
    ----------
    block_height_m : float or ndarray
        Height of the block. [m]
    n_lines : int
        Lines strung, at least 2. [-]
    line_at_reference_m : float
        Line on the drum at the reference height. [m]
    reference_height_m : float
        Height at which the wraps were counted. [m]

    Returns
    -------
    float or ndarray
        Line on the drum; below 0 the line is too short to reach that height. [m]

    Raises
    ------
    ValueError
        For fewer than two lines.

    Notes
    -----
    The drum takes n metres of line for each metre of block.

    Examples
    --------
    >>> line_at_block_height_m(0.0, 10, 400.0, 30.0)
    100.0

    References
    ----------
    .. [1] Derived.
    """
    if n_lines < 2:
        raise ValueError(f"n_lines is {n_lines}; must be at least 2")
    return line_at_reference_m + n_lines * (block_height_m - reference_height_m)


def fleet_angle_rad(offset_m: Numeric, distance_m: float) -> Numeric:
    """Angle between the fast line and the plane of its sheave.

    Parameters
    ----------
    offset_m : float or ndarray
        Distance of the wrap from the plane of the sheave along the drum, to either side;
        at the flange half the drum's width where the sheave is centred. [m]
    distance_m : float
        From the sheave to the drum, above 0. [m]

    Returns
    -------
    float or ndarray
        Fleet angle, at least 0. [rad]

    Raises
    ------
    ValueError
        For a distance not above 0.

    Notes
    -----
    atan(|offset| / distance). Greatest and least values in `GREATEST_FLEET_ANGLE_rad` and
    `LEAST_FLEET_ANGLE_rad`; a line that passes too near the plane piles up, one too far
    from it rubs.

    Examples
    --------
    >>> fleet_angle_rad(0.65, 30.0) * 180 / math.pi
    1.241

    References
    ----------
    .. [1] Wire rope makers' pages on winding, angle defined and limits; looked up.
    """
    check_above_zero(distance_m=distance_m)
    return plain(np.arctan(np.abs(offset_m) / distance_m))
