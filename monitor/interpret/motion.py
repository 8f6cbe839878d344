"""Block position into clean travel, speed, acceleration, direction and friction state."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.stage import Rows, Stage
from monitor.interpret.windows import (
    Tail,
    everywhere,
    forward_fill,
    median_lag_s,
    median_of_3,
    median_taken_at,
    play,
    running_sum,
    window_start,
)
from monitor.model import Floats, Ints, Quality
from monitor.rig.rig import Rig

NAN = float("nan")

# Fastest a block moves, with room for the median's delay (common practice: 2 m/s empty).
FASTEST_BLOCK_M_S = 4.0
# Rows without a median have no such delay: the fastest empty block and a bit.
FASTEST_SEEN_M_S = 2.5
# Sustained block travel between rows further apart than 2 s: it must also stop and start.
FASTEST_SUSTAINED_M_S = 1.5
# A counter that comes back to where it was within so long had only shown something else.
RETURNED_S = 10.0
# A block keeps its speed for so long while its counter jumps; longer, nobody knows.
LONGEST_UNCHANGED_S = 2.0
# Encoder noise and quantum never make a jump of this size.
LEAST_JUMP_M = 0.5
# However long the wait, a block moves no further than a tall derrick allows.
LONGEST_STROKE_M = 45.0
# Movement over a longer wait was not seen: it counts, but depth is no longer sure.
UNSEEN_S = 5.0
LEAST_UNSEEN_M = 0.05
# An encoder at rest dithers by its quantum, 1 cm or less: half of twice that is no motion,
# and must not turn the friction (a quarter of the swing would be 2 to 4 % of the load).
DITHER_HALF_M = 0.01
# Half of the reversed travel over which sheave friction turns over: a few centimetres
# (derived from a quasi-static elastic rope).
FRICTION_HALF_TRAVEL_M = 0.015
# Half of the 0.1 m a reversal must move before the load is judged by the new direction.
REVERSAL_HALF_TRAVEL_M = 0.05
SPEED_WINDOW_S = 1.0
# Above this the string turns (10 rev/min).
TURNING_RAD_S = 1.0
# Shorter, for what the string feels at once; a 1 cm quantum is 2 cm/s here.
QUICK_WINDOW_S = 0.5
# Moving above, still below, held in between, so that a quantum's flicker is no motion.
MOVING_M_S = 0.03
STILL_M_S = 0.012
# A block that has gone this far without a stop is on its way: nothing is latched or set.
LEAST_STROKE_M = 1.5
# A block not seen for so long may have gone on by more than any give of slips and line.
LOST_S = 3.0
# A counter in coarser steps may miss the few centimetres by which slips give.
COARSE_BLOCK_M = 0.02
# A one-row glitch is taken out only where three rows lie this close together.
GLITCH_SPAN_S = 1.0


# Kept of the positions seen: also when each was read, and how late that usually is.
PATH = ("time_s", "block", "speed", "read_s", "lag_s")
# A median of three is a row late where the block moves. Rows whose spacing differs at the two
# ends of a window by more than this share of it must not be taken for a change of speed.
UNEVEN_SHARE = 0.05
# Speeds of a position that was never seen, and how long they hold.
STILL = {"speed": 0.0, "quick": 0.0, "change": 0.0, "apart_s": 0.0}


class Motion(Stage):
    """Travel without jumps, and which way the friction in the sheaves points."""

    STATE = (
        "raw",
        "path",
        "last_m",
        "last_valid_s",
        "last_taken_s",
        "jumped_m",
        "before_jump",
        "rate_m_s",
        "missing",
        "held",
        "changed_s",
        "least_step_m",
        "calm_m",
        "friction_m",
        "direction_m",
        "friction_known",
        "direction",
        "moving",
        "still_since_m",
        "moved_s",
    )

    def __init__(self, rig: Rig) -> None:
        del rig
        self.raw = Tail(("time_s", "block"), 0.0, 2)
        self.path = Tail(PATH, SPEED_WINDOW_S + 0.1, 1)
        self.last_m = NAN
        self.last_valid_s = NAN
        self.last_taken_s = NAN
        self.jumped_m = 0.0
        self.before_jump = [NAN, NAN, 0.0]  # position, its time, what had been jumped by then
        self.rate_m_s = 0.0
        self.missing = False
        self.held = dict(STILL)  # speeds of the last position seen
        self.changed_s = NAN
        self.least_step_m = np.inf
        self.calm_m = NAN
        self.friction_m = NAN
        self.direction_m = NAN
        self.friction_known = 0.0
        self.direction = 0.0
        self.moving = 0.0
        self.still_since_m = NAN
        self.moved_s = NAN

    def gap(self) -> None:
        """Windows end at a gap; position and friction state stay as they were."""
        self.raw.clear()
        self.path.clear()
        self.held = dict(STILL)
        self.changed_s = NAN
        self.moving = 0.0

    def step(self, rows: Rows) -> None:
        """Derive travel, speed, acceleration, direction, friction state."""
        reported = rows.channel("block_position")
        if reported is None:
            reported = np.full(len(rows), NAN)
        block, seen_s, read_s, lag_s = self._travel(rows, reported)
        self._speed(rows, (block, read_s, lag_s), seen_s)
        self._directions(rows, block)

    def _travel(self, rows: Rows, reported: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Travel without jumps, when each position was seen, when it was read, its usual lag."""
        # Rows of a source that gives the block in some of them only are no neighbours.
        valid = np.isfinite(reported)
        known = everywhere(valid)
        at_s, seen = rows.time_s[known], reported[known]
        joined, kept = self.raw.join({"time_s": at_s, "block": seen})
        times, block = joined["time_s"], joined["block"]
        clean, taken_s = reported.copy(), rows.time_s.copy()
        clean[known] = median = median_of_3(times, block, kept, GLITCH_SPAN_S)
        taken_s[known] = median_taken_at(times, block, median, kept)
        read_s, lag_s = taken_s.copy(), np.zeros(len(rows))
        lag_s[known] = median_lag_s(times, kept, GLITCH_SPAN_S)
        filled = forward_fill(self.last_m, clean, valid)
        seen_s = forward_fill(self.last_valid_s, rows.time_s, valid)
        taken_s = forward_fill(self.last_taken_s, taken_s, valid)
        apart_s = np.diff(np.concatenate(([self.last_taken_s], taken_s)))
        step_m = np.diff(np.concatenate(([self.last_m], filled)))
        step_m = np.where(np.isfinite(step_m), step_m, 0.0)
        before_s = np.concatenate(([self.last_valid_s], seen_s))
        wait_s = np.diff(before_s)
        jump = np.abs(step_m) > _reach_m(wait_s)
        jumped = running_sum(self.jumped_m, self._leaps(step_m, wait_s, apart_s, jump))
        jumped = self._returned(np.concatenate(([self.last_m], filled)), before_s, jumped, jump)
        block = filled - jumped
        quality = np.zeros(len(rows), dtype=np.uint16)
        quality[jump] = Quality.JUMP
        rows.column["block_quality"] = quality
        missing_before = np.concatenate(([self.missing], ~valid[:-1]))
        unseen = missing_before & (wait_s > UNSEEN_S) & (np.abs(step_m) > LEAST_UNSEEN_M)
        rows.column["unseen"] = jump | unseen
        self.missing = bool(~valid[-1])
        rows.column["block_m"] = block
        rows.column["block_age_s"] = rows.time_s - seen_s
        rows.column["block_step_m"] = np.where(jump, 0.0, step_m)
        self._unchanged(rows, step_m)
        self.last_m, self.last_valid_s = float(filled[-1]), float(seen_s[-1])
        self.last_taken_s = float(taken_s[-1])
        self.jumped_m = float(jumped[-1])
        return block, seen_s, read_s, lag_s

    def _unchanged(self, rows: Rows, step_m: Floats) -> None:
        """How long a counter of fine steps has shown the same to its last digit."""
        size = np.where(step_m != 0.0, np.abs(step_m), np.inf)
        least = np.minimum.accumulate(np.concatenate(([self.least_step_m], size)))[1:]
        first = self.changed_s if np.isfinite(self.changed_s) else float(rows.time_s[0])
        changed_s = forward_fill(first, rows.time_s, step_m != 0.0)
        unchanged = np.where(least <= COARSE_BLOCK_M, rows.time_s - changed_s, 0.0)
        rows.column["block_unchanged_s"], rows.column["least_step_m"] = unchanged, least
        self.least_step_m, self.changed_s = float(least[-1]), float(changed_s[-1])

    def _returned(
        self, filled: Floats, at_s: Floats, jumped: Floats, jump: NDArray[np.bool_]
    ) -> Floats:
        """Undo jumps from which the counter came back: nothing of them is left.

        ``filled`` and ``at_s`` have the row before in front.
        """
        result = jumped
        for row in np.flatnonzero(jump).tolist():
            before_m, before_s, before_jumped_m = self.before_jump
            wait_s = at_s[row + 1] - before_s
            back = abs(filled[row + 1] - before_m) <= float(_reach_m(np.array([wait_s]))[0])
            if wait_s <= RETURNED_S and back:
                result = result.copy() if result is jumped else result
                result[row:] += before_jumped_m - result[row]
                result[row] = before_jumped_m
                self.before_jump = [NAN, NAN, 0.0]
                continue
            last_m = float(result[row - 1]) if row else self.jumped_m
            self.before_jump = [float(filled[row]), float(at_s[row]), last_m]
        return result

    def _leaps(
        self, step_m: Floats, wait_s: Floats, apart_s: Floats, jump: NDArray[np.bool_]
    ) -> Floats:
        """What the counter jumped by: the step less what the block went on at its speed.

        A median is of any of three rows: speed and way go by ``apart_s``, the time between
        those that two of them are of, or a jump against the way would lose two rows of it.
        """
        plain = ~jump & (apart_s > 0.0)
        before, last = self.rate_m_s, np.flatnonzero(plain)[-1:]
        if len(last):
            self.rate_m_s = float(step_m[last[0]] / apart_s[last[0]])
        if not jump.any():
            return np.zeros(len(step_m))
        rate = np.divide(step_m, apart_s, out=np.zeros(len(step_m)), where=plain)
        rate = np.concatenate(([before], forward_fill(before, rate, plain)[:-1]))
        went_on = np.where(wait_s <= LONGEST_UNCHANGED_S, rate * apart_s, 0.0)
        return np.where(jump, step_m - went_on, 0.0)

    def _speed(self, rows: Rows, read: tuple[Floats, Floats, Floats], seen_s: Floats) -> None:
        """Speeds and acceleration of the positions seen; they hold until the next is due."""
        seen = rows.time_s == seen_s
        known = everywhere(seen)
        at_s = rows.time_s[known]
        columns = {"time_s": at_s, "speed": np.empty(len(at_s))}
        for name, values in zip(("block", "read_s", "lag_s"), read, strict=True):
            columns[name] = values[known]
        joined, kept = self.path.join(columns)
        times, path = joined["time_s"], joined["block"]
        start = window_start(times, kept, SPEED_WINDOW_S)
        span = _span_s(joined, kept, start)
        quick_start = window_start(times, kept, QUICK_WINDOW_S)
        quick_span = _span_s(joined, kept, quick_start)
        with np.errstate(invalid="ignore", divide="ignore"):
            speed = np.where(span > 0, (path[kept:] - path[start]) / span, 0.0)
            quick = np.where(quick_span > 0, (path[kept:] - path[quick_start]) / quick_span, 0.0)
            # A first row has no speed of its own to accelerate from.
            own = np.where(span > 0, speed, np.nan)
            speeds = np.concatenate((joined["speed"][:kept], own))
            change = np.where(span > 0, np.nan_to_num((speed - speeds[start]) / span), 0.0)
        if len(times):
            length = len(self.path.kept["time_s"])
            self.path.kept["speed"] = speeds[len(speeds) - length :].copy()
        last = np.maximum(np.arange(kept, len(times)) - 1, 0)
        found = {"speed": speed, "quick": quick, "change": change}
        found["apart_s"] = times[kept:] - times[last]
        for name, values in found.items():
            spread = np.empty(len(rows))
            spread[known] = values
            found[name] = forward_fill(self.held[name], spread, seen)
            self.held[name] = float(found[name][-1])
        # Longer unseen than the last wait was: nothing is known of the block.
        usual_s = np.maximum(found["apart_s"], SPEED_WINDOW_S)
        holds = ~(rows.time_s - seen_s > usual_s)
        rows.column["block_lost"] = rows.time_s - seen_s > np.maximum(usual_s, LOST_S)
        rows.column["quick_speed_m_s"] = np.where(holds, found["quick"], 0.0)
        rows.column["block_speed_m_s"] = np.where(holds, found["speed"], 0.0)
        rows.column["acceleration_m_s2"] = np.where(holds, found["change"], 0.0)

    def _directions(self, rows: Rows, block: Floats) -> None:
        valid = np.isfinite(block)
        if valid.any() and not np.isfinite(self.friction_m):
            first = float(block[int(np.argmax(valid))])
            self.calm_m = self.friction_m = self.direction_m = self.still_since_m = first
        # Rows before the first known position stand in for it: nothing has moved yet.
        usable = np.where(valid, block, np.nan_to_num(self.friction_m))
        calm = play(np.nan_to_num(self.calm_m), usable, DITHER_HALF_M)
        centre = play(np.nan_to_num(self.friction_m), calm, FRICTION_HALF_TRAVEL_M)
        friction = np.clip((calm - centre) / FRICTION_HALF_TRAVEL_M, -1.0, 1.0)
        settled = np.abs(friction) > 0.999
        known = np.maximum.accumulate(
            np.concatenate(([self.friction_known], settled.astype(float)))
        )[1:]
        centre_wide = play(np.nan_to_num(self.direction_m), usable, REVERSAL_HALF_TRAVEL_M)
        turned = (usable - centre_wide) / REVERSAL_HALF_TRAVEL_M
        direction = forward_fill(self.direction, np.sign(turned), np.abs(turned) > 0.999)
        speed = rows.column["block_speed_m_s"]
        fast, slow = np.abs(speed) >= MOVING_M_S, ~(np.abs(speed) > STILL_M_S)
        moving = forward_fill(self.moving, np.where(fast, np.sign(speed), 0.0), fast | slow)
        still_at = forward_fill(np.nan_to_num(self.still_since_m), usable, moving == 0.0)
        if not np.isfinite(self.moved_s):
            self.moved_s = float(rows.time_s[0])
        # Slow pipe moves too: each time the block leaves the play of a reversal, and the
        # string that turns does not stand still.
        shifted = np.diff(np.concatenate(([np.nan_to_num(self.direction_m)], centre_wide))) != 0
        rotary = rows.channel("rotary_speed")
        if rotary is not None:
            shifted |= rotary > TURNING_RAD_S
        moved_s = forward_fill(self.moved_s, rows.time_s, (moving != 0.0) | shifted)
        run_m = np.abs(usable - still_at)
        # Not what this row moved by, which may be the pipe already; nor a way just turned.
        before = np.concatenate(([self.direction], direction[:-1]))
        mid_stroke = (run_m - np.abs(rows.column["block_step_m"]) > LEAST_STROKE_M) & (
            direction == before
        )
        rows.column.update(
            mid_stroke=mid_stroke,
            friction_state=np.where(known > 0, friction, 0.0),
            friction_known=known,
            direction=direction,
            reversed=(np.abs(turned) < 0.999),
            pressed=(usable - calm) / DITHER_HALF_M,
            moving=moving,
            run_travel_m=run_m,
            still_s=rows.time_s - moved_s,
        )
        self.moving, self.moved_s = float(moving[-1]), float(moved_s[-1])
        if np.isfinite(self.friction_m):
            self.calm_m, self.friction_m = float(calm[-1]), float(centre[-1])
            self.direction_m = float(centre_wide[-1])
            self.friction_known, self.direction = float(known[-1]), float(direction[-1])
            self.still_since_m = float(still_at[-1])


def _span_s(path: dict[str, Floats], kept: int, start: Ints) -> Floats:
    """Time between the two positions of each window; by when they were read if rows are uneven."""
    times, read, lag = path["time_s"], path["read_s"], path["lag_s"]
    span = times[kept:] - times[start]
    uneven = np.abs(lag[kept:] - lag[start]) > UNEVEN_SHARE * span
    by_reading = read[kept:] - read[start]
    result: Floats = np.where(uneven & (by_reading > 0.0), by_reading, span)
    return result


def _reach_m(wait_s: Floats) -> Floats:
    """How far a block may have gone between two positions seen."""
    by_median = wait_s <= 0.5 * GLITCH_SPAN_S + 5e-4
    reach_m = FASTEST_BLOCK_M_S * np.minimum(wait_s, 2.0)
    reach_m = reach_m + FASTEST_SUSTAINED_M_S * np.maximum(wait_s - 2.0, 0.0)
    reach_m = np.where(by_median, reach_m, np.minimum(reach_m, FASTEST_SEEN_M_S * wait_s))
    reach_m = LEAST_JUMP_M + reach_m
    result: Floats = np.minimum(reach_m, LONGEST_STROKE_M)
    return result
