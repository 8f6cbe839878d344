"""What was read and what was refused, by reason, with the first few messages of each."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

UNREADABLE_CELL = "unreadable cell"
ABSURD_VALUE = "absurd value"
UNDECLARED_NULL = "undeclared null value"
UNREADABLE_TIME = "unreadable time"
MISSING_TIME = "missing time"
WRONG_CELLS = "wrong number of cells"
NOT_NEWER = "time not newer"
UNCONFIRMED_JUMP = "time jump not confirmed"

EXAMPLES_OF_EACH = 5
# More late rows than this are no second source beside the first, but the order of the file or
# stamps coarser than its rows.
MANY_LATE_SHARE = 0.5


@dataclass(slots=True)
class Counts:
    """Totals of one source; nothing refused is ever dropped without being counted here.

    ``samples`` are rows in the stream (late ones among them, gap markers not);
    ``missing`` counts empty cells by channel, which are no fault.
    """

    samples: int = 0
    rejected: dict[str, int] = field(default_factory=dict)
    ignored_columns: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    examples: list[str] = field(default_factory=list)
    missing: dict[str, int] = field(default_factory=dict)
    gaps: int = 0
    clock_steps: int = 0
    shown: dict[str, int] = field(default_factory=dict)

    def reject(self, reason: str, number: int = 1) -> None:
        """Count refused cells or rows under their reason."""
        if number:
            self.rejected[reason] = self.rejected.get(reason, 0) + number

    def examples_wanted(self, reason: str) -> int:
        """How many more messages of this reason are kept."""
        return EXAMPLES_OF_EACH - self.shown.get(reason, 0)

    def example(self, reason: str, text: str) -> None:
        """Keep a message, up to a few of each reason."""
        if self.examples_wanted(reason) > 0:
            self.shown[reason] = self.shown.get(reason, 0) + 1
            self.examples.append(text)

    def note(self, text: str) -> None:
        """Keep something the user should know, once."""
        if text not in self.notes:
            self.notes.append(text)

    def order_note(self) -> list[str]:
        """What to tell where most rows could not be interpreted for their time."""
        late = self.rejected.get(NOT_NEWER, 0)
        if late <= MANY_LATE_SHARE * self.samples:
            return []
        return [
            f"{late} of {self.samples} rows bear a time not newer than a row before them and were "
            "not interpreted: sort the file by time, oldest first, and write stamps as fine as "
            "its rows"
        ]

    def missing_cells(self, channel: str, number: int) -> None:
        """Count empty cells of a channel."""
        if number:
            self.missing[channel] = self.missing.get(channel, 0) + number

    def as_dict(self) -> dict[str, Any]:
        """JSON-able copy, from which ``Counts(**d)`` goes on counting."""
        return asdict(self)
