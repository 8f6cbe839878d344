"""The hoist as configured: compensator, drum, drawworks, travelling gear, line work. SI."""

from __future__ import annotations

from dataclasses import dataclass

COMPENSATOR_KINDS = ("in-line", "crown")
COMPENSATOR_STATES = ("open", "locked")


@dataclass(frozen=True, slots=True)
class Compensator:
    """Motion compensator of a floating rig; ``state`` is the one a record begins in."""

    kind: str  # "in-line", between block and hook, or "crown"
    stroke_limit_m: float
    load_limit_N: float  # of the stroking compensator, below it
    stiffness_N_m: float | None = None  # of its gas spring; None = not known
    state: str = "open"  # "open" strokes, "locked" is rigid
