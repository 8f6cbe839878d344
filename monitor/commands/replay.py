"""The `replay` command: the same screens over files, from the same pipeline."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from urllib.parse import urlencode

from monitor.commands.errors import UseError
from monitor.commands.live import record_options, run_both
from monitor.commands.rig_file import load_rig

SLOWEST, FASTEST = 0.25, 240.0


def replay(arguments: argparse.Namespace) -> int:
    """Record the files as fast as it goes into a record of its own, and show that record.

    The page can be used while they are still being read. Without ``--data`` the record is
    thrown away at the end: the files are the truth, and reading them again gives the same.
    """
    from monitor.ingest.source import open_source

    if not SLOWEST <= arguments.speed <= FASTEST:
        raise UseError(f"--speed: {arguments.speed:g}: give {SLOWEST:g} to {FASTEST:g}")
    first, *more = (path.absolute() for path in arguments.files)
    asked_of = [("then", str(path)) for path in more]
    if arguments.start is not None:
        asked_of.append(("start", arguments.start))
    source = f"csv:{first}" + (f"?{urlencode(asked_of)}" if asked_of else "")
    # Say every fault here, once, before anything is started.
    rig = load_rig(arguments.rig, arguments.tally)
    options = record_options(arguments, rig)
    open_source(source, rig).close()
    asked = urlencode({"from": "start", "speed": f"{arguments.speed:g}"})
    if arguments.data is not None:
        return _show(arguments, source, arguments.data, options, asked)
    with tempfile.TemporaryDirectory(prefix="hookload-replay-") as folder:
        return _show(arguments, source, Path(folder), options, asked)


def _show(
    arguments: argparse.Namespace, source: str, folder: Path, options: list[str], asked: str
) -> int:
    named = ", ".join(path.name for path in arguments.files)
    kept = "" if arguments.data is None else f", kept in {folder}"
    return run_both(
        arguments,
        arguments.rig,
        source,
        folder,
        f"{named}{kept}",
        options,
        page=f"/replay?{asked}",
    )
