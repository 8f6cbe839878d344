"""Free length from the load-against-travel slopes of several pulls, with a 95 % interval.

A slope is a compliance: block travel per pull. Hole friction and a wrong sheave efficiency
bend the slopes of pulling and of slacking off in opposite senses, so the two are averaged
and their difference is counted as uncertainty. What the data cannot tell is not-a-number.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.mechanics.stretch import Stiffening, free_length_m, tool_joint_stiffening
from monitor.model import Floats
from monitor.rig.rig import Pipe, Section

NAN = float("nan")

# Fewer pulls do not show how well they agree.
LEAST_PULLS = 3
# Pulls that scatter more than this (standard deviation over mean) were not all stretch.
GREATEST_SCATTER = 0.10
# Pulling and slacking off may differ by this half share; more and friction rules.
GREATEST_FRICTION = 0.15
# Tool joints stiffen pipe by 0 (flush) to 5 % (short joints, upsets; derived): where they are
# not described the middle is taken, known to half of it.
STIFFENING, STIFFENING_HALF_WIDTH = 1.025, 0.025
# Where they are: upsets and the bore of the tool joint, the length of a joint of pipe.
DESCRIBED_HALF_WIDTH = 0.01
# Scale of the load and of the block position, at 95 % (0.5 % and 0.5 % uncalibrated, and
# the steel area of worn pipe).
SCALE_HALF_WIDTH = 0.01
# Known from pulling only, or from slacking off only: what friction may hide (our choice).
ONE_WAY_HALF_WIDTH = 0.04
# Line and mast where their compliance is not given: 10 lines of 30 m, fast and dead line of
# 40 m, 35 MN of stiffness (35 mm line, derived). It only makes the string look longer.
UNKNOWN_HOIST_COMPLIANCE_m_N = 1.0e-7
# Bit depth by block travel is known to this share.
DEPTH_HALF_WIDTH = 0.001

# Student's t, 97.5 %, for 1 to 10 degrees of freedom.
STUDENT_T = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


@dataclass(frozen=True, slots=True)
class StringStiffening:
    """Stiffness over that of the plain tubes, a section each from the bit upwards."""

    middle: tuple[float, ...]
    half_width: tuple[float, ...]
    is_described: bool  # by the tool joints of the uppermost section

    @property
    def low(self) -> tuple[float, ...]:
        """Least stiffness."""
        return tuple(m - h for m, h in zip(self.middle, self.half_width, strict=True))

    @property
    def high(self) -> tuple[float, ...]:
        """Greatest stiffness."""
        return tuple(m + h for m, h in zip(self.middle, self.half_width, strict=True))


def string_stiffening(sections: Sequence[Section], pipe: Pipe | None) -> StringStiffening:
    """Stiffening of each section by its tool joints.

    Parameters
    ----------
    sections : sequence of Section
        The string from the bit upwards. [-]
    pipe : Pipe or None
        Pipe of the uppermost section with its tool joints; None: not described. [-]

    Returns
    -------
    StringStiffening
        Middle and half width of each section. [-]

    Raises
    ------
    ValueError
        For a tool joint that does not fit its tube.

    Notes
    -----
    The tool joints described are those of the uppermost section. Any other section may have
    some or none (collars): the middle is taken with a half width that holds both.

    Examples
    --------
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086104, 330.0)
    >>> string_stiffening([pipe], None).middle
    (1.025,)
    >>> found = string_stiffening([pipe], Pipe("S135", "premium", None, 1.1, 0.5, 0.168275))
    >>> [round(share, 3) for share in (*found.low, *found.high)]
    [1.03, 1.05]

    References
    ----------
    .. [1] Derived.
    """
    middle = [STIFFENING] * len(sections)
    half_width = [STIFFENING_HALF_WIDTH] * len(sections)
    length_m = None if pipe is None else pipe.tool_joint_length_m
    outside_m = None if pipe is None else pipe.tool_joint_outside_diameter_m
    is_described = bool(sections) and length_m is not None and outside_m is not None
    if is_described and length_m is not None and outside_m is not None:
        top = sections[-1]
        middle[-1] = tool_joint_stiffening(
            top.outside_diameter_m, top.inside_diameter_m, length_m, outside_m
        )
        half_width[-1] = DESCRIBED_HALF_WIDTH
    return StringStiffening(tuple(middle), tuple(half_width), is_described)


@dataclass(frozen=True, slots=True)
class FreePoint:
    """Free length from the rig floor, and its 95 % interval; all not-a-number if refused."""

    free_length_m: float
    low_m: float
    high_m: float


REFUSED = FreePoint(NAN, NAN, NAN)


def student_t(degrees_of_freedom: int) -> float:
    """97.5 % point of Student's t, for a two-sided 95 % interval.

    Parameters
    ----------
    degrees_of_freedom : int
        At least 1. [-]

    Returns
    -------
    float
        Quantile, within 0.01 of the tables. [-]

    Raises
    ------
    ValueError
        For fewer than one degree of freedom.

    Notes
    -----
    Tabled to 10, above it 1.96 + 2.6 / degrees of freedom.

    Examples
    --------
    >>> student_t(4), round(student_t(30), 2)
    (2.776, 2.05)

    References
    ----------
    .. [1] Tables of Student's t in any handbook of statistics; from memory.
    """
    if degrees_of_freedom < 1:
        raise ValueError(f"degrees_of_freedom is {degrees_of_freedom}; must be at least 1")
    if degrees_of_freedom <= len(STUDENT_T):
        return STUDENT_T[degrees_of_freedom - 1]
    return 1.96 + 2.6 / degrees_of_freedom


def leg_compliance_m_N(block_m: Floats, load_N: Floats) -> float:
    """Block travel per load along one leg of a pull: the median slope over all pairs.

    Parameters
    ----------
    block_m : ndarray
        Block position along the leg. [m]
    load_N : ndarray
        Hook load at the same moments. [N]

    Returns
    -------
    float
        Compliance; not-a-number where no two loads differ. [m/N]

    Raises
    ------
    ValueError
        For arrays of different length.

    Notes
    -----
    Theil-Sen: up to 29 % of bad points do not move it, and exchanging the axes gives the
    same line. Pairs closer in load than a quarter of the range are left out, since noise
    rules them.

    Examples
    --------
    >>> load = np.array([0.0, 100e3, 200e3, 300e3, 400e3])
    >>> leg_compliance_m_N(np.array([0.0, 0.4, 0.8, 5.0, 1.6]), load) * 1e6
    4.0

    References
    ----------
    .. [1] Sen, Estimates of the regression coefficient based on Kendall's tau, J. Am. Stat.
       Assoc. 63, 1968; from memory.
    """
    if len(block_m) != len(load_N):
        raise ValueError(f"block_m has {len(block_m)} values, load_N {len(load_N)}; must agree")
    first, second = np.triu_indices(len(load_N), 1)
    rise = load_N[second] - load_N[first]
    far = np.abs(rise) > 0.25 * np.ptp(load_N) if len(load_N) else np.zeros(0, dtype=bool)
    if not far.any():
        return NAN
    return float(np.median((block_m[second] - block_m[first])[far] / rise[far]))


@dataclass(frozen=True, slots=True)
class Agreement:
    """How well pulls agree; not-a-number where fewer than two of one sense are known."""

    compliance_m_N: float  # mean of the two senses
    deviation_m_N: float  # standard deviation of the legs within their sense
    scatter_half_width_m_N: float  # 95 %, of the mean, by scatter alone
    friction: float  # half difference of the senses over their mean; NaN with one sense


DISAGREED = Agreement(NAN, NAN, NAN, NAN)


def agreement(pulling_m_N: Sequence[float], slacking_m_N: Sequence[float]) -> Agreement:
    """Mean of the compliances of pulling and of slacking off, and how well they agree.

    Parameters
    ----------
    pulling_m_N : sequence of float
        Compliance of each pull. [m/N]
    slacking_m_N : sequence of float
        Compliance of each slacking off. [m/N]

    Returns
    -------
    Agreement
        Mean, deviation and half width [m/N], and half the difference of the senses as a
        share. [-]

    Notes
    -----
    A sense with fewer than two legs says nothing of scatter and is left out.

    Examples
    --------
    >>> found = agreement([3.0e-6, 3.1e-6], [2.9e-6, 2.8e-6])
    >>> round(found.compliance_m_N * 1e6, 2), round(found.friction, 3)
    (2.95, 0.034)

    References
    ----------
    .. [1] Derived.
    """
    sides = [np.asarray(side) for side in (pulling_m_N, slacking_m_N) if len(side) >= 2]
    if not sides:
        return DISAGREED
    means = [float(np.mean(side)) for side in sides]
    middle = sum(means) / len(means)
    freedom = sum(len(side) - 1 for side in sides)
    squares = sum(
        float(np.sum((side - mean) ** 2)) for side, mean in zip(sides, means, strict=True)
    )
    deviation = math.sqrt(squares / freedom)
    error = deviation * math.sqrt(sum(1.0 / len(side) for side in sides)) / len(sides)
    friction = abs(means[0] - means[-1]) / 2.0 / abs(middle) if len(sides) == 2 else NAN
    return Agreement(middle, deviation, student_t(freedom) * error, friction)


def _mean_with_spread(
    pulling: Sequence[float], slacking: Sequence[float]
) -> tuple[float, float, float]:
    """Return the compliance, its 95 % half width by scatter, and the friction share of it."""
    found = agreement(pulling, slacking)
    if found.deviation_m_N > GREATEST_SCATTER * abs(found.compliance_m_N):
        return NAN, NAN, NAN
    friction = ONE_WAY_HALF_WIDTH if math.isnan(found.friction) else found.friction
    return found.compliance_m_N, found.scatter_half_width_m_N, friction


def free_point(
    pulling_m_N: Sequence[float],
    slacking_m_N: Sequence[float],
    sections: Sequence[Section],
    bit_depth_m: float,
    *,
    above_floor_m: float = 0.0,
    hoist_compliance_m_N: float = 0.0,
    pipe: Pipe | None = None,
) -> FreePoint:
    """Free length and its 95 % interval from the compliances of several pulls.

    Parameters
    ----------
    pulling_m_N : sequence of float
        Compliance of each pull, load rising, friction fully turned. [m/N]
    slacking_m_N : sequence of float
        Compliance of each slacking off from such a pull. [m/N]
    sections : sequence of Section
        The string from the bit upwards; none gives not-a-number. [-]
    bit_depth_m : float
        Bit depth along the string. [m]
    above_floor_m : float
        Pipe between rig floor and elevators. [m]
    hoist_compliance_m_N : float
        Block movement per pull from line and mast; 0 counts as not known. [m/N]
    pipe : Pipe or None
        Pipe of the uppermost section with its tool joints, where they are described. [-]

    Returns
    -------
    FreePoint
        Not-a-number for fewer than three pulls, pulls that disagree, friction that rules, or
        movement that is no stretch of this string. [m]

    Raises
    ------
    ValueError
        For diameters of no tube or tool joint.

    Notes
    -----
    The mean of the two senses is free of friction and of sheave efficiency to the first
    order; half their difference counts as uncertainty, beside the scatter of the pulls
    (Student's t), the scale of load and travel, and the stiffening by tool joints. A
    stuck point below the bit is none: the result ends at the bit.

    Examples
    --------
    >>> pipe = Section("drill pipe", None, 0.127, 0.1086104, 330.0)
    >>> pulls = [2.78e-6, 2.79e-6, 2.80e-6]
    >>> found = free_point(pulls, pulls, [pipe], 3000.0, hoist_compliance_m_N=3e-8)
    >>> round(found.free_length_m), round(found.low_m), round(found.high_m)
    (1991, 1922, 2062)

    References
    ----------
    .. [1] Derived.
    """
    if len(pulling_m_N) < LEAST_PULLS or not sections or not bit_depth_m > 0.0:
        return REFUSED
    middle, scatter, friction = _mean_with_spread(pulling_m_N, slacking_m_N)
    if not middle > 0.0 or friction > GREATEST_FRICTION:
        return REFUSED
    share = math.hypot(scatter / middle, SCALE_HALF_WIDTH, friction)
    unknown = UNKNOWN_HOIST_COMPLIANCE_m_N if hoist_compliance_m_N == 0.0 else 0.0

    stiff = string_stiffening(sections, pipe)

    def length(compliance_m_N: float, stiffening: Stiffening) -> float:
        return free_length_m(
            compliance_m_N,
            1.0,
            sections,
            bit_depth_m,
            above_floor_m=above_floor_m,
            hoist_compliance_m_N=hoist_compliance_m_N,
            stiffening=stiffening,
        )

    low = length(middle * (1.0 - share) - unknown, stiff.low)
    high = length(middle * (1.0 + share), stiff.high)
    deepest = bit_depth_m * (1.0 + DEPTH_HALF_WIDTH)
    if low > deepest or high < 0.0:
        return REFUSED
    best = min(max(length(middle, stiff.middle), 0.0), bit_depth_m)
    return FreePoint(best, max(low, 0.0), min(high, deepest))
