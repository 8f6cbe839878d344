"""The floating hoist against closed forms: gas spring, stroke, swing, inertia; its record."""

import numpy as np
import pytest

from monitor.rig.file import parse_rig
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import demo_rig, rig_text
from monitor.simulate.drill_string import GRAVITY_M_S2, DrillString
from monitor.simulate.floating import FRICTION_N, FloatingHoist
from monitor.simulate.floating_rig import floating_rig
from monitor.simulate.hole import Hole
from monitor.simulate.motion import travel_steps
from monitor.simulate.sea import Sea
from tests.simulate.test_simulation import record

STEP_S = 0.05
AMPLITUDE_M, PERIOD_S = 1.0, 10.0
OMEGA_RAD_S = 2.0 * np.pi / PERIOD_S


def one_wave() -> Sea:
    """Regular heave: one cosine."""
    sea = Sea(np.random.default_rng(0))
    sea.amplitudes_m = np.array([AMPLITUDE_M])
    sea.speeds_rad_s = np.array([OMEGA_RAD_S])
    sea.phases = np.zeros(1)
    return sea


def hoist_at(bit_m: float = 2900.0) -> FloatingHoist:
    """A locked compensator, the string in slips."""
    rig = floating_rig()
    string = DrillString(rig.string, 1320.0)
    hole = Hole(string, 1980.0, 3000.0, np.random.default_rng(1))
    return FloatingHoist(
        rig, string, hole, one_wave(), block_m=20.0, bit_depth_m=bit_m, step_s=STEP_S
    )


def move(hoist: FloatingHoist, distance_m: float, speed_m_s: float = 0.1) -> None:
    random = np.random.default_rng(0)
    hoist.run(travel_steps(distance_m, [(abs(distance_m), speed_m_s)], 0.2, STEP_S, random, 0.0))


def over_waves(hoist: FloatingHoist, waves: int = 3) -> dict[str, np.ndarray]:
    """Whole waves with the block still, after two to settle."""
    hoist.wait(2 * PERIOD_S)
    hoist.traces.clear()
    hoist.wait(waves * PERIOD_S)
    trace = hoist.traces[-1]
    return {
        "load": trace.hook_load_N,
        "tension": trace.tension_N,
        "bit": trace.bit_m,
        "excess": trace.excess_N,
        "depth": trace.depth_m,
        **trace.channels,
    }


def hanging(bit_m: float = 2900.0) -> FloatingHoist:
    hoist = hoist_at(bit_m)
    move(hoist, hoist.release_travel_m() + 0.3)
    assert not hoist.in_slips
    hoist.rotating = True
    hoist.wait(10.0)
    return hoist


def drilling(weight_N: float = 100e3) -> FloatingHoist:
    """Bit on bottom, compensator open about half stroke, nothing drilled."""
    hoist = hanging(2990.0)
    hoist.unlock()
    free = float(hoist.string.hanging_N(hoist.depth_m, hoist.hook_m)) + hoist.gear_below_N
    hoist.set_pressure(free - weight_N, 20.0)
    hoist.wait(60.0)
    while hoist.stroke_m > 3.7:
        move(hoist, -0.2)
    assert hoist.spring_N < -0.5 * weight_N
    return hoist


def test_in_slips_the_string_heaves_and_the_gear_shows_its_mass() -> None:
    hoist = hoist_at()
    move(hoist, -0.3)
    hoist.latched = False
    seen = over_waves(hoist)
    assert seen["bit"] + seen["heave"] == pytest.approx(2900.0, abs=1e-9)
    assert np.ptp(seen["depth"]) == 0.0
    mass = hoist.rig.travelling_weight_N / GRAVITY_M_S2
    swing = 2.0 * mass * OMEGA_RAD_S**2 * AMPLITUDE_M
    assert np.ptp(seen["load"]) == pytest.approx(swing, rel=0.01)
    # Held sheaves: the gear's swing reaches the dead line shared out over the lines.
    assert np.ptp(seen["tension"]) == pytest.approx(swing / 14, rel=0.15)


