"""Which rows a kind of event is judged in, and against what."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.heave import beyond_heave_N
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.tracker import Judgement, Tracker
from monitor.interpret.windows import Tail, window_start
from monitor.mechanics.pipe_limits import pipe_pull_by_depth
from monitor.mechanics.ratings import InUse, hoist_limits, in_use_at_first
from monitor.model import Event, Floats, Quality
from monitor.rig.rig import Rig

NAN = float("nan")

# After a stop or a pick-up static friction and the string's stretch show for this travel.
BREAK_OVER_M = 1.2
# A stop must last this long before the load is judged as that of a string at rest.
AT_REST_S = 1.0
# More than this over the limit is no break-over: raised at once.
BREAK_OVER_SHARE = 0.15
# Static friction has broken, and what it excited has rung down, after so long.
LONGEST_BREAK_OVER_S = 2.5
LEAST_BREAK_OVER_N = 80e3
# A load that still falls this much in so short a time may be slips taking the string: a
# slack-off is raised when the fall has stopped, at the latest after the longest slips set.
FALL_WINDOW_S = 0.3
LEAST_FALL_N = 6e3
FALL_SHARE = 0.008
# Heave of 8 s takes off this share of half its swing in that time at most (2 pi / 8 * 0.3).
HEAVE_FALL_SHARE = 0.24
LONGEST_SET_S = 5.0
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
        "recent",
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
        self.recent = Tail(("time_s", "load"), FALL_WINDOW_S + 0.1, 1)
        self.alarm_N = {"overpull": NAN, "slack_off": NAN}
        self.gap_event: list[int] = []
        self.last_us = 0
        self.last_depth_m = NAN
        self.last_load_N = NAN

    def gap(self) -> None:
        """Runs that would make an event do not reach across a gap."""
        for tracker in (self.overpull, self.slack_off, self.over_rating):
            tracker.gap()
        self.recent.clear()

    def weakest_N(self, bit_depth_m: Floats) -> Floats:
        """Least hook load at which something reaches its rating; NaN with no rating.

        The pipe's limit goes by the bit depth, and is the least of any depth where that is
        not known.
        """
        in_use = self.in_use()
        hoist_N = min((limit.limit_N for limit in hoist_limits(self.rig, in_use)), default=NAN)
        depths, pulls = self.pipe_pull
        if not len(depths):
            return np.full(len(bit_depth_m), hoist_N)
        pull = np.interp(bit_depth_m, depths, pulls)
        pull = np.where(np.isfinite(bit_depth_m), pull, pulls.min())
        weakest: Floats = np.fmin(hoist_N, pull + in_use.travelling_weight_N)
        return weakest

    def step(self, rows: Rows) -> None:
        """Follow every kind through the rows; derive the room left."""
        column = rows.column
        changes = np.zeros(len(rows))
        for turn in rows.turns:
            if turn.kind == "set":
                changes[turn.row] += 1.0
        column["set_count"] = self.sets + np.cumsum(changes)
        self.sets = float(column["set_count"][-1])
        self._gaps(rows)
        band = column["band_N"]
        hanging = column["phase"] == 2
        free = hanging & ~column["on_bottom"]
        string = np.maximum(column["expected_N"] - self.rig.travelling_weight_N, 0.0)
        big = np.maximum(LEAST_BREAK_OVER_N, BREAK_OVER_SHARE * string)
        rest = (column["moving"] == 0) & (column["still_s"] > AT_REST_S)
        usual = np.maximum(np.maximum(ALARM_N, ALARM_SHARE * string), 2.0 * band)
        falling = self._falling(rows, string)
        # A load that is just coming off is no excess yet: slips may be taking the string.
        coming_off = falling & (column["excess_N"] < -column["band_below_N"])
        column["excess_N"] = np.where(coming_off, NAN, column["excess_N"])
        column["in_event"] = np.zeros(len(rows), dtype=bool)
        limits, alarms = self.rig.events, self.rig.alarms
        kinds = (
            (self.overpull, 1.0, "expected_up_N", limits.overpull_N, alarms.overpull_N),
            (self.slack_off, -1.0, "expected_down_N", limits.slack_off_N, alarms.slack_off_N),
        )
        for tracker, sign, middle, limit_N, alarm_N in kinds:
            excess = np.where(hanging, beyond_heave_N(rows, column[middle], sign), NAN)
            column[f"{tracker.kind}_excess_N"] = excess
            may_start = free & (sign * column["direction"] > 0)
            settled = rest | (column["run_travel_m"] > BREAK_OVER_M) | (excess > limit_N + big)
            if sign < 0:
                may_start &= ~column["near_bottom"]
                settled &= ~falling
            alarm = usual if alarm_N is None else np.full(len(rows), alarm_N)
            known = alarm[np.isfinite(alarm)]
            if len(known):
                self.alarm_N[tracker.kind] = float(known[-1])
            judged = Judgement(
                excess=excess,
                middle=column[middle],
                limit_N=limit_N,
                band=column["band_above_N" if sign > 0 else "band_below_N"],
                alarm=alarm,
                may_start=may_start,
                settled=settled,
                ends=column["phase"] == 0,
                patience_s=LONGEST_SET_S if sign < 0 else LONGEST_BREAK_OVER_S,
            )
            with np.errstate(invalid="ignore"):
                column["in_event"] |= may_start & (excess > limit_N)
            rows.events.extend(tracker.follow(rows, judged))
        self._ratings(rows)

    def _falling(self, rows: Rows, string_N: Floats) -> NDArray[np.bool_]:
        joined, kept = self.recent.join(
            {
                "time_s": rows.time_s,
                "load": rows.column.get("load_freed_N", rows.column["hook_load_N"]),
            }
        )
        start = window_start(joined["time_s"], kept, FALL_WINDOW_S)
        fall = joined["load"][start] - joined["load"][kept:]
        limit = np.maximum(LEAST_FALL_N, FALL_SHARE * np.nan_to_num(string_N))
        reach = rows.column.get("heave_reach_N")
        if reach is not None:
            limit = limit + HEAVE_FALL_SHARE * reach
        result: NDArray[np.bool_] = fall > limit
        return result

    def _ratings(self, rows: Rows) -> None:
        column = rows.column
        weakest = self.weakest_N(column["bit_depth_m"])
        reach = column["hook_load_N"] + column["hook_load_half_width_N"]
        in_slips = column["phase"] == 0
        column["room_left_N"] = np.where(in_slips, NAN, weakest - reach)
        everywhere = np.ones(len(rows), dtype=bool)
        judged = Judgement(
            excess=reach - weakest,
            middle=weakest,
            limit_N=0.0,
            band=np.zeros(len(rows)),
            alarm=np.zeros(len(rows)),
            may_start=everywhere,
            settled=everywhere,
            ends=in_slips,
        )
        rows.events.extend(self.over_rating.follow(rows, judged))

    def _gaps(self, rows: Rows) -> None:
        """A gap is an event from the last row before it to the first after it."""
        for row in np.flatnonzero(rows.row & Quality.GAP).tolist():
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
        )
