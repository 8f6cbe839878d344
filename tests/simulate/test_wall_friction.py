"""How friction turns over along the string: closed forms, and a chain of springs and sliders.

The chain is this file's own: 100 nodes, each held by Coulomb friction, brought to rest after
every little move of its top by finding which nodes slide (a plain quasi-static loop).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from monitor.rig.rig import Rig, SurveyStation
from monitor.simulate.demo_rig import demo_rig
from monitor.simulate.drill_string import DrillString
from monitor.simulate.hoist import Hoist
from monitor.simulate.hole import Hole, TightSpot
from monitor.simulate.wall_friction import Turning, WallFriction

NODES = 100
BIT_M = 2500.0
SHOE_M = 1450.0
MUD = 1200.0
YOUNG_PA, JOINTED = 206.8e9, 1.04  # steel; pipe with tool joints against the plain tube
# Each move of the block of a loop: pulls, set-downs, and reversals half way.
LOOP_M = (0.4, -1.0, 0.9, -0.15, 0.1, -0.5, 0.25, -0.3, 0.8)
STEP_M = 0.02


class Chain:
    """Springs in a row from the top down; what drags a node up and down; the end's limits."""

    def __init__(self, rig: Rig, up: np.ndarray, down: np.ndarray, end: tuple[float, float]):
        # Node i lies in the middle of piece i; the last one is the string's end.
        string, n = rig.string, len(up)
        length = np.full(n, BIT_M / n)
        from_bit = BIT_M - (np.arange(n) + 0.5) * BIT_M / n
        give = np.array([self._give(string, z) for z in from_bit]) * length
        above = rig.hoist_compliance_m_N + self._give(string, BIT_M) * 1.2
        links = np.concatenate(([above + give[0] / 2], (give[1:] + give[:-1]) / 2, [give[-1] / 2]))
        self.k = 1.0 / links
        self.up, self.down = np.append(up, end[0]), np.append(down, end[1])
        size = n + 1
        self.matrix = np.diag(self.k + np.append(self.k[1:], 0.0))
        self.matrix -= np.diag(self.k[1:], 1) + np.diag(self.k[1:], -1)
        # All has slid upwards, nothing pulls at the end.
        force = np.append(up, 0.0)
        self.at = np.linalg.solve(self.matrix, -force)
        self.top, self.slides = 0.0, np.zeros(size, dtype=int)
        self.size = size

    @staticmethod
    def _give(string: tuple, from_bit_m: float) -> float:
        for section in string:
            length = section.length_m
            if length is None or from_bit_m < length:
                outer, inner = section.outside_diameter_m, section.inside_diameter_m
                area = math.pi / 4.0 * (outer**2 - inner**2)
                return 1.0 / (YOUNG_PA * area * (JOINTED if length is None else 1.0))
            from_bit_m -= length
        raise AssertionError

    def move(self, by_m: float) -> tuple[float, float]:
        """Load at the top beyond the weight, and where the end is (up positive)."""
        self.top += by_m
        pull = np.zeros(self.size)
        pull[0] = self.k[0] * self.top
        slides, before = self.slides, self.at
        for _ in range(20 * self.size):
            stuck = slides == 0
            held = np.where(slides > 0, self.up, -self.down)
            matrix = np.where(stuck[:, None], np.eye(self.size), self.matrix)
            at = np.linalg.solve(matrix, np.where(stuck, before, pull - held))
            force = pull - self.matrix @ at
            wanted = np.where(stuck & (force > self.up * (1 + 1e-9)), 1, slides)
            wanted = np.where(stuck & (force < -self.down * (1 + 1e-9)), -1, wanted)
            wanted = np.where(~stuck & (slides * (at - before) < -1e-12), 0, wanted)
            if np.array_equal(wanted, slides):
                self.at, self.slides = at, slides
                return float(self.k[0] * (self.top - at[0])), float(at[-1])
            slides = wanted
        raise AssertionError("the chain does not come to rest")


def even(rig: Rig) -> Rig:
    """A straight slant and one pipe: drag the same all along."""
    path = tuple(SurveyStation(depth, math.radians(60.0), 0.0) for depth in (0.0, 5000.0))
    return replace(rig, survey=path, string=rig.string[-1:])


def smooth(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Hole, "_roughness", staticmethod(lambda depths, _: np.ones_like(depths)))


