"""The invented demo rig, and its rig file as text, so that a simulated file can be analysed."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np

from monitor.rig.hoisting import Compensator
from monitor.rig.rig import DepthMark, Limits, Line, Reeving, Rig, Section, Sensor, SurveyStation

NAME = "Heron 3 (invented)"
MUD_DENSITY_KG_M3 = 1200.0
CASING_SHOE_M = 1450.0
SIGNAL_SPAN_N = 400e3
STRING = (
    Section("drill collars", 110.0, 0.2032, 0.0714502, 2184.0),
    Section("heavy-weight drill pipe", 140.0, 0.127, 0.0762, 719.48),
    Section("drill pipe", None, 0.127, 0.1086104, 343.25),
)


def demo_rig() -> Rig:
    """Describe the rig of the simulator, all invented."""
    return Rig(
        name=NAME,
        travelling_weight_N=245e3,
        reeving=Reeving(lines_strung=10, sheave_efficiency=0.985),
        string=STRING,
        mud_density_kg_m3=MUD_DENSITY_KG_M3,
        line=Line(diameter_m=0.034925, weight_N_m=51.08, anchor_height_m=2.0),
        hoist_compliance_m_N=3e-8,
        limits=Limits(floor_m=0.5, crown_m=38.0),
        depth_marks=(DepthMark("casing shoe", CASING_SHOE_M),),
    )


def demo_rig_with_signal() -> Rig:
    """Describe the same rig with a sensor that gives its raw 4-20 mA."""
    return replace(demo_rig(), sensor=Sensor(span_N=SIGNAL_SPAN_N))


def rig_text(rig: Rig) -> str:
    """Write the rig file (TOML) that describes a rig to the analysis."""
    reeving, events = rig.reeving, rig.events
    lines = [
        "# Invented rig of the simulator: no real rig, well or company.",
        "[rig]",
        f"name = {json.dumps(rig.name, ensure_ascii=False)}",
        f'travelling_weight = "{_number(rig.travelling_weight_N / 1e3)} kN"',
        "",
        "[reeving]",
        f"lines_strung = {reeving.lines_strung}",
        f"sheave_efficiency = {_number(reeving.sheave_efficiency)}",
        f'dead_line_sheave = "{reeving.dead_line_sheave}"',
        "",
        "[events]",
        f'overpull = "{_number(events.overpull_N / 1e3)} kN"',
        f'slack_off = "{_number(events.slack_off_N / 1e3)} kN"',
    ]
    if rig.mud_density_kg_m3 is not None:
        lines += ["", "[mud]", f'density = "{_number(rig.mud_density_kg_m3)} kg/m3"']
    if rig.limits.floor_m is not None and rig.limits.crown_m is not None:
        lines += ["", "[limits]", f'floor = "{_number(rig.limits.floor_m)} m"']
        lines += [f'crown = "{_number(rig.limits.crown_m)} m"']
    if rig.line is not None:
        lines += ["", "[line]", f'diameter = "{_number(rig.line.diameter_m * 1e3)} mm"']
        lines += [f'weight = "{_number(rig.line.weight_N_m)} N/m"']
        lines += [f'anchor_height = "{_number(rig.line.anchor_height_m)} m"']
    if rig.hoist_compliance_m_N:
        lines += ["", "[hoist]", f'compliance = "{_number(rig.hoist_compliance_m_N * 1e6)} mm/kN"']
    if rig.sensor.span_N is not None and rig.sensor.signal_quantity == "current":
        low, high = (_number(end * 1e3) for end in (rig.sensor.signal_low, rig.sensor.signal_high))
        lines += ["", "[sensor]", f'span = "{_number(rig.sensor.span_N / 1e3)} kN"']
        lines += [f'signal = "{low}-{high} mA"']
    if rig.compensator is not None:
        lines += _compensator_lines(rig.compensator)
    for mark in rig.depth_marks:
        lines += ["", "[[depth_mark]]", f"name = {json.dumps(mark.name, ensure_ascii=False)}"]
        lines += [f'depth = "{_number(mark.depth_m)} m"']
    lines += _survey_lines(rig.survey)
    for section in rig.string:
        lines += ["", *_section_lines(section)]
    return "\n".join(lines) + "\n"


def _survey_lines(survey: tuple[SurveyStation, ...]) -> list[str]:
    if not survey:
        return []
    lines = ["", "[survey]", "stations = ["]
    for station in survey:
        angles = (station.inclination_rad, station.azimuth_rad)
        told = ", ".join(f'"{_number(np.degrees(angle))} deg"' for angle in angles)
        lines.append(f'    ["{_number(station.depth_m)} m", {told}],')
    return [*lines, "]"]


def _compensator_lines(compensator: Compensator) -> list[str]:
    lines = [
        "",
        "[compensator]",
        f"kind = {json.dumps(compensator.kind)}",
        f'stroke_limit = "{_number(compensator.stroke_limit_m)} m"',
        f'load_limit = "{_number(compensator.load_limit_N / 1e3)} kN"',
    ]
    if compensator.stiffness_N_m is not None:
        lines += [f'stiffness = "{_number(compensator.stiffness_N_m / 1e3)} kN/m"']
    return [*lines, f"state = {json.dumps(compensator.state)}"]


def _section_lines(section: Section) -> list[str]:
    length = "rest" if section.length_m is None else f"{_number(section.length_m)} m"
    return [
        "[[string]]",
        f"name = {json.dumps(section.name, ensure_ascii=False)}",
        f'length = "{length}"',
        f'outside_diameter = "{_number(section.outside_diameter_m * 1e3)} mm"',
        f'inside_diameter = "{_number(section.inside_diameter_m * 1e3)} mm"',
        f'weight_in_air = "{_number(section.weight_in_air_N_m)} N/m"',
    ]


def _number(value: float) -> str:
    return f"{value:.10g}"
