"""Overpull and slack-off: load outside what is expected, long enough to be believed.

One tracker a kind. An event starts at the first row over the limit and outside the band;
it is raised when that has lasted; it ends when the load has been under the limit less a
deadband for two seconds, or slips are set.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.interpret.places import LOOK_BACK_S
from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import first_true
from monitor.model import Event, Floats

NAN = float("nan")

# Over the limit for this long, and in two rows, before it is raised: longer than noise,
# far shorter than a driller's answer. Sooner where the short mean is clear of it by this share
# of the band.
CONFIRM_S, QUICK_S = 0.3, 0.2
CLEAR_SHARE = 0.5
# Under the limit less this for so long: over (design definition).
DEADBAND_N = 10e3
CLEAR_S = 2.0
# Same kind in the same stand within this of the last: the same event (design definition).
JOIN_S = 10.0
# What is known of a peak, and how many that each outdid the one before are kept beside the
# first: more rows than slips take the load in.
PEAK = ("peak", "peak_us", "load", "middle", "depth", "confidence")
PEAKS_KEPT = 200


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a tracker reads, a value a row. ``excess`` is positive in the kind's direction."""

    excess: Floats
    steady: Floats  # the same without noise
    peak: Floats  # what a peak is told by
    load: Floats  # hook load that belongs to it
    middle: Floats  # what was expected of that load
    limit_N: float
    band: Floats
    alarm: Floats
    may_start: Any
    settled: Any
    ends: Any
    counts: Any  # rows a peak may lie in
    patience_s: Floats  # a run this long is raised although not settled
    is_old: Any  # rows without a load of their own: they neither confirm nor end anything


