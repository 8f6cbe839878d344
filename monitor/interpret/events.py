"""Which rows a kind of event is judged in, and against what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.alarm_limits import alarm_limit_N
from monitor.interpret.break_over import BREAK_OVER_M, FREE_RUN_M, RINGING_M, BreakOver
from monitor.interpret.heave import beyond_heave_N
from monitor.interpret.lateness import AT_REST_S, SET_SPEED_M_S, may_be_back, turning_seen_s
from monitor.interpret.motion import GLITCH_SPAN_S
from monitor.interpret.peaks import Peaks
from monitor.interpret.pipe_motion import of_pipe
from monitor.interpret.sides import Kind, Side
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tracker import Judgement, Tracker
from monitor.interpret.transfer import GREATEST_GIVE_M
from monitor.interpret.windows import (
    Tail,
    everywhere,
    forward_fill,
    held_from,
    median_lag_s,
    window_start,
)
from monitor.mechanics.pipe_limits import pipe_pull_by_depth
from monitor.mechanics.ratings import InUse, hangs_string, hoist_limits, in_use_at_first
from monitor.model import Event, Floats, Quality
from monitor.rig.rig import Rig

NAN = float("nan")

# A change of speed is told, and what it does to the load is over, after so long.
ONSET_S = 1.0
# A start that is no higher than usual is given so long: crews ease a string out of the slips.
PATIENCE_S = 6.0
# From the stop at the end of a stand until its slips are set (common practice, quick crews).
STOP_PATIENCE_S = 3.0
# The block has gone back where it is no longer in this last part of its dither (7 of 20 mm).
BACKED = 0.3
# Friction in the sheaves has turned over.
SETTLED = 0.999
# A load that still falls this much in so short a time may be slips taking the string: a
# slack-off is raised when the fall has stopped, at the latest after the longest slips set.
FALL_WINDOW_S = 0.3
LEAST_FALL_N = 6e3
FALL_SHARE = 0.008
# Heave of 8 s takes off this share of half its swing in that time at most (2 pi / 8 * 0.3).
HEAVE_FALL_SHARE = 0.24
LONGEST_SET_S = 5.0
# Slips take the whole string within the greatest give: a load that falls less than this share
# of the mean rate along the travel is no slips, but a string that gives way as it stretches.
SLIPS_RATE_SHARE = 0.5
# This much of the string gone at such a speed: slips have it, and it is soon known.
TAKEN_SHARE = 0.75
# Alarm limit unless given: the greatest of these and two band half-widths (our choice,
# not published).
ALARM_N = 90e3
ALARM_SHARE = 0.10


class Events(Stage):
    """Overpull, slack-off, over rating, gaps; room left to the weakest link."""

    STATE = (
        "sets",
        "overpull",
        "slack_off",
        "over_rating",
        "break_over_up",
        "break_over_down",
        "held",
        "peaks",
        "recent",
        "fallen_N",
        "alarm_N",
        "gap_event",
        "last_us",
        "last_depth_m",
        "last_load_N",
    )

    def __init__(self, rig: Rig, in_use: Callable[[], InUse] | None = None) -> None:
        self.rig = rig
        self.in_use = in_use or (lambda: in_use_at_first(rig))
        self.pipe_pull = pipe_pull_by_depth(rig)
        self.sets = 0.0
        self.overpull = Tracker(
            "overpull", "load above what is expected hoisting here, outside its band"
        )
        self.slack_off = Tracker(
            "slack_off", "load below what is expected lowering here, outside its band"
        )
        self.over_rating = Tracker(
            "over_rating", "load with its uncertainty above the weakest rating"
        )
        self.break_over_up, self.break_over_down = BreakOver(is_up=True), BreakOver()
        self.held = 0.0
        self.peaks = Peaks()
        self.recent = Tail(("time_s", "load"), FALL_WINDOW_S + 0.1, 4)
        self.fallen_N = NAN
        self.alarm_N = {"overpull": NAN, "slack_off": NAN}
        self.gap_event: list[int] = []
        self.last_us = 0
        self.last_depth_m = NAN
        self.last_load_N = NAN

    def gap(self) -> None:
        """Runs that would make an event do not reach across a gap."""
        for tracker in (self.overpull, self.slack_off, self.over_rating):
            tracker.gap()
        self.break_over_up.gap()
        self.break_over_down.gap()
        self.peaks.gap()
        self.recent.clear()
        self.fallen_N = NAN

    def weakest_N(self, bit_depth_m: Floats, is_open: NDArray[np.bool_] | None = None) -> Floats:
        """Least hook load at which something reaches its rating; NaN with no rating.

        The pipe's limit goes by the bit depth, and is the least of any depth where that is
        not known.
        """
        in_use = self.in_use()
        weakest: Floats = np.full(len(bit_depth_m), self._hoist_N(in_use))
        if is_open is not None and in_use.compensator == "locked" and is_open.any():
            # A stroke that is drawn out is not locked, whatever was said.
            open_N = self._hoist_N(replace(in_use, compensator="open"))
            weakest = np.where(is_open, open_N, weakest)
        depths, pulls = self.pipe_pull
        if not len(depths) or not hangs_string(self.rig, in_use.gear):
            return weakest
        pull = np.interp(bit_depth_m, depths, pulls)
        pull = np.where(np.isfinite(bit_depth_m), pull, pulls.min())
        weakest = np.fmin(weakest, pull + in_use.travelling_weight_N)
        return weakest

    def _hoist_N(self, in_use: InUse) -> float:
        return min((limit.limit_N for limit in hoist_limits(self.rig, in_use)), default=NAN)

    def step(self, rows: Rows) -> None:
        """Follow every kind through the rows; derive the room left."""
        column = rows.column
        sets = sorted(turn.row for turn in rows.turns if turn.kind == "set")
        counts = self.sets + np.arange(len(sets) + 1.0)
        column["set_count"] = held_from([0, *sets], counts, len(rows))
        self.sets = float(column["set_count"][-1])
        self._gaps(rows)
        band = column["band_N"]
        hanging = column["phase"] == 2
        free = hanging & ~column["on_bottom"] & ~column["drag_settles"]
        string = np.maximum(column["expected_N"] - self.in_use().travelling_weight_N, 0.0)
        # What hangs from a heaving vessel never rests.
        follows = column.get("follows_heave", np.zeros(len(rows), dtype=bool))
        rest = (column["moving"] == 0) & (column["still_s"] > AT_REST_S) & ~follows
        usual = np.maximum(np.maximum(ALARM_N, ALARM_SHARE * string), 2.0 * band)
        slow = np.abs(column["quick_speed_m_s"]) < SET_SPEED_M_S
        falling = self._falling(rows, string) & slow
        # A load that is just coming off is no excess yet: slips may be taking the string. What
        # has stopped falling is shown within ``FALL_WINDOW_S``.
        coming_off = falling & (column["excess_N"] < 0.0)
        # With the block out of sight nobody knows which way the string goes, nor the sheaves.
        lost = column["block_lost"]
        column["excess_N"] = np.where(coming_off | lost, NAN, column["excess_N"])
        is_plain = follows | ("load_mean_N" not in column)
        column["in_event"] = np.zeros(len(rows), dtype=bool)
        limits, alarms = self.rig.events, self.rig.alarms
        kinds = (
            Kind("up", self.overpull, self.break_over_up, 1.0, limits.overpull_N),
            Kind("down", self.slack_off, self.break_over_down, -1.0, limits.slack_off_N),
        )
        peaks = self._peaks(rows)
        weakest = self.weakest_N(column["bit_depth_m"], column.get("is_open"))
        lift = self.break_over_up.is_lift(rows)
        sides = [
            self._side(rows, kind, string, free=free, rest=rest, follows=follows, lift=lift)
            for kind in kinds
        ]
        held = self._held(rows, kinds, sides)
        for kind, side in zip(kinds, sides, strict=True):
            tracker, sign, limit_N = kind.tracker, kind.sign, kind.limit_N
            excess, may_start = side.excess, side.may_start
            settled = side.settled | held
            patience_s = np.where(side.eased & ~held, np.inf, PATIENCE_S)
            # What friction may hold at a stop waits until slips are usually set.
            at_stop = column["held_drag_N"] > np.maximum(excess - limit_N, 0.0)
            patience_s = np.where(settled & at_stop, STOP_PATIENCE_S, patience_s)
            back = may_be_back(rows, sign, np.maximum(limit_N, column["sure_N"]))
            patience_s = np.where(settled & back, turning_seen_s(rows), patience_s)
            settled &= side.way & ~at_stop & ~back
            if sign < 0:
                patience_s = np.maximum(patience_s, LONGEST_SET_S)
                may_start = may_start & ~column["near_bottom"]
                taken = slow & (excess > TAKEN_SHARE * string)
                settled &= ~(falling | taken)
            # What is settled and yet no more than ringing may do must outlast half a swing.
            patience_s = np.where(settled, column["half_swing_s"], patience_s)
            # A block that has just begun to go faster is not yet told to.
            onset = np.where(rest, 0.0, column["onset_N"])
            patience_s = np.where(settled & (excess > column["sure_N"]), ONSET_S, patience_s)
            # There is no use in waiting in waves, which last longer, but for slips.
            settled &= (excess > column["sure_N"] + onset) | (follows & (sign > 0))
            if sign > 0:
                # A string at rest takes no load by itself: a counter may not show yet that the
                # block goes back, and the friction in the sheaves turns over at once.
                patience_s = np.where(settled & rest, ONSET_S, patience_s)
                settled &= ~rest
            alarm = alarm_limit_N(rows, tracker.kind, usual, alarms, weakest)
            column[f"{tracker.kind}_excess_N"], column[f"{tracker.kind}_alarm_N"] = excess, alarm
            known = alarm[np.isfinite(alarm)]
            if len(known):
                self.alarm_N[tracker.kind] = float(known[-1])
            peak = np.where(is_plain & ~lost, peaks[kind.name], excess)
            load = np.where(is_plain, peaks["load"], column["hook_load_N"])
            judged = Judgement(
                excess=excess,
                steady=np.where(is_plain & ~lost, side.steady, excess),
                peak=peak,
                load=load,
                middle=load - sign * peak,
                limit_N=limit_N,
                band=column["lasting_band_N"],
                alarm=alarm,
                may_start=may_start,
                settled=settled,
                ends=column["phase"] == 0,
                patience_s=patience_s,
                counts=side.onward & ~column["load_is_old"],
                is_old=column["load_is_old"],
            )
            with np.errstate(invalid="ignore"):
                column["in_event"] |= may_start & (excess > limit_N)
            rows.events.extend(tracker.follow(rows, judged))
        self._ratings(rows, weakest)

    def _side(
        self,
        rows: Rows,
        kind: Kind,
        string: Floats,
        *,
        free: NDArray[np.bool_],
        rest: NDArray[np.bool_],
        follows: NDArray[np.bool_],
        lift: NDArray[np.bool_],
    ) -> Side:
        """Excess in one direction, and where it counts."""
        column, sign = rows.column, kind.sign
        middle = column[f"judged_{kind.name}_N"]
        excess = beyond_heave_N(rows, middle, sign)
        excess = np.where((column["phase"] == 2) & ~column["block_lost"], excess, NAN)
        # The vessel pulls whichever way the block goes: the friction in the sheaves must stand.
        sheaves = column["pressed"] * column["friction_state"] > BACKED
        sheaves &= np.abs(column["friction_state"]) > SETTLED
        # A block that goes back turns the friction before its direction has turned: what the
        # load seems to gain there is no pull.
        onward = np.where(follows, sheaves, sign * column["pressed"] > BACKED)
        way = may_start = sign * of_pipe(rows, "pipe_direction") > 0
        if sign > 0:
            # A string held fast gives no travel that would turn the direction: with the sheaves'
            # friction turned over, a load that stays beyond what is expected hoisting is a
            # pull. Lowering, it would be slips that take the string.
            with np.errstate(invalid="ignore"):
                beyond = excess > np.maximum(kind.limit_N, column["band_N"])
            may_start = way | (beyond & ~follows & (column["friction_state"] > SETTLED))
        may_start = may_start & free & onward
        usual_start, told = kind.break_over.follow(rows, excess, may_start, string, lift)
        short_m = np.where(told, RINGING_M, BREAK_OVER_M)
        with np.errstate(invalid="ignore"):
            begun = (of_pipe(rows, "pipe_run_m") <= short_m) & ~(excess > usual_start)
            # A string eased out of slips and held before it lets go: that is as usual at rest
            # as on the way, once starts are known.
            eased = begun & told & way & lift
            settled = (rest & ~eased) | ~begun
        steady = sign * (of_pipe(rows, "pipe_smooth_N") - middle)
        return Side(excess, steady, way, onward, may_start, settled, eased)

    def _held(self, rows: Rows, kinds: Sequence[Kind], sides: Sequence[Side]) -> NDArray[np.bool_]:
        """Rows in which something has held the string and it has not run freely since.

        A start is then no usual one: who pulls again where it was held is to be told at once.
        """
        column = rows.column
        seen = np.zeros(len(rows), dtype=bool)
        for kind, side in zip(kinds, sides, strict=True):
            sure = np.maximum(kind.limit_N, column["sure_N"])
            with np.errstate(invalid="ignore"):
                beyond = np.minimum(side.excess, side.steady) > sure
            seen |= beyond & side.settled & side.may_start & side.way
        gone = (
            (column["phase"] == 0)
            | column["on_bottom"]
            | (of_pipe(rows, "pipe_run_m") > FREE_RUN_M)
        )
        held = forward_fill(self.held, np.where(seen & ~gone, 1.0, 0.0), seen | gone)
        self.held = float(held[-1])
        result: NDArray[np.bool_] = held > 0.0
        return result

    def _peaks(self, rows: Rows) -> dict[str, Floats]:
        """Means that peaks are told by.

        A damped sensor shows little of the string's inertia: a peak is what remains with it
        and without.
        """
        column = rows.column
        load, inertia = of_pipe(rows, "pipe_load_N"), column["inertia_N"]
        up = load - np.maximum(column["judged_up_N"], column["judged_up_N"] - inertia)
        down = np.minimum(column["judged_down_N"], column["judged_down_N"] - inertia) - load
        return self.peaks.follow(rows, {"up": up, "down": down, "load": column["hook_load_N"]})

    def _falling(self, rows: Rows, string_N: Floats) -> NDArray[np.bool_]:
        load = rows.column.get("load_freed_N", rows.column["hook_load_N"])
        # A row without a load of its own is no end of the fall.
        fresh = np.isfinite(load) & ~rows.column["load_is_old"]
        known = everywhere(fresh)
        joined, kept = self.recent.join({"time_s": rows.time_s[known], "load": load[known]})
        first = max(kept - 1, 0)
        start = window_start(joined["time_s"], first, FALL_WINDOW_S)
        fell = joined["load"][start] - joined["load"][first:]
        # A median taken again after a slow row repeats what that row showed: no end of a fall.
        own = median_lag_s(joined["time_s"], first, GLITCH_SPAN_S) == 0.0
        repeats = ~own[1:] & own[:-1] & (np.diff(joined["load"][first:]) == 0.0)
        fell[1:] = np.where(repeats, fell[:-1], fell[1:])
        fall = np.zeros(len(rows))
        fall[known] = fell[kept - first :]
        fall = forward_fill(self.fallen_N, fall, fresh)
        self.fallen_N = float(fall[-1])
        limit = np.maximum(LEAST_FALL_N, FALL_SHARE * np.nan_to_num(string_N))
        reach = rows.column.get("heave_reach_N")
        if reach is not None:
            limit = limit + HEAVE_FALL_SHARE * reach
        travel = -FALL_WINDOW_S * np.nan_to_num(rows.column["quick_speed_m_s"])
        softest = SLIPS_RATE_SHARE * np.nan_to_num(string_N) / GREATEST_GIVE_M
        result: NDArray[np.bool_] = (fall > limit) & (fall > softest * travel)
        return result

    def _ratings(self, rows: Rows, weakest: Floats) -> None:
        column = rows.column
        reach = column["hook_load_N"] + column["hook_load_half_width_N"]
        in_slips = column["phase"] == 0
        column["room_left_N"] = np.where(in_slips, NAN, weakest - reach)
        everywhere = np.ones(len(rows), dtype=bool)
        judged = Judgement(
            excess=reach - weakest,
            steady=reach - weakest,
            peak=reach - weakest,
            load=column["hook_load_N"],
            middle=weakest,
            limit_N=0.0,
            band=np.zeros(len(rows)),
            alarm=np.zeros(len(rows)),
            may_start=everywhere,
            settled=everywhere,
            ends=in_slips,
            patience_s=np.full(len(rows), np.inf),
            counts=everywhere,
            is_old=column["load_is_old"],
        )
        rows.events.extend(self.over_rating.follow(rows, judged))

    def _gaps(self, rows: Rows) -> None:
        """A gap is an event from the last row before it to the first after it."""
        for row in np.flatnonzero(rows.row & Quality.GAP).tolist():
            rows.mark_open("data_gap", row, row + 1)
            if not self.gap_event:
                start = self.last_us or int(rows.time_us[row])
                self.gap_event = [int(rows.seq[row]), start, int(rows.time_us[row])]
                rows.events.append(self._gap(None))
        real = np.flatnonzero((rows.row & Quality.GAP) == 0)
        if self.gap_event and len(real):
            rows.events.append(self._gap(int(rows.time_us[real[0]])))
            self.gap_event = []
        if len(real):
            self.last_us = int(rows.time_us[real[-1]])
            self.last_depth_m = float(rows.column["bit_depth_m"][real[-1]])
            self.last_load_N = float(rows.column["hook_load_N"][real[-1]])

    def _gap(self, end_us: int | None) -> Event:
        seq, start_us, raised_us = self.gap_event
        return Event(
            seq=seq,
            kind="data_gap",
            start_us=start_us,
            raised_us=raised_us,
            end_us=end_us,
            peak_time_us=start_us,
            bit_depth_m=self.last_depth_m,
            peak_hook_load_N=self.last_load_N,
            expected_hook_load_N=NAN,
            peak_excess_N=NAN,
            confidence=1.0,
            why="no row came for longer than the gap rule allows",
            end_known_us=end_us,
        )
