"""An invented source and an invented pipeline with the real ones' interfaces.

They make tests of the recorder exact and quick; what they compute means nothing. Run as a
module this records into a folder until it is stopped or killed.
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from monitor.model import (
    INTEGER_RESULTS,
    RESULT_COLUMNS,
    Command,
    Event,
    Output,
    Samples,
    TripRow,
)
from monitor.recorder import Parts, Recorder
from monitor.rig.rig import Reeving, Rig
from monitor.stopping import told_to_stop
from monitor.store.entry import Settings

START_us = 1_772_323_200_000_000
RIG = Rig("Invented", 245e3, Reeving(10, 0.985))
LIMIT_N = 1.9e6
STAND_m = 28.0


@dataclass
class InventedCounts:
    samples: int = 0

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)


class InventedSource:
    """Row k is a function of k alone; ``SPEC`` is ``rows:N?pace=ROWS_PER_SECOND``."""

    def __init__(self, spec: str, cursor: dict[str, Any] | None) -> None:
        path, _, pace = spec.removeprefix("rows:").partition("?pace=")
        self._n_rows = int(path)
        self._pace = float(pace) if pace else 0.0
        self._next = cursor["next"] if cursor else 0
        self._begun_s = time.monotonic()
        self._first = self._next
        self.counts = InventedCounts(self._next)
        self.closed = False

    @property
    def finished(self) -> bool:
        return self._next >= self._n_rows

    def read(self, timeout_s: float) -> Samples | None:
        stop = min(self._next + 500, self._n_rows)
        if self._pace:
            due = self._first + int((time.monotonic() - self._begun_s) * self._pace)
            stop = min(stop, due)
        if stop <= self._next:
            time.sleep(min(timeout_s, 0.005))
            return None
        k = np.arange(self._next, stop)
        self._next = stop
        self.counts.samples = stop
        tension = 150e3 + 40e3 * np.sin(k / 37.0) + 1e3 * np.sin(k * 1.7)
        tension[k % 101 == 0] = np.nan
        values = {"deadline_tension": tension, "block_position": 15.0 + 15.0 * np.sin(k / 150.0)}
        zeros = np.zeros(len(k), dtype=np.uint16)
        quality = {name: np.isnan(column).astype(np.uint16) for name, column in values.items()}
        return Samples(k + 1, START_us + 100_000 * k, zeros, values, quality)

    def cursor(self) -> dict[str, Any]:
        return {"next": self._next}

    def close(self) -> None:
        self.closed = True


class InventedPipeline:
    """Depth as carried state, an event while over a limit, a stand every 28 m of travel."""

    def __init__(self, rig: Rig, bit_depth_m: float | None = None, code: str = "1") -> None:
        self.state: dict[str, Any] = {
            "code": code,
            "lines_strung": rig.reeving.lines_strung,
            "bit_depth_m": 3000.0 if bit_depth_m is None else bit_depth_m,
            "last_m": None,
            "travel_m": 0.0,
            "event": None,
        }

    def feed(self, samples: Samples, commands: Sequence[Command] = ()) -> Output:
        columns: dict[str, list[float]] = {"hook_load_N": [], "bit_depth_m": []}
        events: dict[str, Event] = {}
        trip_rows: dict[int, TripRow] = {}
        waiting = list(commands)
        for row in range(len(samples)):
            while waiting and waiting[0].seq < samples.seq[row]:
                self._act(waiting.pop(0))
            self._row(samples, row, columns, events, trip_rows)
        for command in waiting:
            self._act(command)
        filled: dict[str, np.ndarray] = {
            name: np.zeros(len(samples), np.int64)
            if name in INTEGER_RESULTS
            else np.full(len(samples), np.nan)
            for name in RESULT_COLUMNS
        }
        filled.update((name, np.array(column)) for name, column in columns.items())
        return Output(
            samples.seq, samples.time_us, filled, list(events.values()), list(trip_rows.values())
        )

    def refusal(self, command: Command) -> str:
        return "99 lines refused: invented" if command.number == 99.0 else ""

    def _act(self, command: Command) -> None:
        if self.refusal(command):
            return
        if command.act in ("lines_strung", "bit_depth"):
            name = "bit_depth_m" if command.act == "bit_depth" else command.act
            self.state[name] = command.number

    def _event(self) -> Event | None:
        return Event(**self.state["event"]) if self.state["event"] else None

    def _row(
        self,
        samples: Samples,
        row: int,
        columns: dict[str, list[float]],
        events: dict[str, Event],
        trip_rows: dict[int, TripRow],
    ) -> None:
        load_N = self.state["lines_strung"] * float(samples.values["deadline_tension"][row])
        at_m = float(samples.values["block_position"][row])
        moved_m = 0.0 if self.state["last_m"] is None else at_m - self.state["last_m"]
        self.state["last_m"] = at_m
        self.state["bit_depth_m"] -= moved_m
        self.state["travel_m"] += abs(moved_m)
        columns["hook_load_N"].append(load_N)
        columns["bit_depth_m"].append(self.state["bit_depth_m"])
        self._judge(int(samples.seq[row]), int(samples.time_us[row]), load_N, events)
        stand = int(self.state["travel_m"] // STAND_m) + 1
        trip_rows[stand] = TripRow(
            stand, "out", START_us, int(samples.time_us[row]), self.state["bit_depth_m"],
            self.state["travel_m"], load_N, float("nan"), 0.0, 0.0, 0.5,
        )  # fmt: skip

    def _judge(self, seq: int, time_us: int, load_N: float, events: dict[str, Event]) -> None:
        is_open = self._event()
        if is_open is None and load_N > LIMIT_N:
            found = Event(
                seq, "overpull", time_us, time_us, None, time_us, self.state["bit_depth_m"],
                load_N, LIMIT_N, load_N - LIMIT_N, 1.0,
            )  # fmt: skip
        elif is_open is not None and load_N > is_open.peak_hook_load_N:
            found = replace(
                is_open,
                peak_time_us=time_us,
                peak_hook_load_N=load_N,
                peak_excess_N=load_N - LIMIT_N,
            )
        elif is_open is not None and load_N < LIMIT_N - 10e3:
            found = replace(is_open, end_us=time_us)
        else:
            return
        events[found.id] = found
        self.state["event"] = None if found.end_us else asdict(found)

    def snapshot(self) -> dict[str, Any]:
        return dict(self.state)

    def status(self) -> dict[str, Any]:
        return {
            "lines_strung": self.state["lines_strung"],
            "bit_depth_m": self.state["bit_depth_m"],
        }


def parts(code: str = "1") -> Parts:
    """The invented source and pipeline; a snapshot of another ``code`` is refused."""

    def restored(rig: Rig, snapshot: Mapping[str, Any]) -> InventedPipeline:
        if snapshot["code"] != code:
            raise ValueError(f"snapshot of code {snapshot['code']}, this is {code}")
        pipeline = InventedPipeline(rig, code=code)
        pipeline.state = dict(snapshot)
        return pipeline

    return Parts(
        fresh=lambda rig, depth_m: InventedPipeline(rig, depth_m, code),
        restored=restored,
        open_source=lambda spec, rig, cursor: InventedSource(spec, cursor),
    )


def recorder(
    folder: Path, spec: str, *, code: str = "1", bit_depth_m: float | None = None
) -> Recorder:
    return Recorder(
        RIG, Settings(spec, "invented", bit_depth_m), folder, parts(code), until_finished=True
    )


if __name__ == "__main__":
    with told_to_stop(threading.Event()) as told:
        recorder(Path(sys.argv[1]), sys.argv[2]).run(told)
