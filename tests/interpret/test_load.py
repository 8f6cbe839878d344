"""Dead-line tension into hook load, against published and derived figures."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.mechanics.dead_line import line_weight_load_N
from monitor.model import Output, Quality, Samples, State
from monitor.pipeline import Pipeline
from monitor.rig.hoisting import Drum
from monitor.rig.rig import Line, MudHose, Reeving, Rig, Sensor
from monitor.units import to_si
from tests.interpret.streams import plain_rig

LBF = to_si("1 lbf", "force")
FT = to_si("1 ft", "length")


def feed(rig: Rig, block_m: np.ndarray, **channels: np.ndarray) -> Output:
    length = len(block_m)
    samples = Samples(
        np.arange(1, length + 1),
        np.arange(length) * 200_000,
        np.zeros(length, dtype=np.uint16),
        {"block_position": block_m, **channels},
        {},
    )
    return Pipeline(rig, bit_depth_m=1000.0).feed(samples)


# Belt-friction model of API RP 9B with S = n turning sheaves, 300 000 lbf on 8 lines at
# K = 1.04: dead-line tension 32 558.35 lbf hoisting, 42 844.57 lbf lowering, recomputed from
# the closed form and from the sum term by term (derived).
@pytest.mark.parametrize(("speed_m_s", "dead_line_lbf"), [(0.3, 32_558.35), (-0.3, 42_844.57)])
def test_moving_block_gives_the_load_by_the_published_factor(
    speed_m_s: float, dead_line_lbf: float
) -> None:
    rig = plain_rig(reeving=Reeving(8, 1 / 1.04), travelling_weight_N=20e3)
    block = 15.0 + speed_m_s * np.arange(100) * 0.2
    output = feed(rig, block, deadline_tension=np.full(100, dead_line_lbf * LBF))
    load = np.asarray(output.columns["hook_load_N"], dtype=float)[20:]
    assert np.max(np.abs(load / LBF - 300_000)) < 1.0
    plain = np.asarray(output.columns["hook_load_plain_N"], dtype=float)[20:]
    assert plain == pytest.approx(8 * dead_line_lbf * LBF)


def test_turning_dead_line_sheave_adds_one_sheave() -> None:
    """Hoisting W is 1/e of the fixed case, lowering e of it (derived)."""
    block = 5.0 + 0.3 * np.arange(60) * 0.2
    tension = np.full(60, 100e3)
    loads = [
        feed(plain_rig(reeving=Reeving(10, 0.985, kind)), block, deadline_tension=tension)
        for kind in ("fixed", "turning")
    ]
    fixed, turning = (float(output.columns["hook_load_N"][-1]) for output in loads)
    assert turning == pytest.approx(fixed / 0.985, rel=1e-12)


@pytest.mark.parametrize("lines", [9, 10])
def test_the_line_between_the_blocks_is_on_whenever_it_is_given(lines: int) -> None:
    """As `line_weight_load_N` without friction; an odd count is sensed at the block."""
    block = np.append(np.linspace(2.0, 30.0, 195), np.full(5, 30.0))
    reeving = Reeving(lines, 1.0)
    line = Line(0.035, 51.0, anchor_height_m=2.0)
    tension = np.full(200, 100e3)
    plain = feed(plain_rig(reeving=reeving), block, deadline_tension=tension)
    output = feed(plain_rig(reeving=reeving, line=line), block, deadline_tension=tension)
    more = output.columns["hook_load_N"][-1] - plain.columns["hook_load_N"][-1]
    assert more == pytest.approx(float(line_weight_load_N(30.0, 51.0, lines, 2.0)), abs=1.0)


def test_the_mud_hose_comes_off_by_height_where_it_is_given() -> None:
    """30 lb/ft: 15 lbf a foot of travel from where the travelling weight was read."""
    block = np.linspace(1.0, 1.0 + 90 * FT, 200)
    tension = np.full(200, 100e3)
    hose = MudHose(30 * LBF / FT, 1.0)
    plain = feed(plain_rig(), block, deadline_tension=tension).columns["hook_load_N"]
    less = feed(plain_rig(mud_hose=hose), block, deadline_tension=tension).columns["hook_load_N"]
    assert plain[0] == less[0]
    assert float(plain[-1] - less[-1]) / LBF == pytest.approx(1350.0, rel=0.01)


def test_block_heights_are_corrected_by_the_survey_before_anything_else() -> None:
    """A counter that shows 30.6 m where the tape measured 30.0: 2 % less pipe is moved."""
    drum = Drum(0.762, 1.32, shown_m=(0.0, 30.6), surveyed_m=(0.0, 30.0))
    block = np.concatenate((np.full(60, 1.0), np.linspace(1.0, 29.0, 400), np.full(30, 29.0)))
    tension = np.concatenate((np.full(50, 25e3), np.full(440, 120e3)))
    depths = [
        feed(on, block, deadline_tension=tension).columns["bit_depth_m"]
        for on in (plain_rig(), plain_rig(drum=drum))
    ]
    moved, corrected = (float(depth[0] - depth[-1]) for depth in depths)
    assert moved > 20.0
    assert corrected == pytest.approx(moved * 30.0 / 30.6, rel=1e-3)


def test_friction_state_is_kept_through_a_stop() -> None:
    block = np.concatenate((5.0 + 0.3 * np.arange(50) * 0.2, np.full(200, 7.94)))
    output = feed(
        plain_rig(reeving=Reeving(10, 0.985)), block, deadline_tension=np.full(250, 100e3)
    )
    assert output.columns["friction_state"][-1] == pytest.approx(1.0)
    assert output.columns["hook_load_N"][-1] == pytest.approx(output.columns["hook_load_N"][40])


def test_friction_turns_over_along_a_few_centimetres_and_widens_the_half_width() -> None:
    up = 5.0 + 0.3 * np.arange(50) * 0.2
    down = up[-1] - 0.004 * np.arange(1, 30)
    output = feed(
        plain_rig(reeving=Reeving(10, 0.985)),
        np.concatenate((up, down)),
        deadline_tension=np.full(79, 100e3),
    )
    state = np.asarray(output.columns["friction_state"], dtype=float)
    half_width = np.asarray(output.columns["hook_load_half_width_N"], dtype=float)
    turning = (np.abs(state) < 0.5) & (np.arange(79) > 49)
    assert turning.any()
    assert state[-1] == pytest.approx(-1.0)
    # The whole swing between hoisting and lowering is 2 x 7 % here; half of it is unknown,
    # of which at least a half where the state is under 0.5, in squares beside the rest.
    added = np.sqrt(half_width[turning] ** 2 - half_width[40] ** 2)
    assert added.min() > 0.03 * 1e6


def test_direction_not_known_says_so() -> None:
    output = feed(
        plain_rig(reeving=Reeving(10, 0.985)), np.full(20, 5.0), deadline_tension=np.full(20, 1e5)
    )
    assert int(output.columns["state"][-1]) & State.FRICTION_UNKNOWN
    assert output.columns["hook_load_half_width_N"][-1] > 0.05 * 1e6


def test_weight_of_the_line_between_the_blocks_is_taken_off_the_reading() -> None:
    """300 000 lbf, 10 lines, 3.50 lb/ft: n F falls by 3 150 lbf over 90 ft (derived)."""
    height = np.linspace(30, 120, 200) * FT
    tension = (300_000 / 10 - 3.50 * height / FT) * LBF
    assert 10 * (tension[0] - tension[-1]) / LBF == pytest.approx(3150)
    line = Line(0.035, 3.50 * LBF / FT)
    output = feed(plain_rig(line=line), height, deadline_tension=tension)
    load = np.asarray(output.columns["hook_load_N"], dtype=float)[20:-10] / LBF
    assert np.max(np.abs(load - 300_000)) < 30.0


def test_inertia_of_the_travelling_equipment_is_taken_off() -> None:
    """100 000 lbf at 1 ft/s2 reads 3 108.09 lbf more (a/g, g = 32.17405 ft/s2; derived)."""
    seconds = np.arange(40) * 0.2
    block = 2.0 + 0.5 * FT * seconds**2
    weight = 100_000 * LBF
    output = feed(
        plain_rig(travelling_weight_N=weight, reeving=Reeving(10, 1.0)),
        block,
        deadline_tension=np.full(40, (100_000 + 3_108.09) * LBF / 10),
    )
    load = np.asarray(output.columns["hook_load_N"], dtype=float)[15:]
    assert np.max(np.abs(load / LBF - 100_000)) < 5.0


def test_reported_hook_load_is_never_corrected() -> None:
    block = 5.0 + 0.3 * np.arange(50) * 0.2
    output = feed(plain_rig(reeving=Reeving(10, 0.96)), block, hook_load=np.full(50, 800e3))
    assert np.all(np.asarray(output.columns["hook_load_N"])[5:] == 800e3)
    assert int(output.columns["quality"][-1]) & Quality.AS_REPORTED


# NAMUR NE 43: 3.8 to 20.5 mA measures, below 3.6 and above 21.0 mA is a fault.
@pytest.mark.parametrize(
    ("milliampere", "is_fault"), [(3.59, True), (21.01, True), (3.80, False), (20.50, False)]
)
def test_transmitter_current_outside_its_range_is_no_load(
    milliampere: float, is_fault: bool
) -> None:
    rig = plain_rig(sensor=Sensor(span_N=400e3))
    output = feed(rig, np.full(10, 5.0), deadline_signal=np.full(10, milliampere / 1e3))
    assert np.isnan(output.columns["hook_load_N"][-1]) == is_fault
    assert bool(int(output.columns["quality"][-1]) & Quality.FAULT) == is_fault


def test_signal_becomes_tension_by_its_two_points() -> None:
    rig = plain_rig(sensor=Sensor(span_N=400e3))
    output = feed(rig, np.full(10, 5.0), deadline_signal=np.full(10, 0.012))
    assert output.columns["hook_load_plain_N"][-1] == pytest.approx(10 * 200e3)


def test_one_row_glitch_is_gone_and_a_missing_row_is_missing() -> None:
    tension = np.full(50, 100e3)
    tension[20], tension[30] = 300e3, np.nan
    output = feed(plain_rig(), np.full(50, 5.0), deadline_tension=tension)
    load = np.asarray(output.columns["hook_load_N"], dtype=float)
    assert np.nanmax(load) == pytest.approx(1e6)
    assert np.isnan(load[30])
