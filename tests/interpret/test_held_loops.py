"""A string held at its bit, pulled and set down: what its two lines tell of the drag.

The string here is its own model: springs and Coulomb friction in a row of nodes, brought to
rest after every step of the top (return mapping, as textbooks on plasticity do; from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from monitor.interpret.guess import USUAL_DRAG, WEIGHT_ALONE_SPREAD
from monitor.interpret.held_loops import (
    DRAG_OVER_WIDTH,
    DRAG_OVER_WIDTH_SPREAD,
    loop_width_N,
)
from monitor.interpret.transfer import TRANSMITTER_LAG_S
from monitor.mechanics.soft_string import Hole, tension_along_N
from monitor.mechanics.survey import WellPath, well_path
from monitor.pipeline import Pipeline
from monitor.rig.rig import EventLimits, Section, SurveyStation
from tests.interpret.streams import EMPTY_N, Script, plain_rig

NODES = 25
STIFFNESS_N_M = 300e3
WEIGHT_N = 1100e3  # of the string without drag
DRAG_N = 90e3  # one way
UP_N, DOWN_N = EMPTY_N + WEIGHT_N + DRAG_N, EMPTY_N + WEIGHT_N - DRAG_N
EVEN = np.ones(NODES)
WITH_TENSION = np.linspace(1.0, 0.0, NODES)  # nothing pulls at the bit
LOW = np.where(np.arange(NODES) < 15, 0.0, 1.0)  # a cased top: the lower two fifths alone


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


@pytest.mark.parametrize(("shares", "ratio"), [(EVEN, 2.0), (WITH_TENSION, 1.5), (LOW, 5.0)])
def test_drag_over_the_width_of_the_loop(shares: np.ndarray, ratio: float) -> None:
    """Closed form: 1 / (1 - way to the middle of the drag)."""
    width = loop_width_N(*legs(shares), 1.0)
    # 4 % of the width of even drag for 25 nodes.
    assert width == pytest.approx(2.0 * DRAG_N / ratio, abs=0.04 * DRAG_N)
    assert abs(ratio - DRAG_OVER_WIDTH) < 2.0 * DRAG_OVER_WIDTH_SPREAD


def path(*stations: tuple[float, float, float]) -> WellPath:
    angles = [(d, math.radians(inclination), math.radians(a)) for d, inclination, a in stations]
    return well_path([SurveyStation(*station) for station in angles])


# Published practice gives no table of this ratio: wells drawn here, each of a kind.
PIPE = Section("drill pipe", None, 0.127, 0.1086104, 343.25)
COLLARS = (
    Section("drill collars", 110.0, 0.2032, 0.0714502, 2184.0),
    Section("heavy-weight drill pipe", 140.0, 0.127, 0.0762, 719.48),
    PIPE,
)
CROOKED = path(
    (0, 0, 0), *((30.0 * k, 1.0 + 0.8 * math.sin(1.7 * k), 24.0 * k) for k in range(1, 101))
)
S_SHAPED = path((0, 0, 0), (400, 0, 0), (900, 25, 0), (1800, 25, 0), (2300, 0, 0), (3000, 0, 0))
BUILT = path((0, 0, 0), (600, 0, 0), (1200, 45, 0), (3000, 45, 0))
HORIZONTAL = path((0, 0, 0), (1200, 0, 0), (1800, 90, 0), (3000, 90, 0))


def of_soft_string(well: WellPath, string: tuple[Section, ...], shoe_m: float) -> float:
    """Drag both ways over the distance of the lines: the set-down that leaves the same stretch."""
    hole, bit_m = Hole(well, 1200.0, shoe_m), 3000.0
    steel = {s.weight_in_air_N_m: s.outside_diameter_m**2 - s.inside_diameter_m**2 for s in string}

    def state(sign: float, held_N: float) -> tuple[float, float]:
        depth, tension = tension_along_N(
            string, hole, bit_m, 0.3, sign, cased_friction_factor=0.2, weight_on_bit_N=-held_N
        )
        from_bit, length = bit_m - 0.5 * (depth[1:] + depth[:-1]), -np.diff(depth)
        pieces = [s.weight_in_air_N_m for s in string]
        of = np.searchsorted(np.cumsum([s.length_m or np.inf for s in string]), from_bit)
        area = np.pi / 4.0 * np.array([steel[pieces[i]] for i in of])
        mean = 0.5 * (tension[1:] + tension[:-1])
        return float(tension[-1]), float(np.sum(mean * length / (206.8e9 * area)))

    up, stretch = state(1.0, 0.0)
    held = brentq(lambda load_N: state(-1.0, load_N)[1] - stretch, -100e3, 1.5e6)
    return (up - state(-1.0, 0.0)[0]) / (up - state(-1.0, held)[0])


@pytest.mark.parametrize("well", [CROOKED, S_SHAPED, BUILT, HORIZONTAL])
@pytest.mark.parametrize("string", [(PIPE,), COLLARS], ids=["pipe", "collars"])
@pytest.mark.parametrize("shoe_m", [0.0, 1800.0])
def test_the_spread_holds_what_the_soft_string_tells(
    well: WellPath, string: tuple[Section, ...], shoe_m: float
) -> None:
    ratio = of_soft_string(well, string, shoe_m)
    assert abs(ratio - DRAG_OVER_WIDTH) < 2.2 * DRAG_OVER_WIDTH_SPREAD


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
    """No string in the rig file, never lowered: the loops tell more than the guess."""
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
    columns = Pipeline(rig, bit_depth_m=3000.0).feed(script.samples()).columns
    again = round(first_s / script.step_s)
    # Where the second set-down is deepest, before the block comes to rest.
    after = again + int(np.argmin(script.load[again:])) - 5
    down, band = columns["expected_N"], columns["band_N"]
    assert abs(down[after] - DOWN_N) < band[after]
    # Twice the spread of what 120 kN between the lines may mean, and little else.
    width = 2.0 * DRAG_N / 1.5
    assert band[after] == pytest.approx(2.0 * DRAG_OVER_WIDTH_SPREAD * width, rel=0.15)
    # A hoisting weight alone tells the other within (its spread is common practice):
    guess = 2.0 / (1.0 - USUAL_DRAG) ** 2 * WEIGHT_ALONE_SPREAD * (UP_N - EMPTY_N)
    assert band[after] < 0.5 * 2.0 * guess
