"""A bit depth that a person gives on the way: the string described weighs something else."""

from __future__ import annotations

from monitor.interpret.stage import Carried, Rows
from monitor.model import Command

NAN = float("nan")


class GivenDepth(Carried):
    """What must be added to the travel of the pipe, before the last depth that was given."""

    STATE = ("start_m", "given")

    def __init__(self) -> None:
        self.start_m = NAN
        self.given = False

    def command(self, command: Command) -> None:
        """Wait for the first row that counts by it."""
        self.given = self.given or command.act == "bit_depth"

    def before_m(self, rows: Rows) -> float | None:
        """Bit depth of the first row as it was counted before; None where none was given."""
        depth, along = rows.column["bit_depth_m"], rows.column["along_m"]
        before = self.start_m + float(along[0]) if self.given else None
        self.given, self.start_m = False, float(depth[-1] - along[-1])
        return before
