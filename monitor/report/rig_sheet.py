"""The rig sheet: what a rig file means, its limits as hook load, and its weakest link.

With a load, the tensions it makes. Pure: a ``Rig`` in, a dict for programs or text for
people out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from monitor import units
from monitor.mechanics.derrick import derrick_leg_loads_N, equivalent_derrick_load_N
from monitor.mechanics.fast_line import (
    block_and_tackle_efficiency,
    derrick_load_N,
    fast_line_tension_N,
)
from monitor.mechanics.ratings import pull_limits
from monitor.mechanics.reeving import DIRECTIONS, dead_line_tension_N, load_factor
from monitor.mechanics.wire_rope import design_factor
from monitor.report.depth_sheet import depth_sheet, depth_sheet_lines
from monitor.report.hoist_sheet import hoist_sheet, hoist_sheet_lines, hoist_warnings_of_sheet
from monitor.rig.file import rig_warnings
from monitor.rig.rig import Rig

CAUTION = (
    "The figures are as good as the rig file. They advise; they replace no certificate, "
    "no inspection and no safety device."
)
NAN = float("nan")
_TENSIONS = (
    "block_and_tackle_efficiency",
    "fast_line_tension_N",
    "dead_line_tension_N",
    "derrick_load_N",
)


def rig_sheet(
    rig: Rig, load_N: float | None = None, bit_depth_m: float | None = None
) -> dict[str, Any]:
    """Everything of the sheet, SI.

    ``load_N`` is all that hangs on the lines, travelling equipment included. Limits are
    hook loads, travelling equipment included, the weakest first; with a bit depth, that of
    the pipe is searched down the string there.
    """
    reeving = rig.reeving
    limits: list[dict[str, Any]] = [
        {"name": limit.name, "limit_N": limit.limit_N, "acts": limit.acts, "rating": limit.printed}
        for limit in pull_limits(
            rig, reeving.lines_strung, bit_depth_m=NAN if bit_depth_m is None else bit_depth_m
        )
    ]
    hoist = hoist_sheet(rig)
    sheet: dict[str, Any] = {
        "rig": rig.name,
        "travelling_weight_N": rig.travelling_weight_N,
        "lines_strung": reeving.lines_strung,
        "sheave_efficiency": reeving.sheave_efficiency,
        "dead_line_sheave": reeving.dead_line_sheave,
        "load_factor": {
            direction: load_factor(
                reeving.lines_strung,
                reeving.sheave_efficiency,
                reeving.dead_line_sheave,
                direction,
            )
            for direction in DIRECTIONS
        },
        "limits": limits,
        "weakest_link": limits[0] if limits else None,
        "missing": _missing(rig),
        "warnings": rig_warnings(rig) + hoist_warnings_of_sheet(hoist),
        "hoist": hoist,
    }
    if bit_depth_m is not None:
        sheet["at_depth"] = depth_sheet(rig, bit_depth_m)
    if load_N is not None:
        sheet.update(_under_load(rig, load_N))
        weakest = limits[0]["limit_N"] if limits else None
        sheet["room_left_N"] = None if weakest is None else weakest - load_N
    return sheet


def _under_load(rig: Rig, load_N: float) -> dict[str, Any]:
    """Tensions by quantity, and the same figures by direction."""
    if not load_N >= 0.0:
        raise ValueError(f"load_N is {load_N}; must be at least 0")
    by_direction = {direction: _tensions(rig, load_N, direction) for direction in DIRECTIONS}
    by_quantity: dict[str, Any] = {
        quantity: {direction: by_direction[direction][quantity] for direction in DIRECTIONS}
        for quantity in _TENSIONS
    }
    if load_N > 0.0 and rig.line is not None and rig.line.strength_N is not None:
        strength_N = rig.line.strength_N
        by_quantity["drilling_line_design_factor"] = {
            direction: design_factor(
                strength_N,
                max(tensions["fast_line_tension_N"], tensions["dead_line_tension_N"]),
            )
            for direction, tensions in by_direction.items()
        }
    legs = {
        direction: _legs(rig, load_N, tensions) for direction, tensions in by_direction.items()
    }
    return {"load_N": load_N, **by_quantity, **by_direction, "derrick_legs": legs}


def _tensions(rig: Rig, load_N: float, direction: str) -> dict[str, float]:
    reeving = rig.reeving
    n, e = reeving.lines_strung, reeving.sheave_efficiency
    sheave, extra = reeving.dead_line_sheave, reeving.extra_fast_line_sheaves
    fast_N = float(fast_line_tension_N(load_N, n, e, direction, extra))
    dead_N = float(dead_line_tension_N(load_N, n, e, sheave, direction))
    values = (
        block_and_tackle_efficiency(n, e, direction, extra),
        fast_N,
        dead_N,
        derrick_load_N(load_N, n, e, sheave, direction, extra),
    )
    return {name: float(value) for name, value in zip(_TENSIONS, values, strict=True)}


def _legs(rig: Rig, load_N: float, tensions: Mapping[str, float]) -> dict[str, float]:
    """Load of the derrick's worst leg, and the even load that would stress all legs so."""
    # An odd line ends at the block: no dead line pulls at the crown beside a leg.
    dead_N = 0.0 if rig.reeving.lines_strung % 2 else tensions["dead_line_tension_N"]
    legs_N = derrick_leg_loads_N(load_N, tensions["fast_line_tension_N"], dead_N)
    return {
        "worst_leg_N": float(legs_N.max()),
        "equivalent_derrick_load_N": float(equivalent_derrick_load_N(legs_N)),
    }


