"""What a query of the record gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.model import Ints


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of the record in order of ``seq``, as numpy columns of equal length.

    ``columns`` holds ``row`` (flags of the whole row: GAP, LATE, EPOCH), every raw channel
    this record has and every result column. A raw channel whose SI name is also a result
    bears ``reported_`` in front (``reported_hook_load_N``). Missing = NaN.
    """

    seq: Ints
    time_us: Ints
    columns: Mapping[str, NDArray[np.generic]]

    def __len__(self) -> int:
        return len(self.seq)


@dataclass(frozen=True, slots=True)
class Pulse:
    """The few numbers a screen asks for many times a second."""

    last_seq: int = 0
    last_time_us: int | None = None  # data time of the newest row
    arrival_us: int | None = None  # wall time at which the newest row was read
    heartbeat_us: int | None = None  # wall time at which the recorder last showed life
    finished: bool = False  # the source has come to its end
    stopped: bool = False  # the recorder closed this record properly
    events_revision: int = 0  # grows whenever an event is raised or changes
    trip_revision: int = 0  # grows whenever a trip row is added or changes
    alarms_revision: int = 0  # grows whenever an alarm changes its state


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """One act of a person or of the recorder: who, when, what, before, after."""

    id: int
    time_us: int  # wall time
    seq: int  # last row or command of the record at that moment
    who: str
    what: str
    before: str
    after: str
