"""Half widths on screen, from rows: what is in them, when they shrink, when they are too wide."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from monitor.metrology.proposal import Proposal
from monitor.model import Command, Output, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import AlarmLimits, Line, Reeving, Sensor
from tests.interpret.streams import EMPTY_N, LINES, NAN, Script, act, plain_rig

FREE_N = 900e3
NOISE_N, STEP_N = 200.0, 50.0


def noisy(script: Script, noise_N: float = NOISE_N, step_N: float = STEP_N) -> Samples:
    samples = script.samples()
    random = np.random.default_rng(12)
    tension = samples.values["deadline_tension"]
    tension = np.round((tension + random.normal(0.0, noise_N, len(tension))) / step_N) * step_N
    return replace(samples, values={**samples.values, "deadline_tension": tension})


def fed(
    samples: Samples, commands: tuple[Command, ...] = (), **rig: object
) -> tuple[Output, dict[str, Any]]:
    pipeline = Pipeline(plain_rig(**rig), bit_depth_m=2000.0)
    output = pipeline.feed(samples, commands)
    status = pipeline.status()["sensor"]
    json.dumps(status, allow_nan=False)
    return output, status


def column(output: Output, name: str) -> np.ndarray:
    return np.asarray(output.columns[name], dtype=float)


def trip(stands: int) -> Script:
    script = Script()
    for _ in range(stands):
        script.stand_out(FREE_N)
    return script


def test_noise_and_step_of_the_signal_are_measured() -> None:
    _, status = fed(noisy(trip(4)))
    assert status["uncertainty"]["noise_N"] == pytest.approx(NOISE_N, rel=0.1)
    assert status["uncertainty"]["step_N"] == pytest.approx(STEP_N)


@pytest.mark.parametrize("line", [None, Line(0.035, 51.0)])
def test_the_half_width_shown_is_the_one_its_budget_adds_up_to(line: Line | None) -> None:
    script = trip(4).hold(10, EMPTY_N).ramp(1.2, FREE_N).move(20.0, FREE_N)
    _, status = fed(noisy(script), reeving=Reeving(LINES, 0.985), line=line)
    told = status["uncertainty"]
    whole = math.sqrt(sum(row["half_width_N"] ** 2 for row in told["hook_load_budget"]))
    assert told["hook_load_half_width_N"] == pytest.approx(whole, rel=1e-9)
    assert told["stated_half_width_N"] == pytest.approx(whole, rel=1e-9)


def test_weighing_the_empty_block_narrows_the_zero() -> None:
    output, status = fed(noisy(trip(4)), line=Line(0.035, 51.0))
    half = column(output, "hook_load_half_width_N")
    rows = [row for row in status["uncertainty"]["hook_load_budget"] if row["name"] == "zero"]
    # 0.5 % of 450 kN by ten lines before, some kilonewtons after (our choices).
    assert half[20] > 1.96 * 0.005 * 450e3 * LINES / math.sqrt(3.0)
    assert rows[0]["half_width_N"] < 8e3
    assert output.columns["room_left_N"].shape == half.shape


def test_a_measured_efficiency_and_a_calibration_narrow_it() -> None:
    script = trip(3).hold(10, EMPTY_N).ramp(1.2, FREE_N).move(20.0, FREE_N)
    loads = np.repeat(np.arange(0.0, 401e3, 50e3), 3)
    readings = loads + np.tile([40.0, -40.0, 0.0], 9)
    points = Proposal("deadline_tension", tuple(loads), tuple(readings)).to_text()
    acts = (
        Command(1, 0, "calibration_proposed", NAN, points, "A. Person"),
        Command(1, 0, "calibration_approved", 1.0, "", "A. Person"),
    )
    told = {"line": Line(0.035, 0.0)}
    plain, _ = fed(noisy(script), reeving=Reeving(LINES, 0.985), **told)
    measured = Reeving(LINES, 0.985, efficiency_half_width=0.0005)
    better, status = fed(noisy(script), acts, reeving=measured, **told)
    widths = [column(o, "hook_load_half_width_N")[-1] for o in (plain, better)]
    assert widths[1] < 0.7 * widths[0]
    assert status["calibration"]["in_force"] == 1


def test_weight_on_bit_has_a_half_width_where_it_is_known_and_only_there() -> None:
    script = trip(2).hold(10, EMPTY_N).ramp(1.2, FREE_N).move(20.0, FREE_N)
    script.move(15.0, FREE_N, 0.2).hold(10, FREE_N)
    tare = act(script, "tare", FREE_N)
    script.hold(20, FREE_N)
    output, status = fed(noisy(script), (tare,))
    weight, half = column(output, "weight_on_bit_N"), column(output, "weight_on_bit_half_width_N")
    assert np.array_equal(np.isfinite(weight), np.isfinite(half))
    assert np.isfinite(weight[-1])
    # The tare's own scatter is the least: 10 kN between the ends of a rectangle.
    assert 1.96 * 10e3 / math.sqrt(12.0) < half[-1] < 9e3
    assert half[-1] < column(output, "hook_load_half_width_N")[-1]
    assert status["uncertainty"]["weight_on_bit_budget"][0]["name"] == "tare"


@pytest.mark.parametrize(("margin_N", "exceeds"), [(20e3, True), (200e3, False)])
def test_a_half_width_beyond_the_alarm_margin_is_said(margin_N: float, exceeds: bool) -> None:
    script = trip(2).hold(10, EMPTY_N).ramp(1.2, FREE_N).move(20.0, FREE_N)
    _, status = fed(
        noisy(script), reeving=Reeving(LINES, 0.985), alarms=AlarmLimits(margin_N, margin_N)
    )
    assert status["uncertainty"]["exceeds_alarm_margin"] is exceeds


def test_the_line_count_has_odds() -> None:
    """Ten lines are strung; told are ten, then twelve."""
    _, right = fed(noisy(trip(6)))
    assert right["line_count"]["most_likely"] == LINES
    assert right["line_count"]["odds"] > 100.0
    _, wrong = fed(noisy(trip(16)), reeving=Reeving(12, 1.0))
    assert wrong["line_count"]["most_likely"] == LINES
    assert "count the lines" in wrong["line_count"]["in_words"]
    total = sum(wrong["line_count"]["by_lines"].values()) + wrong["line_count"]["something_else"]
    assert total == pytest.approx(1.0)


def test_a_weight_that_no_count_shows_is_something_else() -> None:
    _, status = fed(noisy(trip(6)), travelling_weight_N=0.9 * EMPTY_N)
    assert status["line_count"]["something_else"] > 0.5
    assert "something else hangs there" in status["line_count"]["in_words"]


def test_each_weighing_is_kept_with_its_tension_and_its_chart() -> None:
    output, status = fed(noisy(trip(8)), sensor=Sensor(span_N=400e3))
    downs = [check for check in output.checks if check.direction == "down"]
    assert len(downs) >= 7
    assert all(check.tension_N == pytest.approx(EMPTY_N / LINES, abs=200.0) for check in downs)
    assert all(check.charted for check in downs)
    assert math.isnan(downs[0].limit_N)
    # 0.75 % of 400 kN by ten lines.
    assert downs[-1].limit_N == pytest.approx(30e3)
    assert status["zero"]["down"]["learnt"]
