"""Block position missing, frozen or set anew while the load was seen: stands and depth.

Crews take and set stands at the same heights (common practice), which is all that is left to
go by; the depth is marked as uncertain, and a spell long enough to hide a stand is a fault.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Output, Samples, State
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, NAN, Script, plain_rig, with_gap

LOAD_N = 1200e3
START_M = 2000.0
STAND_M = 27.8  # Script takes a stand at 1.2 m and sets it at 29.0 m
# The same heights each time: what is left is the give of the slips.
GUESS_M = 0.3
HZ = 5.0


def _stands_out(stands: int = 8) -> Samples:
    script = Script(hz=HZ)
    for _ in range(stands):
        script.stand_out(LOAD_N)
    return script.hold(30, EMPTY_N).samples()


def _spoilt(samples: Samples, block: np.ndarray) -> Samples:
    values = {**samples.values, "block_position": block}
    return Samples(samples.seq, samples.time_us, samples.row, values, samples.quality)


def _run(samples: Samples) -> Output:
    return Pipeline(plain_rig(), bit_depth_m=START_M).feed(samples)


def _times(samples: Samples) -> list[tuple[float, float]]:
    """When each stand was taken and set [s], from the record as it was before it was spoilt."""
    rows = _run(samples).trip_rows
    return [(r.out_of_slips_us / 1e6, (r.in_slips_us or 0) / 1e6) for r in rows]


def _assert_all_stands(output: Output, stands: int = 8) -> None:
    rows = [row for row in output.trip_rows if not row.void]
    assert [row.direction for row in rows] == ["out"] * stands
    assert [row.length_m for row in rows] == pytest.approx([STAND_M] * stands, abs=GUESS_M)
    assert rows[-1].bit_depth_m == pytest.approx(START_M - stands * STAND_M, abs=2 * GUESS_M)
    assert [e.kind for e in output.events if e.kind in ("overpull", "slack_off")] == []


@pytest.mark.parametrize(
    ("from_s", "lasts_s"),
    [(-15.0, 30.0), (30.0, 60.0), (-20.0, 300.0)],
    ids=["while it was taken", "while it was set", "for two stands and more"],
)
def test_missing_block(from_s: float, lasts_s: float) -> None:
    samples = _stands_out()
    taken_s, _ = _times(samples)[3]
    at_s = samples.time_us / 1e6
    block = samples.values["block_position"].copy()
    block[(at_s > taken_s + from_s) & (at_s < taken_s + from_s + lasts_s)] = NAN
    output = _run(_spoilt(samples, block))
    _assert_all_stands(output)
    assert output.columns["state"][-1] & State.DEPTH_UNCERTAIN


def test_block_missing_while_slips_are_set_is_one_fault() -> None:
    samples = _stands_out()
    taken_s, set_s = _times(samples)[3]
    at_s = samples.time_us / 1e6
    block = samples.values["block_position"].copy()
    first_s, last_s = taken_s - 20.0, taken_s + 120.0
    block[(at_s > first_s) & (at_s < last_s)] = NAN
    faults = [e for e in _run(_spoilt(samples, block)).events if e.kind == "sensor_fault"]
    assert [event.why for event in faults] == ["rows come without a block position"]
    assert faults[0].start_us / 1e6 == pytest.approx(first_s, abs=2.0 / HZ)
    # After 2 s, or three spans of a slower source.
    assert faults[0].raised_us / 1e6 == pytest.approx(first_s + max(2.0, 3.0 / HZ), abs=2.0 / HZ)
    assert (faults[0].end_us or 0) / 1e6 == pytest.approx(last_s, abs=2.0 / HZ)


def test_block_missing_within_a_stand_is_told_and_costs_nothing() -> None:
    samples = _stands_out()
    taken_s, _ = _times(samples)[3]
    at_s = samples.time_us / 1e6
    block = samples.values["block_position"].copy()
    block[(at_s > taken_s + 10.0) & (at_s < taken_s + 40.0)] = NAN
    output = _run(_spoilt(samples, block))
    _assert_all_stands(output)
    assert [e.kind for e in output.events] == ["sensor_fault"]


@pytest.mark.parametrize("from_s", [-12.0, 30.0], ids=["in slips", "in the midst of a stand"])
def test_frozen_block(from_s: float) -> None:
    """Stands go on by the load while the counter shows the same to its last digit."""
    samples = _stands_out()
    taken_s, _ = _times(samples)[3]
    at_s = samples.time_us / 1e6
    block = np.round(samples.values["block_position"], 2)
    frozen = (at_s > taken_s + from_s) & (at_s < taken_s + from_s + 300.0)
    block[frozen] = block[int(np.argmax(frozen))]
    output = _run(_spoilt(samples, block))
    rows = [row for row in output.trip_rows if not row.void]
    assert len(rows) == 8
    assert rows[-1].bit_depth_m == pytest.approx(START_M - 8 * STAND_M, abs=1.0)
    assert [e.kind for e in output.events if e.kind in ("overpull", "slack_off")] == []
    assert "sensor_fault" in [event.kind for event in output.events]


def test_counter_set_anew_by_eight_metres_in_a_gap_under_way() -> None:
    samples = _stands_out()
    taken_s, _ = _times(samples)[3]
    at_s = samples.time_us / 1e6
    first, last = np.searchsorted(at_s, [taken_s + 10.0, taken_s + 25.0])
    samples.values["block_position"][last:] += 8.0
    output = _run(with_gap(samples, int(first), int(last)))
    _assert_all_stands(output)
    assert output.columns["state"][-1] & State.DEPTH_UNCERTAIN


def test_load_missing_for_longer_than_is_looked_back() -> None:
    """Forty seconds without a load about the taking: the stand's own place stands in."""
    samples = _stands_out()
    taken_s, _ = _times(samples)[3]
    at_s = samples.time_us / 1e6
    samples.values["deadline_tension"][(at_s > taken_s - 15.0) & (at_s < taken_s + 25.0)] = NAN
    _assert_all_stands(_run(samples))