def hoist_for(rig: Rig) -> Hoist:
    """The string free on the elevators, slid upwards."""
    string = DrillString(rig.string, MUD)
    hole = Hole(
        string, 0.0 if rig.survey else SHOE_M, 3000.0, np.random.default_rng(1), rig.survey
    )
    hoist = Hoist(rig, string, hole, block_m=0.2, bit_depth_m=BIT_M + 1.0, step_s=0.05)
    up = hoist.release_travel_m() + hoist.bit_m - BIT_M
    hoist.run(np.full(2000, up / 2000))
    hoist.run(np.full(2000, (hoist.bit_m - BIT_M) / 2000))
    assert hoist.bit_m == pytest.approx(BIT_M, abs=1e-3)
    return hoist


def drags(hoist: Hoist) -> tuple[np.ndarray, np.ndarray]:
    """Drag of each piece of string up and down, by hand: share of the weight that lies there."""
    rig, buoyancy = hoist.rig, 1.0 - MUD / 7850.0
    middle = (np.arange(NODES) + 0.5) * BIT_M / NODES
    if rig.survey:
        assert hoist.hole.well is not None
        per_m = rig.string[0].weight_in_air_N_m * buoyancy * math.sin(math.radians(60.0))
        drag = np.full(NODES, per_m * hoist.hole.well.friction * BIT_M / NODES)
        return drag, drag
    collars, heavy, pipe = rig.string
    from_bit = BIT_M - middle
    weight = np.where(from_bit < 110.0, collars.weight_in_air_N_m, heavy.weight_in_air_N_m)
    weight = np.where(from_bit < 250.0, weight, pipe.weight_in_air_N_m)
    weight = weight * buoyancy * BIT_M / NODES
    return tuple(np.where(middle < SHOE_M, 0.035, share) * weight for share in (0.125, 0.105))


def told(hoist: Hoist) -> tuple[float, float, float]:
    """Load beyond the weight, bit above its place, block travel per load to the bit."""
    weight = float(hoist.hole.hanging_N(hoist.bit_m, hoist.block_m))
    return hoist.elevator_N - weight, BIT_M - hoist.bit_m, 1.0 / hoist.stiffness_N_m


def loop(hoist: Hoist, chain: Chain) -> np.ndarray:
    """Both through the same loop: load and end by the hoist, load and end by the chain."""
    rows = []
    for leg in LOOP_M:
        for _ in range(round(abs(leg) / STEP_M)):
            move = math.copysign(STEP_M, leg)
            hoist.run(np.full(20, move / 20))  # 0.02 m/s: the mud resists by 0.2 kN
            load, bit, _ = told(hoist)
            rows.append((load, bit, *chain.move(move)))
    return np.array(rows)


