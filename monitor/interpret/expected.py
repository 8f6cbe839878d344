"""Expected hoisting and lowering loads, with a band, from recent stands and the string.

The middle is the buoyed weight of the string as described (where it is), in a surveyed hole
that of the soft string in each direction, plus a robust trend of what was left over while
moving; never from later rows.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.between import between_N
from monitor.interpret.circulation import SIDES, shifted
from monitor.interpret.drag_share import DragShare
from monitor.interpret.drilling_weights import Caught
from monitor.interpret.following import Following
from monitor.interpret.given_depth import GivenDepth
from monitor.interpret.guess import LENGTH_SPREAD_M, guessed_loads
from monitor.interpret.heave import excess_N
from monitor.interpret.held_loops import HeldLoops
from monitor.interpret.lessons import Lesson, SteadySeconds
from monitor.interpret.out_of_sight import AGAIN, OutOfSight, doubt
from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.ringing import Ringing
from monitor.interpret.short_strokes import ShortStrokes
from monitor.interpret.soft_model import SoftModel, described_weight_N
from monitor.interpret.speeds import (
    GREATEST_SPEED_M_S,
    LONGEST_WAVE_S,
    MAST_S,
    Quickening,
    Speeds,
    return_s,
)
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.steady import free_run
from monitor.interpret.trend import (
    REACH_M,
    SLOPE_GUESS_N_M,
    Parameters,
    Second,
    Trend,
)
from monitor.interpret.turning_drag import (
    TURNING_LAWS,
    YES,
    contact_diameter_m,
    drag_doubt_N,
    learnt_law,
    pace,
    parameters_of_rows,
)
from monitor.interpret.windows import root_sum
from monitor.model import Command, Floats
from monitor.rig.rig import Rig
from monitor.units import STANDARD_GRAVITY_m_s2

NAN = float("nan")

# Two standard deviations: about 95 % of normal samples.
COVERAGE = 2.0
LEAST_BAND_N = 6e3
# What is no further off than this many bands (99.9 % of normal samples) and the inertia must
# last longer than half a swing of the string to be believed.
SURE = 1.6
# A sensor that shows nothing of the inertia is off by all of it, and by that of the gear.
NONE_SHOWN = 1.25
# A string is taken to be no shorter than a stand.
LEAST_LENGTH_M = 30.0
# Drag may carry much of a string, so its weight is no measure of its mass below this
# (derived: 3-1/2 in pipe).
LEAST_MASS_KG_M = 20.0


class Expected(Stage):
    """Middle and band of the load expected in each direction."""

    STATE = (
        "travelling_weight_N",
        "mud_density_kg_m3",
        "up",
        "down",
        "up_turning",
        "down_turning",
        "stand",
        "speeds",
        "ringing",
        "soft",
        "drag_share",
        "held_loops",
        "short_strokes",
        "following",
        "given_depth",
        "quickening",
        "out_of_sight",
    )

    def __init__(self, rig: Rig) -> None:
        self.string = rig.string
        self.contact_m = contact_diameter_m(rig)
        self.travelling_weight_N = rig.travelling_weight_N
        self.mud_density_kg_m3 = NAN if rig.mud_density_kg_m3 is None else rig.mud_density_kg_m3
        self.soft = SoftModel(rig)
        self._forget()
        self.stand = 0.0
        self.ringing = Ringing(LONGEST_WAVE_S + MAST_S)
        self.speeds = Speeds()
        self.quickening = Quickening()
        self.out_of_sight = OutOfSight()
        self.short_strokes, self.following = ShortStrokes(), Following()
        self.given_depth = GivenDepth()

    def gap(self) -> None:
        """Accelerations do not reach across a gap."""
        for part in (self.speeds, self.ringing, self.held_loops, self.quickening):
            part.gap()
        self.short_strokes.gap()
        self.following.gap()

    def command(self, command: Command) -> None:
        """A new line count, gear or mud changes every load: learn again."""
        if command.act in ("lines_strung", "travelling_weight", "mud_density"):
            self._forget()
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number
        self.out_of_sight.command(command)
        self.short_strokes.command(command)
        self.given_depth.command(command)
        if command.act == "mud_density" and math.isfinite(command.number):
            self.mud_density_kg_m3 = command.number

    def _forget(self) -> None:
        """Learn again. A string that turns drags less along the hole: it has its own trends."""
        self.up, self.down = Trend(), Trend()
        # What turning takes off the drag goes with the speed: each second tells of it.
        self.up_turning, self.down_turning = (Trend(law) for law in TURNING_LAWS)
        self.soft.forget()
        self.drag_share = DragShare()
        self.held_loops = HeldLoops()

    def _trends(self) -> tuple[Trend, ...]:
        return self.up, self.down, self.up_turning, self.down_turning

    def _parameters(self) -> tuple[Parameters, ...]:
        return tuple(trend.parameters() for trend in self._trends())

    def step(self, rows: Rows) -> None:
        """Derive expected loads up and down, the one in force, its band, the excess."""
        hung = rows.column["hung_m"]
        depth, above = rows.column["bit_depth_m"], hung - rows.column["along_m"]
        base = self._base(depth, above)
        sided = self.soft.sided_N(self.mud_density_kg_m3, base, depth)
        before_m = self.given_depth.before_m(rows)
        if before_m is not None:
            self._keep_loads(before_m, float(depth[0]), float(hung[0]), float(above[0]))
        speed = np.nan_to_num(of_pipe(rows, "pipe_speed_m_s"))
        direction, held = of_pipe(rows, "pipe_direction"), self.speeds.before_stop(rows, speed)
        span = return_s(depth)
        rows.column["half_swing_s"] = span + 0.5 * MAST_S
        swings = self.ringing.swings(rows, span + MAST_S)
        changes = self._learn(rows, swings)
        rows_at = [row for row, _ in changes]
        tables = np.array([parameters for _, parameters in changes])
        turning_now = rows.column["turning"] == YES
        rotary = rows.channel("rotary_speed")
        stopped, held = held, pace(held, turning_now, rotary, self.contact_m)
        drag: Floats = np.zeros(len(rows))
        middles, spreads, stands = list[Floats](), list[Floats](), list[Floats]()
        for side, sign in enumerate((1.0, -1.0)):
            parameters = parameters_of_rows(tables, rows_at, rows, side)
            centre, centre_speed, level, slope, speed_slope, *deviation = parameters
            moved = hung - centre
            own = np.clip(sign * speed, 0.0, GREATEST_SPEED_M_S)
            # A string that turns may hold its drag at a stop as one that slides does.
            kept = np.where(turning_now & (sign * direction > 0), stopped, 0.0)
            own = pace(np.maximum(own, kept), turning_now, rotary, self.contact_m)
            drag = np.where(sign * direction > 0, sign * speed_slope * held, drag)
            faster = own - centre_speed
            level = np.where(np.abs(moved) < REACH_M, level, NAN)
            middles.append(sided[side] + level + slope * moved + speed_slope * faster)
            doubts = [deviation[0], deviation[1] * moved, deviation[2] * faster]
            doubts.append(drag_doubt_N(speed_slope * own, turning_now, rotary))
            spreads.append(np.sqrt(sum(doubt**2 for doubt in doubts)))
            stands.append(np.where(np.isfinite(level), deviation[3], 0.0))
        up, down = (shifted(rows, m, side) for m, side in zip(middles, SIDES, strict=True))
        rows.column["held_drag_N"] = np.maximum(np.nan_to_num(drag), 0.0)
        loops = self.held_loops.follow(rows, (up, down))
        rows.column["loop_drag_N"] = 0.5 * loops[0]
        guesses = self._guess(rows, middles, spreads, base, turning_now, loops)
        # Outside of what is believed at once, but for ringing.
        doubts = [np.maximum(COVERAGE * spread, LEAST_BAND_N) for spread in spreads]
        guessed_up, guessed_down = self.short_strokes.follow(rows, guesses, (up, down), doubts)
        active = np.where(direction > 0, guessed_up, np.where(direction < 0, guessed_down, NAN))
        spread = np.where(direction < 0, spreads[1], spreads[0])
        # Drag carries part of a string that is lowered: the heaviest tells its mass best.
        heaviest = np.fmax(np.fmax(up, down), base) - self.travelling_weight_N
        mass = np.fmax(heaviest / STANDARD_GRAVITY_m_s2, LEAST_MASS_KG_M * np.nan_to_num(depth))
        # Over a return the mean of the wave is the mass of the string times the mean
        # acceleration; twice that over the time of it is the wave of a sudden change.
        inertia, about = self.speeds.inertia_N(rows, mass, span)
        up, down, active = up + inertia, down + inertia, active + inertia
        rows.column["judged_up_N"] = guessed_up + inertia
        rows.column["judged_down_N"] = guessed_down + inertia
        rows.column["inertia_N"] = inertia
        rows.column["learning"] = np.isnan(np.where(direction < 0, down, up))
        band = np.maximum(COVERAGE * spread, LEAST_BAND_N)
        off = direction * (active - of_pipe(rows, "pipe_smooth_N"))
        lasting = root_sum(band, about)
        short, scatter = np.where(free_run(rows), off, NAN), SURE * lasting
        ringing = self.ringing.follow(rows, short, scatter, 2.0 * mass / span, swings)
        gained = self.quickening.follow(rows, np.nan_to_num(rows.column["quick_speed_m_s"]))
        rows.column["onset_N"] = 2.0 * mass / span * gained
        # A damped sensor shows little of the inertia, or shows it late.
        turning = np.where(rows.column["reversed"], rows.column["turning_half_width_N"], 0.0)
        if "vessel_doubt_N" in rows.column:
            band = np.hypot(band, rows.column["vessel_doubt_N"])
            lasting = root_sum(band, about)
        lasting = root_sum(lasting, turning)
        # The band of a guess is wide for another reason.
        times = np.where(rows.column["learning"], 1.0, SURE)
        sure = root_sum(times * root_sum(band, ringing), NONE_SHOWN * about)
        band = root_sum(lasting, ringing)
        waves = rows.column.get("follows_heave", False)  # what is off lasts as long as a wave
        lasting = root_sum(lasting, np.where(direction < 0, stands[1], stands[0]))
        rows.column["sure_N"], rows.column["lasting_band_N"] = sure, np.where(waves, band, lasting)
        hanging = rows.column["phase"] == 2
        rows.column["expected_up_N"], rows.column["expected_down_N"] = up, down
        active = between_N(rows, active)
        rows.column["expected_N"] = np.where(hanging, active, NAN)
        rows.column["band_N"] = np.where(hanging & np.isfinite(active), band, NAN)
        rows.column["excess_N"] = excess_N(rows, rows.column["expected_N"])

    def _keep_loads(self, before_m: float, depth_m: float, hung_m: float, above_m: float) -> None:
        """Another depth is another weight of the string described; what was read stays."""
        stand = np.array([0.0, -LENGTH_SPREAD_M])
        above = np.array([above_m, above_m])
        weights = [
            self.soft.sided_N(self.mud_density_kg_m3, self._base(depth, above), depth)
            for depth in (depth_m + stand, before_m + stand)
        ]
        for number, trend in enumerate(self._trends()):
            more = weights[0][number % 2] - weights[1][number % 2]
            trend.count_from(float(more[0]), float(more[0] - more[1]) / LENGTH_SPREAD_M, hung_m)
        if not abs(before_m - depth_m) < LENGTH_SPREAD_M:
            self.soft.forget()  # its stands hung deeper or shallower than they were said to

    def _guess(
        self,
        rows: Rows,
        middles: list[Floats],
        spreads: list[Floats],
        base: Floats,
        turning: NDArray[np.bool_],
        loops: tuple[Floats, Floats],
    ) -> list[Floats]:
        """Fill in, in ``spreads`` too, what has not been learnt of a string that hangs."""
        up, down = middles
        gaps = (np.isnan(up) | np.isnan(down)) & (rows.column["phase"] == 2) & ~turning
        if not gaps.any():
            return middles
        described = bool(self.string) and math.isfinite(self.mud_density_kg_m3)
        known = described & np.isfinite(rows.column["bit_depth_m"][gaps])
        # What the empty block reads now: a zero that has moved is in every other load too.
        empty = rows.column["empty_N"][gaps]
        empty = np.where(np.isfinite(empty), empty, self.travelling_weight_N)
        neutral = np.where(known, base[gaps] - self.travelling_weight_N + empty, NAN)
        above = rows.column["hung_m"][gaps] - rows.column["along_m"][gaps]
        length = np.maximum(rows.column["bit_depth_m"][gaps] + above, LEAST_LENGTH_M)
        share, spread = self.drag_share.at(gaps, rows.column["hung_m"][gaps])
        guess = guessed_loads(up[gaps], down[gaps], neutral, empty, length, share, spread)
        sides = [side for side in (0, 1) if np.isnan(middles[side][gaps]).any()]
        guess = self.soft.instead(rows, gaps, empty, self.mud_density_kg_m3, guess, sides)
        guess = self.held_loops.instead(gaps, loops, middles, spreads, guess)
        result = []
        for side, learnt in enumerate(middles):
            missing = np.isnan(learnt[gaps])
            filled = learnt.copy()
            filled[gaps] = np.where(missing, guess[side], learnt[gaps])
            unsure = np.hypot(guess[side + 2], rows.column["lost_m"][gaps] * SLOPE_GUESS_N_M)
            spreads[side][gaps] = np.where(missing, unsure, spreads[side][gaps])
            result.append(filled)
        return result

    def _base(self, depth_m: Floats, above_m: Floats) -> Floats:
        """What the travelling equipment and the described string weigh."""
        hangs = described_weight_N(self.string, self.mud_density_kg_m3, depth_m, above_m)
        return self.travelling_weight_N + hangs

    def _learn(
        self, rows: Rows, swings: tuple[Floats, Floats]
    ) -> list[tuple[int, tuple[Parameters, ...]]]:
        """Feed steady seconds to the trends; list the rows at which they changed."""
        changes = [(0, self._parameters())]
        self.soft.begin()
        self.drag_share.begin()
        sets = np.array([turn.row for turn in rows.turns if turn.kind == "set"], dtype=int)
        lessons = self._lessons(rows, swings, sets)
        seconds = [(lesson.row, i) for i, lesson in enumerate(lessons)]
        caught = [(found.row, -1 - k) for k, found in enumerate(rows.caught) if found.is_set]
        again = self.out_of_sight.step(rows)
        for row, i in sorted([*seconds, *caught, *((row, AGAIN) for row in again)]):
            if i == AGAIN:
                doubt(self._trends(), again[row])
                changes.append((row, self._parameters()))
            elif i < 0:
                stand = self.stand + float(np.searchsorted(sets, row))
                above_m = float(rows.column["hung_m"][row] - rows.column["along_m"][row])
                empty_N = float(self._empty(rows, np.array([row]))[0])
                if self._take_caught(rows.caught[-1 - i], stand, above_m, empty_N):
                    changes.append((row, self._parameters()))
            elif self._take(lessons[i]):
                changes.append((row, self._parameters()))
        self.stand += float(len(sets))
        return changes

    def _lessons(
        self, rows: Rows, swings: tuple[Floats, Floats], sets: NDArray[np.int64]
    ) -> list[Lesson]:
        """Steady seconds, with what each one teaches."""
        blocks = rows.blocks
        if blocks is None or not len(blocks):
            return []
        seconds = SteadySeconds(rows, blocks)
        depth_m = seconds.last["bit_depth_m"]
        base = self._base(depth_m, seconds.last["hung_m"] - seconds.last["along_m"])
        lessons = seconds.lessons(
            swings,
            base_N=base,
            sided_N=self.soft.sided_N(self.mud_density_kg_m3, base, depth_m),
            empty_N=self._empty(rows, seconds.at),
            stand=self.stand + np.searchsorted(sets, seconds.at, side="right"),
            contact_m=self.contact_m,
        )
        weight_N = self.travelling_weight_N
        return [lesson for lesson in lessons if self.following.is_free(lesson, weight_N)]

    def _take(self, lesson: Lesson) -> bool:
        """Let a steady second teach; whether the trend of its direction changed."""
        side, turning = int(lesson.speed_m_s <= 0), lesson.is_turning
        pair = (self.up_turning, self.down_turning) if turning else (self.up, self.down)
        trend = pair[side]
        if turning and trend.is_near(lesson.along_m):
            return False
        sided_N = (lesson.up_N, lesson.down_N)
        gear_N = self.travelling_weight_N
        string_N = (lesson.base_N - gear_N, lesson.load_N - gear_N)
        prior = self.soft.prior(*string_N, lesson.depth_m, side, turning=turning)
        if turning:
            trend.law = learnt_law(TURNING_LAWS[side], pair[1 - side], prior[2])
        seen = Second(
            lesson.along_m,
            lesson.hung_m,
            lesson.load_N - sided_N[side],
            lesson.share if turning else abs(lesson.speed_m_s),
            lesson.stand,
            lesson.is_calm,
        )
        if not turning:
            self.soft.learn(lesson.row, side, seen, lesson.depth_m, lesson.empty_N)
        if not trend.add(seen, prior):
            return False
        if not turning:
            rest = self.travelling_weight_N + lesson.empty_N
            bases = (sided_N[0] - rest, sided_N[1] - rest)
            self.drag_share.learn(lesson.row, (self.up, self.down), bases, seen.hung_m)
        return True

    def _empty(self, rows: Rows, at: NDArray[np.int64]) -> Floats:
        """What the empty block reads beyond the weight of the travelling equipment."""
        moved = rows.column["empty_N"][at] - self.travelling_weight_N
        return np.where(np.isfinite(moved), moved, 0.0)

    def _take_caught(self, caught: Caught, stand: float, above_m: float, empty_N: float) -> bool:
        """Weights caught at a connection teach a direction that is not known yet."""
        fitted = False
        for side, (kind, trend) in enumerate((("hoisting", self.up), ("lowering", self.down))):
            weight = caught.weights.get(kind)
            if weight is None or not weight.is_calm:
                continue
            depth = np.array([weight.depth_m])
            base = self._base(depth, np.array([above_m]))
            sided = self.soft.sided_N(self.mud_density_kg_m3, base, depth)[side]
            gear_N = self.travelling_weight_N
            string_N = (float(base[0]) - gear_N, weight.load_N - gear_N)
            prior = self.soft.prior(*string_N, weight.depth_m, side)
            seen = Second(
                weight.along_m,
                weight.along_m + above_m,
                weight.load_N - float(sided[0]),
                weight.speed_m_s,
                stand,
                True,
            )
            self.soft.learn(caught.row, side, seen, weight.depth_m, empty_N, caught=True)
            fitted |= trend.caught(seen, prior)
        return fitted