def _missing(rig: Rig) -> list[str]:
    """Name what is not given and what cannot be known without it."""
    absent = (
        (not rig.equipment, "[equipment]: no ratings, so no limits of the hoist"),
        (not rig.string, "[[string]]: no string weight, stretch or displacement by depth"),
        (rig.mud_density_kg_m3 is None, "[mud] density: no buoyancy"),
        (rig.line is None, "[line]: the line's own weight is not taken off the reading"),
        (
            rig.line is not None and rig.line.strength_N is None,
            "[line] strength or grade: no limit of the drilling line",
        ),
        (rig.pipe is None, "[pipe]: no limit of the pipe"),
        (
            any(section.yield_Pa is None for section in rig.string[:-1]),
            "[[string]] grade or yield of a lower section: its pull limit is not searched",
        ),
        (rig.drum is None, "[drum]: no wraps left, no fleet angle"),
        (rig.drawworks is None, "[drawworks]: no stopping distance, no hoisting speed"),
        (not rig.gear, "[gear.*]: no change of travelling gear by one act"),
        (rig.limits.crown_m is None, "[limits] crown: no warning near the crown"),
        (rig.limits.floor_m is None, "[limits] floor: no warning near the floor"),
    )
    return [text for is_absent, text in absent if is_absent]


def rig_sheet_text(sheet: Mapping[str, Any], display: str = "metric") -> str:
    """Sheet as text, in the units of a display set."""

    def force(value_N: float) -> str:
        return units.format_value(value_N, "force", display)

    factors = sheet["load_factor"]
    lines = [
        str(sheet["rig"]),
        "",
        f"Travelling weight   {force(sheet['travelling_weight_N'])}",
        f"Lines strung        {sheet['lines_strung']}, sheave efficiency "
        f"{sheet['sheave_efficiency']:g}, dead-line sheave {sheet['dead_line_sheave']}",
        f"Load factor         hoisting {factors['hoisting']:.3f}, held {factors['held']:.3f}, "
        f"lowering {factors['lowering']:.3f}   (hook load = factor x dead-line tension)",
        "",
        *_limit_lines(sheet["limits"], force),
        "",
        *hoist_sheet_lines(sheet["hoist"], display),
    ]
    if "load_N" in sheet:
        lines += ["", *_load_lines(sheet, force)]
    if sheet.get("at_depth"):
        lines += ["", *depth_sheet_lines(sheet["at_depth"], display)]
    for title, key in (("Missing", "missing"), ("Look at again", "warnings")):
        if sheet[key]:
            lines += ["", title, *(f"  {text}" for text in sheet[key])]
    lines += ["", CAUTION]
    return "\n".join(lines) + "\n"


def _table(rows: Sequence[Sequence[str]], words: Sequence[int] = (0,)) -> list[str]:
    """Columns in line: those of words to the left, figures to the right."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        "  "
        + "   ".join(
            cell.ljust(width) if k in words else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _limit_lines(limits: Sequence[Mapping[str, Any]], force: Callable[[float], str]) -> list[str]:
    if not limits:
        return ["Limits              none known: the rig file gives no ratings"]
    title = "Limits as hook load, travelling equipment included, in the worse friction direction"
    rows = [
        (
            limit["name"],
            force(limit["limit_N"]),
            f"{limit['rating']}, {limit['acts']}" if limit["rating"] else limit["acts"],
        )
        for limit in limits
    ]
    return [title, *_table(rows, (0, 2)), f"Weakest link: {limits[0]['name']}, {rows[0][1]}"]


def _load_lines(sheet: Mapping[str, Any], force: Callable[[float], str]) -> list[str]:
    rows: list[tuple[str, ...]] = [("", *DIRECTIONS)]
    names = (
        "block and tackle efficiency",
        "fast line",
        "dead line",
        "derrick load",
    )
    for name, quantity in zip(names, _TENSIONS, strict=True):
        values = sheet[quantity]
        show = force if quantity.endswith("_N") else "{:.4f}".format
        rows.append((name, *(show(values[direction]) for direction in DIRECTIONS)))
    legs = sheet["derrick_legs"]
    for key in ("equivalent_derrick_load_N", "worst_leg_N"):
        name = key.removesuffix("_N").replace("_", " ")
        rows.append((name, *(force(legs[direction][key]) for direction in DIRECTIONS)))
    factors = sheet.get("drilling_line_design_factor")
    if factors:
        shown = (f"{factors[direction]:.2f}" for direction in DIRECTIONS)
        rows.append(("drilling line design factor", *shown))
    lines = [f"Under {force(sheet['load_N'])} on the lines", *_table(rows)]
    room = sheet["room_left_N"]
    if room is not None:
        word = "Room left to" if room >= 0 else "OVER"
        lines.append(f"{word} the weakest link: {force(abs(room))}")
    return lines
