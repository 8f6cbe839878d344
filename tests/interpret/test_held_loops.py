"""A string held at its bit, pulled and set down: what its two lines tell of the drag.

The string here is its own model: springs and Coulomb friction in a row of nodes, brought to
rest after every step of the top (return mapping, as textbooks on plasticity do; from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.held_loops import (
    DRAG_OVER_WIDTH,
    DRAG_OVER_WIDTH_SPREAD,
    loop_width_N,
)
from monitor.interpret.transfer import TRANSMITTER_LAG_S
from monitor.pipeline import Pipeline
from monitor.rig.rig import EventLimits
from tests.interpret.streams import EMPTY_N, Script, plain_rig

NODES = 25
STIFFNESS_N_M = 300e3
WEIGHT_N = 1100e3  # of the string without drag
DRAG_N = 90e3  # one way
UP_N, DOWN_N = EMPTY_N + WEIGHT_N + DRAG_N, EMPTY_N + WEIGHT_N - DRAG_N
EVEN = np.ones(NODES)
WITH_TENSION = np.linspace(1.0, 0.0, NODES)  # nothing pulls at the bit


class Rod:
    """Springs in a row, held below; each node slides when its friction is overcome."""

    def __init__(self, shares: np.ndarray) -> None:
        self.most = DRAG_N * shares / shares.sum()
        self.spring = STIFFNESS_N_M * (NODES + 1)
        self.at = np.zeros(NODES)

    def pull(self, top_m: float) -> float:
        """Move the top; give what it takes beyond the weight. [N]."""
        for _ in range(600):
            moved = 0.0
            for odd in (0, 1):
                above = np.concatenate(([top_m], self.at[:-1]))
                below = np.concatenate((self.at[1:], [0.0]))
                force = self.spring * (above + below - 2.0 * self.at)
                beyond = np.sign(force) * np.maximum(np.abs(force) - self.most, 0.0)
                step = np.where(np.arange(NODES) % 2 == odd, beyond / (2.0 * self.spring), 0.0)
                self.at += 1.6 * step
                moved = max(moved, float(np.max(np.abs(step))))
            if moved < 2e-7:
                break
        return float(self.spring * (top_m - self.at[0]))


def loads(rod: Rod, path: np.ndarray) -> np.ndarray:
    return np.array([EMPTY_N + WEIGHT_N + rod.pull(top) for top in path])


def legs(shares: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A set-down and pull to 200 kN over, and the way back, a row each 2 cm."""
    rod = Rod(shares)
    loads(rod, np.arange(0.0, -0.8, -0.02))
    up, down = np.arange(-0.8, 1.0, 0.02), np.arange(1.0, -0.9, -0.02)
    still = np.zeros(len(up))
    pull = np.column_stack((up, loads(rod, up), np.full(len(up), UP_N), still))
    still = np.zeros(len(down))
    back = np.column_stack((down, loads(rod, down), np.full(len(down), UP_N), still))
    return pull, back


@pytest.mark.parametrize(("shares", "ratio"), [(EVEN, 2.0), (WITH_TENSION, 1.5)])
def test_drag_over_the_width_of_the_loop(shares: np.ndarray, ratio: float) -> None:
    """Closed form: 1 / (1 - way to the middle of the drag). 4 % for 25 nodes."""
    width = loop_width_N(*legs(shares), 1.0)
    assert 2.0 * DRAG_N / width == pytest.approx(ratio, rel=0.04)
    assert abs(ratio - DRAG_OVER_WIDTH) < 2.0 * DRAG_OVER_WIDTH_SPREAD


def test_a_set_down_tells_the_same_upwards() -> None:
    pull, back = legs(EVEN)
    # Upside down: what was up is down, and what was over is under.
    turn = np.array([-1.0, -1.0, -1.0, -1.0])
    assert loop_width_N(pull * turn, back * turn, -1.0) == pytest.approx(
        loop_width_N(pull, back, 1.0)
    )


def test_nothing_is_told_before_all_friction_has_turned() -> None:
    pull, back = legs(EVEN)
    # Friction up and down is 180 kN: a load that has come back by 150 kN cannot have turned it.
    short = back[back[:, 1] > back[0, 1] - 150e3]
    assert np.isnan(loop_width_N(pull, short, 1.0))


def lagged(load_N: list[float], step_s: float) -> list[float]:
    """Give the load as a transmitter of first-order lag does (0.2 s, common practice)."""
    share = 1.0 - np.exp(-step_s / TRANSMITTER_LAG_S)
    value, seen = load_N[0], []
    for one in load_N:
        value += share * (one - value)
        seen.append(value)
    return seen


def worked(script: Script, rod: Rod, zero_m: float) -> None:
    """Pull to some 200 kN over and set down to some 100 kN under, at 0.1 m/s."""
    for to_m in (0.75, -0.65):
        begin = script.block[-1] - zero_m
        rows = round(abs(to_m - begin) / 0.1 / script.step_s)
        load = loads(rod, np.linspace(begin, to_m, rows + 1)[1:])
        script.move(zero_m + to_m, load, 0.1).hold(10, float(load[-1]))


def test_a_string_nobody_described_is_told_its_lowering_weight_by_its_loops() -> None:
    """No string in the rig file, never lowered: the guess is too wide to see a set-down by."""
    script = Script(hz=10.0)
    for _ in range(6):
        script.stand_out(UP_N)
    script.hold(10, EMPTY_N).ramp(1.2, UP_N).move(10.0, UP_N)
    rod = Rod(WITH_TENSION)
    # Held where hoisting left it: all friction turned, nothing pulls at the bit.
    held_m = DRAG_N / STIFFNESS_N_M / 3.0
    assert loads(rod, np.arange(-0.7, held_m, 0.01))[-1] == pytest.approx(UP_N, abs=5e3)
    zero_m = script.block[-1] - held_m
    worked(script, rod, zero_m)
    first_s = script.seconds
    worked(script, rod, zero_m)
    script.load = lagged(script.load, script.step_s)
    rig = plain_rig(events=EventLimits(50e3, 50e3))
    output = Pipeline(rig, bit_depth_m=3000.0).feed(script.samples())
    set_downs = [e for e in output.events if e.kind == "slack_off"]
    late = [e for e in set_downs if e.start_us / 1e6 > first_s]
    assert len(late) == 1
    # Within two standard deviations of the drag by the loop, 20 % of 180 / 1.5.
    assert late[0].expected_hook_load_N == pytest.approx(DOWN_N, abs=2 * 0.2 * 180e3 / 1.5)
