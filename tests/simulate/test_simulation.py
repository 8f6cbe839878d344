"""Whole records: the same seed the same bytes, and truth that agrees with the rows."""

import json
import time
from datetime import datetime

import numpy as np
import pytest

from monitor.model import CHANNELS
from monitor.rig.file import parse_rig
from monitor.rig.rig import Reeving, Rig
from monitor.simulate import SCENARIOS, Simulation, simulate
from monitor.simulate.demo_rig import demo_rig, rig_text


def record(simulation: Simulation) -> dict[str, np.ndarray]:
    """All chunks as one."""
    parts = list(simulation.chunks())
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def micros(stamp: str) -> int:
    """ISO text to microseconds since 1970."""
    return round(datetime.fromisoformat(stamp).timestamp() * 1e3) * 1000


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_same_seed_same_bytes(scenario: str) -> None:
    one, two = Simulation(scenario, 3, 0.4, 5.0), Simulation(scenario, 3, 0.4, 5.0)
    first, second = record(one), record(two)
    assert all(first[name].tobytes() == second[name].tobytes() for name in first)
    assert json.dumps(one.truth()) == json.dumps(two.truth())
    other = record(Simulation(scenario, 4, 0.4, 5.0))
    load = "deadline_signal" if scenario == "calibration" else "deadline_tension"
    assert other[load].tobytes() != first[load].tobytes()


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_rows_are_complete_and_plausible(scenario: str) -> None:
    rows = record(Simulation(scenario, 8, 1.0, 10.0))
    assert len(rows["time_us"]) == 36_000
    assert np.all(np.diff(rows["time_us"]) == 100_000)
    for name, column in rows.items():
        assert len(column) == 36_000
        if name != "time_us":
            channel = CHANNELS[name]
            assert np.all((column >= channel.low) & (column <= channel.high))
    assert np.abs(np.diff(rows["block_position"])).max() < 0.25


def test_rate_changes_the_sampling_and_not_the_story() -> None:
    fast, slow = (record(Simulation("trip_out", 5, 0.5, hz)) for hz in (10.0, 2.0))
    assert np.array_equal(fast["block_position"][::5], slow["block_position"])
    assert np.abs(fast["deadline_tension"][::5] - slow["deadline_tension"]).max() < 5e3


def test_longer_record_begins_with_the_shorter_one() -> None:
    short, long = (record(Simulation("trip_in", 5, hours)) for hours in (0.2, 0.3))
    for name, column in short.items():
        assert np.array_equal(long[name][: len(column)], column)


@pytest.mark.parametrize(("scenario", "direction"), [("trip_out", "out"), ("trip_in", "in")])
def test_stands_agree_with_the_block(scenario: str, direction: str) -> None:
    simulation = Simulation(scenario, 21, 1.0)
    rows, truth = record(simulation), simulation.truth()
    assert len(truth["stands"]) > 18
    depth = truth["bit_depth_m"]
    for stand in truth["stands"]:
        if stand["in_slips"] is None:
            assert stand is truth["stands"][-1]
            break
        at = np.searchsorted(
            rows["time_us"], [micros(stand["out_of_slips"]), micros(stand["in_slips"])]
        )
        block = rows["block_position"][at]
        assert abs(block[1] - block[0]) == pytest.approx(stand["length_m"], abs=0.12)
        assert stand["direction"] == direction
        depth += stand["length_m"] * (1 if direction == "in" else -1)
        assert stand["bit_depth_m"] == pytest.approx(depth, abs=0.01)