class Tracker(Carried):
    """Follows one kind of event through the rows."""

    STATE = ("event", "run_s", "run_us", "run_rows", "under_s", "under_us", "ended_s", "alarmed")

    def __init__(self, kind: str, why: str) -> None:
        self.kind = kind
        self.why = why
        self.event: dict[str, Any] | None = None
        self.run_s = NAN
        self.run_us = 0
        self.run_rows = 0
        self.under_s = NAN
        self.under_us = 0
        self.ended_s = NAN
        self.alarmed = False

    def gap(self) -> None:
        """A run does not reach across a gap; an open event stays open."""
        self.run_s, self.run_rows, self.under_s = NAN, 0, NAN

    def follow(self, rows: Rows, judged: Judgement) -> list[Event]:
        """Return the events that began or changed in these rows."""
        with np.errstate(invalid="ignore"):
            # Noise does not end a run whose short mean is over; nor does it raise one alone.
            believed = np.maximum(judged.limit_N, judged.band)
            sustained = judged.steady > believed
            # A load that comes off may be slips that take the string: no haste there.
            far = CLEAR_SHARE * judged.band if self.kind == "overpull" else np.inf
            clear = judged.steady > believed + far
            over = judged.may_start & ((judged.excess > believed) | sustained)
            under = ~(judged.excess >= judged.limit_N - DEADBAND_N)
            under &= np.isfinite(judged.excess) | judged.ends
            fresh = ~judged.is_old
            over, ends_run = over & fresh, ~over & fresh
            under, ends_under = under & fresh, ~under & fresh
        changed: dict[str, Event] = {}
        row = 0
        while row < len(rows):
            if self.event is not None and self.event["end_us"] is None:
                start, row = row, self._while_open(rows, judged, (under, ends_under), row)
                rows.mark_open(self.kind, start, row)
            else:
                row = self._while_closed(rows, judged, (over, ends_run), (sustained, clear), row)
            if self.event is not None and self.event["touched"]:
                self.event["touched"] = False
                event = self._as_event()
                changed[event.id] = event
        return list(changed.values())

    def _while_closed(
        self,
        rows: Rows,
        judged: Judgement,
        run: tuple[Any, Any],
        mean: tuple[Any, Any],
        row: int,
    ) -> int:
        (over, ends_run), (sustained, clear) = run, mean
        if not math.isfinite(self.run_s):
            row = first_true(lambda part: over[part], row, len(rows))
            if row == len(rows):
                return row
            self.run_s, self.run_us = float(rows.time_s[row]), int(rows.time_us[row])
            self.run_rows = 0
        stop = first_true(lambda part: ends_run[part], row, len(rows))
        fresh = ~judged.is_old[row:stop]
        seen = self.run_rows + np.cumsum(fresh)
        lasted_s = rows.time_s[row:stop] - self.run_s + 5e-4
        long_enough = (lasted_s >= CONFIRM_S) | ((lasted_s >= QUICK_S) & clear[row:stop])
        long_enough &= fresh & (seen >= 2)
        patient = rows.time_s[row:stop] - self.run_s > judged.patience_s[row:stop]
        sure = long_enough & sustained[row:stop] & (judged.settled[row:stop] | patient)
        if sure.any():
            raised = row + int(np.argmax(sure))
            self._raise(rows, judged, raised)
            return raised
        self.run_rows += int(np.count_nonzero(fresh))
        if stop < len(rows):
            self.run_s, self.run_rows = NAN, 0
        return stop

    def _raise(self, rows: Rows, judged: Judgement, row: int) -> None:
        again = (
            self.event is not None
            and self.run_s - self.ended_s < JOIN_S
            and self.event["stand"] == float(rows.column["set_count"][row])
        )
        if not again:
            self.event = {
                "seq": int(rows.seq[row]),
                "start_us": self.run_us,
                "raised_us": int(rows.time_us[row]),
                "peak": -math.inf,
                "peaks": [],
                "stand": float(rows.column["set_count"][row]),
            }
            self.alarmed = False
        if self.event is not None:
            self.event.update(end_us=None, end_known_us=None, touched=True)
        self._peak(rows, judged, row, row + 1)
        self.run_s, self.run_rows, self.under_s = NAN, 0, NAN

    def _while_open(self, rows: Rows, judged: Judgement, spell: tuple[Any, Any], row: int) -> int:
        under, ends_under = spell
        if math.isfinite(self.under_s):
            leaves = first_true(lambda part: ends_under[part], row, len(rows))
            until = self.under_s + CLEAR_S - 5e-4
            cleared = int(np.searchsorted(rows.time_s, until))
            ended = int(min(cleared, _first(judged.ends, row, leaves)))
            ended = max(ended, row)
            if ended < leaves:
                self._peak(rows, judged, row, ended)
                self._leave_out_slips(rows, ended)
                self._end(int(rows.time_us[ended]))
                return ended
            self._peak(rows, judged, row, leaves)
            if leaves < len(rows):
                self.under_s = NAN
            return leaves
        begins = first_true(lambda part: under[part], row, len(rows))
        self._peak(rows, judged, row, begins)
        if begins < len(rows):
            self.under_s = float(rows.time_s[begins])
            self.under_us = int(rows.time_us[begins])
        return begins

    def _leave_out_slips(self, rows: Rows, row: int) -> None:
        """What came off the hook into slips set by now was no part of a slack-off."""
        event = self.event
        turns = [turn for turn in rows.turns if turn.row == row and turn.kind == "set"]
        if event is None or self.kind != "slack_off" or not turns:
            return
        # Slips take a load on the last way down; higher or longer ago was the string's own.
        from_us = int(rows.time_us[row]) - round(1e6 * LOOK_BACK_S)
        before = [p for p in event["peaks"] if p[0] >= turns[0].block_m or p[2] < from_us]
        if len(before) < len(event["peaks"]):
            own = before[-1] if before else event["peaks"][0]
            event.update(zip(PEAK, own[1:], strict=True))

    def _end(self, known_us: int) -> None:
        if self.event is not None:
            self.event.update(end_us=self.under_us, end_known_us=known_us, touched=True)
            self.ended_s = self.under_s
        self.under_s = NAN

    def _peak(self, rows: Rows, judged: Judgement, start: int, stop: int) -> None:
        event = self.event
        if event is None or stop <= start:
            return
        counts = judged.counts[start:stop]
        with np.errstate(invalid="ignore"):
            alarmed = np.any(counts & (judged.steady[start:stop] > judged.alarm[start:stop]))
        if alarmed and not self.alarmed:
            self.alarmed = event["touched"] = True
        peak = judged.peak[start:stop]
        peak = np.where(counts & np.isfinite(peak), peak, -1e30)
        before = np.maximum.accumulate(np.concatenate(([event["peak"]], peak)))[:-1]
        greater = (start + np.flatnonzero(peak > before))[-PEAKS_KEPT:]
        if not len(greater):
            return
        for row in greater.tolist():
            spread = max(float(judged.band[row]) / 2.0, 1.0)
            event["peaks"].append(
                [
                    float(np.nan_to_num(rows.column["block_m"][row])),
                    float(judged.peak[row]),
                    int(rows.time_us[row]),
                    float(judged.load[row]),
                    float(judged.middle[row]),
                    float(rows.column["bit_depth_m"][row]),
                    confidence(float(judged.peak[row]) - judged.limit_N, spread),
                ]
            )
        del event["peaks"][1:-PEAKS_KEPT]
        event.update(zip(PEAK, event["peaks"][-1][1:], strict=True), touched=True)

    def _as_event(self) -> Event:
        event = self.event or {}
        return Event(
            seq=event["seq"],
            kind=self.kind,
            start_us=event["start_us"],
            raised_us=event["raised_us"],
            end_us=event["end_us"],
            peak_time_us=event["peak_us"],
            bit_depth_m=event["depth"],
            peak_hook_load_N=event["load"],
            expected_hook_load_N=event["middle"],
            peak_excess_N=event["peak"],
            confidence=event["confidence"],
            why=self.why,
            alarm=self.alarmed,
            end_known_us=event["end_known_us"],
        )


def confidence(over_N: float, spread_N: float) -> float:
    """Probability that the true excess passes the limit, ``over_N`` above it as measured."""
    return 0.5 * (1.0 + math.erf(over_N / spread_N / 2**0.5))


def _first(condition: Any, start: int, stop: int) -> int:
    return first_true(lambda part: condition[part], start, stop)
