"""The simulated rig as a live source, in real time or faster."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from typing import Any

import numpy as np

from monitor.ingest.clock import Numbering
from monitor.ingest.counts import Counts
from monitor.ingest.csv_replay import after
from monitor.ingest.errors import InputError
from monitor.ingest.pacing import Pacer
from monitor.ingest.rows import rows_of
from monitor.ingest.source import Spec
from monitor.model import CHANNELS, Samples
from monitor.rig.rig import Rig
from monitor.simulate import SCENARIOS, Simulation

HISTORY_s = 1200.0
_BY_COLUMN = {channel.column: channel.name for channel in CHANNELS.values()}


class Simulated:
    """``simulate:SCENARIO?seed=7&speed=1&history=1200&hz=10&hours=4``.

    ``history`` seconds are given at once, stamped before now, so that the charts are not
    empty at the start; the rest comes as time goes on. Without ``hours`` it has no end.
    """

    def __init__(self, spec: Spec, rig: Rig, resume: dict[str, Any] | None) -> None:
        if spec.target not in SCENARIOS:
            raise InputError(
                f"source {spec.text!r}: {spec.target!r} is no scenario; "
                f"known: {', '.join(SCENARIOS)}"
            )
        seed = int(spec.number("seed", 7, 0, 2**53))
        speed = spec.number("speed", 1.0, 0.01, 10_000.0)
        history_s = spec.number("history", HISTORY_s, 0.0, 7 * 86_400.0)
        hz = spec.number("hz", 10.0, 0.01, 100.0)
        hours = spec.number("hours", math.inf, 0.001, 1e6)
        spec.close()
        now_us = time.time_ns() // 1000
        start_us = now_us - round(history_s * 1e6)
        self._start_us = int(resume["start_us"]) if resume else start_us
        self._given = int(resume["given"]) if resume else 0
        self.counts = Counts(samples=self._given)
        self._simulation = Simulation(
            spec.target, seed, hours=hours, hz=hz, rig=rig, start_us=self._start_us
        )
        # Where the story stands now, also after the recorder was down for a while.
        head_s = history_s + (now_us - self._start_us - history_s * 1e6) / 1e6 * speed
        stream = after(self._samples(), self._given)
        self._pacer = Pacer(stream, speed=speed, head_s=head_s - self._given / hz)

    def _samples(self) -> Iterator[Samples]:
        numbering: Numbering | None = None
        for chunk in self._simulation.chunks():
            values = {
                _BY_COLUMN.get(name, name): np.asarray(column, np.float64)
                for name, column in chunk.items()
                if name != "time_us"
            }
            time_us = np.asarray(chunk["time_us"], np.int64)
            if numbering is None:
                numbering = Numbering(tuple(values))
            yield numbering.feed(rows_of(time_us, values))

    @property
    def finished(self) -> bool:
        """Whether the simulated record has come to its end."""
        return self._pacer.finished

    def read(self, timeout_s: float) -> Samples | None:
        """Give the rows whose time has come."""
        samples = self._pacer.read(timeout_s)
        if samples is not None:
            self._given += len(samples)
            self.counts.samples = self._given
        return samples

    def cursor(self) -> dict[str, Any]:
        """Tell when the simulation began and how much of it was given."""
        return {"start_us": self._start_us, "given": self._given}

    def close(self) -> None:
        """Nothing to let go of."""
