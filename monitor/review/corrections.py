"""What made the hook load of a moment: the terms of its correction, which add up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.mechanics.dead_line import mud_hose_change_N
from monitor.mechanics.reeving import load_factor
from monitor.review.calibration import RIG_FILE
from monitor.review.span import Span
from monitor.rig.rig import Rig

NAN = float("nan")
# Median over so long on either side: the plain load is freed of glitches, the reading is not.
NEAR_US = 500_000


@dataclass(frozen=True, slots=True)
class Correction:
    """Terms of one moment [N]: plain + line + friction + inertia + hose = hook load."""

    time_us: int
    tension_N: float  # of the dead line
    plain_N: float  # lines strung times tension
    line_N: float  # weight of the drilling line between the blocks
    friction_N: float  # of the sheaves
    inertia_N: float  # of the travelling equipment
    hose_N: float  # mud hose carried beyond what is in the travelling weight; 0: not described
    hook_load_N: float
    half_width_N: float
    calibration_N: float  # of the plain: what the calibration in force makes of zero and scale


def correction_at(
    span: Span, time_us: int, rig: Rig, lines: int, version: int = RIG_FILE
) -> Correction | None:
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
    # An odd count ends at the block, where the line between the blocks is sensed.
    if rig.line is not None and np.isfinite(block) and lines % 2 == 0:
        line = lines * rig.line.weight_N_m * (block - rig.line.anchor_height_m)
    e, sheave = rig.reeving.sheave_efficiency, rig.reeving.dead_line_sheave
    up = load_factor(lines, e, sheave, "hoisting")
    down = load_factor(lines, e, sheave, "lowering")
    share = 0.5 * ((1.0 + friction) / up + (1.0 - friction) / down)
    turned = (plain + line) / lines / share
    hose = 0.0
    if rig.mud_hose is not None and np.isfinite(block):
        described = rig.mud_hose
        hose = -float(mud_hose_change_N(block, described.at_block_height_m, described.weight_N_m))
    return Correction(
        int(span.time_us[row]),
        plain / lines,
        plain,
        line,
        turned - plain - line,
        load - turned - hose,
        hose,
        load,
        float(span["hook_load_half_width_N"][row]),
        0.0 if version == RIG_FILE else _calibration_N(span, time_us, lines),
    )


def _calibration_N(span: Span, time_us: int, lines: int) -> float:
    """Plain load less what the tension as received gives; not-a-number for a raw signal."""
    part = span.between(time_us - NEAR_US, time_us + NEAR_US)
    change = part["hook_load_plain_N"] - lines * part["deadline_tension"]
    known = change[np.isfinite(change)]
    return float(np.median(known)) if len(known) else NAN
