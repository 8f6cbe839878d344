"""The rig file: TOML text in, a ``Rig`` out, or every fault of the text at once."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from monitor import units
from monitor.rig import catalogue
from monitor.rig.alarm_tables import read_agreed, read_alarms, read_jar
from monitor.rig.equipment import RATED_FOR, check_hoist, read_equipment, read_gear
from monitor.rig.hoist_tables import (
    read_compensator,
    read_drawworks,
    read_drum,
    read_hook,
    read_line_work,
)
from monitor.rig.hoisting import Drum
from monitor.rig.input_map import read_input
from monitor.rig.rig import (
    NEAR_MARK_M,
    DepthMark,
    EventLimits,
    Limits,
    Line,
    MudHose,
    Pipe,
    Reeving,
    Rig,
    Sensor,
    SurveyStation,
)
from monitor.rig.string import (
    check_tool_joint,
    read_string,
    read_tally_table,
    read_yield,
    rig_warnings,
)
from monitor.rig.table import ConfigError, Table

__all__ = ["RATED_FOR", "ConfigError", "parse_rig", "rig_warnings"]


def parse_rig(text: str, file: str = "rig file") -> Rig:
    """Read a rig file's text; ConfigError lists every fault, a line each.

    ``file`` is only how the faults call it.
    """
    try:
        content = tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        raise ConfigError([f"{file}: not readable as TOML: {error}"]) from None
    faults: list[str] = []
    rig = _read(Table(content, "", file, faults), hashlib.sha256(text.encode()).hexdigest())
    if faults:
        raise ConfigError(faults)
    return rig


def _read(top: Table, text_hash: str) -> Rig:
    general = top.table("rig")
    name = general.text("name", required=True, meaning="the rig's name")
    travelling_weight_N = general.quantity(
        "travelling_weight",
        "force",
        required=True,
        above=0.0,
        high=5e6,
        meaning="what hangs on the lines with no pipe: block, hook or top drive, elevators",
    )
    time_zone, run = general.zone("time_zone"), general.text("run")
    gear_in_use = general.text("gear", meaning="the set of [gear.*] in use")
    general.close()
    mud = top.table("mud")
    density = mud.quantity("density", "density", above=0.0, high=3000.0, meaning="mud, not rock")
    mud.close()
    hoist = top.table("hoist")
    compliance = hoist.quantity("compliance", "compliance", low=0.0, high=1e-6)
    hoist.close()
    line = _line(top.table("line")) if "line" in top else None
    rig = Rig(
        name=name,
        travelling_weight_N=travelling_weight_N or 1.0,
        reeving=_reeving(top.table("reeving")),
        events=_events(top.table("events")),
        alarms=read_alarms(top.table("alarms")),
        agreed=read_agreed(top.table("agreed")),
        jar=read_jar(top.table("jar")),
        string=read_string(top.tables("string")),
        mud_density_kg_m3=density,
        line=line,
        mud_hose=_mud_hose(top.table("mud_hose")) if "mud_hose" in top else None,
        sensor=_sensor(top.table("sensor")),
        pipe=_pipe(top.table("pipe")) if "pipe" in top else None,
        equipment=read_equipment(top.table("equipment")),
        depth_marks=_depth_marks(top),
        tally_m=read_tally_table(top.table("tally")),
        survey=_survey(top.table("survey")),
        limits=_limits(top.table("limits")),
        input=read_input(top.table("input")),
        hoist_compliance_m_N=compliance or 0.0,
        compensator=(read_compensator(top.table("compensator")) if "compensator" in top else None),
        drum=_drum(top, line),
        drawworks=read_drawworks(top.table("drawworks")) if "drawworks" in top else None,
        hook=read_hook(top.table("hook")) if "hook" in top else None,
        gear=read_gear(top.table("gear")),
        gear_in_use=gear_in_use.replace("_", " "),
        line_work=read_line_work(top.table("line_work")),
        time_zone=time_zone,
        run=run,
        text_hash=text_hash,
    )
    top.known("line", "mud_hose", "pipe", "compensator", "drum", "drawworks", "hook")
    top.close()
    if not top.faults:
        check_hoist(rig, top)
        check_tool_joint(rig, top)
    return rig


def _drum(top: Table, line: Line | None) -> Drum | None:
    diameter_m = None if line is None else line.diameter_m
    return read_drum(top.table("drum"), diameter_m) if "drum" in top else None


def _reeving(table: Table) -> Reeving:
    lines = table.integer(
        "lines_strung", default=None, low=2, high=16, meaning="lines at the travelling block"
    )
    meaning = "efficiency of one turning sheave, at least 0.9 and below 1"
    if "sheave_efficiency" not in table:
        table.fault("sheave_efficiency", f"required: {meaning}, like 0.985")
    efficiency = table.number(
        "sheave_efficiency", default=0.985, low=0.9, below=1.0, meaning=meaning
    )
    sheave = table.text("dead_line_sheave", default="fixed", choices=("fixed", "turning"))
    extra = table.integer(
        "extra_fast_line_sheaves", default=0, low=0, high=4, meaning="turning lead sheaves"
    )
    bearings = table.text("sheave_bearings", default="rolling", choices=("rolling", "plain"))
    half_width = _half_width(table)
    table.close()
    if lines % 2 and sheave == "turning":
        table.fault(
            "dead_line_sheave",
            f"fixed: with {lines} lines the line ends at the travelling block",
        )
    return Reeving(lines, efficiency, sheave, extra, bearings, half_width)


def _half_width(table: Table) -> float | None:
    if "efficiency_half_width" not in table:
        return None
    return table.number(
        "efficiency_half_width",
        default=0.005,
        low=1e-5,
        below=0.05,
        meaning="how far off the sheave efficiency may be, at 95 %, like 0.002",
    )


def _events(table: Table) -> EventLimits:
    default = EventLimits()
    overpull = table.quantity("overpull", "force", above=0.0, high=5e6)
    slack_off = table.quantity("slack_off", "force", above=0.0, high=5e6)
    table.close()
    return EventLimits(overpull or default.overpull_N, slack_off or default.slack_off_N)


def _line(table: Table) -> Line:
    diameter = table.quantity("diameter", "length", required=True, low=0.008, high=0.08)
    weight = table.quantity("weight", "weight_per_length", above=0.0, high=500.0)
    strength = table.quantity("strength", "force", above=0.0, high=2e7)
    grade = table.text("grade", choices=catalogue.WIRE_ROPE_GRADES)
    construction = table.text(
        "construction", default="6x19 Seale", choices=catalogue.LINE_CONSTRUCTIONS
    )
    core = table.text("core", default="wire rope", choices=catalogue.LINE_CORES)
    length = table.quantity("length", "length", above=0.0, high=10_000.0)
    anchor = table.quantity("anchor_height", "length", low=-50.0, high=50.0)
    table.close()
    diameter = diameter or 0.035
    if strength is None and grade:
        strength = catalogue.wire_rope_strength_N(diameter, grade, core)
        if strength is None:
            table.fault(
                "grade", "no strength is known for this diameter, grade and core; give strength"
            )
    return Line(
        diameter_m=diameter,
        weight_N_m=weight or catalogue.wire_rope_weight_N_m(diameter),
        strength_N=strength,
        length_m=length,
        anchor_height_m=anchor or 0.0,
        grade=grade,
        construction=construction,
    )


def _mud_hose(table: Table) -> MudHose:
    weight = table.quantity(
        "weight", "weight_per_length", required=True, above=0.0, high=2000.0, meaning="filled"
    )
    height = table.quantity("at_block_height", "length", low=-50.0, high=100.0)
    table.close()
    return MudHose(weight or 0.0, height or 0.0)


_SIGNAL = re.compile(r"\s*([\d.]+)\s*(?:-|–|to)\s*([\d.]+)\s*([A-Za-z]\S*)\s*")


def _sensor(table: Table) -> Sensor:
    span = table.quantity("span", "force", above=0.0, high=5e6)
    calibration = table.text("calibration")
    arm_ratio, area = _anchor(table)
    signal = table.text("signal", default="4-20 mA", meaning='a range like "4-20 mA"')
    table.close()
    default = Sensor(
        span_N=span, calibration=calibration, arm_ratio=arm_ratio, effective_area_m2=area
    )
    parts = _SIGNAL.fullmatch(signal)
    quantities = [q for q in units.quantity_of(parts[3]) if q != "signal"] if parts else []
    if parts is None or "signal" not in units.quantity_of(parts[3]):
        table.fault("signal", 'the range of the signal with its unit, like "4-20 mA", "0-10 V"')
        return default
    try:
        low = units.to_si(f"{parts[1]} {parts[3]}", "signal")
        high = units.to_si(f"{parts[2]} {parts[3]}", "signal")
    except units.UnitError as error:
        table.fault("signal", str(error))
        return default
    if low >= high:
        table.fault("signal", "the low end first, then the high end")
    return replace(default, signal_quantity=quantities[0], signal_low=low, signal_high=high)


def _anchor(table: Table) -> tuple[float | None, float | None]:
    """Read the geometry of the dead-line anchor and its load cell."""
    ratio = None
    if "arm_ratio" in table:
        ratio = table.number(
            "arm_ratio",
            default=1.0,
            low=0.01,
            below=100.0,
            meaning="force on the load cell over tension of the line: wrap radius over arm",
        )
    area_m2 = table.quantity("effective_area", "area", above=0.0, high=1.0)
    return ratio, area_m2


def _pipe(table: Table) -> Pipe:
    yield_Pa = read_yield(table)
    grade = table.text("grade").upper().replace("-", "")
    if yield_Pa is None and not grade and "yield" not in table:
        known = ", ".join(catalogue.PIPE_GRADES_ksi)
        table.fault("grade", f"one of: {known}; or give yield with any grade")
    pipe = Pipe(
        grade=grade,
        pipe_class=table.text("class", default="premium", choices=catalogue.PIPE_CLASSES),
        yield_Pa=yield_Pa,
        design_factor=table.number(
            "design_factor", default=1.1, low=1.0, below=5.0, meaning="from 1 to below 5"
        ),
        tool_joint_length_m=table.quantity("tool_joint_length", "length", above=0.0, high=2.0),
        tool_joint_outside_diameter_m=table.quantity(
            "tool_joint_outside_diameter", "length", above=0.0, high=0.5
        ),
        torque_Nm=table.quantity("torque", "torque", low=0.0, high=2e5) or 0.0,
    )
    table.close()
    return pipe


def _depth_marks(top: Table) -> tuple[DepthMark, ...]:
    """Read ``[hole]`` (the key is the name) and ``[[depth_mark]]``, shallowest first."""
    marks = []
    hole = top.table("hole")
    for key in hole.keys():
        depth = hole.quantity(key, "length", low=0.0, high=15_000.0)
        if depth is not None:
            marks.append(DepthMark(key.replace("_", " "), depth))
    for table in top.tables("depth_mark"):
        name = table.text("name", required=True, meaning="what is at this depth")
        depth = table.quantity("depth", "length", required=True, low=0.0, high=15_000.0)
        slow_down = table.quantity("slow_down", "speed", above=0.0, high=5.0)
        within = table.quantity("within", "length", above=0.0, high=500.0)
        table.close()
        if depth is not None:
            marks.append(DepthMark(name, depth, slow_down, within or NEAR_MARK_M))
    return tuple(sorted(marks, key=lambda mark: mark.depth_m))


_STATION = 'stations like ["1200 m", "35 deg", "110 deg"]: depth, inclination, azimuth'


def _survey(table: Table) -> tuple[SurveyStation, ...]:
    stations: list[SurveyStation] = []
    keys = ("depth", "inclination", "azimuth")
    for number, row in enumerate(table.array("stations", _STATION), 1):
        if isinstance(row, list) and len(row) == 3:
            row = dict(zip(keys, row, strict=True))
        station = _station(table, row, number) if isinstance(row, Mapping) else None
        if station is None:
            table.fault("stations", f"station {number}: {_STATION}")
        elif stations and station.depth_m <= stations[-1].depth_m:
            table.fault("stations", f"station {number}: deeper than the one before")
        else:
            stations.append(station)
    table.close()
    return tuple(stations)


def _station(parent: Table, row: Mapping[str, Any], number: int) -> SurveyStation | None:
    table = Table(row, f"{parent.path}.stations[{number}]", parent.file, parent.faults)
    depth = table.quantity("depth", "length", required=True, low=0.0, high=15_000.0)
    inclination = table.quantity("inclination", "angle", required=True, low=0.0, high=3.1416)
    azimuth = table.quantity("azimuth", "angle", required=True, low=-6.2832, high=6.2832)
    table.close()
    if depth is None or inclination is None or azimuth is None:
        return None
    return SurveyStation(depth, inclination, azimuth)


def _limits(table: Table) -> Limits:
    floor = table.quantity("floor", "length", low=-50.0, high=100.0)
    crown = table.quantity("crown", "length", above=0.0, high=100.0)
    heave = table.quantity("heave", "length", low=0.2, high=30.0, meaning="trough to crest")
    stationary = table.quantity("stationary", "time", low=30.0, high=86_400.0)
    table.close()
    if floor is not None and crown is not None and crown <= floor:
        table.fault("crown", "above the floor limit")
    return Limits(floor, crown, heave, stationary or Limits().stationary_s)
