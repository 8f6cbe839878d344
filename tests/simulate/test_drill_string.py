"""Steel and mud against hand calculation and published values."""

import numpy as np
import pytest

from monitor.rig.rig import Section
from monitor.simulate.demo_rig import STRING
from monitor.simulate.drill_string import TOOL_JOINT_STIFFENING, DrillString

FOOT_M, INCH_M, LBF_N = 0.3048, 0.0254, 4.4482216152605


def test_weight_by_sections() -> None:
    string = DrillString(STRING, 0.0)
    # 110 m collars, 140 m heavy-weight, 750 m pipe: by hand.
    by_hand = 110 * 2184.0 + 140 * 719.48 + 750 * 343.25
    assert float(string.weight_in_air_N(1000.0)) == pytest.approx(by_hand)
    assert float(string.weight_in_air_N(50.0)) == pytest.approx(50 * 2184.0)


def test_buoyancy_of_ten_pound_mud() -> None:
    # 10.0 lb/gal = 1198.26 kg/m3; formula sheets print 0.847.
    assert DrillString(STRING, 1198.26).buoyancy == pytest.approx(0.847, abs=5e-4)


def test_only_what_is_in_the_mud_is_buoyed() -> None:
    string = DrillString(STRING, 1200.0)
    low = float(string.hanging_N(1000.0, 1.0))
    high = float(string.hanging_N(1000.0 - 28.0, 29.0))
    # The same length hangs; 28 m of pipe came out of the mud.
    assert high - low == pytest.approx(28.0 * 343.25 * 1200.0 / 7850.0, rel=1e-6)


def test_stretch_is_force_times_length_over_modulus_times_area() -> None:
    # Lapeyrouse's example: 5 in x 4.276 in, 24 in of stretch at 30 000 lbf: 10 547 ft free.
    pipe = Section("pipe", None, 5 * INCH_M, 4.276 * INCH_M, 261.0)
    string = DrillString((pipe,), 0.0)
    stretch = 30_000 * LBF_N * string.compliance_m_N(0.0, 10_547 * FOOT_M)
    assert stretch * TOOL_JOINT_STIFFENING == pytest.approx(24 * INCH_M, rel=2e-3)


def test_compliance_adds_over_sections() -> None:
    string = DrillString(STRING, 1200.0)
    parts = string.compliance_m_N(0.0, 180.0) + string.compliance_m_N(180.0, 2000.0)
    assert parts == pytest.approx(string.compliance_m_N(0.0, 2000.0))


def test_steel_volume_is_weight_over_density() -> None:
    string = DrillString(STRING, 1200.0)
    weight = float(string.weight_in_air_N(2000.0))
    assert float(string.steel_m3(2000.0)) * 7850.0 * 9.80665 == pytest.approx(weight)
    assert np.all(np.diff(string.steel_m3(np.arange(0.0, 3000.0, 50.0))) > 0.0)
