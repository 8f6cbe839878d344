"""Standard sizes and strengths that a rig file may refer to by name.

Values are nominal. A mill certificate or an inspection report always goes before them,
and the rig file takes both.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

from monitor import units


@dataclass(frozen=True, slots=True)
class WireRope:
    """One nominal size of drilling line, 6x19 class with independent wire rope core, bright."""

    diameter_in: float
    weight_lb_ft: float
    strength_short_tons: dict[str, float]  # by grade, as printed


# 6x19 IWRC. Weights per foot from 1 1/8 in up and the strengths 96.0 and 114 short tons
# looked up (API RP 9B 14th ed. Addendum 1; Standard Handbook of Petroleum and Natural Gas
# Engineering p. 578), the others from memory of API Spec 9A.
WIRE_ROPES: tuple[WireRope, ...] = tuple(
    WireRope(size, weight, {"IPS": ips, "EIPS": eips, "EEIPS": eeips})
    for size, weight, ips, eips, eeips in (
        (1.0, 1.85, 44.9, 51.7, 56.9),
        (1.125, 2.34, 56.5, 65.0, 71.5),
        (1.25, 2.89, 69.4, 79.9, 87.9),
        (1.375, 3.50, 83.5, 96.0, 106.0),
        (1.5, 4.16, 98.9, 114.0, 125.0),
        (1.625, 4.88, 115.0, 132.0, 146.0),
        (1.75, 5.67, 133.0, 153.0, 169.0),
        (1.875, 6.50, 152.0, 174.0, 192.0),
        (2.0, 7.39, 172.0, 198.0, 217.0),
    )
)
# 6x19 class with fibre core, bright, improved plow steel: strength in lbf by diameter in in;
# a public table of wire rope strengths, looked up.
FIBRE_CORE_IPS_lbf: dict[float, float] = {
    1.0: 83_600.0, 1.125: 105_200.0, 1.25: 129_200.0, 1.375: 155_400.0, 1.5: 184_000.0,
    1.625: 214_000.0, 1.75: 248_000.0, 1.875: 282_000.0, 2.0: 320_000.0,
}  # fmt: skip
LINE_CORES = ("wire rope", "fibre")
WIRE_ROPE_GRADES = ("IPS", "EIPS", "EEIPS")
# Constructions for which RP 9B advises on sheave diameters.
LINE_CONSTRUCTIONS = (
    "6x17 Seale",
    "6x19 Seale",
    "6x21 filler wire",
    "6x25 filler wire",
    "6x31",
    "6x37",
    "8x19 Seale",
)

# Minimum yield strengths of API drill-pipe grades; looked up.
PIPE_GRADES_ksi = {"E75": 75.0, "X95": 95.0, "G105": 105.0, "S135": 135.0}
PIPE_CLASSES = ("new", "premium", "class 2")
# Wall left of the new wall, wear taken uniformly from the outside: API RP 7G, from memory.
PIPE_CLASS_WALL = {"new": 1.0, "premium": 0.8, "class 2": 0.7}

STEEL_DENSITY_kg_m3 = 7850.0  # common practice; 65.4 lb/gal printed in oilfield tables is 7840


def wire_rope_weight_N_m(diameter_m: float) -> float:
    """Weight per length of a drilling line from its diameter alone.

    Weight over diameter squared is interpolated between nominal sizes; outside the table
    that of the nearest end is used.
    """
    sizes = [rope.diameter_in for rope in WIRE_ROPES]
    per_square = [rope.weight_lb_ft / rope.diameter_in**2 for rope in WIRE_ROPES]
    size_in = units.from_si(diameter_m, "in", "length")
    k = bisect_left(sizes, size_in)
    if k == 0:
        ratio = per_square[0]
    elif k == len(sizes):
        ratio = per_square[-1]
    else:
        share = (size_in - sizes[k - 1]) / (sizes[k] - sizes[k - 1])
        ratio = per_square[k - 1] + share * (per_square[k] - per_square[k - 1])
    return units.to_si(f"{ratio * size_in**2!r} lb/ft", "weight_per_length")


def wire_rope_strength_N(diameter_m: float, grade: str, core: str = "wire rope") -> float | None:
    """Nominal strength of a standard size, grade and core; None for one not in the tables."""
    size_in = units.from_si(diameter_m, "in", "length")
    if core == "fibre":
        for nominal_in, strength_lbf in FIBRE_CORE_IPS_lbf.items():
            if grade == "IPS" and math.isclose(nominal_in, size_in, abs_tol=0.02):
                return units.to_si(f"{strength_lbf} lbf", "force")
        return None
    for rope in WIRE_ROPES:
        if math.isclose(rope.diameter_in, size_in, abs_tol=0.02):  # 1/50 in: metric roundings
            return units.to_si(f"{rope.strength_short_tons[grade]} short tons", "force")
    return None


def steel_weight_N_m(outside_diameter_m: float, inside_diameter_m: float) -> float:
    """Weight in air per length of a plain steel tube."""
    area_m2 = math.pi / 4 * (outside_diameter_m**2 - inside_diameter_m**2)
    return area_m2 * STEEL_DENSITY_kg_m3 * units.STANDARD_GRAVITY_m_s2
