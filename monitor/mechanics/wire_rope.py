"""Strength and design factor of the drilling line (API RP 9B, API Spec 9A).

The tool compares with limits; whether a rope may stay in use is decided by inspection.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from monitor.rig import catalogue

# Least design factors: 3 in hoisting; 2 only when setting casing or pulling on stuck pipe
# and on similar infrequent occasions. API RP 9B, from memory (its addendum of 2020 changed
# that table); the same in Wyoming OSHA drilling rules ch. 6 s. 6-6(a) and Michigan
# R 408.15732(3), looked up.
LEAST_DESIGN_FACTOR: Mapping[str, float] = {
    "hoisting": 3.0,
    "setting casing": 2.0,
    "pulling on stuck pipe": 2.0,
}


def design_factor(strength_N: float, fast_line_tension_N: float) -> float:
    """Nominal strength of the line over its greatest tension.

    Parameters
    ----------
    strength_N : float
        Nominal strength, above 0. [N]
    fast_line_tension_N : float
        Fast-line tension, friction included, at least 0. [N]

    Returns
    -------
    float
        Design factor; infinite for an unloaded line. [-]

    Raises
    ------
    ValueError
        For a strength not above 0 or a negative tension.

    Notes
    -----
    Bending over sheaves and wear are not in it; the limits of 3 and 2 allow for them.

    Examples
    --------
    400 000 lb on ten lines of 1 3/8 in EIPS, 192 000 lb; fast line 49 200 lb:

    >>> design_factor(192_000.0, 49_200.0)
    3.9

    References
    ----------
    .. [1] API RP 9B, 14th ed., Addendum 1 (2020), 2.3.3.4; looked up.
    """
    if strength_N <= 0.0:
        raise ValueError(f"strength_N is {strength_N}; must be above 0")
    if fast_line_tension_N < 0.0:
        raise ValueError(f"fast_line_tension_N is {fast_line_tension_N}; must be at least 0")
    return math.inf if fast_line_tension_N == 0.0 else strength_N / fast_line_tension_N


def allowed_fast_line_tension_N(strength_N: float, work: str = "hoisting") -> float:
    """Greatest fast-line tension for a kind of work.

    Parameters
    ----------
    strength_N : float
        Nominal strength, above 0. [N]
    work : str
        ``"hoisting"``, ``"setting casing"`` or ``"pulling on stuck pipe"``. [-]

    Returns
    -------
    float
        Tension at the least design factor of that work. [N]

    Raises
    ------
    ValueError
        For other work or a strength not above 0.

    Notes
    -----
    Strength over `LEAST_DESIGN_FACTOR`.

    Examples
    --------
    >>> allowed_fast_line_tension_N(900e3), allowed_fast_line_tension_N(900e3, "setting casing")
    (300000.0, 450000.0)

    References
    ----------
    .. [1] As `LEAST_DESIGN_FACTOR`.
    """
    if work not in LEAST_DESIGN_FACTOR:
        raise ValueError(f"work is {work!r}; must be one of: {', '.join(LEAST_DESIGN_FACTOR)}")
    if strength_N <= 0.0:
        raise ValueError(f"strength_N is {strength_N}; must be above 0")
    return strength_N / LEAST_DESIGN_FACTOR[work]


def nominal_strength_N(diameter_m: float, grade: str = "EIPS") -> float:
    """Nominal strength of 6x19-class drilling line with independent wire rope core.

    Parameters
    ----------
    diameter_m : float
        Nominal diameter, 1 to 2 in by eighths. [m]
    grade : str
        ``"IPS"``, ``"EIPS"`` or ``"EEIPS"``. [-]

    Returns
    -------
    float
        Nominal strength. [N]

    Raises
    ------
    ValueError
        For another grade or a diameter that is not in the table; nothing is interpolated.

    Notes
    -----
    The mill certificate goes before the table.

    Examples
    --------
    >>> nominal_strength_N(1.375 * 0.0254) / 4.4482216152605  # 192 000 lb
    192000.0

    References
    ----------
    .. [1] API Spec 9A, Wire Rope; two values looked up, the others from memory.
    """
    if grade not in catalogue.WIRE_ROPE_GRADES:
        known = ", ".join(catalogue.WIRE_ROPE_GRADES)
        raise ValueError(f"grade is {grade!r}; must be one of: {known}")
    strength_N = catalogue.wire_rope_strength_N(diameter_m, grade)
    if strength_N is None:
        raise ValueError(f"diameter_m is {diameter_m}; not a size of the table, 1 to 2 in")
    return strength_N
