"""Jar blows live: a simulated stuck pipe with the strokes of a jar put into its tension.

The stroke is taken out of the stretched string by Hooke's law (load falls by stroke over
compliance) at the top of a pull, and closed again as the string comes back to free weight.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from monitor.interpret.hold import HangingSecond
from monitor.interpret.jarring import Jarring
from monitor.model import Event, Floats, Samples
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig
from tests.laws.records import differences, run, simulated

STROKE_M = 0.40
COMPLIANCE_m_N = 3.6e-6  # about 2600 m of 5-in drill pipe
FIRED_AFTER_S = 3.0


@pytest.fixture(scope="module")
def plain() -> tuple[Rig, Samples, float]:
    return simulated("stuck_pipe", 1.0, seed=7)


def tops(block_m: Floats, tension_N: Floats) -> list[tuple[int, int]]:
    """First and last row of each stand-still at the top of a pull, with the load high."""
    high = tension_N > 1.1 * np.median(tension_N[tension_N > 100e3])
    still = np.abs(block_m - np.roll(block_m, 5)) < 0.015  # over a second
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (high & still).astype(int), [0]))))
    spans = list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
    return [(a, b) for a, b in spans if b - a > 6 * 5]


def jarred(rig: Rig, samples: Samples) -> tuple[Samples, list[int]]:
    """Tension with a blow in each of these pulls, and the rows they fire at."""
    block = samples.values["block_position"]
    tension = samples.values["deadline_tension"].copy()
    fired = []
    factor = rig.reeving.lines_strung * 1.07  # hook load over tension while hoisting, about
    step_N = STROKE_M / COMPLIANCE_m_N / factor
    free_N = float(np.median(tension[tension > 100e3]))
    for first, last in tops(block, tension):
        row = first + round(FIRED_AFTER_S * 5)
        fired.append(row)
        over = np.flatnonzero(tension[last:] < free_N)
        stop = last + (int(over[0]) if len(over) else 0)
        share = np.clip((tension[row:stop] - free_N) / (2.0 * step_N), 0.0, 1.0)
        tension[row:stop] -= step_N * share
    values = {**samples.values, "deadline_tension": tension}
    return dataclasses.replace(samples, values=values), fired


def blows(rig: Rig, samples: Samples, depth_m: float) -> list[Event]:
    pipeline = Pipeline(rig, bit_depth_m=depth_m)
    events = {event.id: event for event in pipeline.feed(samples).events}
    return [event for event in events.values() if event.kind == "jar_blow"]


def test_a_string_pulled_without_a_jar_shows_no_blow(plain: tuple[Rig, Samples, float]) -> None:
    rig, samples, depth = plain
    assert blows(rig, samples, depth) == []


def test_each_blow_is_known_once_the_load_has_come_back(
    plain: tuple[Rig, Samples, float],
) -> None:
    rig, samples, depth = plain
    record, fired = jarred(rig, samples)
    assert len(fired) >= 3
    found = blows(rig, record, depth)
    # The first is before the string is known as stuck; the last has no pull after it.
    assert len(found) == len(fired) - 2
    times = [int(record.time_us[row]) for row in fired]
    for event in found:
        nearest = min(abs(event.start_us - time_us) for time_us in times)
        assert nearest <= 2_500_000
        assert event.raised_us > event.start_us + 4_000_000
        assert event.why.startswith("up: ")
        assert event.peak_excess_N > 200e3


def test_cuts_and_restarts_change_no_blow(plain: tuple[Rig, Samples, float]) -> None:
    rig, samples, depth = plain
    record, fired = jarred(rig, samples)
    cuts = sorted({*(row + 3 for row in fired), *(row + 40 for row in fired)})
    whole = run(rig, record, [], (), depth)
    assert any(event.kind == "jar_blow" for event in whole.events.values())
    assert differences(whole, run(rig, record, cuts, (), depth, restart=cuts)) == []


def test_the_second_in_which_it_fired_is_no_blow_of_its_own() -> None:
    """By hand: fired 0.4 s into a second, whose mean lies 0.4 of the step above what was left."""
    free_N, pulled_N, step_N = 1200e3, 380e3, 110e3
    excess = [pulled_N] * 4 + [pulled_N - 0.6 * step_N] + [pulled_N - step_N] * 6
    excess += [0.0] * 20 + [pulled_N] * 3
    jarring, found = Jarring(), []
    for k, over in enumerate(excess):
        block, friction = (11.4, 1.0) if over > 0.0 else (10.0, -1.0)
        second = HangingSecond(k * 1_000_000, block, free_N + over, 0.0, friction)
        blow = jarring.follow(second, (free_N, free_N - 100e3), COMPLIANCE_m_N)
        found += [blow] if blow else []
    assert len(found) == 1
    assert found[0].step_N == pytest.approx(step_N)
