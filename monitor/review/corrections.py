"""What made the hook load of a moment: the terms of its correction, which add up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.mechanics.reeving import load_factor
from monitor.review.span import Span
from monitor.rig.rig import Rig

NAN = float("nan")


@dataclass(frozen=True, slots=True)
class Correction:
    """Terms of one moment [N]: plain + line + friction + inertia = hook load."""

    time_us: int
    tension_N: float  # of the dead line
    plain_N: float  # lines strung times tension
    line_N: float  # weight of the drilling line between the blocks
    friction_N: float  # of the sheaves
    inertia_N: float  # of the travelling equipment
    hook_load_N: float
    half_width_N: float


def correction_at(span: Span, time_us: int, rig: Rig, lines: int) -> Correction | None:
    """Terms at a moment; None where the load was reported, so that nothing was corrected."""
    if not len(span):
        return None
    row = span.row_at(time_us)
    plain = float(span["hook_load_plain_N"][row])
    load = float(span["hook_load_N"][row])
    friction = float(span["friction_state"][row])
    if not (np.isfinite(plain) and np.isfinite(friction)):
        return None
    block = float(span["block_position"][row])
    line = 0.0
    if rig.line is not None and np.isfinite(block):
        line = lines * rig.line.weight_N_m * (block - rig.line.anchor_height_m)
    e, sheave = rig.reeving.sheave_efficiency, rig.reeving.dead_line_sheave
    up = load_factor(lines, e, sheave, "hoisting")
    down = load_factor(lines, e, sheave, "lowering")
    share = 0.5 * ((1.0 + friction) / up + (1.0 - friction) / down)
    turned = (plain + line) / lines / share
    return Correction(
        int(span.time_us[row]),
        plain / lines,
        plain,
        line,
        turned - plain - line,
        load - turned,
        load,
        float(span["hook_load_half_width_N"][row]),
    )
