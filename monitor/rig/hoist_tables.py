"""The rig file's tables of the hoist, each with its faults."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from monitor.rig.hoisting import (
    COMPENSATOR_KINDS,
    COMPENSATOR_STATES,
    HOOK_KINDS,
    POSITIONER_STATES,
    ROTATION_LOCK_STATES,
    Compensator,
    Drawworks,
    Drum,
    Hook,
    LineWork,
    LoggedCut,
)
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


def read_drum(table: Table, line_diameter_m: float | None) -> Drum | None:
    """Read ``[drum]``; the flange depth becomes layers by the line's diameter."""
    diameter = table.quantity(
        "diameter", "length", required=True, low=0.2, high=3.0, meaning="the bare barrel's"
    )
    width = table.quantity(
        "width", "length", required=True, low=0.2, high=5.0, meaning="between the flanges"
    )
    depth = table.quantity("flange_depth", "length", above=0.0, high=1.5)
    layers: int | None = None
    if "layers" in table:
        layers = table.integer("layers", default=None, low=1, high=12, meaning="layers of line")
    elif depth is not None and line_diameter_m:
        # Nested layers rise by 0.866 of the line's diameter.
        layers = max(1, int((depth / line_diameter_m - 1.0) / (3**0.5 / 2)) + 1)
    elif depth is not None:
        table.fault("flange_depth", "needs [line] diameter beside it; or give layers")
    table.known("layers")
    on_drum = table.quantity("line_on_drum", "length", above=0.0, high=3000.0)
    height = table.quantity("at_block_height", "length", low=-50.0, high=100.0)
    if (on_drum is None) != (height is None):
        given = "line_on_drum" if height is None else "at_block_height"
        table.fault(given, "line_on_drum and at_block_height belong together")
    distance = table.quantity("fleet_distance", "length", low=1.0, high=100.0)
    least = table.number(
        "least_wraps", default=6.0, low=3.0, below=30.0, meaning="wraps, from 3 to below 30"
    )
    shown, surveyed = _block_survey(table)
    table.close()
    if diameter is None or width is None:
        return None
    if line_diameter_m and diameter < 10.0 * line_diameter_m:
        table.fault("diameter", f"ten line diameters ({10 * line_diameter_m:.3g} m) or more")
    return Drum(diameter, width, layers, on_drum, height or 0.0, distance, least, shown, surveyed)


_POINT = 'points like ["10 m", "10.05 m"]: block height shown, block height measured'


def _block_survey(table: Table) -> tuple[tuple[float, ...], tuple[float, ...]]:
    points: list[tuple[float, float]] = []
    for number, row in enumerate(table.array("survey", _POINT), 1):
        point = _point(table, row, number) if isinstance(row, list) and len(row) == 2 else None
        if point is None:
            table.fault("survey", f"point {number}: {_POINT}")
        elif points and not (point[0] > points[-1][0] and point[1] > points[-1][1]):
            table.fault("survey", f"point {number}: both heights above the point before")
        else:
            points.append(point)
    if len(points) == 1:
        table.fault("survey", "at least two points")
        return (), ()
    return tuple(shown for shown, _ in points), tuple(measured for _, measured in points)


def _point(parent: Table, row: list[Any], number: int) -> tuple[float, float] | None:
    content = dict(zip(("shown", "measured"), row, strict=True))
    table = Table(content, f"{parent.path}.survey[{number}]", parent.file, parent.faults)
    shown = table.quantity("shown", "length", required=True, low=-50.0, high=100.0)
    measured = table.quantity("measured", "length", required=True, low=-50.0, high=100.0)
    return None if shown is None or measured is None else (shown, measured)


def read_drawworks(table: Table) -> Drawworks:
    """Read ``[drawworks]``."""
    power = table.quantity("power", "power", low=1e4, high=2e7)
    # Half a metre a second squared is a weak brake; ten would throw the block off the line.
    deceleration = table.quantity("brake_deceleration", "acceleration", low=0.1, high=10.0)
    reaction = table.quantity("reaction_time", "time", low=0.0, high=10.0)
    table.close()
    default = Drawworks().reaction_time_s
    return Drawworks(power, deceleration, default if reaction is None else reaction)


def read_hook(table: Table) -> Hook:
    """Read ``[hook]``: in one piece with the block or not, and how it is set for trips."""
    default = Hook()
    hook = Hook(
        kind=table.text("kind", default=default.kind, choices=HOOK_KINDS),
        rotation_lock=table.text("rotation_lock", choices=ROTATION_LOCK_STATES),
        positioner=table.text("positioner", choices=POSITIONER_STATES),
        rotation_lock_for_trips=table.text(
            "rotation_lock_for_trips",
            default=default.rotation_lock_for_trips,
            choices=ROTATION_LOCK_STATES,
        ),
        positioner_for_trips=table.text(
            "positioner_for_trips",
            default=default.positioner_for_trips,
            choices=POSITIONER_STATES,
        ),
    )
    table.close()
    return hook


def read_line_work(table: Table) -> LineWork:
    """Read ``[line_work]`` with its log of cuts."""
    goal = table.quantity("goal", "work", low=1e8, high=1e12, meaning="work between cuts")
    length = table.quantity("cut_length", "length", low=1.0, high=500.0)
    lap = table.quantity("lap_length", "length", low=0.5, high=20.0, meaning="one wrap's")
    since = table.quantity("since_cut", "work", low=0.0, high=1e12)
    limit = table.quantity("time_limit", "time", low=600.0, high=86_400.0)
    cuts: list[LoggedCut] = []
    for row in table.tables("cut"):
        cut = _cut(row)
        if cut is not None and cuts and cut.when < cuts[-1].when:
            row.fault("when", "later than the cut before")
        if cut is not None:
            cuts.append(cut)
    table.close()
    return LineWork(
        goal,
        length,
        lap,
        since or 0.0,
        LineWork().time_limit_s if limit is None else limit,
        tuple(cuts),
    )


def _cut(table: Table) -> LoggedCut | None:
    when = table.text("when", required=True, meaning="the date of the cut")
    length = table.quantity("length", "length", required=True, low=0.1, high=500.0)
    work = table.quantity("work", "work", low=0.0, high=1e12)
    table.close()
    return None if not when or length is None else LoggedCut(when, length, work)


def is_table(content: Mapping[str, Any], key: str) -> bool:
    """Tell whether a key holds a table; where not, that is a fault of its own already."""
    return isinstance(content.get(key), Mapping)
