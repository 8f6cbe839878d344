"""Loads of a single row, in rows too far apart for a median: nothing comes of them."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Output, Quality, Samples
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, plain_rig

LOAD_N = 1200e3
STANDS = 6
STAND_M = 27.8


def _stands() -> Samples:
    script = Script(hz=1.0)
    for _ in range(STANDS):
        script.stand_out(LOAD_N)
    return script.hold(20, EMPTY_N).samples()


def _run(samples: Samples) -> Output:
    return Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)


@pytest.mark.parametrize("times", [0.0, 2.0, 3.0], ids=["nothing", "double", "threefold"])
def test_a_row_in_each_stand(times: float) -> None:
    samples = _stands()
    load = samples.values["deadline_tension"]
    plain = _run(_stands()).trip_rows
    hanging = np.flatnonzero(load > 0.9 * LOAD_N / 10)
    # Under way and at rest before slips are set, stand by stand.
    starts = hanging[np.flatnonzero(np.diff(hanging, prepend=-9) > 1)]
    ends = hanging[np.flatnonzero(np.diff(hanging, append=10**6) > 1)]
    spoilt = np.concatenate((starts + 20, ends - 1))
    load[spoilt] *= times
    output = _run(samples)
    assert [row.length_m for row in output.trip_rows] == pytest.approx(
        [row.length_m for row in plain], abs=0.2
    )
    kinds = ("overpull", "slack_off", "stuck", "weight_loss", "light", "sensor_fault")
    assert [event.kind for event in output.events if event.kind in kinds] == []
    assert np.isnan(output.columns["hook_load_N"][spoilt]).all()
    assert np.all(output.columns["quality"][spoilt] & Quality.ABSURD)


def test_second_row_running_is_believed() -> None:
    """A load that stays is one row late, no more: here that of the first stand."""
    output = _run(_stands())
    load = output.columns["hook_load_plain_N"]
    assert np.count_nonzero(np.isnan(load)) == 1
    assert np.nanmax(load) == pytest.approx(LOAD_N, rel=1e-9)


def test_double_load_in_slips_moves_nothing() -> None:
    """Twice the empty block, as light as a string may be: taken and set again, no stand."""
    samples = _stands()
    load, block = samples.values["deadline_tension"], samples.values["block_position"]
    in_slips = np.flatnonzero((load < 1.01 * EMPTY_N / 10) & (block > 28.0))
    load[in_slips[12::40]] *= 2.0
    output = _run(samples)
    rows = [row for row in output.trip_rows if not row.void]
    assert [row.direction for row in rows] == ["out"] * STANDS
    assert rows[-1].bit_depth_m == pytest.approx(2000.0 - STANDS * STAND_M, abs=1.0)
