"""The rig file's rated equipment and sets of travelling gear, and what cannot be with them."""

from __future__ import annotations

from monitor import units
from monitor.rig.hoist_tables import is_table
from monitor.rig.hoisting import DRIVES, DUTIES, ELEVATOR_FITS, TUBULARS, Gear
from monitor.rig.rig import Equipment, Rig
from monitor.rig.table import Table

# Where a rating acts. The last but one: everything the crown carries, both line ends too.
RATED_FOR = (
    "hook load",
    "below hook",
    "below block",
    "fast line",
    "dead line",
    "crown total",
    "pipe body",
)
# Where a piece with one of these names can be rated; others may be rated for anything.
_USUAL = {
    "crown block": ("crown total", "hook load"),
    "travelling block": ("hook load",),
    "hook": ("below block", "below hook"),
    "combined hook block": ("hook load",),
    "links": ("below hook",),
    "elevator": ("below hook",),
    "elevators": ("below hook",),
    "spider": ("below hook", "pipe body"),
    "swivel": ("below hook",),
    "top drive": ("below hook", "below block"),
    "dead line anchor": ("dead line",),
    "drilling line": ("fast line",),
    "drill pipe": ("pipe body",),
    "compensator": ("below block", "crown total", "hook load"),
    "motion compensator": ("below block", "crown total", "hook load"),
}
# The gear named in [rig] and its weight there agree within this share.
_SAME_WEIGHT = 0.03
# Kelly and swivel, top drive, casing tools: sets of one rig differ by half, not by five times.
_GEAR_RATIO = 5.0
TRAVELLING_BLOCKS = ("travelling block", "combined hook block")
_MOST_LINES = 16


def read_equipment(table: Table) -> tuple[Equipment, ...]:
    """Read ``[equipment.*]``, each with its rating and where it acts."""
    pieces = []
    for key in table.keys():
        piece = table.table(key)
        if not is_table(table.content, key):
            continue  # that is the fault; its missing settings need not be listed too
        equipment = _piece(piece, key.replace("_", " "))
        if equipment is not None:
            pieces.append(equipment)
    return tuple(pieces)


def _piece(table: Table, name: str) -> Equipment | None:
    by_lines = _by_lines(table)
    rating = table.quantity("rating", "force", required=not by_lines, above=0.0, high=1e8)
    rated_for = table.text(
        "rated_for",
        required=True,
        choices=RATED_FOR,
        meaning=f"where the rating acts, one of: {', '.join(RATED_FOR)}",
    )
    sheaves = None
    if "sheaves" in table:
        sheaves = table.integer(
            "sheaves", default=None, low=2, high=10, meaning="sheaves of the block"
        )
    diameter = table.quantity("sheave_diameter", "length", low=0.2, high=3.0)
    table.known("sheaves")
    table.close()
    if by_lines and rating is None:
        rating = min(value for value, _ in by_lines.values())
    if rating is None or not rated_for:
        return None
    return Equipment(
        name,
        rating,
        rated_for,
        str(table.content.get("rating", "")),
        sheaves=sheaves,
        sheave_diameter_m=diameter,
        by_lines=tuple((n, by_lines[n][0]) for n in sorted(by_lines)),
        printed_by_lines=tuple((n, by_lines[n][1]) for n in sorted(by_lines)),
    )


def _by_lines(table: Table) -> dict[int, tuple[float, str]]:
    """Read a derrick's ratings by lines strung: ``rating_by_lines.10 = "450 short tons"``."""
    table.known("rating_by_lines")
    if "rating_by_lines" not in table:
        return {}
    inner = table.table("rating_by_lines")
    found = {}
    for key in inner.keys():
        rating = inner.quantity(key, "force", above=0.0, high=1e8)
        if not key.isdecimal() or not 2 <= int(key) <= _MOST_LINES:
            inner.fault(key, f"the key is a number of lines, 2 to {_MOST_LINES}")
        elif rating is not None:
            found[int(key)] = (rating, str(inner.content[key]))
    return found


def read_gear(table: Table) -> tuple[Gear, ...]:
    """Read ``[gear.*]``, sets of travelling gear."""
    sets = []
    for key in table.keys():
        gear = table.table(key)
        if is_table(table.content, key):
            found = _gear(gear, key.replace("_", " "))
            if found is not None:
                sets.append(found)
    return tuple(sets)


def _gear(table: Table, name: str) -> Gear | None:
    weight = table.quantity(
        "weight",
        "force",
        required=True,
        above=0.0,
        high=5e6,
        meaning="what hangs on the lines with this gear and no pipe",
    )
    names = table.array("equipment", "names of [equipment.*] that hang only with this gear")
    if not all(isinstance(item, str) for item in names):
        table.fault("equipment", "an array of names of [equipment.*], in quotes")
        names = []
    elevator = table.text("elevator", choices=tuple(ELEVATOR_FITS))
    tubular = table.text("tubular", choices=TUBULARS)
    duty = table.text(
        "duty",
        default="setting casing" if tubular == "casing" else "tripping",
        choices=DUTIES,
    )
    drive = table.text("drive", default="none", choices=DRIVES)
    table.close()
    if weight is None:
        return None
    pieces = tuple(item.replace("_", " ") for item in names)
    return Gear(name, weight, pieces, drive, elevator, tubular, duty)


def check_hoist(rig: Rig, top: Table) -> None:
    """Note what cannot be: too few sheaves, ratings below what always hangs, unknown names."""
    _check_sheaves(rig, top)
    for piece in rig.equipment:
        _check_rating(rig, piece, top)
    known = {piece.name for piece in rig.equipment}
    for gear in rig.gear:
        unknown = [name for name in gear.equipment if name not in known]
        if unknown:
            table = top.table("gear").table(_key(top, "gear", gear.name))
            table.fault("equipment", f"no [equipment.*] is called {', '.join(unknown)}")
    _check_first_gear(rig, top)
    _check_compensator(rig, top)


