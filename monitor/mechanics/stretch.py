"""Stretch of the string under a pull, and the free length it tells.

Hooke's law over the sections that hang free. By steel area, not by printed weight: weight
with tool joints would make the free length come out a third too long. Friction in the
hole is not in it, so pulls are taken from a load already tight.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from monitor.mechanics.pipe import section_lengths_m, steel_area_m2
from monitor.rig.rig import Section

# 30 000 000 psi, the modulus of the printed free-point constants 735 294 and 2500.
STEEL_MODULUS_Pa = 206_842_718_795.05
# Range 2 pipe with its tool joint, 31 to 32 ft (common practice).
USUAL_JOINT_LENGTH_m = 9.6


# One for the whole string, or one a section, from the bit upwards.
Stiffening = float | Sequence[float]


def _downwards(
    sections: Sequence[Section], hanging_length_m: float, stiffening: Stiffening, modulus_Pa: float
) -> list[tuple[float, float]]:
    """List length and stretch per length and pull of each section, uppermost first."""
    each = [stiffening] * len(sections) if isinstance(stiffening, float) else list(stiffening)
    if not all(share > 0.0 for share in each):
        raise ValueError(f"stiffening is {stiffening}; must be above 0")
    if len(each) != len(sections):
        raise ValueError(f"stiffening has {len(each)} values; must be one for each section")
    lengths = section_lengths_m(sections, hanging_length_m)
    rows = []
    for section, length, share in zip(sections, lengths, each, strict=True):
        area = steel_area_m2(section.outside_diameter_m, section.inside_diameter_m)
        rows.append((length, 1.0 / (modulus_Pa * area * share)))
    return rows[::-1]


def tool_joint_stiffening(
    outside_diameter_m: float,
    inside_diameter_m: float,
    tool_joint_length_m: float,
    tool_joint_outside_diameter_m: float,
    *,
    joint_length_m: float = USUAL_JOINT_LENGTH_m,
) -> float:
    """Stiffness of pipe with its tool joints over that of the plain tube.

    Parameters
    ----------
    outside_diameter_m, inside_diameter_m : float
        Diameters of the tube. [m]
    tool_joint_length_m : float
        Pin and box together, from shoulder to shoulder of the tube. [m]
    tool_joint_outside_diameter_m : float
        Outside diameter of the tool joint. [m]
    joint_length_m : float
        Length of one joint of pipe, its tool joint included. [m]

    Returns
    -------
    float
        At least 1. [-]

    Raises
    ------
    ValueError
        For a tool joint thinner than the tube or longer than the joint of pipe.

    Notes
    -----
    Tube and tool joint are springs in series: with the tool joint's share s of the length,
    1 / (1 - s (1 - A_tube / A_joint)). The tool joint's bore is taken as the tube's; a
    narrower one adds 0.3 % in the example, upsets about 0.5 %.

    Examples
    --------
    5-in 19.50 lb/ft pipe with 6 5/8-in tool joints half a metre long:

    >>> tool_joint_stiffening(0.127, 0.1086104, 0.5, 0.168275)
    1.040

    References
    ----------
    .. [1] Derived. Length of a joint of Range 2 pipe: common practice.
    """
    tube = steel_area_m2(outside_diameter_m, inside_diameter_m)
    joint = steel_area_m2(tool_joint_outside_diameter_m, inside_diameter_m)
    share = tool_joint_length_m / joint_length_m
    if joint < tube:
        raise ValueError(
            f"tool_joint_outside_diameter_m is {tool_joint_outside_diameter_m}; must be at "
            f"least the tube's {outside_diameter_m}"
        )
    if not 0.0 <= share < 1.0:
        raise ValueError(
            f"tool_joint_length_m is {tool_joint_length_m}; must be below {joint_length_m}"
        )
    return 1.0 / (1.0 - share * (1.0 - tube / joint))


def stretch_m(
    pull_N: float,
    sections: Sequence[Section],
    hanging_length_m: float,
    *,
    stiffening: Stiffening = 1.0,
    modulus_Pa: float = STEEL_MODULUS_Pa,
) -> float:
    """Stretch of the whole string under a pull at its upper end, held at the bit.

    Parameters
    ----------
    pull_N : float
        Pull beyond the string's own weight, or the difference of two pulls. [N]
    sections : sequence of Section
        The string from the bit upwards. [-]
    hanging_length_m : float
        From the bit to where it is pulled: bit depth plus block position. [m]
    stiffening : float or sequence of float
        Stiffness with tool joints over that of the plain tube, about 1.04 for drill pipe;
        one for all or one for each section. [-]
    modulus_Pa : float
        Modulus of elasticity. [Pa]

    Returns
    -------
    float
        Stretch. [m]

    Raises
    ------
    ValueError
        For a string without sections, diameters of no tube, a stiffening not above 0.

    Notes
    -----
    Sum of P L / (E A) over the sections.

    Examples
    --------
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086104, 330.0)
    >>> stretch_m(100e3, [pipe], 2000.0)
    0.284

    References
    ----------
    .. [1] API RP 7G, stretch of drill pipe; from memory.
    """
    rows = _downwards(sections, hanging_length_m, stiffening, modulus_Pa)
    return pull_N * sum(length * per_length for length, per_length in rows)


def free_length_m(
    stretch_m: float,
    pull_N: float,
    sections: Sequence[Section],
    bit_depth_m: float,
    *,
    above_floor_m: float = 0.0,
    hoist_compliance_m_N: float = 0.0,
    stiffening: Stiffening = 1.0,
    modulus_Pa: float = STEEL_MODULUS_Pa,
) -> float:
    """Free length from the rig floor to the stuck point, from stretch under a pull.

    Parameters
    ----------
    stretch_m : float
        Block movement between two pulls. [m]
    pull_N : float
        Difference of the two hook loads, above 0. [N]
    sections : sequence of Section
        The string from the bit upwards. [-]
    bit_depth_m : float
        Bit depth along the string. [m]
    above_floor_m : float
        Pipe between rig floor and elevators: block position. [m]
    hoist_compliance_m_N : float
        Block movement per pull from line and mast, which is not stretch of pipe. [m/N]
    stiffening : float or sequence of float
        Stiffness with tool joints over that of the plain tube, about 1.04 for drill pipe;
        one for all or one for each section. [-]
    modulus_Pa : float
        Modulus of elasticity. [Pa]

    Returns
    -------
    float
        Free length along the string below the rig floor. [m]

    Raises
    ------
    ValueError
        For a pull not above 0, or as `stretch_m`.

    Notes
    -----
    The sections are walked down until their stretch adds up to the one measured. Below the
    bit the lowest section is taken to go on: a result beyond the bit depth says that the
    movement was more than stretch. Negative: less movement than line, mast and the pipe
    above the floor account for. Not-a-number in gives not-a-number.

    Examples
    --------
    24 in at 30 000 lb on 5-in 19.50 lb/ft pipe; 10 547 ft is published, from 3.4 lb/ft per
    in2 of steel, which is rounded:

    >>> pipe = Section("drill pipe", None, 0.127, 0.1086104, 330.0)
    >>> free_length_m(24 * 0.0254, 30e3 * 4.4482216152605, [pipe], 4000.0) / 0.3048
    10549.

    References
    ----------
    .. [1] Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover,
       stuck pipe; looked up.
    """
    if pull_N <= 0.0:
        raise ValueError(f"pull_N is {pull_N}; must be above 0")
    rows = _downwards(sections, bit_depth_m + above_floor_m, stiffening, modulus_Pa)
    left = stretch_m / pull_N - hoist_compliance_m_N
    if math.isnan(left):
        return math.nan
    free = -above_floor_m
    for length, per_length in rows[:-1]:
        if left <= length * per_length:
            return free + left / per_length
        left -= length * per_length
        free += length
    return free + left / rows[-1][1]
