"""What goes into the record in one transaction, and what a recorder finds there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from monitor.model import Command, Output, Samples


@dataclass(frozen=True, slots=True)
class Taken:
    """A command with where it came from: the inbox row and the wall time of the act."""

    command: Command
    inbox_id: int
    wall_us: int


@dataclass(frozen=True, slots=True)
class Note:
    """A line for the journal."""

    time_us: int
    who: str
    what: str
    before: str = ""
    after: str = ""


@dataclass(slots=True)
class Entry:
    """What goes into the record in one transaction; what is None or empty stays as it was."""

    heartbeat_us: int
    chunks: Sequence[tuple[Samples, Output]] = ()
    commands: Sequence[Taken] = ()
    notes: Sequence[Note] = ()
    arrival_us: int | None = None
    cursor: Mapping[str, Any] | None = None
    counts: Mapping[str, Any] | None = None
    status: Mapping[str, Any] | None = None
    snapshot: Mapping[str, Any] | None = None
    finished: bool = False
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class Settings:
    """What the record was last made with."""

    source: str
    rig_text: str
    bit_depth_m: float | None


@dataclass(frozen=True, slots=True)
class Resumed:
    """What the last recorder left behind."""

    last_seq: int = 0
    last_time_us: int | None = None
    inbox_taken: int = 0
    settings: Settings | None = None
    cursor: dict[str, Any] | None = None
    snapshot_seq: int = 0
    snapshot: dict[str, Any] | None = field(default=None, repr=False)
    first_bit_depth_m: float | None = None  # what the very first recorder was told
    stopped: bool = False
