"""The `replay` command: the same screens over a file, from the same pipeline."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from urllib.parse import urlencode

from monitor.commands.errors import UseError
from monitor.commands.live import depth_option, run_both
from monitor.commands.rig_file import load_rig

SLOWEST, FASTEST = 0.25, 240.0


def replay(arguments: argparse.Namespace) -> int:
    """Record the file as fast as it goes into a record of its own, and show that record.

    The page can be used while the file is still being read. Without ``--data`` the record
    is thrown away at the end: the file is the truth, and reading it again gives the same.
    """
    from monitor.ingest.source import open_source

    if not SLOWEST <= arguments.speed <= FASTEST:
        raise UseError(f"--speed: {arguments.speed:g}: give {SLOWEST:g} to {FASTEST:g}")
    path = arguments.file.absolute()
    source = f"csv:{path}"
    if arguments.start is not None:
        source += f"?{urlencode({'start': arguments.start})}"
    # Say every fault here, once, before anything is started.
    open_source(source, load_rig(arguments.rig)).close()
    asked = urlencode({"from": "start", "speed": f"{arguments.speed:g}"})
    if arguments.data is not None:
        return _show(arguments, source, arguments.data, asked)
    with tempfile.TemporaryDirectory(prefix="hookload-replay-") as folder:
        return _show(arguments, source, Path(folder), asked)


def _show(arguments: argparse.Namespace, source: str, folder: Path, asked: str) -> int:
    kept = "" if arguments.data is None else f", kept in {folder}"
    return run_both(
        arguments,
        arguments.rig,
        source,
        folder,
        f"{arguments.file.name}{kept}",
        depth_option(arguments),
        page=f"/replay?{asked}",
    )
