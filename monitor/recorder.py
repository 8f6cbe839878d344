"""The one loop: source -> pipeline -> record."""

from __future__ import annotations

import threading
from pathlib import Path


def record(
    rig_text: str,
    source: str,
    data_dir: Path,
    *,
    rig_file: str = "rig file",
    bit_depth_m: float | None = None,
    until_finished: bool = False,
    stop: threading.Event | None = None,
) -> None:
    """Record ``source`` (a SPEC) into ``data_dir`` until told to stop.

    Resumes a record found there. Ends cleanly on SIGINT, SIGTERM or ``stop``; a source that
    comes to its end keeps the recorder alive for acts unless ``until_finished``.
    Raises ConfigError, InputError or StoreError with one clear message.
    """
    raise NotImplementedError
