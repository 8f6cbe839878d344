"""Stands taken or set while the load was not known: depth by where the others were."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from monitor.interpret.motion import Motion
from monitor.model import Output, Samples, State, TripRow
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, NAN, Script, plain_rig, with_gap

LOAD_N = 1200e3
STAND_M = 27.8
# Stick-up of invented stands is always the same here; what is left is the give of the slips.
GUESS_M = 0.3


def _three_stands_out(hz: float = 5.0) -> Samples:
    script = Script(hz=hz)
    for _ in range(3):
        script.stand_out(LOAD_N)
    return script.hold(30, EMPTY_N).samples()


def _row(samples: Samples, start: int, height_m: float, *, up: bool) -> int:
    """First row from ``start`` at which the block passes a height going up, or down."""
    block = samples.values["block_position"]
    step = np.diff(block, prepend=block[0])
    passes = (block >= height_m) & (step > 0) if up else (block <= height_m) & (step < 0)
    return start + int(np.argmax(passes[start:]))


def _frozen(samples: Samples, first: int, last: int) -> Samples:
    tension = samples.values["deadline_tension"].copy()
    tension[first:last] = tension[first]
    return Samples(
        samples.seq,
        samples.time_us,
        samples.row,
        {**samples.values, "deadline_tension": tension},
        {},
    )


def _run(samples: Samples) -> tuple[list[TripRow], Output]:
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    return output.trip_rows, output


def _third_stand(samples: Samples) -> tuple[int, int]:
    """Rows at which the third stand is on its way: 3 m and 15 m up."""
    second_top = _row(samples, _row(samples, 0, 28.9, up=True) + 400, 28.9, up=True)
    low = _row(samples, second_top + 200, 3.0, up=True)
    return low, _row(samples, low, 15.0, up=True)


def test_frozen_while_the_stand_was_taken() -> None:
    samples = _three_stands_out()
    low, high = _third_stand(samples)
    rows, output = _run(_frozen(samples, low - 60, high))
    assert [row.length_m for row in rows] == pytest.approx([STAND_M] * 3, abs=GUESS_M)
    assert rows[-1].bit_depth_m == pytest.approx(2000.0 - 3 * STAND_M, abs=GUESS_M)
    assert output.columns["state"][-1] & State.DEPTH_UNCERTAIN


def test_gap_while_the_stand_was_taken() -> None:
    samples = _three_stands_out()
    low, high = _third_stand(samples)
    rows, output = _run(with_gap(samples, low - 60, high))
    assert [row.length_m for row in rows] == pytest.approx([STAND_M] * 3, abs=GUESS_M)
    assert output.columns["state"][-1] & State.DEPTH_UNCERTAIN


def test_frozen_while_the_stand_was_set() -> None:
    samples = _three_stands_out()
    _, high = _third_stand(samples)
    down = _row(samples, high + 150, 10.0, up=False)
    rows, output = _run(_frozen(samples, high + 20, down))
    assert [row.length_m for row in rows] == pytest.approx([STAND_M] * 3, abs=GUESS_M)
    assert rows[-1].bit_depth_m == pytest.approx(2000.0 - 3 * STAND_M, abs=GUESS_M)
    assert output.columns["state"][-1] & State.DEPTH_UNCERTAIN


def test_seen_stands_leave_the_depth_sure() -> None:
    rows, output = _run(_three_stands_out())
    assert len(rows) == 3
    assert not output.columns["state"][-1] & State.DEPTH_UNCERTAIN


def test_counter_glitch_in_motion_takes_no_travel() -> None:
    # Up at 0.5 m/s; a row beside a missing one reads 5 m too much: the block went on.
    samples = Script(hz=5.0).move(21.0, EMPTY_N).hold(5, EMPTY_N).samples()
    block = samples.values["block_position"].copy()
    block[80] += 5.0
    block[79] = block[81] = np.nan
    values = {**samples.values, "block_position": block}
    spoilt = Samples(samples.seq, samples.time_us, samples.row, values, {})
    found = []
    for each in (samples, spoilt):
        motion = Motion(plain_rig())
        pipeline = Pipeline(plain_rig())
        pipeline.stages["motion"] = motion
        pipeline.feed(each)
        found.append(float(motion.raw.kept["block"][-1]) - motion.jumped_m)
    # The median of three lags a row where it works: 0.1 m.
    assert found[1] == pytest.approx(found[0], abs=0.11)


def test_speed_behind_a_gap_is_that_of_the_way_made() -> None:
    # The first row after the gap has no block position: no leap when the next one has.
    samples = Script(hz=5.0).move(25.0, EMPTY_N).hold(20, EMPTY_N).samples()
    samples = with_gap(samples, 40, 140)
    values = {name: column.copy() for name, column in samples.values.items()}
    after = int(np.argmax(np.diff(samples.time_us))) + 1
    values["block_position"][after] = np.nan
    spoilt = Samples(samples.seq, samples.time_us, samples.row, values, {})
    output = Pipeline(plain_rig()).feed(spoilt)
    assert np.nanmax(np.abs(output.columns["block_speed_m_s"])) < 0.6


@pytest.mark.parametrize("first_s", [0.0, 0.37, 1.1])
def test_a_block_not_seen_for_a_while_gives_no_load_of_its_own(first_s: float) -> None:
    """No change of speed is known where no position was: the load once went to 1e308 N."""
    samples = _three_stands_out()
    low, _ = _third_stand(samples)
    first = low + round(first_s * 5)
    block = samples.values["block_position"].copy()
    block[first : first + 75] = NAN  # 15 s
    samples = replace(samples, values={**samples.values, "block_position": block})
    trip_rows, output = _run(samples)
    loads = output.columns["hook_load_N"]
    assert np.nanmax(loads) < LOAD_N + 30e3
    assert np.nanmin(loads) > EMPTY_N - 30e3
    assert np.isfinite(output.columns["line_work_J"]).all()
    # That the position is missing is told, and no event of the load with it.
    told = [(event.kind, event.why) for event in output.events]
    assert told == [("sensor_fault", "rows come without a block position")]
    assert [row.length_m for row in trip_rows] == pytest.approx([STAND_M] * 3, abs=0.1)


@pytest.mark.parametrize("jump_m", [60.0, -60.0, 8.0, -8.0])
@pytest.mark.parametrize("later", [0, 1, 2, 7])
def test_a_counter_that_jumps_on_the_way_moves_no_pipe(jump_m: float, later: int) -> None:
    """Against the way too, where the median of three stands still for a row and then leaps."""
    samples = _three_stands_out()
    low, _ = _third_stand(samples)
    block = samples.values["block_position"].copy()
    block[low + later :] += jump_m
    jumped = replace(samples, values={**samples.values, "block_position": block})
    depth, plain = (_run(each)[1].columns["bit_depth_m"][-1] for each in (jumped, samples))
    assert depth == pytest.approx(plain, abs=0.02)


def test_a_first_load_that_is_doubted_costs_no_depth() -> None:
    """A row a second, quick hands: the string is on between two rows, and the first is doubted."""
    script = Script(hz=1.0)
    script.hold(30, EMPTY_N).move(1.1, 1.45 * EMPTY_N, 0.1).move(1.2, 4.0 * EMPTY_N, 0.1)
    script.move(29.0, 4.0 * EMPTY_N).hold(5, 4.0 * EMPTY_N).ramp(28.8, EMPTY_N).hold(20, EMPTY_N)
    output = script.run(2000.0)
    depth = output.columns["bit_depth_m"]
    assert np.isfinite(depth).all()
    assert depth[-1] == pytest.approx(2000.0 - 27.9, abs=0.3)


@pytest.mark.parametrize("back_m", [20.0, 10.0])
def test_all_channels_repeated_while_the_stand_was_set(back_m: float) -> None:
    """A source that repeats its last row: seen again, the empty block is on its way down.

    No slack-off: a string cannot have lost all its weight between two rows.
    """
    samples = _three_stands_out(10.0)
    block = samples.values["block_position"]
    *_, top = np.flatnonzero(np.diff(block >= 28.9) & (block[1:] >= 28.9)).tolist()
    down = _row(samples, top + 200, back_m, up=False)
    values = {name: column.copy() for name, column in samples.values.items()}
    for column in values.values():
        column[top + 1 : down] = column[top + 1]
    spoilt = Samples(samples.seq, samples.time_us, samples.row, values, {})
    rows, output = _run(spoilt)
    assert not [event for event in output.events if event.kind in ("slack_off", "weight_loss")]
    assert [row.length_m for row in rows] == pytest.approx([STAND_M] * 3, abs=GUESS_M)
    assert output.columns["state"][-1] & State.DEPTH_UNCERTAIN
