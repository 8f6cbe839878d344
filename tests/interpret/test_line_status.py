"""The drilling line live: formulas beside what was lifted, duties, reel, the derrick's legs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from monitor.interpret.standard_work import StandardWork, round_trip_J
from monitor.model import TripRow
from monitor.pipeline import Pipeline
from monitor.rig.hoisting import Drawworks, Drum, Gear, LineWork, LoggedCut
from monitor.rig.rig import Limits, Line, Section
from tests.interpret.streams import EMPTY_N, NAN, Script, act, plain_rig
from tests.laws.records import simulated

LOAD_N = 1200e3


def lifted(time_us: int) -> float:
    del time_us
    return 7e6


STRING = (
    Section("collars", 100.0, 0.2032, 0.0714, 2000.0),
    Section("pipe", None, 0.127, 0.1086, 300.0),
)
RIG = plain_rig(
    string=STRING,
    line=Line(0.034925, 0.0, 900e3, 1500.0, 2.0),
    line_work=LineWork(cut_length_m=30.0, cuts=(LoggedCut("2026-01-01", 40.0, None),)),
    drum=Drum(0.762, 1.32, 5, 50.0, 1.0),
    limits=Limits(1.0, 41.0),
)


def part(script: Script, name: str, *acts: Any) -> dict[str, Any]:
    pipeline = Pipeline(RIG, bit_depth_m=2000.0)
    pipeline.feed(script.samples(), acts)
    found: dict[str, Any] = pipeline.status()["hoist"][name]
    return found


def stand(number: int, direction: str, depth_m: float, **changes: Any) -> TripRow:
    row = TripRow(number, direction, 0, 1, depth_m, 30.0, 900e3, NAN, 0.0, 0.0, 0.3)
    return replace(row, **changes)


@pytest.mark.parametrize("scenario", ["trip_out", "trip_in"])
def test_a_trip_lifts_what_the_formula_of_the_standard_books(scenario: str) -> None:
    """The integral of load times travel beside API RP 9B's round trip, one way of it.

    Drag and worked pipe add some per cent going out, drag takes some off going in.
    """
    rig, samples, depth_m = simulated(scenario, 1.0, 2.0)
    pipeline = Pipeline(rig, bit_depth_m=depth_m)
    pipeline.feed(samples)
    work = pipeline.status()["hoist"]["line_work"]
    assert work["lifted_J"] / work["standard_J"] == pytest.approx(1.0, abs=0.12)


def test_stands_there_and_back_are_a_short_trip() -> None:
    """API RP 9B: a short trip is the difference of two round trips."""
    standard = StandardWork(RIG)
    out = [stand(k, "out", 1970.0 - 30.0 * k) for k in range(10)]
    back = [stand(10 + k, "in", 1730.0 + 30.0 * k) for k in range(10)]
    standard.take([*out, *back], EMPTY_N, None, lifted)
    deep, shallow = (round_trip_J(RIG, depth, 30.0, EMPTY_N) for depth in (2000.0, 1700.0))
    assert standard.sum_J == pytest.approx(deep - shallow)


def test_a_stand_that_comes_again_is_booked_once_and_a_void_one_not_at_all() -> None:
    once, again = StandardWork(RIG), StandardWork(RIG)
    once.take([stand(1, "out", 1970.0)], EMPTY_N, None, lifted)
    again.take([stand(1, "out", 1990.0), stand(1, "out", 1970.0)], EMPTY_N, None, lifted)
    again.take(
        [stand(2, "out", 1940.0), stand(2, "out", 1940.0, void=True)], EMPTY_N, None, lifted
    )
    assert again.sum_J == once.sum_J


def test_drilling_goes_by_the_drive() -> None:
    """Reamed once: three differences of round trips with a kelly, two with a top drive."""
    step_J = round_trip_J(RIG, 2000.0, 30.0, EMPTY_N) - round_trip_J(RIG, 1970.0, 30.0, EMPTY_N)
    for drive, passes in (("kelly", 3), ("top drive", 2)):
        standard = StandardWork(RIG)
        gear = Gear("gear", EMPTY_N, drive=drive)
        standard.take([stand(1, "drilled", 2000.0)], EMPTY_N, gear, lifted)
        assert standard.sum_J == pytest.approx(passes * step_J)


def test_after_an_unknown_stand_both_sums_begin_anew() -> None:
    standard = StandardWork(RIG)
    standard.take([stand(1, "out", 1970.0), stand(2, "out", NAN)], EMPTY_N, None, lifted)
    assert standard.sum_J != standard.sum_J
    assert standard.from_J == 7e6


def test_the_line_at_every_duty() -> None:
    """900 kN: 300 kN at design factor 3 and 450 kN at 2, ten lines without friction."""
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).hold(20, LOAD_N)
    duties = {each["duty"]: each for each in part(script, "line")["duties"]}
    assert duties["drilling"]["limit_N"] == pytest.approx(3000e3)
    assert duties["pulling on stuck pipe"]["limit_N"] == pytest.approx(4500e3)
    assert duties["setting casing"]["room_N"] == pytest.approx(3300e3, rel=0.001)


def test_the_reel_by_the_book() -> None:
    """1500 m less 40 m cut less drum 50, ten lines of 40, fast line 41, dead line 39."""
    line = part(Script().hold(10, EMPTY_N), "line")
    assert (line["on_reel_m"], line["cuts_on_reel"]) == (pytest.approx(930.0), 31)


def test_a_cut_of_the_record_comes_off_the_reel() -> None:
    script = Script().stand_out(LOAD_N).hold(20, EMPTY_N)
    before = part(script, "line")["on_reel_m"]
    begin = act(script, "slip_and_cut", text="begin")
    script.hold(30, EMPTY_N)
    end = act(script, "slip_and_cut", 30.0, "end")
    script.hold(10, EMPTY_N)
    count = act(script, "slip_and_cut", text="confirm wraps 20")
    line = part(script.hold(5, EMPTY_N), "line", begin, end)
    assert line["on_reel_m"] is None  # wraps are not counted yet
    line = part(script, "line", begin, end, count)
    assert before is not None
    assert line["on_reel_m"] < before - 29.0


def test_the_worst_leg_of_the_derrick() -> None:
    """At rest it is a quarter of load and line ends, and the dead line's share beside a leg.

    Equivalent load of a static load W on ten lines: W (n + 4) / n (Bourgoyne et al. 1986).
    """
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).hold(20, LOAD_N)
    string_up = part(script, "string_up")
    assert string_up["derrick_equivalent_N"] == pytest.approx(LOAD_N * 1.4, rel=0.001)
    assert string_up["derrick_worst_leg_N"] == pytest.approx(LOAD_N * 1.4 / 4.0, rel=0.001)


def test_power_lifts_at_the_speed_it_allows() -> None:
    script = Script().hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N, 0.5)
    rig = replace(RIG, drawworks=Drawworks(power_W=1.2e6))
    pipeline = Pipeline(rig, bit_depth_m=2000.0)
    pipeline.feed(script.samples())
    lifting = pipeline.status()["hoist"]["braking"]
    assert lifting["allowed_speed_m_s"] == pytest.approx(1.0, rel=0.01)
    assert lifting["lifting_power_W"] == pytest.approx(LOAD_N * 0.5, rel=0.02)
    assert lifting["stopping_distance_m"] is None
