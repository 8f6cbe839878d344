"""How far long work has come, on a terminal only."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Self


class Progress:
    """One line on stderr that is rewritten; silent where stderr is a file or a pipe."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._is_shown = sys.stderr.isatty()
        self._next = 0

    def __call__(self, rows: int) -> None:
        """Tell how many rows are done."""
        if self._is_shown and rows >= self._next:
            self._next = rows + 50_000
            sys.stderr.write(f"\r{self._what}: {rows:,} rows")
            sys.stderr.flush()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._is_shown and self._next:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
