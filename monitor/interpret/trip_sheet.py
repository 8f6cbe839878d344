"""The trip sheet: a row a stand, built live."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np

from monitor.interpret.drilling_weights import (
    CAUGHT_FIELDS,
    Caught,
    caught_at,
    caught_fields,
    joined_fields,
)
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.steady import LEAST_SPEED_M_S, STEADY_M_S2
from monitor.interpret.windows import running_sum
from monitor.model import TripRow
from monitor.rig.rig import Rig

NAN = float("nan")

# Net pipe movement that makes a stand: a single or a casing joint counts (design).
LEAST_STAND_M = 3.0
# Speed above which time counts as moving.
MOVED_M_S = 0.02
# Drilled, where the bit was on bottom for this share of the net movement.
DRILLED_SHARE = 0.3
# Seconds kept for the medians of one spell; a long spell is thinned evenly.
KEPT_SECONDS = 4096


def _fresh() -> dict[str, Any]:
    return {
        "open": False,
        "hung": False,
        "out_us": 0,
        "along_m": 0.0,
        "events": 0.0,
        "waited_s": NAN,
        "tank_m3": NAN,
        "drilled_m": 0.0,
        "seconds_moved": 0.0,
        "overpull_N": 0.0,
        "slack_off_N": 0.0,
        "greatest_N": -math.inf,
        "least_N": math.inf,
        "weights": {},  # caught in a spell before that made no row
    }


class TripSheet(Stage):
    """Spells out of slips into trip rows."""

    STATE = (
        "spell",
        "loads",
        "count",
        "last_row",
        "last_block_m",
        "set_us",
        "shown",
        "time_s",
        "tank_m3",
        "bottom_m",
        "pending",
        "pending_weights",
    )

    def __init__(self, rig: Rig) -> None:
        del rig
        self.spell = _fresh()
        self.loads: list[list[float]] = []
        self.count = 0
        self.last_row: dict[str, Any] | None = None
        self.last_block_m = NAN
        self.set_us = 0
        self.shown = False
        self.time_s = NAN
        self.tank_m3 = NAN
        self.bottom_m = 0.0
        self.pending = [0.0, 0.0]
        self.pending_weights: dict[str, Any] = {}

    @property
    def stand_m(self) -> float:
        """Length of the last stand; 0 before one was seen."""
        return float((self.last_row or {}).get("length_m", 0.0))

    def step(self, rows: Rows) -> None:
        """Follow the spells; list the rows that changed; number the stands."""
        stand = np.empty(len(rows), dtype=np.int64)
        moved_s, drilled = self._running(rows)
        changed: dict[int, TripRow] = {}
        row = 0
        for turn in rows.turns:
            self._follow(rows, row, turn.row, moved_s, drilled)
            stand[row : turn.row] = self.count + 1
            if turn.kind == "set":
                self._close(rows, turn.row, changed)
            elif not self.spell["open"]:
                self._begin(rows, turn.row)
            self.spell["hung"] = self.spell["hung"] or turn.kind == "hanging"
            row = turn.row
        self._follow(rows, row, len(rows), moved_s, drilled)
        stand[row:] = self.count + 1
        if self.spell["open"]:
            self._show_open(rows, changed)
        rows.column["stand"] = stand
        rows.trip_rows = list(changed.values())

    def _running(self, rows: Rows) -> tuple[Any, Any]:
        """Seconds moved in each row, and metres made on bottom."""
        before = rows.time_s[0] if not math.isfinite(self.time_s) else self.time_s
        seconds = np.diff(np.concatenate(([before], rows.time_s)))
        moved = np.where(np.abs(rows.column["block_speed_m_s"]) > MOVED_M_S, seconds, 0.0)
        along = rows.column["along_m"]
        before_m = np.concatenate(([self.bottom_m], along))
        rows.column["along_before_m"], made = before_m[:-1], np.diff(before_m)
        drilled = np.where(rows.column["on_bottom"], made, 0.0)
        self.time_s, self.bottom_m = float(rows.time_s[-1]), float(along[-1])
        return moved, drilled

    def _begin(self, rows: Rows, row: int) -> None:
        self.spell = _fresh()
        self.loads, self.shown = [], False
        self.spell.update(
            open=True,
            out_us=int(rows.time_us[row]),
            # Slow rows may show the pipe moved in the very row that takes it.
            along_m=float(rows.column["along_before_m"][row]),
            waited_s=(int(rows.time_us[row]) - self.set_us) / 1e6 if self.set_us else NAN,
            tank_m3=self.tank_m3,
            overpull_N=self.pending[0],
            slack_off_N=self.pending[1],
            weights=self.pending_weights,
            moved_block_m=abs(float(rows.column["block_m"][row]) - self.last_block_m),
        )
        self.pending, self.pending_weights = [0.0, 0.0], {}

    def _follow(self, rows: Rows, start: int, stop: int, moved_s: Any, drilled: Any) -> None:
        tank = rows.channel("trip_tank_volume")
        if tank is not None:
            seen = tank[start:stop]
            seen = seen[np.isfinite(seen)]
            self.tank_m3 = float(seen[-1]) if len(seen) else self.tank_m3
        if not self.spell["open"] or stop <= start:
            return
        spell, part = self.spell, slice(start, stop)
        spell["seconds_moved"] = float(running_sum(spell["seconds_moved"], moved_s[part])[-1])
        spell["drilled_m"] = float(running_sum(spell["drilled_m"], drilled[part])[-1])
        column = rows.column
        hanging = (column["phase"][part] == 2) & np.isfinite(column["hook_load_N"][part])
        load = column["hook_load_N"][part][hanging]
        if len(load):
            spell["greatest_N"] = max(spell["greatest_N"], float(load.max()))
            spell["least_N"] = min(spell["least_N"], float(load.min()))
        excess = column["excess_N"][part]
        judged = (
            np.isfinite(excess)
            & ~column["load_is_old"][part]
            & ~column["on_bottom"][part]
            & (column["run_travel_m"][part] > LEAST_STAND_M / 5)
        )
        for name, sign in (("overpull_N", 1.0), ("slack_off_N", -1.0)):
            over = sign * excess[judged & (sign * column["direction"][part] > 0)]
            if len(over):
                spell[name] = max(spell[name], float(over.max()))
        # By seq: after a clock step back the times of an earlier event come again.
        first, last = int(rows.seq[start]), int(rows.seq[stop - 1])
        raised = {e.id for e in rows.events if first <= e.seq <= last}
        spell["events"] += float(len(raised))
        self._seconds(rows, start, stop)

    def _seconds(self, rows: Rows, start: int, stop: int) -> None:
        """Keep steady seconds known by now: direction, load, expected load."""
        blocks = rows.blocks
        if blocks is None or not len(blocks):
            return
        speed = blocks.mean["block_speed_m_s"]
        wanted = (
            (blocks.known_at >= start)
            & (blocks.known_at < stop)
            & (blocks.start_us >= self.spell["out_us"])
            & (blocks.low["phase"] == 2)
            & (np.abs(speed) >= LEAST_SPEED_M_S)
            & (np.abs(blocks.low["acceleration_m_s2"]) < STEADY_M_S2)
            & (np.abs(blocks.high["acceleration_m_s2"]) < STEADY_M_S2)
            & np.isfinite(blocks.mean["hook_load_N"])
        )
        for i in np.flatnonzero(wanted).tolist():
            row = int(blocks.known_at[i])
            if rows.column["in_event"][row]:
                continue
            expected = "expected_up_N" if speed[i] > 0 else "expected_down_N"
            self.loads.append(
                [
                    float(np.sign(speed[i])),
                    float(blocks.mean["hook_load_N"][i]),
                    float(rows.column[expected][row]),
                ]
            )
            if len(self.loads) > KEPT_SECONDS:
                self.loads = self.loads[::2]

    def _net(self, along_m: float) -> float:
        return along_m - float(self.spell["along_m"])

    def _row(
        self, along_m: float, depth_m: float, in_slips_us: int | None, caught: Caught | None
    ) -> TripRow:
        spell, net = self.spell, self._net(along_m)
        direction = "out" if net < 0 else "in"
        if net > 0 and spell["drilled_m"] > DRILLED_SHARE * net:
            direction = "drilled"
        sign = 1.0 if net < 0 else -1.0
        loads = [entry[1] for entry in self.loads if entry[0] == sign]
        expected = [e[2] for e in self.loads if e[0] == sign and math.isfinite(e[2])]
        moved = float(spell["seconds_moved"])
        return TripRow(
            stand=self.count + 1,
            direction=direction,
            out_of_slips_us=int(spell["out_us"]),
            in_slips_us=in_slips_us,
            bit_depth_m=depth_m,
            length_m=abs(net),
            moving_weight_N=float(np.median(loads)) if loads else NAN,
            expected_weight_N=float(np.median(expected)) if expected else NAN,
            max_overpull_N=float(spell["overpull_N"]),
            max_slack_off_N=float(spell["slack_off_N"]),
            average_speed_m_s=abs(net) / moved if moved > 0 else NAN,
            seconds_in_slips_before_s=float(spell["waited_s"]),
            greatest_hook_load_N=_finite(spell["greatest_N"]),
            least_hook_load_N=_finite(spell["least_N"]),
            trip_tank_change_m3=self.tank_m3 - float(spell["tank_m3"]),
            events=int(spell["events"]),
            **joined_fields(spell["weights"], {} if caught is None else caught_fields(caught)),
        )

    def _show_open(self, rows: Rows, changed: dict[int, TripRow]) -> None:
        """Show the stand in hand once it is one; take it back if it came back."""
        along = float(rows.column["along_m"][-1])
        is_stand = abs(self._net(along)) >= LEAST_STAND_M
        if not is_stand and not self.shown:
            return
        caught = next((c for c in rows.caught if not c.is_set), None)
        row = self._row(along, float(rows.column["bit_depth_m"][-1]), None, caught)
        changed[row.stand] = row if is_stand else dataclasses.replace(row, void=True)
        self.shown = is_stand

    def _close(self, rows: Rows, at: int, changed: dict[int, TripRow]) -> None:
        if not self.spell["open"]:
            return
        along = float(rows.column["along_m"][at])
        depth, set_us = float(rows.column["bit_depth_m"][at]), int(rows.time_us[at])
        row = self._row(along, depth, set_us, caught_at(rows, at))
        row = dataclasses.replace(row, tally_depth_m=float(rows.column["tally_depth_m"][at]))
        if row.length_m >= LEAST_STAND_M:
            self.count += 1
            self.last_row = dataclasses.asdict(row)
            changed[row.stand] = row
        else:
            if self.shown:
                changed[row.stand] = dataclasses.replace(row, void=True)
            if self.spell["hung"]:
                self._join(row, self._net(along), changed)
        if self.spell["hung"]:
            self.last_block_m = float(rows.column["block_m"][at])
            self.set_us = int(rows.time_us[at])
        self.spell["open"] = False
        self.shown = False

    def _join(self, row: TripRow, net_m: float, changed: dict[int, TripRow]) -> None:
        """Slips set again on the same stand: the stand before takes the short spell in.

        Pipe worked elsewhere adds no row; the next stand keeps its extremes, and the weights
        caught: with a kelly what was drilled is pulled back before the connection.
        """
        before = self.last_row
        if before is None or not self.spell["moved_block_m"] < LEAST_STAND_M:
            self.pending = [row.max_overpull_N, row.max_slack_off_N]
            self.pending_weights = {name: getattr(row, name) for name in CAUGHT_FIELDS}
            return
        before.update(
            in_slips_us=row.in_slips_us,
            bit_depth_m=row.bit_depth_m,
            tally_depth_m=row.tally_depth_m,
            length_m=before["length_m"] + (-net_m if before["direction"] == "out" else net_m),
            max_overpull_N=max(before["max_overpull_N"], row.max_overpull_N),
            max_slack_off_N=max(before["max_slack_off_N"], row.max_slack_off_N),
            events=before["events"] + row.events,
        )
        joined = TripRow(**before)
        changed[joined.stand] = joined


def _finite(value: float) -> float:
    return float(value) if math.isfinite(value) else NAN
