"""Whether the load follows the block: then something holds the string, and it is no weight."""

from __future__ import annotations

import math

from monitor.interpret.held_loops import GREATEST_STROKE_M
from monitor.interpret.hold import FREE_SHARE
from monitor.interpret.lessons import Lesson
from monitor.interpret.stage import Carried
from monitor.interpret.trend import SPACING_M
from monitor.mechanics.stretch import STEEL_MODULUS_Pa
from monitor.rig.catalogue import STEEL_DENSITY_kg_m3
from monitor.units import STANDARD_GRAVITY_m_s2


def held_stiffness_N_m(string_N: float, length_m: float) -> float:
    """Stiffness of a string held at its lower end, from its weight.

    Parameters
    ----------
    string_N : float
        What the string weighs on the hook. [N]
    length_m : float
        Its length. [m]

    Returns
    -------
    float
        Load over block travel; the buoyed weight makes it some 15 % too soft. [N/m]

    Notes
    -----
    Derived: ``E A / L`` with the steel area ``A = W / (density g L)``.

    Examples
    --------
    >>> round(held_stiffness_N_m(1000e3, 3000.0) / 1e3)
    299
    """
    return (
        STEEL_MODULUS_Pa * string_N / (STEEL_DENSITY_kg_m3 * STANDARD_GRAVITY_m_s2 * length_m**2)
    )


class Following(Carried):
    """Compares each steady second with one of the same direction some decimetres before."""

    STATE = ("along_m", "load_N", "side", "free")

    def __init__(self) -> None:
        self.gap()

    def gap(self) -> None:
        """Nothing is compared across a gap."""
        self.along_m = self.load_N = math.nan
        self.side = 0.0
        self.free = False

    def is_free(self, lesson: Lesson, travelling_weight_N: float) -> bool:
        """Whether the load was the same before: the first second one way tells nothing yet."""
        side = math.copysign(1.0, lesson.speed_m_s)
        moved_m = abs(lesson.along_m - self.along_m)
        if side != self.side or math.isnan(moved_m):
            self.free = False
        elif moved_m < SPACING_M:
            return self.free
        elif moved_m > GREATEST_STROKE_M or not lesson.depth_m > 0.0:
            self.free = True
        else:
            string_N = max(lesson.load_N, self.load_N) - travelling_weight_N
            stiffness = held_stiffness_N_m(max(string_N, 0.0), lesson.depth_m)
            self.free = abs(lesson.load_N - self.load_N) < FREE_SHARE * stiffness * moved_m
        self.along_m, self.load_N, self.side = lesson.along_m, lesson.load_N, side
        return self.free
