"""The drilling line in the status: its design factor now, and its slip-and-cut programme."""

from __future__ import annotations

import math
from typing import Any

from monitor import units
from monitor.interpret.drum_status import counted_line_m
from monitor.interpret.hoist import Hoist
from monitor.mechanics.drum import wraps_of_width
from monitor.mechanics.fast_line import fast_line_tension_N
from monitor.mechanics.ratings import hook_load_at_rating_N
from monitor.mechanics.slip_and_cut import goal_J_m
from monitor.mechanics.string_up import line_in_use_m
from monitor.mechanics.supply_reel import supply_line_m, whole_cuts
from monitor.mechanics.wire_rope import (
    LEAST_DESIGN_FACTOR,
    allowed_fast_line_tension_N,
    design_factor,
    sheave_advice,
    sheave_ratio,
)
from monitor.rig.hoisting import DUTIES

NAN = float("nan")
# Nothing is said of a rate before so much of the record, nor of a due date beyond a year.
LEAST_SPAN_S = 600.0
LONGEST_DUE_S = 365.0 * 86_400.0


def line_part(hoist: Hoist, direction: str, load_N: float) -> dict[str, Any] | None:
    """The line under the present load; None where the rig file has none."""
    line, reeving = hoist.rig.line, hoist.rig.reeving
    if line is None:
        return None
    factor = NAN
    if line.strength_N is not None and load_N > 0.0:
        # The friction state not known, the worse one.
        worse = direction if direction in ("held", "lowering") else "hoisting"
        tension_N = fast_line_tension_N(
            load_N,
            hoist.lines_strung,
            reeving.sheave_efficiency,
            worse,
            reeving.extra_fast_line_sheaves,
        )
        factor = float(design_factor(line.strength_N, float(tension_N)))
    reel_m = _on_reel_m(hoist)
    cut_m = hoist.rig.line_work.cut_length_m
    ratio, advice = NAN, ""
    sheave_m = _sheave_diameter_m(hoist)
    if sheave_m is not None:
        ratio = float(sheave_ratio(sheave_m, line.diameter_m))
        advice = f"{sheave_advice(ratio, line.construction)}, {line.construction}"
    return {
        "diameter_m": line.diameter_m,
        "strength_N": line.strength_N,
        "design_factor": factor,
        "least_design_factor": LEAST_DESIGN_FACTOR[hoist.duty],
        "duty": hoist.duty,
        "duties": _duties(hoist, load_N),
        "on_reel_m": reel_m,
        "cuts_on_reel": whole_cuts(reel_m, cut_m) if cut_m and math.isfinite(reel_m) else None,
        "sheave_ratio": ratio,
        "sheave_advice": advice,
    }


def _duties(hoist: Hoist, load_N: float) -> list[dict[str, Any]]:
    """Hook load that brings the line to its least design factor at each duty, and the room."""
    line = hoist.rig.line
    if line is None or line.strength_N is None:
        return []
    found = []
    for duty in DUTIES:
        limit_N = hook_load_at_rating_N(
            hoist.rig,
            hoist.lines_strung,
            allowed_fast_line_tension_N(line.strength_N, duty),
            "fast line",
        )
        found.append(
            {
                "duty": duty,
                "least_design_factor": LEAST_DESIGN_FACTOR[duty],
                "limit_N": limit_N,
                "room_N": limit_N - load_N,
            }
        )
    return found


def _on_reel_m(hoist: Hoist) -> float:
    """Line left on the supply reel by the book: delivered less cut off less in use, about.

    The crown limit stands for the height of the crown, so a few metres a line are not in it.
    """
    line, drum, crown_m = hoist.rig.line, hoist.rig.drum, hoist.rig.limits.crown_m
    if line is None or line.length_m is None or drum is None or crown_m is None:
        return NAN
    counted = counted_line_m(hoist, wraps_of_width(drum.width_m, line.diameter_m))
    if counted is None:
        return NAN
    in_use_m = line_in_use_m(
        counted[0], counted[1], hoist.lines_strung, crown_m, line.anchor_height_m
    )
    cut_off_m = math.fsum(cut["length_m"] for cut in _cuts(hoist))
    return supply_line_m(line.length_m, cut_off_m, float(in_use_m)) if cut_off_m >= 0.0 else NAN


def _sheave_diameter_m(hoist: Hoist) -> float | None:
    """Smallest sheave given: the line bends hardest there."""
    given = [piece.sheave_diameter_m for piece in hoist.rig.equipment]
    return min((each for each in given if each is not None), default=None)


def line_goal_J(hoist: Hoist) -> float:
    """Goal of line work between cuts: as given, else by the table for the length to be cut."""
    programme, line = hoist.rig.line_work, hoist.rig.line
    if programme.goal_J is not None:
        return programme.goal_J
    if line is None or programme.cut_length_m is None:
        return NAN
    try:
        return goal_J_m(line.diameter_m) * programme.cut_length_m
    except ValueError:  # a diameter the table does not have: no goal
        return NAN


def line_work_part(hoist: Hoist) -> dict[str, Any] | None:
    """Line work since the last cut, its goal and when that is due at the present rate."""
    if hoist.rig.line is None:
        return None
    goal_J, rate_W = line_goal_J(hoist), _rate_W(hoist)
    left_J = goal_J - hoist.since_cut_J
    due_s = max(left_J, 0.0) / rate_W if rate_W > 0.0 and math.isfinite(left_J) else NAN
    return {
        "since_cut_J": hoist.since_cut_J,
        "goal_J": goal_J,
        "due_text": _due_text(left_J, due_s, hoist.now_us),
        "due_s": due_s,
        "per_hour_J": rate_W * 3600.0,
        "lifted_J": hoist.work_J - hoist.standard.from_J,
        "standard_J": hoist.standard.sum_J,
        "cuts": _cuts(hoist),
    }


def _rate_W(hoist: Hoist) -> float:
    """Mean rate over the marks kept, at the most twelve hours."""
    for time_us, work_J in hoist.marks:
        span_s = (hoist.now_us - time_us) / 1e6
        if span_s < LEAST_SPAN_S:
            break
        return max(hoist.work_J - work_J, 0.0) / span_s
    return NAN


def _due_text(left_J: float, due_s: float, now_us: int) -> str:
    if math.isfinite(left_J) and left_J <= 0.0:
        return "now"
    if not due_s <= LONGEST_DUE_S:
        return ""
    day = units.iso_utc(now_us + round(due_s * 1e6))[:16].replace("T", " ")
    hours = due_s / 3600.0
    wait = f"{hours:.0f} h" if hours < 48.0 else f"{hours / 24.0:.0f} days"
    return f"{day} UTC, in {wait}"


def _cuts(hoist: Hoist) -> list[dict[str, Any]]:
    """Return the log: the rig file's cuts, then those of the record."""
    logged: list[dict[str, Any]] = [
        {"when": cut.when, "length_m": cut.length_m, "work_J": cut.work_J}
        for cut in hoist.rig.line_work.cuts
    ]
    return logged + [
        {"when": units.iso_utc(int(time_us))[:10], "length_m": length_m, "work_J": work_J}
        for time_us, length_m, work_J in hoist.cuts
    ]
