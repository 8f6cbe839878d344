"""The parent of the recorder and the web server: starts both, restarts one that dies, stops both."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


def follow_parent() -> None:
    """Stop this process when its parent is gone (call first thing in ``record`` and ``serve``).

    Does nothing unless ``run_parent`` started this process. The sign is the end of standard
    input, which the system gives however the parent died.
    """
    raise NotImplementedError


def run_parent(
    rig_path: Path,
    source: str,
    data_dir: Path,
    *,
    host: str = "127.0.0.1",
    port: int = 8050,
    record_options: Sequence[str] = (),
    serve_options: Sequence[str] = (),
) -> int:
    """Run ``hookload record`` and ``hookload serve`` until told to stop; return the exit code.

    ``record_options`` and ``serve_options`` are added to the children's command lines
    (``["--bit-depth", "3000 m"]``, ``["--display", "field"]``). 0 after SIGINT or SIGTERM;
    2 or 1 when a child cannot start, with its own message already on stderr. Raises
    ``PortTaken`` (message names the port and the mend) before anything is started.
    """
    raise NotImplementedError


class PortTaken(Exception):
    """The web address is in use; the message says how to choose another."""
