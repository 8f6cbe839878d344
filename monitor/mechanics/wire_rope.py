"""Strength and design factor of the drilling line (API RP 9B, API Spec 9A).

The tool compares with limits; whether a rope may stay in use is decided by inspection.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.arguments import check_above_zero, check_not_negative, plain
from monitor.mechanics.reeving import Numeric
from monitor.rig import catalogue

# Least design factors: 3 in hoisting; 2 only when setting casing or pulling on stuck pipe
# and on similar infrequent occasions. API RP 9B, from memory (its addendum of 2020 changed
# that table); the same in Wyoming OSHA drilling rules ch. 6 s. 6-6(a) and Michigan
# R 408.15732(3), looked up.
LEAST_DESIGN_FACTOR: Mapping[str, float] = {
    "hoisting": 3.0,
    "drilling": 3.0,
    "tripping": 3.0,
    "setting casing": 2.0,
    "pulling on stuck pipe": 2.0,
}

# Fibre core: with the other strengths.
FIBRE_CORE_IPS_lbf = catalogue.FIBRE_CORE_IPS_lbf

# 6x37 class with independent core has the nominal strengths of 6x19: API Spec 9A, from memory.
CONSTRUCTIONS = ("6x19 IWRC", "6x37 IWRC", "6x19 FC")

# Sheave tread diameter over line diameter: for long bending life (condition A), and the least
# where portability or weight goes before it (condition B). Standard Handbook of Petroleum and
# Natural Gas Engineering, table 4-35, after API RP 9B; looked up.
SHEAVE_FACTORS: Mapping[str, tuple[float, float]] = {
    "6x17 Seale": (56.0, 33.0),
    "6x19 Seale": (51.0, 30.0),
    "6x21 filler wire": (45.0, 26.0),
    "6x25 filler wire": (41.0, 24.0),
    "6x31": (38.0, 22.0),
    "6x37": (33.0, 18.0),
    "8x19 Seale": (36.0, 21.0),
}


@dataclass(frozen=True, slots=True)
class DutyMargin:
    """The line at one kind of work: factor now, least factor, tension left."""

    work: str
    least_design_factor: float
    design_factor: float
    tension_left_N: float  # below 0: over the limit

    @property
    def is_met(self) -> bool:
        """Whether the factor is at least the least one."""
        return self.tension_left_N >= 0.0


@overload
def design_factor(strength_N: float, fast_line_tension_N: float) -> float: ...
@overload
def design_factor(
    strength_N: float, fast_line_tension_N: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def design_factor(strength_N: float, fast_line_tension_N: Numeric) -> Numeric:
    """Nominal strength of the line over its greatest tension.

    Parameters
    ----------
    strength_N : float
        Nominal strength, above 0. [N]
    fast_line_tension_N : float or ndarray
        Fast-line tension, friction included, at least 0. [N]

    Returns
    -------
    float or ndarray
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
    check_above_zero(strength_N=strength_N)
    check_not_negative(fast_line_tension_N=fast_line_tension_N)
    with np.errstate(divide="ignore", over="ignore"):
        return plain(np.divide(strength_N, fast_line_tension_N))


def duty_margins(strength_N: float, fast_line_tension_N: float) -> tuple[DutyMargin, ...]:
    """Design factor at each duty, and the tension left to its least.

    Parameters
    ----------
    strength_N : float
        Nominal strength, above 0. [N]
    fast_line_tension_N : float
        Fast-line tension now, friction included, at least 0. [N]

    Returns
    -------
    tuple of DutyMargin
        One a kind of work, in the order of `LEAST_DESIGN_FACTOR`. [N]

    Raises
    ------
    ValueError
        For a strength not above 0 or a negative tension.

    Notes
    -----
    Left: strength over least factor, less the tension. Which work it is, people say.

    Examples
    --------
    >>> [(m.work, m.is_met) for m in duty_margins(900e3, 400e3)][-2:]
    [('setting casing', True), ('pulling on stuck pipe', True)]

    References
    ----------
    .. [1] As `LEAST_DESIGN_FACTOR`.
    """
    factor = design_factor(strength_N, fast_line_tension_N)
    return tuple(
        DutyMargin(work, least, factor, strength_N / least - fast_line_tension_N)
        for work, least in LEAST_DESIGN_FACTOR.items()
    )


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
    check_above_zero(strength_N=strength_N)
    return strength_N / LEAST_DESIGN_FACTOR[work]


