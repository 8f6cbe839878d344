"""The string as weight and as steel: buoyancy, weight by depth, tensile capacity.

Textbook formulas (API RP 7G). The hole is taken as vertical and without friction here;
drag is in `monitor.mechanics.drag`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.reeving import Numeric
from monitor.rig.catalogue import PIPE_CLASS_WALL, STEEL_DENSITY_kg_m3
from monitor.rig.rig import Section


def buoyancy_factor(
    mud_density_kg_m3: float, steel_density_kg_m3: float = STEEL_DENSITY_kg_m3
) -> float:
    """Weight in mud over weight in air of an open steel string full of the same mud.

    Parameters
    ----------
    mud_density_kg_m3 : float
        Density of the mud, inside and outside, at least 0. [kg/m3]
    steel_density_kg_m3 : float
        Density of the steel. [kg/m3]

    Returns
    -------
    float
        Buoyancy factor. [-]

    Raises
    ------
    ValueError
        For a negative mud density or a steel density that is not above it.

    Notes
    -----
    1 - rho_mud / rho_steel; in field units (65.5 - ppg) / 65.5.

    Examples
    --------
    >>> buoyancy_factor(1200.0)
    0.847

    References
    ----------
    .. [1] API RP 7G, Drill Stem Design and Operating Limits; from memory.
    """
    if mud_density_kg_m3 < 0.0:
        raise ValueError(f"mud_density_kg_m3 is {mud_density_kg_m3}; must be at least 0")
    if steel_density_kg_m3 <= mud_density_kg_m3:
        raise ValueError(
            f"steel_density_kg_m3 is {steel_density_kg_m3}; must be above the mud's "
            f"{mud_density_kg_m3}"
        )
    return 1.0 - mud_density_kg_m3 / steel_density_kg_m3


def section_lengths_m(sections: Sequence[Section], hanging_length_m: float) -> list[float]:
    """Length of each section that hangs, from the bit upwards.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    hanging_length_m : float
        From the bit to where the string hangs: bit depth for what is below the floor, bit
        depth plus block position for all below the elevators. [m]

    Returns
    -------
    list of float
        As many lengths as sections; they add up to the hanging length. [m]

    Raises
    ------
    ValueError
        For a string without sections.

    Notes
    -----
    The uppermost section goes on when the string is longer than the sum of its sections.
    A negative length counts as none.

    Examples
    --------
    >>> collars = Section("drill collars", 100.0, 0.2, 0.07, 2000.0)
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> section_lengths_m([collars, pipe], 1500.0), section_lengths_m([collars, pipe], 60.0)
    ([100.0, 1400.0], [60.0, 0.0])

    References
    ----------
    .. [1] Derived.
    """
    if not sections:
        raise ValueError("sections is empty; at least one section is needed")
    left = max(hanging_length_m, 0.0) if not math.isnan(hanging_length_m) else math.nan
    lengths = []
    for section in sections[:-1]:
        length = left if section.length_m is None else min(section.length_m, left)
        lengths.append(length)
        left -= length
    return [*lengths, left]


def string_weight_N(
    sections: Sequence[Section],
    hanging_length_m: Numeric,
    mud_density_kg_m3: float | None = None,
) -> NDArray[np.float64]:
    """Weight of the string that hangs, in mud, hole vertical and without friction.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    hanging_length_m : float or ndarray
        Bit depth, or bit depth plus block position, as `section_lengths_m`. [m]
    mud_density_kg_m3 : float or None
        Density of the mud; None gives the weight in air. [kg/m3]

    Returns
    -------
    ndarray
        Weight, of the shape of the length; travelling equipment not included. [N]

    Raises
    ------
    ValueError
        For a string without sections, or as `buoyancy_factor`.

    Notes
    -----
    Sum over sections of weight per length times the length that hangs, times the buoyancy
    factor. Each row is worked by itself, so that cutting an array changes no bit of it.
    Not-a-number depth gives not-a-number; a negative one counts as none.

    Examples
    --------
    >>> collars = Section("drill collars", 100.0, 0.2, 0.07, 2000.0)
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086, 330.0)
    >>> string_weight_N([collars, pipe], np.array([50.0, 1100.0])).tolist()
    [100000.0, 530000.0]

    References
    ----------
    .. [1] Derived.
    """
    if not sections:
        raise ValueError("sections is empty; at least one section is needed")
    factor = 1.0 if mud_density_kg_m3 is None else buoyancy_factor(mud_density_kg_m3)
    left = np.maximum(np.asarray(hanging_length_m, dtype=np.float64), 0.0)
    weight = np.zeros_like(left)
    for section in sections[:-1]:
        length = left if section.length_m is None else np.minimum(left, section.length_m)
        weight = weight + section.weight_in_air_N_m * length
        left = left - length
    return np.asarray((weight + sections[-1].weight_in_air_N_m * left) * factor)


def steel_area_m2(outside_diameter_m: float, inside_diameter_m: float) -> float:
    """Cross-section of steel of a tube.

    Parameters
    ----------
    outside_diameter_m : float
        Outside diameter. [m]
    inside_diameter_m : float
        Inside diameter, at least 0 and below the outside one. [m]

    Returns
    -------
    float
        Area. [m2]

    Raises
    ------
    ValueError
        For diameters of no tube.

    Notes
    -----
    pi / 4 (OD^2 - ID^2).

    Examples
    --------
    >>> steel_area_m2(5 * 0.0254, 4.276 * 0.0254) / 0.0254**2
    5.2746

    References
    ----------
    .. [1] Derived; 5.275 in2 in a pipe supplier's sheet, looked up.
    """
    if not 0.0 <= inside_diameter_m < outside_diameter_m:
        raise ValueError(
            f"inside_diameter_m is {inside_diameter_m}; must be at least 0 and below the "
            f"outside diameter {outside_diameter_m}"
        )
    return math.pi / 4 * (outside_diameter_m**2 - inside_diameter_m**2)


def worn_outside_diameter_m(
    outside_diameter_m: float, inside_diameter_m: float, pipe_class: str
) -> float:
    """Outside diameter left on used drill pipe of a class.

    Parameters
    ----------
    outside_diameter_m : float
        Outside diameter of new pipe. [m]
    inside_diameter_m : float
        Inside diameter. [m]
    pipe_class : str
        ``"new"``, ``"premium"`` or ``"class 2"``. [-]

    Returns
    -------
    float
        Least outside diameter of that class. [m]

    Raises
    ------
    ValueError
        For another class.

    Notes
    -----
    Wear is taken as uniform on the outside: premium pipe has 80 % of the new wall left,
    class 2 has 70 %.

    Examples
    --------
    Premium 5-in 19.50 lb/ft, 4.855 in in a supplier's sheet:

    >>> worn_outside_diameter_m(5 * 0.0254, 4.276 * 0.0254, "premium") / 0.0254
    4.855

    References
    ----------
    .. [1] API RP 7G, inspection classes; from memory.
    """
    if pipe_class not in PIPE_CLASS_WALL:
        known = ", ".join(PIPE_CLASS_WALL)
        raise ValueError(f"pipe_class is {pipe_class!r}; must be one of: {known}")
    wall = (outside_diameter_m - inside_diameter_m) / 2 * PIPE_CLASS_WALL[pipe_class]
    return inside_diameter_m + 2 * wall


def tensile_capacity_N(
    outside_diameter_m: float,
    inside_diameter_m: float,
    yield_strength_Pa: float,
    pipe_class: str = "premium",
    design_factor: float = 1.0,
) -> float:
    """Pull at which the body of drill pipe yields, or that over a design factor.

    Parameters
    ----------
    outside_diameter_m : float
        Outside diameter of new pipe. [m]
    inside_diameter_m : float
        Inside diameter. [m]
    yield_strength_Pa : float
        Minimum yield strength of the grade. [Pa]
    pipe_class : str
        ``"new"``, ``"premium"`` or ``"class 2"``. [-]
    design_factor : float
        Yield over what is allowed, at least 1; 1 gives the yield itself. [-]

    Returns
    -------
    float
        Tensile capacity over the design factor. [N]

    Raises
    ------
    ValueError
        For another class, diameters of no tube, a design factor below 1.

    Notes
    -----
    Area left by wear times yield strength. Torque with it is in
    `monitor.mechanics.pipe_strength`; tool joints, bending and pressure lower it too and are
    in neither.

    Examples
    --------
    5-in 19.50 lb/ft S135, in lbf:

    >>> psi, inch, lbf = 6894.757293168361, 0.0254, 4.4482216152605
    >>> tensile_capacity_N(5 * inch, 4.276 * inch, 135e3 * psi, "new") / lbf
    712070.
    >>> tensile_capacity_N(5 * inch, 4.276 * inch, 135e3 * psi) / lbf
    560764.

    References
    ----------
    .. [1] API RP 7G, tables of new, premium and class 2 drill pipe; a supplier's sheet
       printing 712 100 and 560 800 lb looked up.
    """
    if design_factor < 1.0:
        raise ValueError(f"design_factor is {design_factor}; must be at least 1")
    worn = worn_outside_diameter_m(outside_diameter_m, inside_diameter_m, pipe_class)
    return yield_strength_Pa * steel_area_m2(worn, inside_diameter_m) / design_factor
