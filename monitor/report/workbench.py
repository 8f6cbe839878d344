"""A stuck spell as it is worked on: pulls taken or chosen, condition of the pipe, loops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.interpret.hold import SETTLED
from monitor.model import Event, State
from monitor.report.findings import SpellFindings
from monitor.report.material import Material
from monitor.review.allowed import PipeChoice
from monitor.review.pulls import PULL, Pull
from monitor.units import display_value

NAN = float("nan")
POINTS_A_LOOP = 240
MOST_LOOPS = 60


def pipe_choice(pipe_class: str, design_factor: str) -> PipeChoice:
    """Read what was chosen, empty: as the rig file says; ValueError says what is expected.

    >>> pipe_choice("class 2", "1.25")
    PipeChoice(pipe_class='class 2', design_factor=1.25)
    """
    try:
        factor = float(design_factor) if design_factor else None
    except ValueError:
        raise ValueError(f"design factor {design_factor!r}: a number is expected") from None
    choice = PipeChoice(pipe_class or None, factor)
    if choice.fault():
        raise ValueError(choice.fault())
    return choice


def chosen_spell(material: Material, from_us: int, to_us: int) -> Event:
    """Make a spell of a span that a person marked; nothing is stored.

    The free hoisting weight is what was expected going up when it began; ValueError where
    that, or the span, says nothing.
    """
    part = material.span.between(from_us, to_us)
    if len(part) < 2:
        raise ValueError("no rows lie in the span that was marked")
    known = np.flatnonzero(np.isfinite(part["expected_up_N"]))
    if not len(known):
        raise ValueError(
            "the free hoisting weight was not known there: the expected loads were still being "
            "learnt, so a pull cannot be told from a free string"
        )
    depth = part["bit_depth_m"][np.isfinite(part["bit_depth_m"])]
    load = part["hook_load_N"]
    peak = int(np.nanargmax(load)) if np.isfinite(load).any() else 0
    up_N = float(part["expected_up_N"][known[0]])
    return Event(
        seq=0,
        kind="stuck",
        start_us=int(part.time_us[0]),
        raised_us=int(part.time_us[0]),
        end_us=int(part.time_us[-1]),
        peak_time_us=int(part.time_us[peak]),
        bit_depth_m=float(depth[0]) if len(depth) else NAN,
        peak_hook_load_N=float(load[peak]),
        expected_hook_load_N=up_N,
        peak_excess_N=float(load[peak]) - up_N,
        confidence=NAN,
    )


@dataclass(frozen=True, slots=True)
class Weights:
    """Weights of the string at the place where it is held [N], travelling equipment included."""

    hoisting_N: float
    lowering_N: float
    neutral_N: float  # drag neither way: halfway between the two (common practice)
    is_lowering_guessed: bool
    set_down_to_N: float  # least load of any set-down; not-a-number: none


def weights(found: SpellFindings) -> Weights:
    """Free, neutral and set-down weights of a spell."""
    held = found.spell.held
    downs = [pull.load_N for pull in found.spell.pulls if pull.kind != PULL]
    return Weights(
        held.up_N,
        held.low_N,
        held.neutral_N,
        not np.isfinite(held.down_N),
        min(downs, default=NAN),
    )


def loops(material: Material, found: SpellFindings, display: str) -> list[dict[str, Any]]:
    """Load against block position of each pull and set-down, in shown units, few points each.

    Where the friction in the sheaves turns over the load is a guess: None breaks the line.
    """
    force = display_value(1.0, "force", display)
    length = display_value(1.0, "block_position", display)
    drawn = []
    for pull in found.spell.pulls[:MOST_LOOPS]:
        part = material.span.between(pull.start_us, _drawn_to_us(pull))
        step = max(-(-len(part) // POINTS_A_LOOP), 1)
        load, block = part["hook_load_N"] * force, part["block_position"] * length
        turned = np.abs(part["friction_state"]) <= SETTLED
        turned |= (part["state"].astype(np.int64) & int(State.REVERSED)) > 0
        load = np.where(turned, np.nan, load)
        peak = part.row_at(pull.peak_us)
        # What is thinned keeps the greatest load.
        kept = np.union1d(np.arange(0, len(part), step), [peak]).astype(np.int64)
        drawn.append(
            {
                "kind": pull.kind,
                "number": pull.number,
                "block": _cells(block[kept], 3),
                "load": _cells(load[kept], 2),
                "up": (part["block_speed_m_s"][kept] > 0.0).tolist(),
                "peak": [round(float(block[peak]), 3), round(pull.load_N * force, 2)],
            }
        )
    return drawn


def _drawn_to_us(pull: Pull) -> int:
    return pull.slack_end_us if pull.kind == PULL else pull.end_us


def _cells(values: Any, decimals: int) -> list[float | None]:
    return [None if v != v else round(v, decimals) for v in values.tolist()]
