"""Which calibration is in force, from which act on, and what it makes of readings."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.calibrations import Calibrations
from monitor.metrology.proposal import Proposal
from monitor.model import Command, Output, Samples, State
from monitor.pipeline import Pipeline
from monitor.rig.rig import Sensor
from tests.interpret.streams import LINES, NAN, plain_rig

SENSOR = Sensor(span_N=400e3)


def straight(low_A: float = 0.0041, span_N: float = 400e3) -> Proposal:
    """Five exact points of a 4-20 mA sensor whose zero stands at ``low_A``."""
    loads = np.linspace(0.0, span_N, 5)
    return Proposal(
        "deadline_signal", tuple(loads), tuple(low_A + 0.016 * loads / span_N), reference="cell 7"
    )


def act(seq: int, name: str, number: float = NAN, text: str = "", who: str = "A. Person"):
    return Command(seq, seq * 100_000, name, number, text, who)


def proposed(seq: int, proposal: Proposal) -> Command:
    return act(seq, "calibration_proposed", text=proposal.to_text())


def samples(first: int, count: int, signal_A: float) -> Samples:
    """Rows of a still block; every second number is left for acts."""
    k = np.arange(first, first + count)
    return Samples(
        2 * k,
        k * 200_000,
        np.zeros(count, dtype=np.uint16),
        {"deadline_signal": np.full(count, signal_A), "block_position": np.full(count, 10.0)},
        {},
    )


def plain_N(output: Output) -> list[float]:
    return np.asarray(output.columns["hook_load_plain_N"], dtype=float).tolist()


def test_a_calibration_holds_from_its_approval_on_and_not_before() -> None:
    pipeline = Pipeline(plain_rig(sensor=SENSOR))
    acts = [proposed(5, straight()), act(9, "calibration_approved", 1.0)]
    output = pipeline.feed(samples(1, 8, 0.0121), acts)
    # By the rig file 8.1 of 16 mA of 400 kN; by the calibration 8.0 of 16 (by hand).
    by_rig_file, calibrated = LINES * 202.5e3, LINES * 200e3
    assert plain_N(output) == pytest.approx([by_rig_file] * 4 + [calibrated] * 4)
    told = [(a.seq, a.act, a.version, a.in_force) for a in output.calibrations]
    assert told == [(5, "calibration_proposed", 1, 0), (9, "calibration_approved", 1, 1)]
    later = pipeline.feed(
        samples(9, 2, 0.0121), [act(17, "calibration_rolled_back", text="wrong cell")]
    )
    assert plain_N(later) == pytest.approx([by_rig_file] * 2)
    assert [(a.version, a.in_force, a.text) for a in later.calibrations] == [(0, 0, "wrong cell")]
    assert pipeline.status()["sensor"]["calibration"]["in_force"] == 0


def test_a_tension_that_comes_in_converted_can_be_put_right_too() -> None:
    loads = (0.0, 100e3, 200e3, 300e3)
    proposal = Proposal("deadline_tension", loads, tuple(0.98 * load for load in loads))
    rows = Samples(
        np.array([10, 11]),
        np.array([1_000_000, 1_200_000]),
        np.zeros(2, dtype=np.uint16),
        {"deadline_tension": np.full(2, 98e3), "block_position": np.full(2, 10.0)},
        {},
    )
    acts = [proposed(1, proposal), act(2, "calibration_approved", 1.0)]
    assert plain_N(Pipeline(plain_rig()).feed(rows, acts)) == pytest.approx([LINES * 100e3] * 2)


def test_a_reading_beyond_the_points_is_flagged() -> None:
    pipeline = Pipeline(plain_rig(sensor=SENSOR))
    acts = [
        proposed(1, straight(span_N=200e3)),
        act(2, "calibration_approved", 1.0, "override: x"),
    ]
    pipeline.feed(samples(1, 0, 0.0), acts)
    inside, beyond = (pipeline.feed(samples(n, 1, a), ()) for n, a in ((5, 0.0199), (6, 0.0204)))
    assert not inside.columns["state"][0] & State.OUTSIDE_CALIBRATION
    assert beyond.columns["state"][0] & State.OUTSIDE_CALIBRATION
    assert plain_N(beyond)[0] > LINES * 200e3


def test_going_back_goes_further_back_each_time() -> None:
    found = Calibrations(SENSOR)
    for seq, low_A in ((1, 0.0041), (2, 0.0042)):
        found.take(proposed(10 * seq, straight(low_A)))
        found.take(act(10 * seq + 1, "calibration_approved", float(seq)))
    ways = []
    for seq in (30, 31):
        taken = found.take(act(seq, "calibration_rolled_back"))
        ways.append(taken and taken.in_force)
    assert ways == [1, 0]
    assert "no calibration before" in found.refusal(act(32, "calibration_rolled_back"))


@pytest.mark.parametrize(
    ("command", "told"),
    [
        (act(9, "calibration_proposed", text="{}"), "reading_of"),
        (act(9, "calibration_proposed", text=straight().to_text(), who=" "), "a name is expected"),
        (act(9, "calibration_approved", 3.0), "no version 3; known are 0 to 1"),
        (act(9, "calibration_approved", 0.0), "version 0 is in force already"),
        (act(9, "calibration_rolled_back", 1.0), "never approved"),
    ],
)
def test_an_act_that_cannot_be_taken_is_refused_with_the_reason(
    command: Command, told: str
) -> None:
    pipeline = Pipeline(plain_rig(sensor=SENSOR))
    pipeline.feed(samples(1, 2, 0.012), [proposed(1, straight())])
    assert told in pipeline.refusal(command)
    assert pipeline.feed(samples(5, 1, 0.012), [command]).calibrations == []
    assert told in pipeline.summary()["acts_refused"][0]


def test_a_slip_of_units_is_not_approved_without_a_reason() -> None:
    pipeline = Pipeline(plain_rig(sensor=SENSOR))
    pipeline.feed(samples(1, 2, 0.012), [proposed(1, straight(span_N=90e3))])
    approval = act(9, "calibration_approved", 1.0)
    assert "changes the load by up to" in pipeline.refusal(approval)
    assert not pipeline.refusal(act(9, "calibration_approved", 1.0, "override: new load pin"))


def test_a_calibration_of_another_channel_is_refused() -> None:
    pipeline = Pipeline(plain_rig(sensor=SENSOR))
    pipeline.feed(samples(1, 2, 0.012), ())
    other = Proposal("deadline_tension", (0.0, 1e5, 2e5), (0.0, 1.01e5, 2.02e5))
    assert "tension comes from deadline_signal" in pipeline.refusal(proposed(9, other))
