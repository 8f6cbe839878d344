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


def _downwards(
    sections: Sequence[Section], hanging_length_m: float, stiffening: float, modulus_Pa: float
) -> list[tuple[float, float]]:
    """List length and stretch per length and pull of each section, uppermost first."""
    if not stiffening > 0.0:
        raise ValueError(f"stiffening is {stiffening}; must be above 0")
    lengths = section_lengths_m(sections, hanging_length_m)
    rows = []
    for section, length in zip(sections, lengths, strict=True):
        area = steel_area_m2(section.outside_diameter_m, section.inside_diameter_m)
        rows.append((length, 1.0 / (modulus_Pa * area * stiffening)))
    return rows[::-1]


def stretch_m(
    pull_N: float,
    sections: Sequence[Section],
    hanging_length_m: float,
    *,
    stiffening: float = 1.0,
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
    stiffening : float
        Stiffness with tool joints over that of the plain tube, about 1.04. [-]
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
    stiffening: float = 1.0,
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
    stiffening : float
        Stiffness with tool joints over that of the plain tube, about 1.04. [-]
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
