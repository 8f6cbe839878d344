"""How a process that runs until stopped is told to: by a signal, never in the middle of work."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def told_to_stop(stop: threading.Event) -> Iterator[threading.Event]:
    """Let SIGINT, SIGTERM and the terminal's end set ``stop`` (main thread only).

    A terminal's end that is ignored (``nohup``) stays so.
    """
    if threading.current_thread() is not threading.main_thread():
        yield stop
        return

    def tell(_number: int, _frame: FrameType | None) -> None:
        stop.set()

    names = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    kept = {number: signal.signal(number, tell) for number in numbers}
    hang_up = getattr(signal, "SIGHUP", None)
    if hang_up is not None and kept[hang_up] == signal.SIG_IGN:
        signal.signal(hang_up, signal.SIG_IGN)
    try:
        yield stop
    finally:
        for number, handler in kept.items():
            signal.signal(number, handler)
