"""A stuck spell as it is worked on: pulls taken or chosen, condition of the pipe, loops."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from monitor.interpret.hold import SETTLED
from monitor.mechanics.ratings import in_use_at_first, pull_limits
from monitor.model import Event, State
from monitor.report.findings import SpellFindings
from monitor.report.material import Material
from monitor.review.corrections import correction_at
from monitor.review.limits import pull_margin
from monitor.review.pulls import PULL, Pull
from monitor.review.spell import review_spell
from monitor.rig.catalogue import PIPE_CLASSES
from monitor.rig.rig import Pipe, Rig
from monitor.units import display_value

NAN = float("nan")
LEAST_DESIGN_FACTOR, GREATEST_DESIGN_FACTOR = 1.0, 3.0
POINTS_A_LOOP = 240
MOST_LOOPS = 60
# A load given by hand must have stood for so long before the span to count as free weight.
BEFORE_US = 60_000_000


@dataclass(frozen=True, slots=True)
class Condition:
    """What the engineer takes the pipe at the top for; empty: as the rig file says."""

    pipe_class: str = ""
    design_factor: float = NAN

    def of(self, rig: Rig) -> Rig:
        """Give the rig with this pipe."""
        pipe = rig.pipe or Pipe()
        if self.pipe_class:
            pipe = replace(pipe, pipe_class=self.pipe_class)
        if np.isfinite(self.design_factor):
            pipe = replace(pipe, design_factor=self.design_factor)
        return replace(rig, pipe=pipe)


def condition(pipe_class: str, design_factor: str) -> Condition:
    """Read what was chosen; ValueError says what is expected.

    >>> condition("class 2", "1.25").design_factor
    1.25
    """
    if pipe_class and pipe_class not in PIPE_CLASSES:
        raise ValueError(f"pipe condition {pipe_class!r}: one of {', '.join(PIPE_CLASSES)}")
    if not design_factor:
        return Condition(pipe_class)
    try:
        factor = float(design_factor)
    except ValueError:
        factor = NAN
    if not LEAST_DESIGN_FACTOR <= factor <= GREATEST_DESIGN_FACTOR:
        raise ValueError(
            f"design factor {design_factor!r}: a number from {LEAST_DESIGN_FACTOR:g} to "
            f"{GREATEST_DESIGN_FACTOR:g} is expected"
        )
    return Condition(pipe_class, factor)


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


def worked_spell(
    material: Material,
    event: Event,
    *,
    chosen: Collection[int] | None = None,
    pipe: Condition | None = None,
) -> SpellFindings:
    """Look back on one spell with the pulls and the pipe that were chosen."""
    at = event.start_us
    lines, weight_N = material.lines_at(at), material.travelling_weight_at(at)
    rig = material.rig if pipe is None else pipe.of(material.rig)
    spell = review_spell(
        material.span,
        event,
        rig,
        travelling_weight_N=weight_N,
        mud_density_kg_m3=material.mud_density_at(at),
        chosen=chosen,
    )
    in_use = replace(in_use_at_first(rig, lines), travelling_weight_N=weight_N)
    limits = pull_limits(rig, lines, in_use, event.bit_depth_m)
    pulls = [pull for pull in spell.pulls if pull.kind == PULL]
    corrections = [
        (str(pull.number), found)
        for pull in pulls
        if (found := correction_at(material.span, pull.peak_us, rig, lines)) is not None
    ]
    margins = tuple(pull_margin(pull, limits, rig, lines) for pull in pulls)
    return SpellFindings(spell, limits, margins, tuple(corrections))


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
