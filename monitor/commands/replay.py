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

    The page can be used while the file is still being read. The record is thrown away at
    the end: the file is the truth, and reading it again gives the same results.
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
    with tempfile.TemporaryDirectory(prefix="hookload-replay-") as folder:
        return run_both(
            arguments,
            arguments.rig,
            source,
            Path(folder),
            f"{arguments.file.name}",
            depth_option(arguments),
            page=f"/replay?{asked}",
        )
