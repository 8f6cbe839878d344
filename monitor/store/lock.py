"""One recorder a record: an operating-system lock that dies with its process."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from monitor.store.errors import StoreError

# The byte that is locked lies far behind the pid written at the start, because on Windows
# a locked byte cannot be read by others either.
_LOCKED_BYTE = 1 << 20

if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> None:
        os.lseek(descriptor, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


class RecordLock:
    """Held from construction to ``close``; a second one on the same record is refused."""

    def __init__(self, path: Path) -> None:
        self._descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _take(self._descriptor)
        except OSError:
            os.lseek(self._descriptor, 0, os.SEEK_SET)
            holder = os.read(self._descriptor, 20)
            os.close(self._descriptor)
            self._descriptor = -1
            pid = holder.decode("ascii", "replace").strip() or "unknown"
            raise StoreError(
                f"{path.parent}: another recorder (process {pid}) is writing this record; "
                "stop it, or record into another folder with --data"
            ) from None
        os.lseek(self._descriptor, 0, os.SEEK_SET)
        os.ftruncate(self._descriptor, 0)
        os.write(self._descriptor, f"{os.getpid()}\n".encode("ascii"))

    def close(self) -> None:
        """Let go; closing twice is fine. The file stays: removing it would race a new holder."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1
