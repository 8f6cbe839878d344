"""One simulated record through the pipeline: what it found, row by row and in the end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from monitor.ingest.clock import Numbering
from monitor.ingest.rows import rows_of
from monitor.model import CHANNELS, Event, Floats, Ints, Quality, Samples, TripRow
from monitor.pipeline import Pipeline
from monitor.rig.rig import Rig
from monitor.score.faults import Spoiler
from monitor.simulate.simulation import Simulation

# Results compared with the truth about so often: the truth changes little within it, and a
# second of noise counts once.
EVERY_S = 1.0
COMPARED = ("weight_on_bit_N", "excess_N", "band_N", "activity")
_BY_COLUMN = {channel.column: channel.name for channel in CHANNELS.values()}


def samples_of(simulation: Simulation, spoiler: Spoiler) -> Iterator[Samples]:
    """Give the record as it arrives, numbered by the rule of all sources."""
    numbering: Numbering | None = None
    for chunk in simulation.chunks():
        columns = {
            _BY_COLUMN.get(name, name): np.asarray(column, np.float64)
            for name, column in chunk.items()
            if name != "time_us"
        }
        time_us, values = spoiler(np.asarray(chunk["time_us"], np.int64), columns)
        if numbering is None:
            numbering = Numbering(tuple(values))
        yield numbering.feed(rows_of(time_us, values))
    rest = None if numbering is None else numbering.finish()
    if rest is not None:
        yield rest


@dataclass
class Found:
    """What one pipeline made of a record."""

    pipeline: Pipeline
    every: int  # rows between those compared
    events: dict[str, Event] = field(default_factory=dict)
    trip_rows: dict[int, TripRow] = field(default_factory=dict)
    _times: list[Ints] = field(default_factory=list)
    _parts: dict[str, list[Floats]] = field(default_factory=dict)

    @classmethod
    def of(cls, rig: Rig, simulation: Simulation) -> Found:
        """Begin a record at its true bit depth."""
        pipeline = Pipeline(rig, bit_depth_m=simulation.bit_depth_m)
        return cls(pipeline, max(1, round(simulation.hz * EVERY_S)))

    def feed(self, samples: Samples) -> None:
        """Take in a chunk; the newest version of events and stands is kept."""
        output = self.pipeline.feed(samples)
        self.events.update((event.id, event) for event in output.events)
        for row in output.trip_rows:
            self.trip_rows[row.stand] = row
            if row.void:
                del self.trip_rows[row.stand]
        usual = np.flatnonzero((samples.row & int(Quality.GAP | Quality.LATE)) == 0)
        chosen = usual[:: self.every]
        self._times.append(output.time_us[chosen])
        for name in COMPARED:
            self._parts.setdefault(name, []).append(
                np.asarray(output.columns[name], np.float64)[chosen]
            )

    def times_us(self) -> Ints:
        """Times of the rows compared."""
        return np.concatenate(self._times)

    def column(self, name: str) -> Floats:
        """One result at those times."""
        return np.concatenate(self._parts[name])
