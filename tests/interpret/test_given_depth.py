"""A bit depth that a person gives on the way changes no load that was read."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Output
from tests.interpret.streams import Script, act
from tests.interpret.test_short_strokes import STAND_M, START_M, of, rig, trip_in


def corrected(said_m: float | None) -> tuple[Output, int]:
    """A free trip whose depth is put right after four stands; when that was."""
    script = trip_in(Script(28.5), 4, START_M)
    given = act(script, "bit_depth", START_M + 4 * STAND_M)
    trip_in(script, 3, START_M + 4 * STAND_M)
    return script.run(said_m, (given,), rig()), given.time_us


@pytest.mark.parametrize("said_m", [START_M - 300.0, START_M - 20.0, START_M + 300.0, None])
def test_what_was_read_before_is_what_hangs(said_m: float | None) -> None:
    """By hand: 300 m of that pipe are 81 kN, which nobody added or took away."""
    output, given_us = corrected(said_m)
    later = output.time_us > given_us
    lowering = later & (output.columns["block_speed_m_s"] < -0.4)
    excess = output.columns["excess_N"][lowering]
    assert np.count_nonzero(np.isfinite(excess)) > 500
    assert np.nanquantile(np.abs(excess), 0.95) < 5e3
    kinds = {event.kind for event in output.events if event.start_us > given_us}
    assert not kinds & {"overpull", "slack_off", "weight_loss", "light"}


def test_a_load_that_differs_is_still_told_afterwards() -> None:
    """The next stand but one weighs 60 kN less than the string did."""
    script = trip_in(Script(28.5), 4, START_M)
    given = act(script, "bit_depth", START_M + 4 * STAND_M)
    trip_in(script, 1, START_M + 4 * STAND_M)
    trip_in(script, 1, START_M + 5 * STAND_M, extra_down_N=-60e3)
    output = script.run(START_M - 300.0, (given,), rig())
    assert of(output, "slack_off")
