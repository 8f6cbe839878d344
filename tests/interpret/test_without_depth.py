"""A record whose bit depth nobody gave is judged as well as one whose depth is known."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Output
from monitor.pipeline import Pipeline
from tests.laws.records import simulated


@pytest.fixture(scope="module")
def outputs() -> tuple[Output, Output]:
    """The same trip out of a described string, without a depth and with it."""
    rig, samples, depth_m = simulated("trip_out", 1.2)
    assert rig.string
    return Pipeline(rig).feed(samples), Pipeline(rig, bit_depth_m=depth_m).feed(samples)


def test_band_is_as_narrow(outputs: tuple[Output, Output]) -> None:
    without, known = (np.nanmedian(output.columns["band_N"]) for output in outputs)
    assert without == pytest.approx(known, rel=0.25)


def test_excess_does_not_lean_within_a_stand(outputs: tuple[Output, Output]) -> None:
    """The stand above the floor hangs on the hook to its end: the weight stays the same."""
    without, known = (
        np.nanmedian(np.abs(output.columns["excess_N"][len(output.seq) // 2 :]))
        for output in outputs
    )
    assert without < 1.5 * known


def test_events_are_the_same(outputs: tuple[Output, Output]) -> None:
    without, known = (
        {(e.kind, round(e.start_us / 1e7)) for e in output.events if e.kind == "overpull"}
        for output in outputs
    )
    assert known
    assert without == known
