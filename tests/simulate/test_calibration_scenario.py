"""The calibration scenario: known loads, and a signal whose truth is known."""

import numpy as np
import pytest

from monitor.rig.file import parse_rig
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import demo_rig
from tests.simulate.test_simulation import micros, record


def test_the_signal_is_the_stated_truth_of_the_tension_of_sheaves_that_slip() -> None:
    simulation = Simulation("calibration", 7, 0.3)
    rows, truth = record(simulation), simulation.truth()
    c0, c1, c2 = truth["sensor"]["coefficients"]
    reeving, line = demo_rig().reeving, demo_rig().line
    assert line is not None
    seen = {}
    for step in truth["load_steps"]:
        first = int(np.searchsorted(rows["time_us"], micros(step["start"])))
        last = int(np.searchsorted(rows["time_us"], micros(step["end"])))
        part = slice(first + 30, last)
        hook_N = 245e3 + step["reference_load_kN"] * 1e3
        # Tensions of the spans, one sheave's friction apart, summed by hand.
        e = reeving.sheave_efficiency
        ratio = 1.0 / e if step["moved"] == "hoisting" else e
        spans = sum(ratio**k for k in range(reeving.lines_strung))
        rail_N = 3.5e3 if step["moved"] == "hoisting" else -3.5e3
        tension = (hook_N + rail_N) / spans
        height = float(rows["block_position"][part].mean()) - line.anchor_height_m
        tension -= line.weight_N_m * height
        expected = c0 + c1 * tension + c2 * tension**2
        # 6 microamperes of noise over 150 readings, and the rope's last settling.
        assert rows["deadline_signal"][part].mean() == pytest.approx(expected, abs=1e-5)
        told = float(rows["reference_load"][part].mean())
        assert told == pytest.approx(step["reference_load_kN"] * 1e3, abs=60.0)
        seen.setdefault((step["series"], step["moved"]), []).append(step["reference_load_kN"])
    assert seen["rising", "hoisting"][:5] == [0, 200, 400, 600, 800]
    assert seen["falling", "lowering"][:4] == [600, 400, 200, 0]


def test_the_sensor_is_out_by_an_amount_worth_finding_and_its_rig_file_does_not_say_so() -> None:
    for seed in range(1, 9):
        simulation = Simulation("calibration", seed, 0.02)
        truth = simulation.truth()["sensor"]
        assert 0.01 <= abs(truth["gain"] - 1.0) <= 0.03
        rig = parse_rig(simulation.rig_text)
        assert rig.sensor.span_N == truth["label_span_N"] == 400e3
        assert (rig.sensor.signal_low, rig.sensor.signal_high) == (0.004, 0.020)