def nominal_strength_N(
    diameter_m: float, grade: str = "EIPS", construction: str = "6x19 IWRC"
) -> float:
    """Nominal strength of a drilling line by diameter, grade and construction.

    Parameters
    ----------
    diameter_m : float
        Nominal diameter, 1 to 2 in by eighths. [m]
    grade : str
        ``"IPS"``, ``"EIPS"`` or ``"EEIPS"``. [-]
    construction : str
        ``"6x19 IWRC"``, ``"6x37 IWRC"`` or ``"6x19 FC"`` (fibre core, IPS only). [-]

    Returns
    -------
    float
        Nominal strength. [N]

    Raises
    ------
    ValueError
        For another grade or construction, or a diameter that is not in the table; nothing
        is interpolated.

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
    .. [2] Fibre core: as `FIBRE_CORE_IPS_lbf`.
    """
    if construction not in CONSTRUCTIONS:
        known = ", ".join(CONSTRUCTIONS)
        raise ValueError(f"construction is {construction!r}; must be one of: {known}")
    if grade not in catalogue.WIRE_ROPE_GRADES:
        known = ", ".join(catalogue.WIRE_ROPE_GRADES)
        raise ValueError(f"grade is {grade!r}; must be one of: {known}")
    if construction == "6x19 FC":
        if grade != "IPS":
            raise ValueError(f"grade is {grade!r}; must be IPS with a fibre core")
        strength_N = catalogue.wire_rope_strength_N(diameter_m, grade, "fibre")
    else:
        strength_N = catalogue.wire_rope_strength_N(diameter_m, grade)
    if strength_N is None:
        raise ValueError(f"diameter_m is {diameter_m}; not a size of the table, 1 to 2 in")
    return strength_N


def sheave_ratio(tread_diameter_m: Numeric, line_diameter_m: float) -> Numeric:
    """Tread diameter of a sheave over the diameter of its line.

    Parameters
    ----------
    tread_diameter_m : float or ndarray
        Diameter at the bottom of the groove, above 0. [m]
    line_diameter_m : float
        Nominal diameter of the line, above 0. [m]

    Returns
    -------
    float or ndarray
        Ratio D/d. [-]

    Raises
    ------
    ValueError
        For a diameter not above 0.

    Notes
    -----
    The greater it is, the longer the line lives in bending.

    Examples
    --------
    >>> sheave_ratio(33.75, 1.25)  # inches
    27.0

    References
    ----------
    .. [1] API RP 9B, 14th ed., Addendum 1 (2020), 2.3.3.5; looked up.
    """
    check_above_zero(tread_diameter_m=tread_diameter_m, line_diameter_m=line_diameter_m)
    return tread_diameter_m / line_diameter_m


def sheave_advice(ratio: float, construction: str = "6x19 Seale") -> str:
    """Advice on a sheave-to-line diameter ratio.

    Parameters
    ----------
    ratio : float
        Tread diameter over line diameter. [-]
    construction : str
        A key of `SHEAVE_FACTORS`. [-]

    Returns
    -------
    str
        ``"long life"`` at or above condition A, ``"shorter life"`` from condition B,
        ``"too small"`` below it, ``"unknown"`` for not-a-number. [-]

    Raises
    ------
    ValueError
        For another construction or a ratio not above 0.

    Notes
    -----
    Condition A where bending over sheaves matters most, B where some life is given for
    portability or weight.

    Examples
    --------
    >>> sheave_advice(44.0), sheave_advice(52.0), sheave_advice(27.0)
    ('shorter life', 'long life', 'too small')

    References
    ----------
    .. [1] As `SHEAVE_FACTORS`.
    """
    if construction not in SHEAVE_FACTORS:
        known = ", ".join(SHEAVE_FACTORS)
        raise ValueError(f"construction is {construction!r}; must be one of: {known}")
    check_above_zero(ratio=ratio)
    long_life, least = SHEAVE_FACTORS[construction]
    if ratio >= long_life:
        return "long life"
    if ratio >= least:
        return "shorter life"
    return "too small" if ratio < least else "unknown"
