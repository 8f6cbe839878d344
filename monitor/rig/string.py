"""The rig file's ``[[string]]`` tables, and what is odd about a rig without being wrong."""

from __future__ import annotations

from collections.abc import Sequence

from monitor import units
from monitor.rig import catalogue
from monitor.rig.equipment import hoist_warnings
from monitor.rig.rig import Rig, Section
from monitor.rig.table import Table

# No joint, single or stand, is shorter or longer (common practice: 0.3 m subs to 45 m stands).
LEAST_JOINT_M, GREATEST_JOINT_M = 0.1, 50.0
# Tool joints, upsets and wear explain a weight this far from the plain tube of steel ...
_WARN_BELOW, _WARN_ABOVE = 0.90, 1.35
# ... and nothing explains a factor of two: a unit or a diameter is wrong.
_REFUSE_FACTOR = 2.0
# Between the sizing factors of RP 9B, 1.04 rolling and 1.09 plain (0.96 and 0.92), and rolling
# sheaves in good order, 0.98 to 0.99.
_LEAST_ROLLING, _GREATEST_PLAIN = 0.95, 0.95
_LIGHTEST_MUD_kg_m3 = 700.0


def read_string(tables: Sequence[Table]) -> tuple[Section, ...]:
    """Read the sections, bit upwards; only the uppermost may have the length "rest"."""
    sections = []
    for number, table in enumerate(tables, 1):
        section = _section(table, is_top=number == len(tables))
        table.close()
        if section is not None:
            sections.append(section)
    return tuple(sections)


def check_tool_joint(rig: Rig, top: Table) -> None:
    """Note a tool joint that is thinner than the uppermost section's tube."""
    outside_m = None if rig.pipe is None else rig.pipe.tool_joint_outside_diameter_m
    if outside_m is not None and rig.string and outside_m < rig.string[-1].outside_diameter_m:
        name = rig.string[-1].name
        top.table("pipe").fault(
            "tool_joint_outside_diameter", f"at least the outside diameter of {name}"
        )


def _section(table: Table, *, is_top: bool) -> Section | None:
    name = table.text("name", required=True, meaning="what this section is")
    length = None
    if table.content.get("length") == "rest":
        table.known("length")
        if not is_top:
            table.fault("length", 'only the uppermost section, the last, can be "rest"')
    else:
        length = table.quantity("length", "length", required=True, above=0.0, high=15_000.0)
    outside = table.quantity("outside_diameter", "length", required=True, above=0.0, high=1.5)
    inside = table.quantity("inside_diameter", "length", required=True, low=0.0, high=1.5)
    weight = table.quantity(
        "weight_in_air", "weight_per_length", required=True, above=0.0, high=1e5
    )
    yield_Pa = read_yield(table)
    pipe_class = table.text("class", default="premium", choices=catalogue.PIPE_CLASSES)
    if outside is None or inside is None or weight is None:
        return None
    if inside >= outside:
        table.fault("inside_diameter", "smaller than the outside diameter")
        return None
    steel = catalogue.steel_weight_N_m(outside, inside)
    if not 1 / _REFUSE_FACTOR <= weight / steel <= _REFUSE_FACTOR:
        table.fault(
            "weight_in_air",
            f"within a factor of two of {steel:.0f} N/m, the weight of a steel tube of "
            "these diameters; check units and diameters",
        )
    return Section(name, length, outside, inside, weight, yield_Pa, pipe_class)


def read_tally_table(table: Table) -> tuple[float, ...]:
    """Read the joints' lengths, the bit's end first."""
    form = 'joint lengths with their unit, like ["9.45 m", "9.51 m"]'
    lengths = []
    for number, value in enumerate(table.array("lengths", form), 1):
        try:
            length = units.to_si(value, "length") if isinstance(value, str) else 0.0
        except units.UnitError:
            length = 0.0
        if LEAST_JOINT_M <= length <= GREATEST_JOINT_M:
            lengths.append(length)
        else:
            span = f"{LEAST_JOINT_M:g} to {GREATEST_JOINT_M:g} m each"
            table.fault("lengths", f"joint {number}: {form}, {span}")
    table.close()
    return tuple(lengths)


def read_yield(table: Table) -> float | None:
    """Yield strength as given, or that of the grade; None where neither is."""
    grade = table.text("grade").upper().replace("-", "")
    yield_Pa = table.quantity("yield", "pressure", low=1e8, high=2e9)
    if yield_Pa is None and grade in catalogue.PIPE_GRADES_ksi:
        return units.to_si(f"{catalogue.PIPE_GRADES_ksi[grade]} ksi", "pressure")
    if grade and yield_Pa is None and "yield" not in table:
        known = ", ".join(catalogue.PIPE_GRADES_ksi)
        table.fault("grade", f"one of: {known}; or give yield with any grade")
    return yield_Pa


def _sheave_warnings(rig: Rig) -> list[str]:
    efficiency, bearings = rig.reeving.sheave_efficiency, rig.reeving.sheave_bearings
    if bearings == "rolling" and efficiency < _LEAST_ROLLING:
        return [
            f"sheave efficiency {efficiency:g} is lower than roller-bearing sheaves in running "
            'order have (0.95 and more); for plain bearings say sheave_bearings = "plain"'
        ]
    if bearings == "plain" and efficiency > _GREATEST_PLAIN:
        return [
            f"sheave efficiency {efficiency:g} is higher than sheaves with plain bearings have "
            "(0.95 and less)"
        ]
    return []


def rig_warnings(rig: Rig) -> list[str]:
    """List what a person should look at again; nothing here stops the monitor."""
    warnings = []
    for section in rig.string:
        steel = catalogue.steel_weight_N_m(section.outside_diameter_m, section.inside_diameter_m)
        ratio = section.weight_in_air_N_m / steel
        if not _WARN_BELOW <= ratio <= _WARN_ABOVE:
            warnings.append(
                f"string section {section.name!r}: weight in air "
                f"{section.weight_in_air_N_m:.0f} N/m is {100 * (ratio - 1):+.0f} % from a steel "
                f"tube of its diameters ({steel:.0f} N/m); check diameters and unit"
            )
    if rig.string and rig.string[-1].length_m is not None:
        warnings.append(
            'the uppermost string section has a fixed length, not "rest": '
            "deeper than their sum it is taken to go on"
        )
    warnings += _sheave_warnings(rig)
    if rig.mud_density_kg_m3 is not None and rig.mud_density_kg_m3 < _LIGHTEST_MUD_kg_m3:
        warnings.append(
            f"mud density {rig.mud_density_kg_m3:g} kg/m3 is lighter than any oil: "
            "air or foam, or the wrong unit"
        )
    for kind in ("overpull_N", "slack_off_N"):
        alarm, event = getattr(rig.alarms, kind), getattr(rig.events, kind)
        if alarm is not None and alarm < event:
            warnings.append(
                f"[alarms] {kind[:-2]} is less than [events] {kind[:-2]}: "
                "it cannot sound before the event is logged"
            )
    if (rig.agreed.overpull_N or rig.agreed.slack_off_N) and not rig.agreed.who:
        warnings.append("[agreed] does not say who agreed the limits")
    return warnings + hoist_warnings(rig)
