"""The hoist of a floating rig: vessel heave, and a passive compensator between block and hook.

Locked, or in slips, everything heaves with the vessel: inertia of gear and string is in the
dead-line tension, and friction in the hole turns over with every wave. Open, a gas spring
with friction carries the hook; stroke is found step by step from what the string below
carries (inertia of the string is left out there: its top hardly moves).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from monitor.model import Floats
from monitor.rig.hoisting import Compensator
from monitor.rig.rig import Rig
from monitor.simulate.drill_string import GRAVITY_M_S2, SOUND_SPEED_M_S, DrillString
from monitor.simulate.hoist import TRAVELLING_INERTIA_S, Hoist, Trace
from monitor.simulate.hole import Hole
from monitor.simulate.sea import Sea
from monitor.simulate.wall_friction import Turned

USUAL = Compensator("in-line", 7.5, 2.7e6, 2.0e4, "locked")  # where the rig file has none
STIFFNESS_N_M = 2.0e4
FRICTION_N = 12e3  # seals and chain sheaves, either way
BLOCK_SHARE = 0.4  # of the travelling equipment, above the compensator
NEAR_N = 200.0  # how well stroke and load are balanced, in so many tries at most
MOST_TRIES = 40
STILL_EVERY = 4  # steps between looks at the line while only the load changes


class FloatingHoist(Hoist):
    """A hoist on a heaving vessel. ``bit_m`` is measured from the mean height of its floor."""

    def __init__(
        self,
        rig: Rig,
        string: DrillString,
        hole: Hole,
        sea: Sea,
        *,
        block_m: float,
        bit_depth_m: float,
        step_s: float,
    ) -> None:
        super().__init__(
            rig, string, hole, block_m=block_m, bit_depth_m=bit_depth_m, step_s=step_s
        )
        self.sea = sea
        compensator = rig.compensator or USUAL
        self.stroke_limit_m = compensator.stroke_limit_m
        self.spring_N_m = compensator.stiffness_N_m or STIFFNESS_N_M
        self.locked = True
        self.stroke_m = 0.0
        self.middle_N = 0.0  # what the gas carries at half stroke: its pressure
        self._middle_target_N = 0.0
        self._middle_per_step = 0.0
        self.bit_m -= float(sea.heave_m(np.zeros(1))[0])
        self._top_speeds = np.zeros(self._history())

    # -- what the crew does ------------------------------------------------------------

    def unlock(self) -> None:
        """Free the compensator where it stands, its pressure holding it drawn in."""
        self.locked = False
        self.set_pressure(self.below_N + self.spring_N_m * self.stroke_limit_m, 0.0)

    def lock(self) -> None:
        """Make it rigid where it stands."""
        self.locked = True

    def set_pressure(self, middle_N: float, seconds: float) -> None:
        """Let gas in or out until the spring carries so much at half stroke."""
        self._middle_target_N = middle_N
        if seconds <= 0.0:
            self.middle_N = middle_N
            return
        self._middle_per_step = abs(middle_N - self.middle_N) / seconds * self.step_s

    @property
    def below_N(self) -> float:
        """What the compensator carries: string and the gear below it, without inertia."""
        return self._rest_N() + self.gear_below_N

    @property
    def gear_below_N(self) -> float:
        """Weight of hook, top drive and elevators."""
        return (1.0 - BLOCK_SHARE) * self.rig.travelling_weight_N

    @property
    def hook_m(self) -> float:
        """Height of the elevators above the floor."""
        return self.block_m - self.stroke_m

    # -- physics -----------------------------------------------------------------------

    def _leg(self, steps: Floats) -> None:
        count = len(steps)
        steps_told = self.steps + np.arange(count + 1, dtype=np.float64)
        heave = self.sea.heave_m(steps_told * self.step_s)
        rise = np.diff(heave)
        block = self.block_m + np.cumsum(steps)
        stroke = np.full(count, self.stroke_m)
        excess = np.zeros(count)
        top = steps + rise
        share = np.ones(count)
        if self.in_slips:
            stiffness = self.slips_stiffness_N_m if self.latched else 0.0
            string = np.clip(self.elevator_N + stiffness * np.cumsum(steps), 0.0, self.held_N)
            share = string / max(self.held_N, 1.0)
            self.elevator_N = float(string[-1])
            string = string + self.hanging_N
            bit = self.bit_m - np.cumsum(rise)
        elif self.locked:
            string, excess, bit = self._heaving(top, block - stroke)
            self.elevator_N = float(string[-1])
        else:
            string, excess, bit, stroke = self._compensated(steps, rise, block)
            top = top - np.diff(stroke, prepend=self.stroke_m)
            self.elevator_N = float(string[-1])
        if self.in_slips:
            depth = np.full(count, self.depth_m)
        else:
            hook = block - stroke
            depth = self.depth_m - (hook - self.hook_m)
        inertia = self._vessel_inertia(steps + rise, top, share)
        hook_load = self.rig.travelling_weight_N + string + self._rail(steps) + inertia
        tension = self._line(steps, hook_load)
        if self.rig.line is not None:
            tension = tension - self.rig.line.weight_N_m * (block - self.rig.line.anchor_height_m)
        channels = self.panel.leg(count, np.maximum(-excess, 0.0))
        channels["trip_tank_volume"] = self.panel.tank_m3(self.string.steel_m3(depth))
        channels["heave"] = heave[1:]
        channels["compensator_stroke"] = stroke
        channels["compensator_open"] = np.full(count, 0.0 if self.locked else 1.0)
        self.traces.append(
            Trace(block, steps, tension, hook_load, excess, depth, bit, self.in_slips,
                  self.rock is not None, channels)
        )  # fmt: skip
        self.block_m, self.depth_m, self.bit_m = float(block[-1]), float(depth[-1]), float(bit[-1])
        self.stroke_m = float(stroke[-1])
        self.steps += count
        # A heaving string never stands still for its friction to grow.
        self._still_s = self._still_s + count * self.step_s if self.in_slips else 0.0

    def _heaving(self, top: Floats, hook: Floats) -> tuple[Floats, Floats, Floats]:
        # The base moves a string one way at a time: one run from crest to trough.
        edges = np.flatnonzero(np.diff(np.sign(top))) + 1
        bounds = [0, *edges.tolist(), len(top)]
        parts = []
        for start, stop in zip(bounds, bounds[1:], strict=False):
            part = self._free(top[start:stop], hook[start:stop])
            self.bit_m = float(part[2][-1])
            self._still_s = 0.0
            parts.append(part)
        string, excess, bit = (np.concatenate(columns) for columns in zip(*parts, strict=True))
        return string, excess, bit

    def _compensated(
        self, steps: Floats, rise: Floats, block: Floats
    ) -> tuple[Floats, Floats, Floats, Floats]:
        # String load, load at the bit, bit, stroke after each step, the top free to move.
        self._look(self.bit_m)
        up, down = self._drag_bounds(np.full(len(steps), self.bit_m))
        high, low = float(up[-1]), float(down[-1])
        weight = float(self.hole.hanging_N(self.bit_m, self.hook_m))
        per_m = float(self.string.weight_at_N_m(self.bit_m)) * self.string.buoyancy
        stiffness, friction = self.stiffness_N_m, self.friction
        below = self.gear_below_N - self.spring_N_m * (self.stroke_m - self.stroke_limit_m / 2.0)
        stroke, bit, spring, start = self.stroke_m, self.bit_m, self._spring_N, self.bit_m
        drawn, rows = 0.0, []
        for move in (steps + rise).tolist():
            change = self._middle_target_N - self.middle_N
            self.middle_N += min(max(change, -self._middle_per_step), self._middle_per_step)
            free = weight + per_m * (bit - start) + below - self.middle_N
            free -= self.spring_N_m * (drawn + move)
            room = (self.stroke_m + drawn, self.stroke_limit_m - self.stroke_m - drawn)

            def off_N(
                moved: float, free: float = free, bit: float = bit, spring: float = spring
            ) -> tuple[float, float, Turned]:
                # Load below less what the gas carries, with so much of the move at the top.
                turned = friction.trial(moved, high, low)
                held = self._touch(bit, spring, turned.followed_m, stiffness)[1]
                slope = turned.slope_N_m + (stiffness if held < 0.0 else 0.0) + self.spring_N_m
                off = free + turned.force_N + held + self.spring_N_m * moved
                return off, slope, turned

            moved, turned = self._balance(off_N, move, room)
            friction.take(turned)
            drawn += move - moved
            bit, spring = self._land(bit, spring, turned.followed_m, stiffness)
            load = weight + per_m * (bit - start) + turned.force_N + spring
            rows.append((load, spring, bit, stroke + drawn))
        self._spring_N = spring
        string, excess, bits, strokes = np.array(rows).T
        return string, excess, bits, np.clip(strokes, 0.0, self.stroke_limit_m)

    def _balance(
        self,
        off_N: Callable[[float], tuple[float, float, Turned]],
        move: float,
        room: tuple[float, float],
    ) -> tuple[float, Turned]:
        # How much of a move is left at the top of the string: as much as the seals' friction
        # does not let the stroke take. Newton within a bracket: the load rises with it.
        off, slope, turned = off_N(move)
        seals = FRICTION_N if off > 0.0 else -FRICTION_N
        if abs(off) <= FRICTION_N:
            return move, turned
        ends = sorted((move, move - (off - seals) / self.spring_N_m))
        moved, least, most = move, move - room[1], move + room[0]
        for k in range(MOST_TRIES):
            trial = moved - (off - seals) / slope
            if k % 3 == 2 or not ends[0] <= trial <= ends[1]:
                trial = 0.5 * (ends[0] + ends[1])
            moved = min(max(trial, least), most)
            off, slope, turned = off_N(moved)
            if abs(off - seals) < NEAR_N or moved != trial:
                break
            ends[1 if off > seals else 0] = moved
        return moved, turned

    def _touch(
        self, bit: float, spring: float, moved: float, stiffness: float
    ) -> tuple[float, float]:
        # The string's lower end after so much of its top's move reached it: on bottom a spring.
        trial = min(spring + stiffness * moved, 0.0) if spring < 0.0 else 0.0
        bit -= moved - (trial - spring) / stiffness
        if bit > self.hole.depth_m:
            trial -= stiffness * (bit - self.hole.depth_m)
            bit = self.hole.depth_m
        return bit, trial

    def _land(
        self, bit: float, spring: float, moved: float, stiffness: float
    ) -> tuple[float, float]:
        bit, trial = self._touch(bit, spring, moved, stiffness)
        return self._cut(trial, bit, stiffness)[::-1] if trial < 0.0 else (bit, trial)

    def _vessel_inertia(self, block: Floats, top: Floats, share: Floats) -> Floats:
        # What accelerates with the block and what with the top of the string.
        speeds = np.concatenate((self._speeds, block / self.step_s))
        tops = np.concatenate((self._top_speeds, top / self.step_s))
        self._speeds, self._top_speeds = speeds[-self._history() :], tops[-self._history() :]
        mass = self.rig.travelling_weight_N / GRAVITY_M_S2
        count = len(block)
        load = mass * BLOCK_SHARE * self._mean_acceleration(speeds, count, TRAVELLING_INERTIA_S)
        # In slips the gear below heaves with the block; the string hangs on the slips.
        below = self._mean_acceleration(tops, count, TRAVELLING_INERTIA_S)
        load = load + mass * (1.0 - BLOCK_SHARE) * below
        length = max(self.bit_m, 1.0)
        string_mass = float(self.string.weight_in_air_N(length)) / GRAVITY_M_S2
        window = max(2.0 * length / SOUND_SPEED_M_S, TRAVELLING_INERTIA_S)
        return load + share * string_mass * self._mean_acceleration(tops, count, window)

    def _line(self, steps: Floats, load: Floats) -> Floats:
        # With the block still only the load changes, slowly: every few steps are enough.
        count = len(steps)
        if np.any(steps) or count <= STILL_EVERY:
            return self.rope.dead_line_N(steps, load)
        at = np.unique(np.append(np.arange(0, count, STILL_EVERY), count - 1))
        tension = self.rope.dead_line_N(np.zeros(len(at)), load[at])
        return np.asarray(np.interp(np.arange(count), at, tension))
