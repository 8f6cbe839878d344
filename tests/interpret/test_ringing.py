"""A string that rings after a change of speed, and one that does not, in one record each.

The rod here is the textbook one: fixed to a moving top, free below, it swings with the period
4 L / c (D'Alembert's travelling waves; any text on vibrations, from memory) and dies away.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.ringing import LEAST_SHARES, SHARES, STANDS_KEPT, TELLING_SWING_M_S
from monitor.interpret.speeds import WAVE_SPEED_M_S
from monitor.model import Event, Output
from monitor.pipeline import Pipeline
from monitor.rig.rig import EventLimits
from tests.interpret.streams import EMPTY_N, Script, plain_rig, stand_N

LOAD_N = 1200e3
DEPTH_M = 3000.0
PERIOD_S = 4.0 * DEPTH_M / WAVE_SPEED_M_S
SPEED_M_S = 0.5
DECAY_S = 5.0
RIG = plain_rig(events=EventLimits(25e3, 25e3))


def ringing(rows: int, step_s: float, amplitude_N: float) -> np.ndarray:
    since = np.arange(rows) * step_s
    result: np.ndarray = (
        amplitude_N * np.exp(-since / DECAY_S) * np.cos(2.0 * np.pi * since / PERIOD_S)
    )
    return result


def stand(script: Script, amplitude_N: float, left: int, more_N: float = 0.0) -> None:
    """Pull a stand that starts at once from slow to full speed; ``more_N`` over two metres.

    ``left``: how many more stands hang on it than on the last one.
    """
    at_m, load_N = 6.0, LOAD_N + left * stand_N(LOAD_N, DEPTH_M)
    script.hold(10, EMPTY_N).ramp(1.2, load_N).move(4.5, load_N, 0.15)
    path = round((29.0 - 4.5) / SPEED_M_S / script.step_s)
    block = np.linspace(4.5, 29.0, path + 1)[1:]
    load = load_N + ringing(path, script.step_s, amplitude_N)
    load += np.where((block > at_m) & (block < at_m + 2.0), more_N, 0.0)
    script.move(29.0, load, SPEED_M_S)
    script.hold(3, load_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N).move(1.0, EMPTY_N, 0.8)


def trip(amplitude_N: float, stands: int, more_N: float = 0.0) -> tuple[Output, list[Event]]:
    script = Script(hz=10.0)
    for left in range(stands, 0, -1):
        stand(script, amplitude_N, left)
    begins_us = round(script.seconds * 1e6)
    stand(script, amplitude_N, 0, more_N)
    output = Pipeline(RIG, bit_depth_m=DEPTH_M).feed(script.samples())
    loads = [e for e in output.events if e.kind in ("overpull", "slack_off")]
    return output, [e for e in loads if e.start_us >= begins_us]


def band_N(output: Output, after_s: float, before_s: float) -> np.ndarray:
    """Bands of the last stand, so many seconds after it went to full speed."""
    speed = output.columns["block_speed_m_s"]
    fast = np.flatnonzero(np.abs(speed - SPEED_M_S) < 0.02)
    first = fast[np.flatnonzero(np.diff(fast) > 100)[-1] + 1]
    seconds = (output.time_us - output.time_us[first]) / 1e6
    inside = (seconds > after_s) & (seconds < before_s)
    return np.asarray(output.columns["band_N"][inside])


def test_ringing_that_is_usual_raises_nothing() -> None:
    """Its swings of 60 kN pass the limit of 25 kN again and again."""
    _, events = trip(60e3, STANDS_KEPT)
    assert events == []


def test_pull_in_the_midst_of_ringing_is_found_when_it_outlasts_half_a_swing() -> None:
    _, (event,) = trip(60e3, STANDS_KEPT, 100e3)
    assert event.kind == "overpull"
    assert (event.raised_us - event.start_us) / 1e6 < 0.5 * PERIOD_S + 1.0


def test_string_that_does_not_ring_has_no_band_for_it() -> None:
    """What was taken for usual at first is gone once stands have shown otherwise."""
    calm, _ = trip(0.0, STANDS_KEPT)
    loud, _ = trip(60e3, STANDS_KEPT)
    assert np.nanmedian(band_N(calm, 8.0, 10.0)) < 10e3
    assert np.nanmedian(band_N(loud, 1.0, 3.0)) > 25e3
    first, _ = trip(0.0, 2)
    assert np.nanmedian(band_N(first, 6.0, 8.0)) > 2.0 * np.nanmedian(band_N(calm, 6.0, 8.0))


def test_small_pull_soon_after_a_start_is_found_where_nothing_rings() -> None:
    _, (event,) = trip(0.0, STANDS_KEPT, 45e3)
    assert (event.raised_us - event.start_us) / 1e6 < 1.0
    assert event.peak_excess_N == pytest.approx(45e3, rel=0.1)


def test_shares_fall_and_what_is_least_is_below_what_is_taken_at_first() -> None:
    assert list(SHARES) == sorted(SHARES, reverse=True)
    assert all(least < share for least, share in zip(LEAST_SHARES, SHARES, strict=True))
    assert 0.0 < TELLING_SWING_M_S < SPEED_M_S