def test_string_picked_up_and_set_again_is_no_stand() -> None:
    """Slips set anew on the same stand, the block a few centimetres up and down, are none."""
    script = Script()
    for _ in range(3):
        script.stand_out(LOAD_N)
    script.hold(20, EMPTY_N).ramp(1.2, LOAD_N).hold(60, LOAD_N).ramp(1.0, EMPTY_N)
    script.hold(20, EMPTY_N)
    output = script.run(depth_m=START_M)
    assert len([row for row in output.trip_rows if not row.void]) == 3
    assert output.columns["bit_depth_m"][-1] == pytest.approx(START_M - 3 * STAND_M, abs=GUESS_M)


def test_counter_that_froze_under_way_once_the_trip_had_turned() -> None:
    """Run in, then out: the counter stands for half a minute and leaps to where the block is."""
    script = Script(29.0)
    for _ in range(3):
        script.stand_in(LOAD_N)
    in_m = 3 * STAND_M
    script.stand_out(LOAD_N)
    samples = script.samples()
    taken_s, set_s = _times(samples)[3]
    at_s = samples.time_us / 1e6
    block = np.round(samples.values["block_position"], 2)
    frozen = (at_s > taken_s + 10.0) & (at_s < taken_s + 40.0)
    block[frozen] = block[int(np.argmax(frozen))]
    output = _run(_spoilt(samples, block))
    assert set_s > taken_s + 50.0
    rows = [row for row in output.trip_rows if not row.void]
    assert [row.direction for row in rows] == ["in", "in", "in", "out"]
    assert rows[3].length_m == pytest.approx(STAND_M, abs=GUESS_M)
    assert rows[3].bit_depth_m == pytest.approx(START_M + in_m - STAND_M, abs=2 * GUESS_M)


def test_load_missing_while_it_was_set_running_in() -> None:
    """The load is back on an empty block that is already on its way up."""
    script = Script(29.0)
    for _ in range(4):
        script.stand_in(LOAD_N)
        script.move(29.0, EMPTY_N, 0.8)
    samples = script.hold(20, EMPTY_N).samples()
    _, set_s = _times(samples)[2]
    at_s = samples.time_us / 1e6
    samples.values["deadline_tension"][(at_s > set_s - 14.0) & (at_s < set_s + 12.0)] = NAN
    rows = [row for row in _run(samples).trip_rows if not row.void]
    assert [row.direction for row in rows] == ["in"] * 4
    assert [row.length_m for row in rows] == pytest.approx([STAND_M] * 4, abs=GUESS_M)
