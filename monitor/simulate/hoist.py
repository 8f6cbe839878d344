"""The hoist with what hangs on it, stepped in time: block travel in, loads and depth out.

The string on the elevators is an elastic rod with friction spread along it, which turns over
from the top down at a reversal (``wall_friction``), and mud resistance. What of the block's
travel is left at the lower end moves the bit, or loads the spring down to where something
holds: a tight spot, the bottom, a stuck point. Slips take and give the load over a few
centimetres of block travel.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from monitor.model import Floats
from monitor.rig.rig import Rig
from monitor.simulate.drill_string import GRAVITY_M_S2, SOUND_SPEED_M_S, DrillString
from monitor.simulate.hole import BREAK_OVER, Hole, TightSpot
from monitor.simulate.panel import Panel
from monitor.simulate.rope import Rope
from monitor.simulate.wall_friction import WallFriction

SLIPS_SAG_M = 0.028  # block travel over which slips take the load, plus stretch of the hoist
SLIPS_STIFFNESS_N_M = 8.0e7
RAIL_FRICTION_N = 3.5e3  # dolly on its rails, either way
RAIL_TRAVEL_M = 0.004
BREAK_OVER_TIME_S = 25.0  # static friction grows with standing time
ROTATING_DRAG = 0.12  # axial drag left when the string turns
DRAG_CHANGE_PER_S = 1.2
TRAVELLING_INERTIA_S = 0.25


@dataclass(frozen=True, slots=True)
class Trace:
    """One leg of the story, a value a time step."""

    block_m: Floats
    step_m: Floats
    tension_N: Floats
    hook_load_N: Floats
    excess_N: Floats  # what holds the string beyond ordinary drag: + up, - down
    depth_m: Floats  # by block
    bit_m: Floats  # where the bit really is: the string stretches
    in_slips: bool
    drilling: bool  # what holds the bit is the bottom it drills
    channels: Mapping[str, Floats]

    def head(self, count: int) -> Trace:
        """Give the first ``count`` steps."""
        return Trace(
            self.block_m[:count],
            self.step_m[:count],
            self.tension_N[:count],
            self.hook_load_N[:count],
            self.excess_N[:count],
            self.depth_m[:count],
            self.bit_m[:count],
            self.in_slips,
            self.drilling,
            {name: column[:count] for name, column in self.channels.items()},
        )


@dataclass(frozen=True, slots=True)
class Rock:
    """Formation drilled: penetration at a reference weight on bit."""

    speed_m_s: float
    weight_N: float


@dataclass(slots=True)
class Trap:
    """Where a string pulled upwards will stick; ``step`` tells when it did."""

    bit_m: float
    grip_N: float
    from_bit_m: float  # of the stuck point
    step: int | None = None


class Hoist:
    """State of the simulated rig and string. Legs are appended to ``traces``."""

    def __init__(
        self,
        rig: Rig,
        string: DrillString,
        hole: Hole,
        *,
        block_m: float,
        bit_depth_m: float,
        step_s: float,
    ) -> None:
        self.rig, self.string, self.hole, self.step_s = rig, string, hole, step_s
        self.block_m, self.bit_m, self.depth_m = block_m, bit_depth_m, bit_depth_m
        self.in_slips = True
        self.latched = True  # elevators closed on the string that the slips hold
        self.hanging_N = 0.0  # stand or collars on the elevators while the string is in slips
        self.grip_N = 0.0  # resistance at the grip, both ways, on top of tight spots
        self.grip_decay = 1.0  # per step
        self.grip_from_bit_m = 0.0
        self.trap: Trap | None = None
        self.steps = 0  # told so far
        self.rotating = False
        self.rock: Rock | None = None
        self.panel = Panel(step_s)
        self.traces: list[Trace] = []
        self.elevator_N = 0.0  # string load on the elevators
        self._spring_N = 0.0
        self._drag_scale = 1.0
        self._rail_N = -RAIL_FRICTION_N
        self._still_s = 30.0
        self._speeds = np.zeros(self._history())
        up = float(hole.drag_N(bit_depth_m, 1))
        self.friction = WallFriction(up, self.hole.turning(bit_depth_m, *self._lengths_m()))
        self.held_N = self._rest_N()
        self.rope = Rope(
            rig.reeving.lines_strung,
            rig.reeving.sheave_efficiency,
            rig.travelling_weight_N,
            dead_line_turns=rig.reeving.dead_line_sheave == "turning",
        )

    # -- what the crew does ------------------------------------------------------------

    def set_slips(self) -> None:
        """Set the slips on a string at rest: from now on they hold what it weighs."""
        self.in_slips = True
        self.held_N = self.elevator_N = max(self._rest_N(), 0.0)

    def release_travel_m(self) -> float:
        """Give the block travel from here until the load is fully on the elevators."""
        return (self.held_N - self.elevator_N) / self.slips_stiffness_N_m

    def slack_travel_m(self) -> float:
        """Give the block travel over which the slips take the whole load."""
        return self.held_N / self.slips_stiffness_N_m

    @property
    def slips_stiffness_N_m(self) -> float:
        """Load over block travel while slips take or give it."""
        return 1.0 / (SLIPS_SAG_M / max(self.held_N, 2e4) + 1.0 / SLIPS_STIFFNESS_N_M)

    def wait(self, seconds: float) -> None:
        """Hold the block at rest."""
        self.run(np.zeros(max(1, round(seconds / self.step_s))))

    def run(self, steps_m: Floats) -> None:
        """Drive the block through steps of one direction (or none)."""
        if len(steps_m) == 0:
            return
        if self.in_slips and self.latched and steps_m.sum() > 0.0:
            # Picking up: as soon as the load is on the elevators the slips come out.
            taken = np.cumsum(steps_m) >= self.release_travel_m()
            first = int(np.argmax(taken)) if taken.any() else len(steps_m)
            if first:
                self._leg(steps_m[:first])
            if taken.any():
                self.in_slips = False
                rest = self.release_travel_m()  # of the step that crosses over
                self.block_m += rest
                self._leg(np.concatenate(([steps_m[first] - rest], steps_m[first + 1 :])))
            return
        self._leg(steps_m)

    @property
    def stiffness_N_m(self) -> float:
        """Spring from the elevators down to the grip, the hoist's own give included."""
        return self.stiffness_to_N_m(self.grip_from_bit_m)

    def stiffness_to_N_m(self, from_bit_m: float) -> float:
        """Spring from the elevators down to a distance from the bit."""
        upper = self.bit_m + self.block_m
        stretch = self.string.compliance_m_N(from_bit_m, upper)
        return 1.0 / (stretch + self.rig.hoist_compliance_m_N)

    def play_m(self, direction: int) -> float:
        """Give the block travel, up positive, that turns friction before the bit follows."""
        self._look(self.bit_m)
        drag = direction * float(self.hole.drag_N(self.bit_m, direction)) * self._drag_scale
        return self.friction.play_m(drag)

    def travel_to_m(self, spring_N: float) -> float:
        """Give the block travel that loads what holds the string to so much."""
        change = spring_N - self._spring_N
        return self.play_m(1 if change > 0.0 else -1) + change / self.stiffness_N_m

    @property
    def spring_N(self) -> float:
        """Load on whatever holds the string: + overpull, - weight set down."""
        return self._spring_N

    def moving_load_N(self, direction: int, speed_m_s: float) -> float:
        """Give the hook load of the free moving string here, travelling equipment included."""
        drag = direction * float(self.hole.drag_N(self.bit_m, direction)) * self._drag_scale
        swab = float(self.hole.swab_N(self.bit_m, direction * speed_m_s))
        weight = float(self.hole.hanging_N(self.bit_m, self.block_m))
        return self.rig.travelling_weight_N + weight + drag + swab

    # -- physics -----------------------------------------------------------------------

    def _rest_N(self) -> float:
        weight = float(self.hole.hanging_N(self.bit_m, self.block_m))
        return weight + self.friction.force_N + self._spring_N

    def _lengths_m(self) -> tuple[float, float, float]:
        # From the bit to the elevators and to the grip; what the hoist gives, per newton.
        return self.bit_m + self.block_m, self.grip_from_bit_m, self.rig.hoist_compliance_m_N

    def _look(self, bit_m: float) -> None:
        # Where along the string drag works, with the bit here.
        self.friction.turning = self.hole.turning(bit_m, *self._lengths_m())
        if self.rotating:
            self.friction.rests[:] = 0.0
        else:
            rest = 1.0 - np.exp(-self._still_s / BREAK_OVER_TIME_S)
            self.friction.rest(BREAK_OVER * float(rest))

    def _history(self) -> int:
        longest = 2.0 * 7000.0 / SOUND_SPEED_M_S
        return int(longest / self.step_s) + 2

    def _leg(self, steps: Floats) -> None:
        count = len(steps)
        block = self.block_m + np.cumsum(steps)
        bit, excess = np.full(count, self.bit_m), np.zeros(count)
        depth = np.full(count, self.depth_m)
        if self.in_slips:
            stiffness = self.slips_stiffness_N_m if self.latched else 0.0
            string = np.clip(self.elevator_N + stiffness * np.cumsum(steps), 0.0, self.held_N)
            string = string + self.hanging_N
            self.elevator_N = float(string[-1]) - self.hanging_N
        else:
            string, excess, bit = self._free(steps, block)
            depth = self.depth_m - np.cumsum(steps)
            self.elevator_N = float(string[-1])
        hook = self.rig.travelling_weight_N + string + self._rail(steps) + self._inertia(steps)
        tension = self.rope.dead_line_N(steps, hook)
        if self.rig.line is not None:
            tension = tension - self.rig.line.weight_N_m * (block - self.rig.line.anchor_height_m)
        channels = self.panel.leg(count, np.maximum(-excess, 0.0))
        channels["reference_load"] = np.full(count, self.hanging_N)
        channels["trip_tank_volume"] = self.panel.tank_m3(self.string.steel_m3(bit))
        self.traces.append(
            Trace(block, steps, tension, hook, excess, depth, bit, self.in_slips,
                  self.rock is not None, channels)
        )  # fmt: skip
        self.block_m, self.depth_m, self.bit_m = float(block[-1]), float(depth[-1]), float(bit[-1])
        self.steps += count
        moved = bool(np.any(steps))
        self._still_s = 0.0 if moved else self._still_s + count * self.step_s

    def _rail(self, steps: Floats) -> Floats:
        stiffness = RAIL_FRICTION_N / RAIL_TRAVEL_M
        pull = self._rail_N + stiffness * np.cumsum(steps)
        rail = np.clip(pull, -RAIL_FRICTION_N, RAIL_FRICTION_N)
        self._rail_N = float(rail[-1])
        return np.asarray(rail)

    def _inertia(self, steps: Floats) -> Floats:
        # Travelling equipment follows at once; the string feels an acceleration over the
        # time a wave needs down and back.
        speeds = np.concatenate((self._speeds, steps / self.step_s))
        self._speeds = speeds[-self._history() :]
        mass = self.rig.travelling_weight_N / GRAVITY_M_S2
        load = mass * self._mean_acceleration(speeds, len(steps), TRAVELLING_INERTIA_S)
        if not self.in_slips:
            length = max(self.bit_m, 1.0)
            string_mass = float(self.string.weight_in_air_N(length)) / GRAVITY_M_S2
            window = max(2.0 * length / SOUND_SPEED_M_S, TRAVELLING_INERTIA_S)
            load = load + string_mass * self._mean_acceleration(speeds, len(steps), window)
        return np.asarray(load)

    def _mean_acceleration(self, speeds: Floats, count: int, window_s: float) -> Floats:
        lag = min(max(1, round(window_s / self.step_s)), len(speeds) - count)
        now = speeds[len(speeds) - count :]
        before = speeds[len(speeds) - count - lag : len(speeds) - lag]
        return np.asarray((now - before) / (lag * self.step_s))

    def _free(self, steps: Floats, block: Floats) -> tuple[Floats, Floats, Floats]:
        # String load, spring load at the grip, bit depth, after each step.
        travel = np.cumsum(steps)
        nominal = self.bit_m - travel
        weight = self.hole.hanging_N(nominal, block)
        swab = self.hole.swab_N(nominal, steps / self.step_s)
        low_m, high_m = float(nominal.min()) - 5.0, float(nominal.max()) + 5.0
        spots = self.hole.spots_between(low_m, high_m)
        contact = (
            bool(spots)
            or self.grip_N > 0.0
            or self.trap is not None
            or self.rock is not None
            or self._spring_N != 0.0
            or high_m > self.hole.depth_m
        )
        if not np.any(steps) and not self.rotating and self._drag_scale == 1.0 and not contact:
            friction = np.full(len(steps), self.friction.force_N)
            return weight + friction + swab, np.zeros(len(steps)), nominal
        self._look(self.bit_m)
        friction, followed = self.friction.turn(travel, *self._drag_bounds(nominal))
        if not contact:
            return weight + friction + swab, np.zeros(len(steps)), self.bit_m - followed
        spring, bit = self._hold(np.diff(followed, prepend=0.0), spots)
        return weight + friction + swab + spring, spring, bit

    def _drag_bounds(self, nominal: Floats) -> tuple[Floats, Floats]:
        target = ROTATING_DRAG if self.rotating else 1.0
        change = DRAG_CHANGE_PER_S * self.step_s * (np.arange(len(nominal)) + 1.0)
        if target < self._drag_scale:
            scale = np.maximum(self._drag_scale - change, target)
        else:
            scale = np.minimum(self._drag_scale + change, target)
        self._drag_scale = float(scale[-1])
        high = self.hole.drag_N(nominal, 1) * scale
        low = -self.hole.drag_N(nominal, -1) * scale
        return high, low

    def _hold(self, steps: Floats, spots: list[TightSpot]) -> tuple[Floats, Floats]:
        # The spring down to the grip is loaded by what reaches it until what holds gives way.
        stiffness, bit, spring = self.stiffness_N_m, self.bit_m, self._spring_N
        springs, bits = [], []
        for i, step in enumerate(steps.tolist()):
            if self.trap is not None and self.trap.step is None and bit <= self.trap.bit_m:
                self.trap.step, self.grip_N = self.steps + i, self.trap.grip_N
                self.grip_from_bit_m = self.trap.from_bit_m
                stiffness = self.stiffness_N_m
            up = down = self.grip_N
            for spot in spots:
                share = spot.share(bit)
                up += share * spot.up_N
                down += share * spot.down_N
            self.grip_N *= self.grip_decay
            trial = spring + stiffness * step
            new = min(max(trial, -down), up)
            bit -= step - (new - spring) / stiffness
            if bit > self.hole.depth_m:
                new -= stiffness * (bit - self.hole.depth_m)
                bit = self.hole.depth_m
            if self.rock is not None and new < 0.0:
                new, bit = self._cut(new, bit, stiffness)
            spring = new
            springs.append(spring)
            bits.append(bit)
        self._spring_N = spring
        return np.array(springs), np.array(bits)

    def _cut(self, spring: float, bit: float, stiffness: float) -> tuple[float, float]:
        rock = self.rock
        if rock is None or bit < self.hole.depth_m:
            return spring, bit
        cut = rock.speed_m_s * (-spring / rock.weight_N) * self.step_s
        cut = min(cut, -spring / stiffness)
        self.hole.depth_m += cut
        return spring + stiffness * cut, bit + cut
