"""Stands that weigh a little more or less than foretold are no pulls."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.trend import Second, Trend
from monitor.rig.rig import EventLimits
from tests.interpret.streams import Script, plain_rig

SCATTER_N = 10e3
STANDS = 400
PIPE_N_M, STAND_M, DEEPEST_M = 250.0, 28.0, 12000.0


def test_whole_stands_off_by_a_bell_make_few_events() -> None:
    """Below a limit that is less than the scatter itself, what the scatter does decides.

    Of a bell one in 44 lies beyond 2 standard deviations and one in 200 beyond 2.6 (tables of
    the normal distribution); from ten stands the deviation is known to a fifth or so, which
    makes it some more.
    """
    random = np.random.default_rng(0)
    script = Script(hz=1.0)
    for stand in range(STANDS):
        weight_N = 300e3 + PIPE_N_M * (DEEPEST_M - STAND_M * stand)
        script.stand_out(weight_N + float(random.normal(0.0, SCATTER_N)))
    rig = plain_rig(events=EventLimits(0.5 * SCATTER_N, 0.5 * SCATTER_N))
    events = script.run(DEEPEST_M, rig=rig).events
    found = [event for event in events if event.kind == "overpull"]
    assert len(found) <= 0.02 * STANDS


def test_the_slope_is_as_sure_as_stands_make_it_not_seconds() -> None:
    """Thirty seconds of a stand share what the stand is off: they count as one observation.

    What the slope is off in units of its told spread has a mean square of one (definition of
    a standard deviation); the prior, right and loose here, takes a little off.
    """
    random = np.random.default_rng(3)
    off = []
    for _ in range(60):
        trend = Trend()
        for stand in range(12):
            shared_N = float(random.normal(0.0, SCATTER_N))
            for second in range(30):
                along_m = STAND_M * stand + 0.9 * second
                load_N = PIPE_N_M * (5000.0 - along_m) + shared_N
                load_N += float(random.normal(0.0, 2e3))
                seen = Second(along_m, 5000.0 - along_m, load_N, 0.5, float(stand), True)
                trend.add(seen, (PIPE_N_M, 400.0, 1000e3))
        off.append((trend.slope_N_m - PIPE_N_M) / trend.slope_spread_N_m)
    assert np.mean(np.square(off)) == pytest.approx(1.0, abs=0.5)