def _key(top: Table, table: str, name: str) -> str:
    keys = top.content.get(table, {})
    return next((key for key in keys if key.replace("_", " ") == name), name)


def _check_sheaves(rig: Rig, top: Table) -> None:
    """Refuse more lines than the crown has sheaves for: n lines need n/2 + 1."""
    lines = rig.reeving.lines_strung
    for piece in rig.equipment:
        if piece.sheaves is None:
            continue
        if piece.name in TRAVELLING_BLOCKS and lines // 2 > piece.sheaves:
            top.table("reeving").fault(
                "lines_strung",
                f"{2 * piece.sheaves} lines at most on a {piece.name} of {piece.sheaves} "
                f"sheaves: {lines} lines need {lines // 2}",
            )
        if piece.name != "crown block":
            continue
        most = min(2 * (piece.sheaves - 1) + 1, _MOST_LINES)
        if lines > most:
            top.table("reeving").fault(
                "lines_strung",
                f"{most - most % 2} lines at most on a crown block of {piece.sheaves} sheaves "
                f"([equipment.crown_block] sheaves): {lines} lines need {lines // 2 + 1}",
            )


def _check_rating(rig: Rig, piece: Equipment, top: Table) -> None:
    """Refuse a rating that the empty gear alone would pass: a unit or a digit is wrong."""
    n = rig.reeving.lines_strung
    # Without friction, which only makes it less: hook load at the rating.
    factor = {
        "hook load": 1.0,
        "below block": 1.0,
        # Not carried by them, yet nothing weaker than the gear itself hangs in it.
        "below hook": 1.0,
        "fast line": n,
        "dead line": n,
        "crown total": n / (n + 2),
    }
    place = factor.get(piece.rated_for)
    weights = [
        gear.weight_N
        for gear in rig.gear
        if piece.name in gear.equipment or not _is_of_some_gear(rig, piece.name)
    ] or [rig.travelling_weight_N]
    weight = max(weights)
    if place is None or piece.rating_at(n) * place > weight:
        return
    table = top.table("equipment").table(_key(top, "equipment", piece.name))
    table.fault(
        "rating",
        f"above the travelling weight, {units.format_value(weight, 'force')} "
        f"(rated for {piece.rated_for}); check unit and rated_for",
    )


def _is_of_some_gear(rig: Rig, name: str) -> bool:
    return any(name in gear.equipment for gear in rig.gear)


def _check_first_gear(rig: Rig, top: Table) -> None:
    if not rig.gear:
        return
    first = rig.first_gear
    if first is None:
        names = ", ".join(gear.name for gear in rig.gear)
        top.table("rig").fault("gear", f"one of the sets of [gear.*]: {names}")
        return
    _check_gear_weights(rig, top)
    if abs(first.weight_N / rig.travelling_weight_N - 1.0) > _SAME_WEIGHT:
        top.table("rig").fault(
            "travelling_weight",
            f"the weight of the gear in use, {first.name}, "
            f"{units.format_value(first.weight_N, 'force')}, within 3 %; "
            "or name another with [rig] gear",
        )


def _check_gear_weights(rig: Rig, top: Table) -> None:
    """Refuse sets of gear that weigh another order of magnitude: a unit or a digit is wrong."""
    for gear in rig.gear:
        ratio = gear.weight_N / rig.travelling_weight_N
        if not 1.0 / _GEAR_RATIO <= ratio <= _GEAR_RATIO:
            table = top.table("gear").table(_key(top, "gear", gear.name))
            table.fault(
                "weight",
                f"within a factor of {_GEAR_RATIO:g} of the travelling weight, "
                f"{units.format_value(rig.travelling_weight_N, 'force')}; check the unit",
            )


def _check_compensator(rig: Rig, top: Table) -> None:
    fitted = rig.compensator
    if fitted is not None and fitted.load_limit_N <= rig.travelling_weight_N:
        weight = units.format_value(rig.travelling_weight_N, "force")
        top.table("compensator").fault(
            "load_limit", f"above the travelling weight, {weight}; check the unit"
        )


def hoist_warnings(rig: Rig) -> list[str]:
    """List what is odd about the hoist without being wrong."""
    found = [gear.mismatch for gear in rig.gear if gear.mismatch]
    for piece in rig.equipment:
        usual = _USUAL.get(piece.name, ())
        if usual and piece.rated_for not in usual:
            found.append(
                f"{piece.name} is rated for {piece.rated_for}; usual is {' or '.join(usual)}"
            )
        lines = rig.reeving.lines_strung
        if piece.by_lines and lines not in dict(piece.by_lines):
            found.append(
                f"{piece.name} has no rating for {lines} lines; the least of its others is taken"
            )
    lap, cut = rig.line_work.lap_length_m, rig.line_work.cut_length_m
    if lap and cut and abs(cut / lap - round(cut / lap)) < 0.1 and cut / lap > 0.5:
        found.append(
            "[line_work] cut_length is a multiple of the lap: worn places meet the same "
            "crossovers again; half a lap more or less moves them"
        )
    if rig.hook is not None and rig.hook.kind == "combined":
        names = {piece.name for piece in rig.equipment}
        if "hook" in names:
            found.append(
                '[hook] kind is "combined", yet [equipment.hook] is rated apart; '
                "call it combined_hook_block or set the kind to separate"
            )
    return found
