"""What the string bears: torque, pull with torque, margin of overpull, the weakest point.

Pipe body only, of minimum dimensions and minimum yield (API RP 7G). Tool joints, bending,
pressure, slip crushing, corrosion and fatigue lower it and are not in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.pipe import (
    buoyancy_factor,
    section_lengths_m,
    steel_area_m2,
    worn_outside_diameter_m,
)
from monitor.mechanics.reeving import Numeric
from monitor.mechanics.soft_string import Hole, LONGEST_ELEMENT_m
from monitor.mechanics.survey import vertical_depth_m
from monitor.rig.rig import Section

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WeakestPoint:
    """Where the string reaches its capacity first when it is pulled."""

    section: str  # name; empty where no capacity is known
    depth_m: float  # measured depth of the point
    pull_N: float  # pull at the rig floor that brings it there, travelling gear left out
    margin_N: float  # that pull less the weight of the free string: margin of overpull
    not_searched: tuple[str, ...]  # sections in the free string without a known capacity


def torsional_capacity_Nm(
    outside_diameter_m: float,
    inside_diameter_m: float,
    yield_strength_Pa: float,
    pipe_class: str = "premium",
    design_factor: float = 1.0,
) -> float:
    """Torque at which the body of drill pipe yields, or that over a design factor.

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
        Yield over what is allowed, at least 1. [-]

    Returns
    -------
    float
        Torsional capacity. [N m]

    Raises
    ------
    ValueError
        For another class, diameters of no tube, a design factor below 1.

    Notes
    -----
    Y / sqrt(3) times 2 J / D. RP 7G prints 0.096167 J Y / D in field units, that is 0.577
    for 1 / sqrt(3): 0.06 % less. The tool joint often is weaker than the body.

    Examples
    --------
    5-in 19.50 lb/ft E75, in ft-lb; 41 170 is printed:

    >>> psi, inch, foot_pound = 6894.757293168361, 0.0254, 1.3558179483314004
    >>> torsional_capacity_Nm(5 * inch, 4.276 * inch, 75e3 * psi, "new") / foot_pound
    41191.

    References
    ----------
    .. [1] API RP 7G, appendix A, torsional strength, and table 2; a copy of the table looked
       up, the formula from memory.
    """
    if design_factor < 1.0:
        raise ValueError(f"design_factor is {design_factor}; must be at least 1")
    worn = worn_outside_diameter_m(outside_diameter_m, inside_diameter_m, pipe_class)
    area = steel_area_m2(worn, inside_diameter_m)
    polar = area * (worn**2 + inside_diameter_m**2) / 8
    return yield_strength_Pa / math.sqrt(3.0) * 2 * polar / worn / design_factor


def left_by(other: Numeric, other_capacity: float, capacity: float) -> Array:
    """Capacity that is left of one load where another of its own kind of capacity is on.

    Parameters
    ----------
    other : float or ndarray
        The load that is on already: torque or pull, either sign. [N m or N]
    other_capacity : float
        Capacity for that load alone, above 0. [N m or N]
    capacity : float
        Capacity for the load that is asked for, alone. [N or N m]

    Returns
    -------
    ndarray
        What is left; 0 where the other load takes all. [N or N m]

    Raises
    ------
    ValueError
        For another capacity not above 0.

    Notes
    -----
    Von Mises: (P / P_max)^2 + (T / T_max)^2 = 1. With a design factor in both capacities it
    is that factor on the equivalent stress. Not-a-number in gives not-a-number.

    Examples
    --------
    3/5 of the torque leaves 4/5 of the pull:

    >>> float(left_by(30e3, 50e3, 2e6))
    1600000.0

    References
    ----------
    .. [1] API RP 7G, appendix A, combined torsion and tension; from memory.
    """
    if other_capacity <= 0.0:
        raise ValueError(f"other_capacity is {other_capacity}; must be above 0")
    share = np.asarray(other, dtype=np.float64) / other_capacity
    return np.asarray(capacity * np.sqrt(np.maximum(1.0 - share**2, 0.0)))


def tensile_capacity_under_torque_N(
    torque_Nm: Numeric, tensile_capacity_N: float, torsional_capacity_Nm: float
) -> Array:
    """Pull that the pipe bears while torque is on it.

    Parameters
    ----------
    torque_Nm : float or ndarray
        Torque on the pipe there, either sign. [N m]
    tensile_capacity_N : float
        Capacity without torque, design factor in it or not. [N]
    torsional_capacity_Nm : float
        Capacity without pull, with the same design factor, above 0. [N m]

    Returns
    -------
    ndarray
        Tensile capacity left; 0 from the torsional capacity on. [N]

    Raises
    ------
    ValueError
        For a torsional capacity not above 0.

    Notes
    -----
    See `left_by`.

    Examples
    --------
    >>> float(tensile_capacity_under_torque_N(30e3, 2e6, 50e3))
    1600000.0

    References
    ----------
    .. [1] API RP 7G, appendix A, combined torsion and tension; from memory.
    """
    return left_by(torque_Nm, torsional_capacity_Nm, tensile_capacity_N)


def torsional_capacity_under_tension_Nm(
    tension_N: Numeric, tensile_capacity_N: float, torsional_capacity_Nm: float
) -> Array:
    """Torque that the pipe bears while it is pulled.

    Parameters
    ----------
    tension_N : float or ndarray
        Tension of the pipe there. [N]
    tensile_capacity_N : float
        Capacity without torque, with the same design factor, above 0. [N]
    torsional_capacity_Nm : float
        Capacity without pull, design factor in it or not. [N m]

    Returns
    -------
    ndarray
        Torsional capacity left; 0 from the tensile capacity on. [N m]

    Raises
    ------
    ValueError
        For a tensile capacity not above 0.

    Notes
    -----
    See `left_by`.

    Examples
    --------
    250 000 lb on new 5-in 19.50 lb/ft E75 at 85 % of yield, in ft-lb; 24 000 is read from a
    printed graph:

    >>> float(torsional_capacity_under_tension_Nm(250e3, 0.85 * 395_595, 0.85 * 41_170))
    23403.

    References
    ----------
    .. [1] API RP 7G, appendix A, combined torsion and tension; from memory. Example: a stuck
       pipe handbook's graph of torque and pull on netwasgroup.us; looked up.
    """
    return left_by(tension_N, tensile_capacity_N, torsional_capacity_Nm)


def margin_of_overpull_N(capacity_N: Numeric, tension_N: Numeric, design_factor: float) -> Array:
    """Pull that may be added to what the pipe carries.

    Parameters
    ----------
    capacity_N : float or ndarray
        Tensile capacity, no design factor in it. [N]
    tension_N : float or ndarray
        What the pipe carries there, travelling equipment not included. [N]
    design_factor : float
        Yield over what is allowed, at least 1; 1 / 0.9 is common. [-]

    Returns
    -------
    ndarray
        Margin; below 0 where the pipe carries more than is allowed. [N]

    Raises
    ------
    ValueError
        For a design factor below 1.

    Notes
    -----
    Capacity over the factor, less the tension.

    Examples
    --------
    436 klb of capacity, 270 klb hanging, 90 % allowed; 122 klb is published:

    >>> float(margin_of_overpull_N(436e3, 270e3, 1 / 0.9))
    122400.0

    References
    ----------
    .. [1] API RP 7G, margin of overpull; example of a drilling formulas site, looked up.
    """
    if design_factor < 1.0:
        raise ValueError(f"design_factor is {design_factor}; must be at least 1")
    return np.asarray(np.asarray(capacity_N, dtype=np.float64) / design_factor - tension_N)


def _spans(sections: Sequence[Section], bit_depth_m: float) -> list[tuple[float, float]]:
    """Measured depths of the upper and lower end of each section, cut off at the floor."""
    lower, spans = bit_depth_m, []
    for length in section_lengths_m(sections, bit_depth_m):
        spans.append((max(lower - length, 0.0), lower))
        lower = spans[-1][0]
    return spans


def _weight_above_N(
    sections: Sequence[Section], spans: Sequence[tuple[float, float]], hole: Hole, depth_m: Array
) -> Array:
    """Weight that hangs from the floor of all that is above a depth, without friction."""
    density = hole.mud_density_kg_m3
    factor = 1.0 if density is None else buoyancy_factor(density)
    weight = np.zeros_like(depth_m)
    for section, (upper, lower) in zip(sections, spans, strict=True):
        ends = [vertical_depth_m(hole.path, np.minimum(depth_m, end)) for end in (upper, lower)]
        weight += section.weight_in_air_N_m * factor * (ends[1] - ends[0])
    return weight


def weakest_point(
    sections: Sequence[Section],
    capacity_N: Sequence[float | None],
    hole: Hole,
    bit_depth_m: float,
    *,
    stuck_depth_m: float | None = None,
) -> WeakestPoint:
    """Find where the string reaches its capacity first when it is pulled at the rig floor.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards, at least one. [-]
    capacity_N : sequence of float or None
        Of each section, what it may bear: torque and design factor taken off already; None
        where it is not known. [N]
    hole : Hole
        Path and mud; ``Hole(well_path(()))`` is vertical. [-]
    bit_depth_m : float
        Measured bit depth, at least 0. [m]
    stuck_depth_m : float or None
        Measured depth where the string is held, 0 to the bit depth; None: at the bit. [m]

    Returns
    -------
    WeakestPoint
        Point [m], pull and margin [N]; an infinite pull where no capacity is known.

    Raises
    ------
    ValueError
        For as many capacities as there are not sections, a stuck depth outside the string,
        a negative bit depth, or as
        `monitor.mechanics.pipe.buoyancy_factor`.

    Notes
    -----
    At a depth the tension is the pull less the weight that hangs above it; below the stuck
    point a pull does not reach. Drag takes some of the pull away on its way down, so without
    it the pull comes out on the safe side. Searched at the top of each section, at every
    station and every 30 m between.

    Examples
    --------
    Strong pipe over weak: the weak one's top is where it parts.

    >>> from monitor.mechanics.survey import well_path
    >>> weak = Section("3 1/2 in pipe", 1000.0, 0.0889, 0.0702, 200.0)
    >>> strong = Section("5 in pipe", None, 0.127, 0.1086, 300.0)
    >>> found = weakest_point([weak, strong], [1e6, 2e6], Hole(well_path(())), 3000.0)
    >>> found.section, found.depth_m, found.pull_N, found.margin_N
    ('3 1/2 in pipe', 2000.0, 1600000.0, 800000.0)

    References
    ----------
    .. [1] API RP 7G, tapered strings; from memory.
    """
    if len(capacity_N) != len(sections):
        raise ValueError(
            f"capacity_N has {len(capacity_N)} values; must have one for each of "
            f"{len(sections)} sections"
        )
    held = bit_depth_m if stuck_depth_m is None else stuck_depth_m
    if not (0.0 <= held <= bit_depth_m or math.isnan(held) or math.isnan(bit_depth_m)):
        raise ValueError(f"stuck_depth_m is {held}; must be 0 to the bit depth {bit_depth_m}")
    if math.isnan(held) or math.isnan(bit_depth_m):
        return WeakestPoint("", math.nan, math.nan, math.nan, ())
    spans = _spans(sections, bit_depth_m)
    between = np.union1d(hole.path.depth_m, np.arange(0.0, bit_depth_m, LONGEST_ELEMENT_m))
    pull, where, name, unknown = math.inf, math.nan, "", []
    for section, capacity, (upper, lower) in zip(sections, capacity_N, spans, strict=True):
        if lower <= upper or upper > held:
            continue
        if capacity is None:
            unknown.append(section.name)
            continue
        inside = between[(between > upper) & (between < min(lower, held))]
        points = np.append(upper, inside)
        reached = capacity + _weight_above_N(sections, spans, hole, points)
        k = int(np.argmin(reached))
        if not (math.isnan(pull) or reached[k] >= pull):  # not-a-number stays
            pull, where, name = float(reached[k]), float(points[k]), section.name
    free_weight = float(_weight_above_N(sections, spans, hole, np.array([held]))[0])
    return WeakestPoint(name, where, pull, pull - free_weight, tuple(unknown))