def test_locked_string_swings_by_its_mass_and_its_friction() -> None:
    hoist = hanging()
    seen = over_waves(hoist)
    air_N = float(hoist.string.weight_in_air_N(2900.0))
    mass = (hoist.rig.travelling_weight_N + air_N) / GRAVITY_M_S2
    inertia = 2.0 * mass * OMEGA_RAD_S**2 * AMPLITUDE_M
    # Rotating leaves 12 % of the drag. It turns over after the crests, where inertia is
    # greatest, so that it adds some of itself, never more.
    drag = 0.12 * float(hoist.hole.drag_N(2900.0, 1) + hoist.hole.drag_N(2900.0, -1))
    mud = 2.0 * float(hoist.hole.swab_N(2900.0, OMEGA_RAD_S * AMPLITUDE_M))
    assert inertia < np.ptp(seen["load"]) < inertia + drag + mud
    assert np.ptp(seen["compensator_stroke"]) == 0.0
    # The bit goes with the vessel, but for what friction takes to turn over.
    play = drag * hoist.friction.turning.give_m_N
    assert np.ptp(seen["bit"]) == pytest.approx(2.0 * AMPLITUDE_M - play, rel=0.001)


def test_gas_spring_and_friction_carry_what_is_below_the_compensator() -> None:
    hoist = drilling()
    seen = over_waves(hoist)
    below = hoist.elevator_N + hoist.gear_below_N
    spring = hoist.middle_N + hoist.spring_N_m * (hoist.stroke_m - hoist.stroke_limit_m / 2.0)
    assert abs(below - spring) <= FRICTION_N * 1.05
    assert 0.0 < seen["compensator_stroke"].min()
    assert seen["compensator_stroke"].max() < hoist.stroke_limit_m


def test_seals_and_gas_carry_the_string_in_every_step_of_leaving_bottom() -> None:
    """Force balance: load below less gas spring is within the seals' friction, always."""
    hoist = drilling()
    free = float(hoist.string.hanging_N(hoist.depth_m, hoist.hook_m)) + hoist.gear_below_N
    hoist.set_pressure(free + 1.2 * hoist.spring_N_m * hoist.stroke_limit_m, 25.0)
    off = []
    for _ in range(round(40.0 / STEP_S)):
        hoist.wait(STEP_S)
        gas = hoist.middle_N + hoist.spring_N_m * (hoist.stroke_m - hoist.stroke_limit_m / 2.0)
        if 0.0 < hoist.stroke_m < hoist.stroke_limit_m:
            off.append(abs(hoist.elevator_N + hoist.gear_below_N - gas))
    assert hoist.spring_N == 0.0
    assert len(off) > 200
    # Solved to 200 N; pipe drawn out of the mud since.
    assert max(off) < FRICTION_N + 500.0


def test_open_on_bottom_stroke_follows_heave() -> None:
    hoist = drilling()
    seen = over_waves(hoist)
    # What is not taken by the stroke is stretch of the string, by load and by friction.
    left = seen["heave"] - seen["compensator_stroke"]
    drag = 0.12 * float(hoist.hole.drag_N(2990.0, 1) + hoist.hole.drag_N(2990.0, -1))
    stretch = np.ptp(seen["excess"]) / hoist.stiffness_N_m
    stretch += drag * hoist.friction.turning.give_m_N
    assert np.ptp(left) == pytest.approx(stretch, rel=0.1)
    assert np.ptp(seen["compensator_stroke"]) > 0.85 * 2.0 * AMPLITUDE_M
    assert np.ptp(seen["bit"]) < 0.02


def test_weight_on_bit_swings_by_stiffness_times_heave_and_twice_the_friction() -> None:
    hoist = drilling()
    seen = over_waves(hoist)
    spring, string = hoist.spring_N_m, hoist.stiffness_N_m
    at_top = (spring * 2.0 * AMPLITUDE_M + 2.0 * FRICTION_N) * string / (spring + string)
    # The string's own drag, small while it turns, is overcome before the bit feels it.
    drag = 0.12 * float(hoist.hole.drag_N(2990.0, 1) + hoist.hole.drag_N(2990.0, -1))
    assert at_top - 1.1 * drag < np.ptp(seen["excess"]) < 1.05 * at_top
    mean = -float(seen["excess"].mean())
    expected = 100e3 - spring * (seen["compensator_stroke"].mean() - 3.75)
    assert mean == pytest.approx(expected, abs=0.5 * drag + 5e3)


