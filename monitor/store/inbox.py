"""Where people's acts wait until the recorder takes them.

A file of its own beside the record: whoever writes here can never hold the lock the
recorder needs for its rows.
"""

from __future__ import annotations

from pathlib import Path


class Inbox:
    """Acts from the screens: ``Inbox(data_dir)``."""

    def __init__(self, path: Path) -> None:
        raise NotImplementedError

    def put(
        self, act: str, *, number: float = float("nan"), text: str = "", who: str, wall_us: int
    ) -> int:
        """Leave one act (a name in ``model.ACTS``, number in SI) and return its id.

        Taken once ``Reader.status()["inbox_taken"]`` has reached the id.
        """
        raise NotImplementedError

    def close(self) -> None:
        """Close the connection; closing twice is fine."""
        raise NotImplementedError
