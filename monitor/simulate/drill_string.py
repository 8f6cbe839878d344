"""The string as steel: weight by sections with buoyancy, stiffness, displacement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.model import Floats
from monitor.rig.rig import Section

YOUNGS_MODULUS_PA = 206.8e9  # steel, 30e6 psi
STEEL_DENSITY_KG_M3 = 7850.0
GRAVITY_M_S2 = 9.80665
SOUND_SPEED_M_S = 5130.0  # of a long steel bar, sqrt(E / density)
LONGEST_M = 20e3  # of a string
TOOL_JOINT_STIFFENING = 1.04  # a jointed drill pipe against the plain tube (derived, 5 % joints)


@dataclass(frozen=True, slots=True)
class DrillString:
    """Sections from the bit upwards, in one mud."""

    sections: tuple[Section, ...]
    mud_density_kg_m3: float

    @property
    def buoyancy(self) -> float:
        """Give the share of the weight in air that is left in the mud (open pipe)."""
        return 1.0 - self.mud_density_kg_m3 / STEEL_DENSITY_KG_M3

    @staticmethod
    def steel_area_m2(section: Section) -> float:
        """Cross-section of the plain tube."""
        outer, inner = section.outside_diameter_m, section.inside_diameter_m
        return float(np.pi / 4.0 * (outer**2 - inner**2))

    def bounds_m(self) -> list[tuple[Section, float, float]]:
        """Each section with its distance from the bit, lower end and upper end."""
        rows, low = [], 0.0
        for section in self.sections:
            high = np.inf if section.length_m is None else low + section.length_m
            rows.append((section, low, high))
            low = high
        return rows

    def weight_in_air_N(self, length_m: Floats | float) -> Floats:
        """Weight in air of the lowest ``length_m`` of the string."""
        length = np.asarray(length_m, dtype=float)
        total = np.zeros_like(length)
        for section, low, high in self.bounds_m():
            total = total + section.weight_in_air_N_m * np.clip(length - low, 0.0, high - low)
        return total

    def hanging_N(self, bit_depth_m: Floats | float, above_floor_m: Floats | float) -> Floats:
        """Weight on the elevators: what is in the hole buoyed, what stands above it in air."""
        below = self.weight_in_air_N(np.maximum(bit_depth_m, 0.0))
        whole = self.weight_in_air_N(np.maximum(np.add(bit_depth_m, above_floor_m), 0.0))
        return below * self.buoyancy + (whole - below)

    def weight_at_N_m(self, from_bit_m: Floats | float) -> Floats:
        """Weight in air per metre at a distance from the bit."""
        distance = np.asarray(from_bit_m, dtype=float)
        result = np.zeros_like(distance)
        for section, low, high in self.bounds_m():
            inside = (distance >= low) & (distance < high)
            result = np.where(inside, section.weight_in_air_N_m, result)
        return result

    def compliance_m_N(self, from_bit_m: float, upper_m: float) -> float:
        """Stretch per newton of the string between two distances from the bit."""
        total = 0.0
        for section, low, high in self.bounds_m():
            length = min(high, upper_m) - max(low, from_bit_m)
            if length > 0.0:
                stiff = TOOL_JOINT_STIFFENING if section.length_m is None else 1.0
                area = self.steel_area_m2(section)
                total += length / (YOUNGS_MODULUS_PA * area * stiff)
        return total

    def compliance_to_m_N(self, from_bit_m: Floats | float) -> Floats:
        """Stretch per newton of the string from the bit up to a distance from it."""
        at = [0.0] + [min(high, LONGEST_M) for _, _, high in self.bounds_m()]
        stretch = [self.compliance_m_N(0.0, upper) for upper in at]
        return np.asarray(np.interp(from_bit_m, at, stretch))

    def stand_weight_N(self, bit_depth_m: float, length_m: float) -> float:
        """Weight in air of the topmost ``length_m`` of string when the bit is at a depth."""
        top = float(self.weight_in_air_N(max(bit_depth_m, 0.0) + length_m))
        return top - float(self.weight_in_air_N(max(bit_depth_m, 0.0)))

    def steel_m3(self, bit_depth_m: Floats | float) -> Floats:
        """Volume of steel in the hole (weight over density: joints counted)."""
        weight = self.weight_in_air_N(np.maximum(bit_depth_m, 0.0))
        return weight / (STEEL_DENSITY_KG_M3 * GRAVITY_M_S2)
