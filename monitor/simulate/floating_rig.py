"""The invented floating rig of the simulator."""

from __future__ import annotations

from monitor.rig.hoisting import Compensator
from monitor.rig.rig import DepthMark, EventLimits, Limits, Line, Reeving, Rig, Section

NAME = "Fulmar 7 (invented)"
STRING = (
    Section("drill collars", 85.0, 0.20955, 0.0714502, 2350.0),
    Section("heavy-weight drill pipe", 170.0, 0.1397, 0.08255, 860.0),
    Section("drill pipe", None, 0.1397, 0.118618, 437.0),
)


def floating_rig() -> Rig:
    """Describe a floating rig with an in-line compensator, all invented."""
    return Rig(
        name=NAME,
        travelling_weight_N=690e3,
        reeving=Reeving(lines_strung=14, sheave_efficiency=0.988),
        events=EventLimits(60e3, 60e3),
        string=STRING,
        mud_density_kg_m3=1320.0,
        line=Line(diameter_m=0.0508, weight_N_m=108.0, anchor_height_m=-4.0),
        hoist_compliance_m_N=2e-8,
        limits=Limits(floor_m=0.5, crown_m=46.0),
        depth_marks=(DepthMark("casing shoe", 1980.0),),
        compensator=Compensator("in-line", 7.5, 2.7e6, 2.0e4, "locked"),
    )
