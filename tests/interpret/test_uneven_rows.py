"""Rows that are lost here and there: a steady block stays steady, and pulls are still told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.model import Samples
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, plain_rig

LOAD_N = 1200e3
SPEED_M_S = 0.5


def lossy(samples: Samples, share: float) -> Samples:
    """Take out so many rows by chance, as a weak link does."""
    keep = np.random.default_rng(11).random(len(samples)) >= share
    keep[0] = True
    return replace(
        samples,
        seq=samples.seq[keep],
        time_us=samples.time_us[keep],
        row=samples.row[keep],
        values={name: values[keep] for name, values in samples.values.items()},
    )


@pytest.mark.parametrize("share", [0.2, 0.4, 0.6])
def test_a_steady_block_is_steady_whatever_rows_are_lost(share: float) -> None:
    """By hand: 0.5 m/s all the way; a tenth is what 1 cm of rounding makes of 0.2 s."""
    samples = lossy(
        Script(hz=5.0).hold(5, EMPTY_N).move(30.0, EMPTY_N, SPEED_M_S).samples(), share
    )
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    time_s = (samples.time_us - samples.time_us[0]) / 1e6
    steady = (time_s > 8.0) & (time_s < 60.0)
    speed = output.columns["block_speed_m_s"][steady]
    assert np.max(np.abs(speed - SPEED_M_S)) <= 0.1 * SPEED_M_S


@pytest.mark.parametrize("share", [0.0, 0.2, 0.4, 0.6])
def test_pulls_are_told_with_rows_lost_and_setting_slips_is_no_slack_off(share: float) -> None:
    """60 kN over what is normal for some seconds; slips set six times.

    The first stand, of which no load is known yet, is left out.
    """
    script = Script(hz=5.0).stand_out(LOAD_N)
    known_us = round(script.seconds * 1e6)
    for _ in range(5):
        script.stand_out(LOAD_N)
    script.hold(10, EMPTY_N).ramp(1.2, LOAD_N).move(10.0, LOAD_N)
    script.move(13.0, LOAD_N + 60e3).move(29.0, LOAD_N).hold(3, LOAD_N).ramp(28.8, EMPTY_N)
    samples = lossy(script.hold(30, EMPTY_N).samples(), share)
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    loads = [e for e in output.events if e.kind in ("overpull", "slack_off")]
    assert [event.kind for event in loads if event.start_us > known_us] == ["overpull"]
