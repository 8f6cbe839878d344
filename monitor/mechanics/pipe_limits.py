"""The limit of the pipe as hook load, searched down a tapered string.

Sections without a known yield strength are not searched: the rig sheet names them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.mechanics.pipe import tensile_capacity_N
from monitor.mechanics.pipe_strength import (
    tensile_capacity_under_torque_N,
    torsional_capacity_Nm,
    weakest_point,
)
from monitor.mechanics.soft_string import Hole
from monitor.mechanics.survey import well_path
from monitor.rig.rig import Pipe, Rig

# Spacing of the table of pipe limits over bit depth; between its points the limit is
# straight in a vertical hole, for every change of section is a point too.
_TABLE_STEP_m = 100.0
_DEEPEST_m = 12_000.0
_STEP_WIDTH_m = 0.01


@dataclass(frozen=True, slots=True)
class PullLimit:
    """One rating as hook load, travelling equipment included."""

    name: str
    limit_N: float
    acts: str  # where the rating acts
    printed: str = ""  # the rating as it was written, or how it was got


def section_capacities_N(rig: Rig) -> tuple[float | None, ...]:
    """What each section of the string may bear, its torque and design factor taken off.

    Parameters
    ----------
    rig : Rig
        The rig with its string and ``[pipe]``. [-]

    Returns
    -------
    tuple of (float or None)
        From the bit upwards; None where no yield strength is known. [N]

    Notes
    -----
    The uppermost section is that of ``[pipe]``; the others have a grade of their own or
    none. The same torque and design factor are taken for all.

    Examples
    --------
    >>> from monitor.rig.rig import Pipe, Reeving, Section
    >>> pipe = Section("pipe", None, 0.127, 0.1086, 343.0)
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), string=(pipe,))
    >>> section_capacities_N(rig)
    (None,)

    References
    ----------
    .. [1] API RP 7G, tension with torque; from memory.
    """
    pipe = rig.pipe or Pipe()
    capacities: list[float | None] = []
    for number, section in enumerate(rig.string, 1):
        is_top = number == len(rig.string)
        yield_Pa, pipe_class = section.yield_Pa, section.pipe_class
        if is_top and pipe.yield_Pa is not None:
            yield_Pa, pipe_class = pipe.yield_Pa, pipe.pipe_class
        if yield_Pa is None:
            capacities.append(None)
            continue
        tube = (section.outside_diameter_m, section.inside_diameter_m, yield_Pa, pipe_class)
        bears = tensile_capacity_N(*tube)
        if pipe.torque_Nm:
            twist = torsional_capacity_Nm(*tube)
            bears = float(tensile_capacity_under_torque_N(pipe.torque_Nm, bears, twist))
        capacities.append(bears / pipe.design_factor)
    return tuple(capacities)


def pipe_limit(
    rig: Rig, travelling_weight_N: float, bit_depth_m: float = float("nan")
) -> PullLimit | None:
    """Limit of the pipe, searched down the string where the bit depth is known.

    Parameters
    ----------
    rig : Rig
        The rig with its string, ``[pipe]``, survey and mud. [-]
    travelling_weight_N : float
        Travelling weight now. [N]
    bit_depth_m : float
        Bit depth; not-a-number: unknown. [m]

    Returns
    -------
    PullLimit or None
        As hook load; None where no yield strength is known. [N]

    Raises
    ------
    ValueError
        As `monitor.mechanics.pipe_strength.weakest_point`.

    Notes
    -----
    Depth unknown: the uppermost section at the rig floor; where its strength is not known,
    the weakest of the others as if it were there, the safe side. Without drag, which takes
    some of the pull away on its way down.

    Examples
    --------
    >>> from monitor.rig.rig import Pipe, Reeving, Section
    >>> pipe = Section("pipe", None, 0.127, 0.1086104, 343.0)
    >>> grade = Pipe("S135", "premium", 930.8e6)
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), string=(pipe,), pipe=grade)
    >>> round((pipe_limit(rig, 200e3, 3000.0).limit_N - 200e3) * 1.1 / 4448.22, 1)  # klbf
    560.8

    References
    ----------
    .. [1] API RP 7G; from memory. 560 800 lb: a supplier's sheet, looked up.
    """
    capacities = section_capacities_N(rig)
    known = [
        (capacity, section)
        for capacity, section in zip(capacities, rig.string, strict=True)
        if capacity is not None
    ]
    if not known:
        return None
    factor = (rig.pipe or Pipe()).design_factor
    depth = float(bit_depth_m)
    if depth >= 0.0:
        hole = Hole(well_path(rig.survey), rig.mud_density_kg_m3)
        found = weakest_point(rig.string, capacities, hole, depth)
        if found.section:
            where = f", at {found.depth_m:.0f} m" if found.depth_m > 0.0 else ""
            return _pipe_limit(
                rig, found.section, found.pull_N + travelling_weight_N, factor, where
            )
    top = rig.string[-1]
    if capacities[-1] is not None:
        capacity, section = capacities[-1], top
    else:
        capacity, section = min(known, key=lambda each: each[0])
    return _pipe_limit(rig, section.name, capacity + travelling_weight_N, factor, "")


def _pipe_limit(rig: Rig, name: str, limit_N: float, factor: float, where: str) -> PullLimit:
    grade = ""
    if rig.pipe is not None and name == rig.string[-1].name:
        grade = f"{rig.pipe.grade} {rig.pipe.pipe_class} ".lstrip()
    return PullLimit(name, limit_N, "pipe body", f"{grade}at design factor {factor:g}{where}")


def pipe_pull_by_depth(rig: Rig) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Table of the pull at the rig floor that the pipe bears, over bit depth.

    Parameters
    ----------
    rig : Rig
        The rig with its string, ``[pipe]``, survey and mud. [-]

    Returns
    -------
    tuple of ndarray
        Bit depths [m] and pulls, travelling gear left out [N]; both empty where no yield
        strength is known, one point where the limit is the same at every depth.

    Notes
    -----
    For interpolation row by row. Where only the uppermost section's strength is known it
    bears most at the rig floor, whatever hangs below it.

    Examples
    --------
    >>> from monitor.rig.rig import Pipe, Reeving, Section
    >>> pipe = Section("pipe", None, 0.127, 0.1086104, 343.0)
    >>> grade = Pipe("S135", "premium", 930.8e6)
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), string=(pipe,), pipe=grade)
    >>> len(pipe_pull_by_depth(rig)[0])
    1

    References
    ----------
    .. [1] As `pipe_limit`.
    """
    capacities = section_capacities_N(rig)
    if all(capacity is None for capacity in capacities):
        return np.empty(0), np.empty(0)
    if all(capacity is None for capacity in capacities[:-1]):
        depths = np.zeros(1)
    else:
        lengths = [section.length_m or 0.0 for section in rig.string]
        # The limit steps where a section enters the hole: a point on either side.
        steps = np.cumsum([0.0, *lengths])
        grid = np.arange(0.0, _DEEPEST_m + 1.0, _TABLE_STEP_m)
        depths = np.unique(np.concatenate((grid, steps, steps + _STEP_WIDTH_m)))
    limits = (pipe_limit(rig, 0.0, depth) for depth in depths.tolist())
    return depths, np.array([limit.limit_N for limit in limits if limit is not None])