def test_moving_load_agrees_with_the_dead_line_tension() -> None:
    simulation = Simulation("trip_out", 21, 1.0)
    rows, truth = record(simulation), simulation.truth()
    ratio, line = 1 / 0.985, demo_rig().line
    assert line is not None
    for stand in truth["stands"]:
        if stand["in_slips"] is None:
            continue
        a, b = np.searchsorted(
            rows["time_us"], [micros(stand["out_of_slips"]), micros(stand["in_slips"])]
        )
        span = slice(a + (b - a) // 3, b - (b - a) // 3)
        rope_N = line.weight_N_m * (rows["block_position"][span] - line.anchor_height_m)
        tension = np.median(rows["deadline_tension"][span] + rope_N)
        load_kN = tension * sum(ratio**k for k in range(10)) / 1e3
        assert load_kN == pytest.approx(stand["moving_hook_load_kN"], rel=0.01)


def test_events_are_over_the_limit_and_in_order() -> None:
    truths = []
    for seed in range(4):
        simulation = Simulation("trip_out", seed, 4.0, 1.0)
        record(simulation)
        truths.append(simulation.truth())
    events = [event for truth in truths for event in truth["events"]]
    assert len(events) >= 4
    for event in events:
        assert event["start"] < event["end"]
        assert event["start"] <= event["peak_time"] <= event["end"]
        assert event["peak_excess_kN"] > 40.0
    for truth in truths:
        spells = [(s["out_of_slips"], s["in_slips"]) for s in truth["stands"]]
        for event in truth["events"]:
            assert any(out <= event["start"] <= (into or "Z") for out, into in spells)


def test_stuck_spell_shows_its_free_length_in_the_record() -> None:
    simulation = Simulation("stuck_pipe", 11, 2.0)
    rows, truth = record(simulation), simulation.truth()
    (spell,) = truth["stuck"]
    assert spell["pulls"] >= 5
    assert spell["greatest_pull_over_free_weight_kN"] > 200.0
    a, b = np.searchsorted(rows["time_us"], [micros(spell["start"]), micros(spell["end"])])
    block, tension = rows["block_position"][a:b], rows["deadline_tension"][a:b]
    assert np.ptp(block) < 4.0
    # The upper part of the pulls: hoisting, friction turned over, so the load rises with
    # the spring of the free length alone.
    ratio, speed = 1 / 0.985, np.convolve(np.gradient(block, 0.1), np.ones(15) / 15, "same")
    load = (tension + 51.08 * block) * sum(ratio**k for k in range(10))
    high = (speed > 0.02) & (load > np.quantile(load, 0.6))
    slopes = []
    for run in np.split(
        np.flatnonzero(high), np.flatnonzero(np.diff(np.flatnonzero(high)) > 1) + 1
    ):
        if len(run) > 40 and np.ptp(block[run]) > 0.2:
            slopes.append(np.polyfit(block[run], load[run], 1)[0])
    assert len(slopes) >= 3
    string, rig = simulation.story.hoist.string, simulation.rig
    top = spell["free_length_m"] + 10.0
    bit_to_grip = spell["bit_depth_m"] - spell["free_length_m"]
    compliance = string.compliance_m_N(bit_to_grip, bit_to_grip + top) + rig.hoist_compliance_m_N
    assert np.median(slopes) == pytest.approx(1.0 / compliance, rel=0.06)


def test_every_stuck_story_sticks_and_some_come_free() -> None:
    ends = []
    for seed in range(8):
        simulation = Simulation("stuck_pipe", seed, 1.2, 1.0)
        record(simulation)
        (spell,) = simulation.truth()["stuck"]
        ends.append(spell["end"])
    assert any(end is not None for end in ends)
    assert any(end is None for end in ends)


def test_drilling_deepens_the_hole_by_what_the_stands_went_down() -> None:
    simulation = Simulation("drilling", 2, 2.5, 2.0)
    rows, truth = record(simulation), simulation.truth()
    hole, stands = truth["hole_depth_m"], truth["stands"]
    assert hole["end"] > hole["start"] + 40.0
    assert all(stand["direction"] == "drilled" for stand in stands)
    weights = [row["weight_on_bit_kN"] for row in truth["weight_on_bit"]]
    assert 40.0 < np.median(weights) < 140.0
    assert rows["flow_in"].max() > 0.025
    assert rows["rotary_speed"].max() > 8.0
    assert truth["events"] == []


def test_rig_text_is_the_rig_simulated() -> None:
    rig = demo_rig()
    parsed = parse_rig(rig_text(rig))
    for name in ("name", "travelling_weight_N", "reeving", "mud_density_kg_m3", "limits", "line"):
        assert getattr(parsed, name) == getattr(rig, name)
    assert parsed.hoist_compliance_m_N == pytest.approx(rig.hoist_compliance_m_N)
    for one, two in zip(parsed.string, rig.string, strict=True):
        assert one.outside_diameter_m == pytest.approx(two.outside_diameter_m)
        assert one.weight_in_air_N_m == pytest.approx(two.weight_in_air_N_m)


def test_least_rig_and_other_reeving_run() -> None:
    rig = Rig("Least (invented)", 690e3, Reeving(14, 0.988, "turning"))
    rows = record(Simulation("trip_out", 1, 0.3, 10.0, rig))
    assert rows["deadline_tension"].min() > 690e3 / 14 * 0.8


@pytest.mark.parametrize("hz", [0.2, 3.0, 50.0])
def test_any_rate(hz: float) -> None:
    rows = record(Simulation("trip_out", 1, 0.25, hz))
    assert len(rows["time_us"]) == int(900 * hz)


def test_half_an_hour_is_ready_at_once() -> None:
    started = time.perf_counter()
    rows = record(Simulation("stuck_pipe", 7, 0.5))
    # 0.2 s alone on a common machine; the rest is room for a busy one.
    assert time.perf_counter() - started < 3.0
    assert len(rows["time_us"]) == 18_000


def test_refusals() -> None:
    with pytest.raises(ValueError, match="scenario is 'fishing'; must be one of trip_out"):
        Simulation("fishing", 1)
    with pytest.raises(ValueError, match="hz is 0"):
        Simulation("trip_out", 1, hz=0.0)
    with pytest.raises(ValueError, match="hours is -1"):
        Simulation("trip_out", 1, hours=-1.0)
    assert next(iter(simulate("trip_out", seed=1, hours=0.1)))["time_us"][0] == 1772323200000000
