"""The rig file's tables of the hoist, each with its faults."""

from __future__ import annotations

from monitor.rig.hoisting import COMPENSATOR_KINDS, COMPENSATOR_STATES, Compensator
from monitor.rig.table import Table


def read_compensator(table: Table) -> Compensator | None:
    """Read ``[compensator]``; None where what it needs is missing (noted as faults)."""
    kind = table.text("kind", required=True, choices=COMPENSATOR_KINDS, meaning="in-line or crown")
    # 15 to 25 ft are usual (common practice); a metre or thirty would be another thing.
    stroke = table.quantity(
        "stroke_limit", "length", required=True, low=1.0, high=15.0, meaning="its whole stroke"
    )
    load = table.quantity(
        "load_limit",
        "force",
        required=True,
        low=1e5,
        high=2e7,
        meaning="what it may carry while it strokes",
    )
    stiffness = table.quantity("stiffness", "stiffness", above=0.0, high=1e7)
    state = table.text("state", default="open", choices=COMPENSATOR_STATES)
    table.close()
    if not kind or stroke is None or load is None:
        return None
    return Compensator(kind, stroke, load, stiffness, state)
