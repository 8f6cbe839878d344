"""The empty block as a known weight: wrong line count and zero drift, once a connection.

Only seconds are read in which the empty block moves steadily, five seconds after slips were
set, each direction by itself since rail and sheave friction differ. The weight of line
between the blocks makes the reading fall with height: that slope is learnt and taken out.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.expected import LEAST_SPEED_M_S, STEADY_M_S2
from monitor.interpret.slips import LOW_PART, SETTLE_S
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.watch import Condition, Watch
from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.model import Command, Event, Quality
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

# A chart compares with the median of so many first checks.
REFERENCE_CHECKS = 5
CHECKS_KEPT = 20
# EWMA weight and width: with 5 standard deviations chance alone is out less than once in
# 100 000 checks; a step of 1 % of span is past the limit at the third check.
EWMA_WEIGHT = 0.4
CHART_WIDTH = 5.0
# Mean of the range of two normal values in standard deviations; a drift hardly widens it
# (NIST/SEMATECH e-Handbook, 6.3.2, from memory).
RANGE_OF_TWO = 1.128
# Share of span at which the zero has drifted: 1 %, less what the average lags behind.
DRIFT_SHARE = 0.0075
# Span where the rig file gives none: a dead-line anchor for 100 klbf single-line load.
USUAL_SPAN_N = 450e3
# Out in so many checks in a row. A check this far from the last one, the greater of the two,
# is not charted until so many in a row are: pipe may hang in the elevators (9 to 61 kN).
OUT_IN_A_ROW = 2
ODD_N, ODD_SHARE = 12e3, 0.05
ODD_IN_A_ROW = 3

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
        "charts",
        "agreed",
        "suspects",
        "said",
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
        self._forget()

    def _forget(self) -> None:
        """Start the charts anew: lines, gear or zero are no longer what they were."""
        self.slope = [0.0, 0.0]  # sums of height squared and of height times load
        self.charts: dict[str, dict[str, Any]] = {name: _chart() for name in DIRECTIONS}
        self.agreed = False
        self.suspects = [0, 0]  # line count that the checks say, how many in a row
        self.said: dict[str, Any] = _nothing()

    def gap(self) -> None:
        """Who carried the string in a gap is not known."""
        self.lines.gap()
        self.drift.gap()
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
        seconds = _empty_seconds(rows)
        order = [(row, 0, place) for place, (row, *_) in enumerate(seconds)]
        order += [(turn.row, 1, place) for place, turn in enumerate(rows.turns)]
        for row, is_turn, place in sorted(order):
            if not is_turn:
                self._read(seconds[place])
                continue
            turn = rows.turns[place]
            if turn.kind == "pick_up" and self.since_us >= 0:
                self._check(rows, row)
                marks.append((row, self.said))
            self.since_us = turn.time_us if turn.kind == "set" else -1
            self.spell = {name: [] for name in DIRECTIONS}
        for kind, watch in (("lines", self.lines), ("drift", self.drift)):
            rows.events.extend(_told(rows, watch, kind, marks))

    def _read(self, second: tuple[int, int, float, float, float]) -> None:
        _, start_us, friction, block_m, load_N = second
        if self.since_us < 0 or start_us < self.since_us + SETTLE_S * 1e6:
            return
        name = "up" if friction > 0 else "down"
        if len(self.spell[name]) < MOST_SECONDS:
            self.spell[name] = [*self.spell[name], [block_m, load_N]]

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
        as_reported = bool(rows.column["load_quality"][row] & Quality.AS_REPORTED)
        self.said = {
            **self._line_count(checks, as_reported),
            **self._zero(checks, as_reported),
        }

    def _at(self, check: tuple[float, float], height_m: float) -> float:
        return check[1] + self._slope_N_m() * (height_m - check[0])

    def _slope_N_m(self) -> float:
        slope = self.slope[1] / (self.slope[0] + SLOPE_PRIOR_M2)
        return min(max(slope, LEAST_SLOPE_N_M), GREATEST_SLOPE_N_M)

    def _factor(self, n_lines: int, name: str, as_reported: bool) -> float:
        """Hook load over tension as it was converted."""
        if as_reported:
            return float(n_lines)
        factor = load_factor_hoisting if name == "up" else load_factor_lowering
        reeving = self.reeving
        return factor(n_lines, reeving.sheave_efficiency, reeving.dead_line_sheave)

    def _line_count(
        self, checks: dict[str, tuple[float, float]], as_reported: bool
    ) -> dict[str, Any]:
        """Find the line count that would show the declared weight as what is shown."""
        shown = self._shown_N(checks)
        ratio = shown / self.declared_N
        if abs(ratio - 1.0) <= AGREES_SHARE:
            self.agreed, self.suspects = True, [0, 0]
            return {"lines": "", "lines_N": NAN}
        found = 0
        for n_lines in range(LEAST_LINES, MOST_LINES + 1, 2):
            would = sum(
                self._factor(self.lines_strung, name, as_reported)
                / self._factor(n_lines, name, as_reported)
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

    def _zero(self, checks: dict[str, tuple[float, float]], as_reported: bool) -> dict[str, Any]:
        """Chart the block's weight against that of the first connections."""
        said, moved = "", NAN
        for name, chart in self.charts.items():
            if name in checks:
                self._chart(chart, name, checks[name], as_reported)
            if chart["out"] >= OUT_IN_A_ROW and not said:
                moved = chart["average_N"] - chart["reference_N"]
                way = "more" if moved > 0.0 else "less"
                said = (
                    f"the empty block going {name} reads {abs(moved) / 1e3:.0f} kN {way} than in "
                    "the first connections: the sensor's zero has drifted, or other gear hangs "
                    "there; check the zero or enter the travelling weight"
                )
        return {"drift": said, "drift_N": moved}

    def _chart(
        self, chart: dict[str, Any], name: str, check: tuple[float, float], as_reported: bool
    ) -> None:
        if not math.isfinite(chart["height_m"]):
            chart["height_m"] = check[0]
        level = self._at(check, chart["height_m"])
        odd = max(ODD_N, ODD_SHARE * abs(level))
        chart["odd"] = chart["odd"] + 1 if abs(level - chart["last_N"]) > odd else 0
        if 0 < chart["odd"] < ODD_IN_A_ROW:
            return
        chart["odd"], chart["last_N"] = 0, level
        chart["levels"] = [*chart["levels"], level][-CHECKS_KEPT:]
        chart["count"] += 1
        if chart["count"] <= REFERENCE_CHECKS:
            chart["reference_N"] = chart["average_N"] = float(np.median(chart["levels"]))
            return
        chart["average_N"] = EWMA_WEIGHT * level + (1.0 - EWMA_WEIGHT) * chart["average_N"]
        spread = float(np.mean(np.abs(np.diff(chart["levels"])))) / RANGE_OF_TWO
        chance = CHART_WIDTH * spread * math.sqrt(EWMA_WEIGHT / (2.0 - EWMA_WEIGHT))
        least = DRIFT_SHARE * self.span_N * self._factor(self.lines_strung, name, as_reported)
        out = abs(chart["average_N"] - chart["reference_N"]) > max(chance, least)
        chart["out"] = chart["out"] + 1 if out else 0


