"""The one rule by which rows get numbers, late marks, gap markers and epochs.

The same class serves live and batch. Any cut of the stream gives the same samples, and its
state can be written down and taken up again. The arithmetic is on whole microseconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from monitor.ingest.assembly import Assembly, HeldRow
from monitor.ingest.intervals import Intervals, SECOND_us
from monitor.ingest.rows import Rows
from monitor.model import Ints, Quality, Samples

JUMP_us = 60 * SECOND_us  # a row so far ahead waits until the next confirms it
STEP_us = 10 * SECOND_us  # late rows consistent for so long are a clock step
STEP_ROWS = 3
SHORT_us = 5 * SECOND_us  # never a gap, whatever the sampling


@dataclass(frozen=True, slots=True)
class Finding:
    """Something said about one row: ``kind`` is "late", "unconfirmed" or "step"."""

    kind: str
    line: int
    time_us: int
    newest_us: int


@dataclass(slots=True)
class _LateRun:
    """Late rows since the last row that was newer, as far as they are in order themselves."""

    first_us: int
    last_us: int
    n_rows: int = 1


@dataclass(slots=True)
class _State:
    next_seq: int = 1
    newest_us: int | None = None
    marker_us: int | None = None  # stamp of a marker already given for the present gap
    abandoned_us: int | None = None  # where the clock stood before it stepped back
    branch_us: int = 0  # first stamp after that step
    longest_side_us: int = 0  # longest run of late rows that turned out to be a second kind
    overlap: bool = False  # at the start of a further file: late rows are overlap, no step
    late_run: _LateRun | None = None
    held: HeldRow | None = None
    intervals: list[int] = field(default_factory=list)


class Numbering:
    """Turns rows in order of arrival into samples.

    ``findings`` collects what is to be said of the rows of the last ``feed``; ``n_late``,
    ``n_unconfirmed``, ``n_steps`` and ``n_gaps`` count since the beginning.
    """

    def __init__(self, channels: Sequence[str], *, next_seq: int = 1) -> None:
        self.channels = tuple(channels)
        self.findings: list[Finding] = []
        self.totals = {"rows": 0, "late": 0, "unconfirmed": 0, "step": 0, "gap": 0}
        self._s = _State(next_seq=next_seq)
        self._intervals = Intervals()

    # -- what others use ---------------------------------------------------------------

    @property
    def newest_us(self) -> int | None:
        """Stamp of the newest row that was accepted."""
        return self._s.newest_us

    @property
    def last_seq(self) -> int:
        """The last number given."""
        return self._s.next_seq - 1

    def take_seq(self) -> int:
        """Give a number to a command: after all rows given so far, before the next."""
        seq = self._s.next_seq
        self._s.next_seq += 1
        return seq

    def new_file(self) -> None:
        """Tell that a further file begins: what it repeats of the one before is late."""
        self._s.overlap = self._s.newest_us is not None
        self._s.late_run = None

    def end_overlap(self) -> None:
        """Tell that what comes now is new, so that late rows may be a clock step again."""
        self._s.overlap = False
        self._s.late_run = None

    def feed(self, rows: Rows) -> Samples:
        """Give the next rows their numbers; one far ahead may be held until later."""
        self.findings = []
        out = Assembly(rows)
        steps = np.diff(rows.time_us)
        irregular = np.flatnonzero((steps <= 0) | (steps > JUMP_us)) + 1
        unsteady = np.flatnonzero((steps <= 0) | (steps > SHORT_us)) + 1
        index = 0
        while index < len(rows):
            accepted = self._row(out, rows, index)
            index += 1
            if accepted and index < len(rows):
                stops = irregular if self._s.abandoned_us is None else unsteady
                after = int(np.searchsorted(stops, index))
                stop = int(stops[after]) if after < len(stops) else len(rows)
                self._run(out, rows.time_us, steps, index, stop)
                index = stop
        return self._samples(out)

    def finish(self) -> Samples | None:
        """End of the input: a row still held was never confirmed and is given as late."""
        self.findings = []
        if self._s.held is None:
            return None
        out = Assembly.empty(self.channels)
        self._refuse_held(out)
        return self._samples(out)

    def gap_due_us(self) -> int | None:
        """Stamp of the marker that comes if nothing newer comes; None when it was given."""
        if self._s.newest_us is None or self._s.marker_us is not None:
            return None
        return self._s.newest_us + self._intervals.gap_us()

    def idle(self, source_now_us: int) -> Samples | None:
        """Live: the source's clock stands at ``source_now_us`` and nothing newer has come.

        Gives the gap marker once it is due, with the stamp that batch gives it.
        """
        due_us = self.gap_due_us()
        if due_us is None or source_now_us <= due_us:
            return None
        out = Assembly.empty(self.channels)
        self._mark(out, due_us)
        return self._samples(out)

    def state(self) -> dict[str, Any]:
        """All that is carried, as JSON."""
        self._s.intervals = self._intervals.recent
        return {"channels": list(self.channels), "totals": dict(self.totals), **asdict(self._s)}

    @classmethod
    def restore(cls, state: dict[str, Any]) -> Numbering:
        """Go on from a state written down."""
        values = dict(state)
        numbering = cls(values.pop("channels"))
        numbering.totals = dict(values.pop("totals"))
        if values["late_run"] is not None:
            values["late_run"] = _LateRun(**values["late_run"])
        if values["held"] is not None:
            values["held"] = HeldRow(**values["held"])
        numbering._s = _State(**values)
        numbering._intervals = Intervals(numbering._s.intervals)
        return numbering

    # -- one row -----------------------------------------------------------------------

    def _row(self, out: Assembly, rows: Rows, index: int) -> bool:
        """Judge one row; whether it was accepted and the next may follow in a run."""
        time_us = int(rows.time_us[index])
        if self._s.held is not None:
            if time_us >= self._s.held.time_us:
                self._confirm_held(out)
            else:
                self._refuse_held(out)
        newest_us = self._s.newest_us
        if newest_us is None:
            self._accept(out, index, time_us)
            return True
        if time_us <= newest_us or time_us <= (self._s.marker_us or newest_us):
            return self._late(out, rows, index, time_us)
        if self._jumps(time_us, time_us - newest_us):
            self._s.held = HeldRow.of(rows, index)
            return False
        self._accept(out, index, time_us)
        return True

    def _jumps(self, time_us: int, step_us: int) -> bool:
        gap_us = self._intervals.gap_us()
        if step_us > max(JUMP_us, gap_us):
            return True
        # After a step back, rows of the abandoned time line may still come in between.
        abandoned_us = self._s.abandoned_us
        return abandoned_us is not None and time_us > abandoned_us and step_us > gap_us

    def _accept(self, out: Assembly, index: int, time_us: int, flag: int = 0) -> None:
        if self._s.newest_us is not None and not flag:
            self._close_gap(out, time_us)
            self._intervals.add(time_us - self._s.newest_us)
        out.row(index, time_us, flag)
        self._advance(time_us)

    def _close_gap(self, out: Assembly, time_us: int) -> None:
        due_us = self.gap_due_us()
        if due_us is not None and time_us > due_us:
            self._mark(out, due_us)

    def _mark(self, out: Assembly, stamp_us: int) -> None:
        out.marker(stamp_us)
        self.totals["gap"] += 1
        self._s.marker_us = stamp_us

    def _advance(self, time_us: int) -> None:
        """Take a stamp as the newest; late rows before it were a second kind, not a step."""
        s = self._s
        if s.late_run is not None:
            s.longest_side_us = max(s.longest_side_us, s.late_run.last_us - s.late_run.first_us)
            s.late_run = None
        s.newest_us, s.marker_us, s.overlap = time_us, None, False
        if s.abandoned_us is not None and time_us > s.abandoned_us:
            s.abandoned_us = None

    def _late(self, out: Assembly, rows: Rows, index: int, time_us: int) -> bool:
        """Keep a row that is not newer; after 10 s of consistent ones the clock has stepped."""
        s = self._s
        assert s.newest_us is not None
        run = s.late_run
        if run is None or not 0 <= time_us - run.last_us <= JUMP_us:
            run = s.late_run = _LateRun(time_us, time_us)
        else:
            run.last_us = time_us
            run.n_rows += 1
        needed_us = max(STEP_us, 3 * s.longest_side_us)
        line = int(rows.line[index])
        if not s.overlap and run.n_rows >= STEP_ROWS and time_us - run.first_us >= needed_us:
            self.findings.append(Finding("step", line, time_us, s.newest_us))
            self.totals["step"] += 1
            s.abandoned_us, s.branch_us = s.newest_us, run.first_us
            s.late_run = None
            self._accept(out, index, time_us, int(Quality.EPOCH))
            return True
        self._find("late", line, time_us)
        out.row(index, time_us, int(Quality.LATE))
        return False

    def _find(self, kind: str, line: int, time_us: int) -> None:
        self.totals[kind] += 1
        if len(self.findings) < 20:
            self.findings.append(Finding(kind, line, time_us, self._s.newest_us or 0))

    # -- the held row ------------------------------------------------------------------

    def _confirm_held(self, out: Assembly) -> None:
        s, held = self._s, self._s.held
        assert held is not None
        assert s.newest_us is not None
        if s.abandoned_us is not None and held.time_us > s.abandoned_us:
            # The old time line goes on: what looked like a step was a second kind of rows.
            s.longest_side_us = max(s.longest_side_us, s.newest_us - s.branch_us)
        s.held = None
        self._close_gap(out, held.time_us)
        self._intervals.add(held.time_us - s.newest_us)
        out.held(held, 0)
        self._advance(held.time_us)

    def _refuse_held(self, out: Assembly) -> None:
        held = self._s.held
        assert held is not None
        self._s.held = None
        self._find("unconfirmed", held.line, held.time_us)
        out.held(held, int(Quality.LATE))

    # -- many rows at once -------------------------------------------------------------

    def _run(self, out: Assembly, times: Ints, steps: Ints, start: int, stop: int) -> None:
        """Accept rows ``start`` to ``stop``, each newer than the one before by 60 s at most."""
        if start == stop:
            return
        part = steps[start - 1 : stop - 1]
        long = np.flatnonzero(part > SHORT_us)
        begin = start
        if len(long):
            gaps_us = self._intervals.gaps_before(part, long)
            for at, gap_us in zip(long, gaps_us, strict=True):
                if part[at] > gap_us:
                    index = start + int(at)
                    out.rows(begin, index)
                    out.marker(int(times[index - 1]) + int(gap_us))
                    self.totals["gap"] += 1
                    begin = index
        out.rows(begin, stop)
        self._intervals.extend(part)
        self._advance(int(times[stop - 1]))

    def _samples(self, out: Assembly) -> Samples:
        samples = out.samples(self.channels, self._s.next_seq)
        self._s.next_seq += len(samples)
        self.totals["rows"] += out.n_read()
        return samples
