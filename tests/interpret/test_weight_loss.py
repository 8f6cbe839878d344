"""Weight lost at once and found while hoisting, and all that looks like it."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.model import Event
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig
from tests.interpret.streams import EMPTY_N, Script, plain_rig, with_gap
from tests.laws.records import simulated

FREE_N = 1200e3


def tripping(hz: float = 5.0) -> Script:
    """Return a trip out with its hoisting load known, the next stand under way."""
    script = Script(hz=hz)
    for _ in range(3):
        script.stand_out(FREE_N)
    return script.hold(10, EMPTY_N).ramp(1.2, FREE_N).move(12.0, FREE_N)


def told(script: Script, rig: Rig | None = None) -> list[Event]:
    return [e for e in script.run(rig=rig).events if e.kind in ("weight_loss", "light")]


def test_sheaves_that_turn_over_at_the_next_pull_take_no_weight() -> None:
    """A stuck string set down, then pulled: the dead line reads 6 % less for a row at 1 Hz."""
    rig, samples, depth_m = simulated("stuck_pipe", 0.6, hz=1.0, seed=1003)
    output = Pipeline(rig, bit_depth_m=depth_m).feed(samples)
    kinds = {event.kind for event in output.events}
    assert "stuck" in kinds
    assert "weight_loss" not in kinds


@pytest.mark.parametrize("hz", [10.0, 5.0, 1.0])
def test_parted_while_hoisting(hz: float) -> None:
    script = tripping(hz)
    parted = script.seconds
    script.move(16.0, FREE_N - 400e3).hold(60, FREE_N - 400e3).ramp(15.8, EMPTY_N)
    (event,) = told(script.hold(20, EMPTY_N))
    assert event.kind == "weight_loss"
    assert event.start_us / 1e6 == pytest.approx(parted, abs=1.5)
    assert event.raised_us / 1e6 <= parted + 7.5
    assert event.peak_excess_N == pytest.approx(400e3, abs=15e3)
    assert event.end_us is not None


def test_parted_at_rest() -> None:
    script = tripping().hold(30, FREE_N)
    parted = script.seconds
    (event,) = told(script.hold(60, FREE_N - 400e3))
    assert event.start_us / 1e6 == pytest.approx(parted, abs=1.5)
    assert "did not come down" in event.why


def test_parted_at_the_hook_while_hoisting() -> None:
    """All weight gone: the load is that of slips, but the block goes up through it."""
    (event,) = told(tripping().move(18.0, EMPTY_N).hold(20, EMPTY_N))
    assert event.kind == "weight_loss"
    assert "block went up" in event.why


@pytest.mark.parametrize("seconds", [0.4, 1.0, 4.0])
def test_slips_set_are_no_loss(seconds: float) -> None:
    script = tripping().move(29.0, FREE_N).hold(5, FREE_N)
    rows = round(seconds / script.step_s)
    script.block.extend(np.linspace(29.0, 28.8, rows).tolist())
    script.load.extend(np.linspace(FREE_N, EMPTY_N, rows).tolist())
    assert told(script.hold(30, EMPTY_N)) == []


def test_slips_set_with_a_block_that_shows_no_travel_are_no_loss() -> None:
    script = tripping().move(29.0, FREE_N).hold(5, FREE_N)
    assert told(script.hold(60, EMPTY_N).move(1.0, EMPTY_N)) == []


def test_set_down_on_a_ledge_is_no_loss() -> None:
    script = tripping().move(29.0, FREE_N).hold(5, FREE_N)
    script.ramp(28.0, FREE_N - 300e3).hold(60, FREE_N - 300e3).ramp(29.0, FREE_N)
    assert told(script) == []


def test_drag_given_up_at_rest_is_no_loss() -> None:
    """A string that begins to turn hangs between its hoisting and lowering weights."""
    assert told(tripping().hold(20, FREE_N).hold(60, FREE_N - 120e3)) == []


def test_new_level_after_slips() -> None:
    script = tripping().move(29.0, FREE_N).ramp(28.8, EMPTY_N).hold(40, EMPTY_N)
    script.move(1.0, EMPTY_N).ramp(1.2, FREE_N - 300e3)
    hoisting = script.seconds
    (event,) = told(script.move(29.0, FREE_N - 300e3))
    assert event.kind == "weight_loss"
    assert 3.0 <= (event.raised_us / 1e6 - hoisting) * 0.5 <= 6.0
    assert "over 3 m" in event.why


def test_a_racked_stand_of_collars_is_no_loss() -> None:
    script = tripping().move(29.0, FREE_N).ramp(28.8, EMPTY_N).hold(40, EMPTY_N)
    script.move(1.0, EMPTY_N).ramp(1.2, FREE_N - 58e3).move(29.0, FREE_N - 58e3)
    assert told(script) == []


def test_light_within_a_stand() -> None:
    script = tripping()
    left = script.seconds
    script.move(16.0, FREE_N - 25e3, 0.5).move(29.0, FREE_N - 56e3, 0.5)
    (event,) = told(script.ramp(28.8, EMPTY_N).hold(20, EMPTY_N))
    assert event.kind == "light"
    assert event.start_us / 1e6 > left
    assert event.peak_excess_N == pytest.approx(56e3, abs=8e3)
    assert event.end_us is not None


def test_a_gap_with_pipe_pulled_in_it_is_no_loss() -> None:
    script = tripping().move(29.0, FREE_N)
    first = len(script.block)
    script.hold(2000, EMPTY_N).move(1.0, EMPTY_N).ramp(1.2, FREE_N - 200e3)
    script.move(29.0, FREE_N - 200e3)
    samples = with_gap(script.samples(), first, first + 9000)
    events = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples).events
    assert [e.kind for e in events] == ["data_gap"]


def test_a_frozen_load_that_thaws_is_no_loss() -> None:
    script = tripping().move(29.0, FREE_N).hold(5, FREE_N)
    first = len(script.block)
    script.ramp(28.8, EMPTY_N).move(14.0, EMPTY_N)
    samples = script.hold(40, EMPTY_N).samples()
    samples.values["deadline_tension"][first : first + 110] = FREE_N / 10
    assert [e.kind for e in Pipeline(plain_rig()).feed(samples).events] == []