def _chart() -> dict[str, Any]:
    return {
        "levels": [],
        "count": 0,
        "last_N": NAN,
        "odd": 0,  # checks in a row far from the last one charted
        "height_m": NAN,
        "reference_N": NAN,
        "average_N": NAN,
        "out": 0,
    }


def _nothing() -> dict[str, Any]:
    return {"lines": "", "lines_N": NAN, "drift": "", "drift_N": NAN}


def _empty_seconds(rows: Rows) -> list[tuple[int, int, float, float, float]]:
    """Seconds of steady empty movement: row known at, start, friction, block, load."""
    blocks = rows.blocks
    if blocks is None or not len(blocks):
        return []
    acceleration = np.maximum(
        np.abs(blocks.low["acceleration_m_s2"]), np.abs(blocks.high["acceleration_m_s2"])
    )
    chosen = (
        (blocks.low["phase"] == 0)
        & (blocks.high["phase"] == 0)
        & (np.abs(blocks.mean["block_speed_m_s"]) >= LEAST_SPEED_M_S)
        & (np.abs(blocks.low["friction_state"] + blocks.high["friction_state"]) > 1.99)
        & (acceleration < STEADY_M_S2)
        & np.isfinite(blocks.mean["hook_load_N"])
        & np.isfinite(blocks.mean["block_m"])
    )
    frozen = rows.column["load_quality"] | rows.column["block_quality"]
    chosen &= (frozen[blocks.known_at] & np.uint16(Quality.FROZEN)) == 0
    return list(
        zip(
            blocks.known_at[chosen].tolist(),
            blocks.start_us[chosen].tolist(),
            blocks.mean["friction_state"][chosen].tolist(),
            blocks.mean["block_m"][chosen].tolist(),
            blocks.mean["hook_load_N"][chosen].tolist(),
            strict=True,
        )
    )


def _told(
    rows: Rows, watch: Watch, kind: str, marks: list[tuple[int, dict[str, Any]]]
) -> list[Event]:
    """Follow what the checks say from row to row."""
    at = np.array([row for row, _ in marks])
    index = np.searchsorted(at, np.arange(len(rows)), side="right") - 1
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