@pytest.mark.parametrize("wall", ["even", "uneven"])
@pytest.mark.parametrize("grip_N", [0.0, 70e3, 1e9], ids=["free", "gives way", "held"])
def test_a_loop_is_that_of_a_chain_of_sliders(
    wall: str, grip_N: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    smooth(monkeypatch)
    hoist = hoist_for(even(demo_rig()) if wall == "even" else demo_rig())
    up, down = drags(hoist)
    swing = float(np.sum(up + down))
    hoist.grip_N = grip_N
    seen = loop(hoist, Chain(hoist.rig, up, down, (grip_N, grip_N)))
    start = seen[:, [1, 3]] - seen[0, [1, 3]]
    # Straight lines in place of a curve: 2 % of the swing. Links of 25 m, tables of 10 m: 1 %.
    assert np.abs(seen[:, 0] - seen[:, 2]).max() < 0.035 * swing
    assert np.sqrt(np.mean((seen[:, 0] - seen[:, 2]) ** 2)) < 0.015 * swing
    give = told(hoist)[2]
    assert np.abs(start[:, 0] - start[:, 1]).max() < 0.02 * swing * give
    if grip_N == 0.0:
        assert np.ptp(seen[:, 1]) > 0.2


def test_the_lines_of_a_held_string_lie_apart_by_the_swing_less_what_the_play_takes(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Derived: swing less the sum of swing times compliance, over the whole compliance."""
    smooth(monkeypatch)
    hoist = hoist_for(demo_rig())
    up, down = drags(hoist)
    hoist.grip_N = 1e9
    give = told(hoist)[2]
    chain = Chain(hoist.rig, up, down, (1e9, 1e9))
    to_piece = np.cumsum(1.0 / chain.k)[:NODES]
    rev_m = float(np.sum((up + down) * to_piece))
    loads = {}
    for travel in (0.6, -1.4, 1.4):  # both lines at the place where it was caught
        at = 0.6 if travel == 0.6 else 0.7
        hoist.run(np.full(400, math.copysign(at, travel) / 400))
        loads[travel] = told(hoist)[0]
        hoist.run(np.full(400, (travel - math.copysign(at, travel)) / 400 or 0.0))
    lines = loads[1.4] - loads[-1.4]
    swing = float(np.sum(up + down))
    # Tables of 10 m, nodes of 25 m.
    assert lines == pytest.approx(swing - rev_m / give, abs=0.02 * swing)
    assert lines < 0.6 * swing


def test_the_bit_of_a_free_string_stands_until_friction_has_turned(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Evenly spread: half of swing times compliance, as long as the bit stays."""
    smooth(monkeypatch)
    hoist = hoist_for(even(demo_rig()))
    up, down = drags(hoist)
    rev_m = 0.5 * float(np.sum(up + down)) * told(hoist)[2]
    assert hoist.play_m(-1) == pytest.approx(-rev_m, rel=0.01)
    hoist.run(np.full(100, -0.97 * rev_m / 100))
    assert hoist.bit_m == pytest.approx(BIT_M, abs=1e-3)
    hoist.run(np.full(100, -(1.0 + 0.03 * rev_m) / 100))
    assert hoist.bit_m == pytest.approx(BIT_M + 1.0, abs=0.03 * rev_m)
    # By block it is deeper than it is.
    assert hoist.depth_m - hoist.bit_m == pytest.approx(rev_m, rel=0.03)


def test_rotation_gives_back_the_stretch_that_friction_made(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Drag of the turning string is 12 % (the simulator's own): the rest shortens again."""
    smooth(monkeypatch)
    hoist = hoist_for(even(demo_rig()))
    up, _ = drags(hoist)
    hoist.rotating = True
    hoist.wait(10.0)
    shortened = 0.88 * 0.5 * float(np.sum(up)) * told(hoist)[2]
    assert BIT_M - hoist.bit_m == pytest.approx(shortened, rel=0.02)


def test_a_spot_is_felt_only_once_friction_has_turned() -> None:
    hoist = hoist_for(demo_rig())
    hoist.hole.spots.append(TightSpot(BIT_M - 0.05, BIT_M + 5.0, 1e6, 1e6, 0.01))
    play = -hoist.play_m(-1)
    hoist.run(np.full(100, -0.95 * play / 100))
    assert hoist.spring_N == 0.0
    hoist.run(np.full(100, -(0.05 * play + 0.2) / 100))
    assert hoist.spring_N == pytest.approx(-0.2 * hoist.stiffness_N_m, rel=0.05)


def test_what_lies_below_the_grip_changes_no_load_at_the_top() -> None:
    """Drag below where it is held is taken off there: lines as if the string ended there."""
    swing, give = np.full(10, 20e3), np.linspace(1e-7, 1e-6, 10)
    whole = Turning.of(swing, np.minimum(give, give[6]))
    above = Turning.of(swing[:7], give[:7])
    wide = 200e3 * (1.0 - whole.give_m_N / give[6])
    assert wide == pytest.approx(140e3 * (1.0 - above.give_m_N / give[6]))


def test_static_friction_lasts_where_nothing_has_slid() -> None:
    """A string at rest is moved until its lower end follows: all of it was static till then."""
    turning = Turning.of(np.full(50, 4e3), np.linspace(0.0, 2e-6, 50))
    wall = WallFriction(-100e3, turning)
    wall.rest(0.3)
    travel = np.linspace(0.001, 2.0, 2000)
    bounds = np.full(2000, 100e3), np.full(2000, -100e3)
    assert wall.play_m(100e3) == pytest.approx(230e3 * turning.give_m_N)
    force, end = wall.turn(travel, *bounds)
    first = int(np.argmax(end > 1e-9))
    assert travel[first] == pytest.approx(230e3 * turning.give_m_N, abs=0.002)
    # The top has slid by then: of its 30 % only a part is left.
    assert 105e3 < force.max() < 130e3
    assert int(np.argmax(force)) == pytest.approx(first, abs=1)
    # Three times the way in which it fades by 1/e.
    assert force[-1] == pytest.approx(100e3, rel=0.02)
