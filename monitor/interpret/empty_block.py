"""The empty block as a known weight: wrong line count and zero drift, once a connection.

Only seconds are read in which the empty block moves steadily, five seconds after slips were
set, each direction by itself since rail and sheave friction differ. The weight of line
between the blocks makes the reading fall with height: that slope is learnt and taken out.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.levels import LOW_PART
from monitor.interpret.lowest_level import LowestLevel, Second, steady_seconds
from monitor.interpret.slips import SETTLE_S
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.zero_chart import (
    CHECKS_KEPT,
    DRIFT_SHARE,
    ODD_N,
    ODD_SHARE,
    REFERENCE_CHECKS,
    ZeroChart,
)
from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.metrology.line_count import KnownWeight, LineCountOdds, line_count_odds
from monitor.metrology.uncertainty import RECTANGLE, ZERO_SHARE
from monitor.model import Command, EmptyCheck, Event, Quality
from monitor.rig.rig import Rig

NAN = float("nan")

# Seconds of one direction that make a check: about 3 m at an unhurried empty block.
LEAST_SECONDS = 6
# Seconds of one spell that are kept: two minutes of movement are more than one stroke.
MOST_SECONDS = 120
# Squared metres from the mean at which the learnt slope is believed by half: one stroke of
# 20 m seen in seconds.
SLOPE_PRIOR_M2 = 2000.0
# What line between the blocks takes off (16 lines of 70 N/m) and a mud hose adds (half of
# 440 N/m), per metre of height; a slope beyond these is something else.
LEAST_SLOPE_N_M, GREATEST_SLOPE_N_M = -1.1e3, 0.25e3

# What another line count shows is met within this share (design definition).
RATIO_SHARE = 0.03
# A block this near its declared weight asks nothing.
AGREES_SHARE = 0.05
# Checks in a row that must say the same; more once the declared count has agreed.
CHECKS_IN_A_ROW, CHECKS_AFTER_AGREEMENT = 2, 3
LEAST_LINES, MOST_LINES = 4, 16

# Span where the rig file gives none: a dead-line anchor for 100 klbf single-line load.
USUAL_SPAN_N = 450e3
# No weighing tells the zero better than this share of the span: our choice.
LEAST_ZERO_SHARE = 0.0005
# How well a declared travelling weight is known (mud on it, hose, cables), and a single
# weighing repeats, standard uncertainties: our choices.
WEIGHT_SHARE, SCATTER_SHARE = 0.02, 0.01

DIRECTIONS = ("up", "down")
# Acts after which the block weighs, or reads, something else.
KNOWN_ANEW = (
    "lines_strung",
    "travelling_weight",
    "slip_and_cut",
    "calibration_approved",
    "calibration_rolled_back",
)


class EmptyBlock(Stage):
    """Raises ``line_count_suspect`` and ``zero_drift``."""

    STATE = (
        "lines_strung",
        "declared_N",
        "lines",
        "drift",
        "since_us",
        "spell",
        "slope",
        "up",
        "down",
        "agreed",
        "suspects",
        "said",
        "as_reported",
        "weighed",
        "lowest",
    )

    def __init__(self, rig: Rig) -> None:
        self.reeving = rig.reeving
        self.span_N = USUAL_SPAN_N if rig.sensor.span_N is None else rig.sensor.span_N
        self.lines_strung = rig.reeving.lines_strung
        self.declared_N = rig.travelling_weight_N
        self.lines = Watch("line_count_suspect", confirm_s=0.0, clear_s=0.0)
        self.drift = Watch("zero_drift", confirm_s=0.0, clear_s=0.0)
        self.since_us = -1  # when slips were set; none: nothing is read
        self.spell: dict[str, list[list[float]]] = {name: [] for name in DIRECTIONS}
        self.up, self.down = ZeroChart(), ZeroChart()
        self.lowest = LowestLevel()
        self.as_reported = False
        self._forget()

    def _forget(self) -> None:
        """Start the charts anew: lines, gear or zero are no longer what they were."""
        self.slope = [0.0, 0.0]  # sums of height squared and of height times load
        self.up.clear()
        self.down.clear()
        self.lowest.clear()
        # Tensions read of each direction since then, for the odds of the line count.
        self.weighed: dict[str, list[float]] = {name: [] for name in DIRECTIONS}
        self.agreed = False
        self.suspects = [0, 0]  # line count that the checks say, how many in a row
        self.said: dict[str, Any] = {
            "lines": "",
            "lines_N": NAN,
            "drift": "",
            "drift_N": NAN,
            "zero_N": ZERO_SHARE * self.span_N / RECTANGLE,
        }

    def gap(self) -> None:
        """Who carried the string in a gap is not known."""
        self.lines.gap()
        self.drift.gap()
        self.lowest.gap()
        self.since_us = -1
        self.spell = {name: [] for name in DIRECTIONS}

    def command(self, command: Command) -> None:
        """Another line count, other gear, another cut: what hangs there is known anew."""
        if command.act == "lines_strung" and math.isfinite(command.number):
            self.lines_strung = int(command.number)
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.declared_N = command.number
        if command.act in KNOWN_ANEW:
            self._forget()

    def step(self, rows: Rows) -> None:
        """Read the seconds; check at every pick-up."""
        marks = [(0, self.said)]
        # Until slips are told apart and the block was weighed in them, all movement is read.
        is_weighed = any(self.weighed.values())
        seconds = steady_seconds(rows, any_phase=not is_weighed)
        order = [(second.row, 0, place) for place, second in enumerate(seconds)]
        order += [(turn.row, 1, place) for place, turn in enumerate(rows.turns)]
        for row, is_turn, place in sorted(order):
            if not is_turn:
                self._read(seconds[place])
                if not is_weighed:
                    self._without_slips(rows, seconds[place], marks)
                continue
            turn = rows.turns[place]
            if turn.kind == "pick_up" and self.since_us >= 0:
                self._check(rows, row)
                marks.append((row, self.said))
            self.since_us = turn.time_us if turn.kind == "set" else -1
            self.spell = {name: [] for name in DIRECTIONS}
        index = _index(rows, marks)
        rows.column["zero_variance_N2"] = np.array([s["zero_N"] ** 2 for _, s in marks])[index]
        for kind, watch in (("lines", self.lines), ("drift", self.drift)):
            rows.events.extend(_told(rows, watch, kind, marks, index))

    def _read(self, second: Second) -> None:
        if self.since_us < 0 or second.start_us < self.since_us + SETTLE_S * 1e6:
            return
        name = "up" if second.friction > 0 else "down"
        if second.is_empty and len(self.spell[name]) < MOST_SECONDS:
            self.spell[name] = [*self.spell[name], [second.block_m, second.load_N]]

    def _without_slips(
        self,
        rows: Rows,
        second: Second,
        marks: list[tuple[int, dict[str, Any]]],
    ) -> None:
        """Before any weighing in slips: the line count by the lowest level that moves."""
        if any(self.weighed.values()):
            return
        found = self.lowest.take(second)
        if found is None:
            return
        row = second.row
        self.as_reported = bool(rows.column["load_quality"][row] & Quality.AS_REPORTED)
        self.said = {**self.said, **self._line_count(dict([found]))}
        marks.append((row, self.said))

    def _check(self, rows: Rows, row: int) -> None:
        """One spell is over: what the block weighed in it, in each direction."""
        checks: dict[str, tuple[float, float]] = {}
        for name in DIRECTIONS:
            entries = self.spell[name]
            if len(entries) < LEAST_SECONDS:
                continue
            height = sum(entry[0] for entry in entries) / len(entries)
            mean = sum(entry[1] for entry in entries) / len(entries)
            self.slope = [
                self.slope[0] + sum((h - height) ** 2 for h, _ in entries),
                self.slope[1] + sum((h - height) * (load - mean) for h, load in entries),
            ]
            slope = self._slope_N_m()
            flat = sorted(load - slope * (h - height) for h, load in entries)
            checks[name] = (height, flat[len(flat) // LOW_PART])
        if not checks:
            return
        self.as_reported = bool(rows.column["load_quality"][row] & Quality.AS_REPORTED)
        self.said = {
            **self._line_count(checks),
            **self._zero(checks, rows, row),
        }

    def _at(self, check: tuple[float, float], height_m: float) -> float:
        return check[1] + self._slope_N_m() * (height_m - check[0])

    def _slope_N_m(self) -> float:
        slope = self.slope[1] / (self.slope[0] + SLOPE_PRIOR_M2)
        return min(max(slope, LEAST_SLOPE_N_M), GREATEST_SLOPE_N_M)

    def _factor(self, n_lines: int, name: str) -> float:
        """Hook load over tension as it was converted."""
        if self.as_reported:
            return float(n_lines)
        factor = load_factor_hoisting if name == "up" else load_factor_lowering
        reeving = self.reeving
        return factor(n_lines, reeving.sheave_efficiency, reeving.dead_line_sheave)

    def _line_count(self, checks: dict[str, tuple[float, float]]) -> dict[str, Any]:
        """Find the line count that would show the declared weight as what is shown."""
        shown = self._shown_N(checks)
        ratio = shown / self.declared_N
        if abs(ratio - 1.0) <= AGREES_SHARE:
            self.agreed, self.suspects = True, [0, 0]
            return {"lines": "", "lines_N": NAN}
        found = 0
        for n_lines in range(LEAST_LINES, MOST_LINES + 1, 2):
            would = sum(
                self._factor(self.lines_strung, name) / self._factor(n_lines, name)
                for name in checks
            ) / len(checks)
            if n_lines != self.lines_strung and abs(ratio / would - 1.0) <= RATIO_SHARE:
                found = n_lines
        self.suspects = [found, self.suspects[1] + 1 if found == self.suspects[0] else 1]
        needed = CHECKS_AFTER_AGREEMENT if self.agreed else CHECKS_IN_A_ROW
        if not found or self.suspects[1] < needed:
            return {"lines": "", "lines_N": NAN}
        words = (
            f"the empty block reads {shown / 1e3:.0f} kN, declared {self.declared_N / 1e3:.0f} kN:"
            f" what {found} lines show where {self.lines_strung} are set, in "
            f"{self.suspects[1]} connections; count the lines"
        )
        return {"lines": words, "lines_N": shown - self.declared_N}

    def _shown_N(self, checks: dict[str, tuple[float, float]]) -> float:
        """Weight less what the line between the blocks takes off, known only at the anchor.

        Of the lower direction where pipe hung in the other.
        """
        slope = min(self._slope_N_m(), 0.0)
        levels = [level - slope * height for height, level in checks.values()]
        if max(levels) - min(levels) > max(ODD_N, ODD_SHARE * self.declared_N):
            return min(levels)
        return sum(levels) / len(levels)

    def _zero(
        self, checks: dict[str, tuple[float, float]], rows: Rows, row: int
    ) -> dict[str, Any]:
        """Chart the block's weight against that of the first connections."""
        said, moved = "", NAN
        for name, chart in (("up", self.up), ("down", self.down)):
            if name in checks:
                self._chart(chart, name, checks[name], rows, row)
            if chart.is_out and not said:
                moved = chart.moved_N
                way = "more" if moved > 0.0 else "less"
                said = (
                    f"the empty block going {name} reads {abs(moved) / 1e3:.0f} kN {way} than in "
                    "the first connections: the sensor's zero has drifted, or other gear hangs "
                    "there; check the zero or enter the travelling weight"
                )
        return {"drift": said, "drift_N": moved, "zero_N": self._zero_doubt_N(checks)}

    def _chart(
        self,
        chart: ZeroChart,
        name: str,
        check: tuple[float, float],
        rows: Rows,
        row: int,
    ) -> None:
        if not math.isfinite(chart.height_m):
            chart.height_m = check[0]
        level = self._at(check, chart.height_m)
        factor = self._factor(self.lines_strung, name)
        if chart.count == 0:
            # What the zero had moved by before the crew turned round is not forgotten.
            other, way = (self.down, "down") if name == "up" else (self.up, "up")
            if other.count > REFERENCE_CHECKS:
                moved = other.last_N - other.reference_N
                chart.offset_N = moved * factor / self._factor(self.lines_strung, way)
        charted = chart.check(level, DRIFT_SHARE * self.span_N * factor)
        if charted:
            self.weighed[name] = [*self.weighed[name], check[1] / factor][-CHECKS_KEPT:]
        temperature = rows.channel("temperature")
        rows.checks.append(
            EmptyCheck(
                seq=int(rows.seq[row]),
                time_us=int(rows.time_us[row]),
                direction=name,
                level_N=level,
                height_m=chart.height_m,
                tension_N=check[1] / factor,
                block_height_m=check[0],
                seconds=len(self.spell[name]),
                lines_strung=self.lines_strung,
                declared_N=self.declared_N,
                temperature_K=NAN if temperature is None else float(temperature[row]),
                charted=charted,
                **chart.shown(),
            )
        )

    def _zero_doubt_N(self, checks: dict[str, tuple[float, float]]) -> float:
        """Standard uncertainty of the zero at the sensor, after the checks so far.

        What the block reads is off from what it weighs, and has moved since the first
        checks: either may be the zero.
        """
        untold = ZERO_SHARE * self.span_N / RECTANGLE
        if not (self.up.count or self.down.count):
            return untold
        off = abs(self._shown_N(checks) - self.declared_N) / self.lines_strung / RECTANGLE
        # Far off is other gear or a wrong weight, not a zero; far moved may well be the zero.
        doubts = [LEAST_ZERO_SHARE * self.span_N, min(off, untold)]
        for name, chart in (("up", self.up), ("down", self.down)):
            if chart.count:
                factor = self._factor(self.lines_strung, name)
                spread = chart.spread_N if chart.count > 1 else 0.0
                doubts.append(math.hypot(chart.moved_N / RECTANGLE, spread) / factor)
        return max(doubts)

    def odds(self) -> LineCountOdds | None:
        """What the empty block says the line count is; None before it was weighed."""
        weights = []
        for name, state in (("up", 1.0), ("down", -1.0)):
            seen = self.weighed[name]
            if not seen:
                continue
            spread = float(np.std(seen, ddof=1)) if len(seen) > 1 else SCATTER_SHARE * seen[0]
            # Periods share what does not average out: wind, mud on the block, rail drag.
            weights.append(
                KnownWeight(
                    float(np.median(seen)),
                    max(spread, SCATTER_SHARE * seen[0]),
                    self.declared_N,
                    WEIGHT_SHARE * self.declared_N,
                    friction_state=0.0 if self.as_reported else state,
                    name=f"empty block going {name}",
                )
            )
        if not weights or min(weight.tension_N for weight in weights) <= 0.0:
            return None
        reeving = self.reeving
        efficiency = 1.0 if self.as_reported else reeving.sheave_efficiency
        return line_count_odds(weights, self.lines_strung, efficiency, reeving.dead_line_sheave)


def _told(
    rows: Rows,
    watch: Watch,
    kind: str,
    marks: list[tuple[int, dict[str, Any]]],
    index: NDArray[np.int64],
) -> list[Event]:
    """Follow what the checks say from row to row."""
    on = np.array([bool(said[kind]) for _, said in marks])[index]
    excess = np.array([said[f"{kind}_N"] for _, said in marks])[index]
    condition = Condition(
        on=on,
        off=~on,
        why=lambda row: str(marks[index[row]][1][kind]),
        badness=np.abs(excess),
        excess_N=np.abs(excess),
    )
    return watch.follow(rows, condition)


def _index(rows: Rows, marks: list[tuple[int, dict[str, Any]]]) -> NDArray[np.int64]:
    """Which mark holds at each row."""
    at = np.array([row for row, _ in marks])
    counts = np.diff(np.concatenate((at[1:], [len(rows)])), prepend=0)
    return np.repeat(np.arange(len(marks)), counts)
