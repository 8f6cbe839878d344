"""What a stage is: rows in, columns added, all carried state named and restorable."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from monitor.model import Command, EmptyCheck, Event, Flags, Floats, Ints, TripRow

Array = NDArray[Any]


@dataclass(slots=True)
class Rows:
    """One piece of the stream on its way through the stages.

    A piece holds no command, gap or clock step but at its first row. ``column`` collects
    what the stages derive; ``time_s`` counts from the first row of the record.
    """

    seq: Ints
    time_us: Ints
    time_s: Floats
    row: Flags
    origin_us: int
    values: dict[str, Floats]
    quality: dict[str, Flags]
    column: dict[str, Array] = field(default_factory=dict)
    turns: list[Turn] = field(default_factory=list)
    blocks: Blocks | None = None
    events: list[Event] = field(default_factory=list)
    trip_rows: list[TripRow] = field(default_factory=list)
    caught: list[Any] = field(default_factory=list)  # weights caught while drilling
    checks: list[EmptyCheck] = field(default_factory=list)
    # Rows in which an event of a kind is open, as known at that row.
    open: dict[str, NDArray[np.bool_]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.seq)

    def mark_open(
        self, kind: str, start: int, stop: int | None = None, *, is_open: bool = True
    ) -> None:
        """Say of some rows that an event of this kind is open there."""
        if is_open or kind in self.open:
            mask = self.open.setdefault(kind, np.zeros(len(self), dtype=bool))
            mask[start:stop] = is_open

    def channel(self, name: str) -> Floats | None:
        """Values of an input channel, None where the source has none."""
        return self.values.get(name)


@dataclass(frozen=True, slots=True)
class Turn:
    """A change of who carries the string: ``row`` is the index in the piece.

    ``kind`` is "set" (slips have the string), "pick_up" (load coming on) or "hanging"
    (load fully on). ``block_m`` is where the block stood when the load began to come off
    (set) or was fully on (hanging); not ``seen``: guessed, while the load was not known.
    """

    row: int
    kind: str
    block_m: float
    time_us: int
    seen: bool = True


@dataclass(frozen=True, slots=True)
class Blocks:
    """Means over absolute seconds, each known only from row ``known_at`` on."""

    known_at: Ints
    start_us: Ints
    mean: dict[str, Floats]
    low: dict[str, Floats]
    high: dict[str, Floats]
    last: dict[str, Floats]

    def __len__(self) -> int:
        return len(self.known_at)


def encode(value: Any) -> Any:
    """State as JSON that gives back the same bits: floats as hex, arrays as base64."""
    if isinstance(value, np.ndarray):
        data = base64.b64encode(np.ascontiguousarray(value).tobytes()).decode("ascii")
        return {"array": data, "dtype": str(value.dtype)}
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, float | np.floating):
        return {"float": float(value).hex()}
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, list | tuple):
        return [encode(item) for item in value]
    if isinstance(value, dict):
        return {"dict": {key: encode(item) for key, item in value.items()}}
    if isinstance(value, Carried):
        return value.state()
    return value


def decode(value: Any) -> Any:
    """Give back what ``encode`` took (tuples come back as lists)."""
    if isinstance(value, list):
        return [decode(item) for item in value]
    if not isinstance(value, dict):
        return value
    if "array" in value:
        data = np.frombuffer(base64.b64decode(value["array"]), dtype=value["dtype"])
        return data.copy()
    if "float" in value:
        return float.fromhex(value["float"])
    return {key: decode(item) for key, item in value["dict"].items()}


class Carried:
    """Something with state that survives a restart: ``STATE`` names every mutable attribute."""

    STATE: ClassVar[Sequence[str]] = ()

    def state(self) -> dict[str, Any]:
        """Return the carried state as JSON."""
        return {name: encode(getattr(self, name)) for name in self.STATE}

    def restore(self, state: dict[str, Any]) -> None:
        """Take back what ``state`` gave."""
        for name in self.STATE:
            present = getattr(self, name)
            if isinstance(present, Carried):
                present.restore(state[name])
            else:
                setattr(self, name, decode(state[name]))


class Stage(Carried):
    """One step of interpretation. Stages see pieces in order and keep their own state."""

    def step(self, rows: Rows) -> None:
        """Add this stage's columns to ``rows``."""
        raise TypeError(f"{type(self).__name__} has no step")

    def gap(self) -> None:
        """Forget what must not reach across a gap or a clock step."""

    def command(self, command: Command) -> None:
        """Take a person's act."""
