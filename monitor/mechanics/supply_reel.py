"""Line left on the supply reel: by geometry, by book, and in cuts.

The book is delivered less cut off less in use; the reel's own layers check it.
"""

from __future__ import annotations

import math

from monitor.mechanics.arguments import check_above_zero, check_not_negative
from monitor.mechanics.reeving import Numeric


def reel_line_m(
    wound_depth_m: Numeric,
    barrel_diameter_m: float,
    traverse_m: float,
    line_diameter_m: float,
) -> Numeric:
    """Line wound on a reel, from the depth of its layers.

    Parameters
    ----------
    wound_depth_m : float or ndarray
        Depth of the layers, from the barrel to the outermost line, at least 0. [m]
    barrel_diameter_m : float
        Diameter of the barrel. [m]
    traverse_m : float
        Width between the flanges. [m]
    line_diameter_m : float
        Diameter of the line as it is, oversize included. [m]

    Returns
    -------
    float or ndarray
        Length. [m]

    Raises
    ------
    ValueError
        For a negative depth, a diameter or width not above 0.

    Notes
    -----
    pi (A + B) A C / d^2, the volume of the ring over the square a line takes: A depth, B
    barrel, C traverse. Uneven winding holds less, nested layers hold more.

    Examples
    --------
    >>> reel_line_m(5.0, 10.0, 12.0, 0.5) / 12  # in to ft
    942.478

    References
    ----------
    .. [1] Public pages of rope and winch makers: (A + B) A C K; looked up. Their K allows
       for oversize, here the diameter does.
    """
    check_not_negative(wound_depth_m=wound_depth_m)
    check_above_zero(
        barrel_diameter_m=barrel_diameter_m, traverse_m=traverse_m, line_diameter_m=line_diameter_m
    )
    ring = math.pi * (wound_depth_m + barrel_diameter_m) * wound_depth_m * traverse_m
    return ring / line_diameter_m**2


def supply_line_m(delivered_m: float, cut_off_m: float, in_use_m: float) -> float:
    """Line left on the supply reel by the book.

    Parameters
    ----------
    delivered_m : float
        Length delivered. [m]
    cut_off_m : float
        Length cut off so far, long cuts included. [m]
    in_use_m : float
        Length between drum and anchor, `string_up.line_in_use_m`. [m]

    Returns
    -------
    float
        Length left; below 0 the book cannot be right. [m]

    Raises
    ------
    ValueError
        For a negative length.

    Notes
    -----
    Delivered - cut off - in use.

    Examples
    --------
    >>> supply_line_m(1500.0, 320.0, 560.0)
    620.0

    References
    ----------
    .. [1] Derived.
    """
    check_not_negative(delivered_m=delivered_m, cut_off_m=cut_off_m, in_use_m=in_use_m)
    return delivered_m - cut_off_m - in_use_m


def whole_cuts(supply_m: float, cut_length_m: float) -> int:
    """Whole cuts that the line on the supply reel still allows.

    Parameters
    ----------
    supply_m : float
        Line left on the supply reel; below 0 counts as none. [m]
    cut_length_m : float
        Length of a cut, above 0. [m]

    Returns
    -------
    int
        Cuts. [-]

    Raises
    ------
    ValueError
        For a cut length not above 0, or a length that is not known.

    Notes
    -----
    Rounded down.

    Examples
    --------
    >>> whole_cuts(620.0, 30.0)
    20

    References
    ----------
    .. [1] Derived.
    """
    check_above_zero(cut_length_m=cut_length_m)
    if not math.isfinite(supply_m) or not math.isfinite(cut_length_m):
        raise ValueError(f"supply_m is {supply_m}; must be known, as cut_length_m, {cut_length_m}")
    return max(0, math.floor(supply_m / cut_length_m))
