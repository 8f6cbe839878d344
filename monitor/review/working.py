"""How the string was worked besides the block: circulation and rotation, where known."""

from __future__ import annotations

import numpy as np

from monitor.model import Activity
from monitor.review.line import Figure
from monitor.review.span import Span

# Below these a string is said not to turn and the pumps to be off: 1 rpm, and 120 L/min, above
# what a meter shows of no flow and below any slow pump rate (common practice).
LEAST_ROTARY_RAD_S = 0.1
LEAST_FLOW_M3_S = 2e-3
CHANNELS = (
    ("flow_in", LEAST_FLOW_M3_S, "pumps off", "circulating"),
    ("rotary_speed", LEAST_ROTARY_RAD_S, "not rotating", "rotating"),
)
# On for more of the time than this is on all of it; for less than the rest, off.
NEARLY_ALL = 0.9


def working(span: Span, from_us: int, to_us: int) -> str:
    """Circulation and rotation in a short time as a sentence; empty where not in the record."""
    part = span.between(from_us, to_us)
    words = []
    for name, least, off, on in CHANNELS:
        values = part[name][np.isfinite(part[name])]
        if len(values):
            words.append(on if abs(float(np.median(values))) > least else off)
    text = ", ".join(words)
    return f" {text[0].upper()}{text[1:]}." if text else ""


def worked_out_of_slips(span: Span, from_us: int, to_us: int) -> tuple[str, dict[str, Figure]]:
    """Circulation and rotation over stands, how much and how long; empty where not known."""
    part = span.between(from_us, to_us)
    out = part["activity"] != Activity.IN_SLIPS
    words: list[str] = []
    figures: dict[str, Figure] = {}
    for name, least, off, on in CHANNELS:
        values = np.abs(part[name][out & np.isfinite(part[name])])
        if not len(values):
            continue
        share = float(np.mean(values > least))
        if share < 1.0 - NEARLY_ALL:
            words.append(off)
            continue
        quantity = "flow" if name == "flow_in" else "angular_speed"
        figures[name] = (float(np.median(values[values > least])), quantity)
        how_long = "" if share > NEARLY_ALL else f" {100 * share:.0f} % of the time out of slips"
        words.append(f"{on} at {{{name}}}{how_long}")
    return ", ".join(words), figures
