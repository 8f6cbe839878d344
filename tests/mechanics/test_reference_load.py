"""Known loads as the sensor feels them: against sums by hand and the simulator's rope."""

from dataclasses import replace

import numpy as np
import pytest

from monitor.mechanics.reference_load import sensor_tension_N
from monitor.rig.rig import Line, Reeving, Rig
from monitor.simulate.rope import Rope

RIG = Rig("invented", 245e3, Reeving(10, 0.985))


@pytest.mark.parametrize(("direction", "sign"), [("hoisting", 1.0), ("lowering", -1.0)])
@pytest.mark.parametrize("load_N", [245e3, 1.045e6])
def test_it_is_what_the_elastic_rope_of_the_simulator_feels(
    direction: str, sign: float, load_N: float
) -> None:
    rope = Rope(10, 0.985, load_N)
    # Far enough for every sheave to have turned over.
    tensions = rope.dead_line_N(np.full(400, sign * 0.005), np.full(400, load_N))
    assert sensor_tension_N(load_N, RIG, 10, direction) == pytest.approx(tensions[-1], rel=1e-6)


def test_the_weight_of_the_line_is_taken_off_by_height() -> None:
    with_line = replace(RIG, line=Line(0.034925, 51.08, anchor_height_m=2.0))
    low, high = (float(sensor_tension_N(245e3, with_line, 10, "held", h)) for h in (2.0, 29.5))
    assert low == pytest.approx(24.5e3)
    # 27.5 m of line of 51.08 N/m hang between the block and the sensor.
    assert low - high == pytest.approx(27.5 * 51.08)
    assert float(sensor_tension_N(245e3, with_line, 10, "held")) == pytest.approx(24.5e3)


def test_a_load_below_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="hook_load_N is -1.0; must be at least 0"):
        sensor_tension_N(-1.0, RIG, 10, "held")