def test_lock_makes_the_bit_feel_the_whole_heave() -> None:
    hoist = drilling(60e3)
    spring, heave = hoist.spring_N, float(hoist.sea.heave_m(np.array([hoist.steps * STEP_S]))[0])
    hoist.lock()
    play = -hoist.play_m(-1)  # of the way down that friction takes to turn over
    seen = over_waves(hoist, 2)
    assert np.ptp(seen["compensator_stroke"]) == 0.0
    # Lifted off bottom on the crests, pushed down by the string's stiffness in the troughs.
    assert seen["excess"].max() == 0.0
    lowest = spring - hoist.stiffness_N_m * (heave + AMPLITUDE_M - play)
    assert seen["excess"].min() == pytest.approx(lowest, rel=0.02)


def test_stroke_stops_at_its_ends() -> None:
    hoist = drilling()
    move(hoist, 20.0, 0.4)
    assert hoist.stroke_m == pytest.approx(hoist.stroke_limit_m, abs=0.05)
    assert hoist.spring_N == 0.0
    hoist.set_pressure(4e6, 5.0)
    hoist.wait(60.0)
    assert hoist.stroke_m == 0.0


def test_depth_counts_from_the_elevators() -> None:
    hoist = drilling()
    assert hoist.depth_m + hoist.hook_m == pytest.approx(2990.0 + 20.0, abs=0.1)


@pytest.fixture(scope="module")
def simulation() -> Simulation:
    return Simulation("floater", 3, 1.3, 5.0)


@pytest.fixture(scope="module")
def rows(simulation: Simulation) -> dict[str, np.ndarray]:
    return record(simulation)


def test_record_heaves_and_strokes(simulation: Simulation, rows: dict[str, np.ndarray]) -> None:
    truth = simulation.truth()
    heave = truth["heave"]
    assert 7.0 < heave["period_s"] < 14.0
    assert 1.0 < heave["significant_height_m"] < 3.3
    significant = 4.0 * float(np.std(rows["heave"]))
    assert heave["significant_height_m"] == pytest.approx(significant, rel=0.12)
    swing = heave["hook_load_swing_kN"]
    assert swing["in_slips"] < swing["locked"]
    assert swing["open"] < swing["locked"]
    states = [spell["state"] for spell in truth["compensator"]]
    assert states[:4] == ["locked", "open", "locked", "open"]
    assert 0.0 <= rows["compensator_stroke"].min() + 0.02
    assert rows["compensator_stroke"].max() < 7.6


def test_record_drills_and_trips(simulation: Simulation, rows: dict[str, np.ndarray]) -> None:
    assert len(rows["time_us"]) == 23_400
    truth = simulation.truth()
    directions = [stand["direction"] for stand in truth["stands"]]
    assert directions[:2] == ["drilled", "drilled"]
    assert {"out", "in"} <= set(directions)
    weights = [row["weight_on_bit_kN"] for row in truth["weight_on_bit"]]
    assert 50.0 < np.median(weights) < 130.0
    assert truth["hole_depth_m"]["end"] > truth["hole_depth_m"]["start"] + 30.0


def test_any_sea_is_within_its_range() -> None:
    times = np.arange(0.0, 7200.0, 0.5)
    for seed in range(6):
        sea = Sea(np.random.default_rng(seed))
        assert 4.0 * np.std(sea.heave_m(times)) == pytest.approx(sea.height_m, rel=0.05)
        assert 1.0 <= sea.height_m <= 3.0


def test_rig_text_holds_the_compensator() -> None:
    rig = floating_rig()
    parsed = parse_rig(rig_text(rig))
    assert parsed.compensator == rig.compensator
    assert parsed.events == rig.events
    assert "compensator" not in rig_text(demo_rig())


def test_a_rig_without_compensator_runs_with_the_usual_one() -> None:
    rows = record(Simulation("floater", 1, 0.3, 5.0, demo_rig()))
    assert np.ptp(rows["compensator_stroke"]) > 2.0
