"""The commands that run until stopped: demo, run, record, serve."""

from __future__ import annotations

import argparse
import logging
import os
import sys
import tempfile
from importlib import resources
from pathlib import Path

from monitor.commands.errors import UseError
from monitor.commands.quantity import quantity
from monitor.commands.rig_file import load_rig, packaged_rig, rig_text
from monitor.rig.rig import Rig

DONE = 0
# Long enough for the expected weights to be learnt before anybody looks.
DEMO_HISTORY_s = 1200


def demo(arguments: argparse.Namespace) -> int:
    """Show a simulated rig over a record of its own, thrown away at the end."""
    from monitor.simulate import SCENARIOS, Simulation

    if arguments.scenario not in SCENARIOS:
        raise UseError(f"scenario {arguments.scenario!r}: known are {', '.join(SCENARIOS)}")
    source = (
        f"simulate:{arguments.scenario}?seed={arguments.seed}&speed={arguments.speed:g}"
        f"&history={DEMO_HISTORY_s}"
    )
    with (
        tempfile.TemporaryDirectory(prefix="hookload-demo-") as folder,
        resources.as_file(packaged_rig()) as rig_path,
    ):
        begin = Simulation(arguments.scenario, seed=arguments.seed, rig=load_rig(rig_path))
        depth = ["--bit-depth", f"{begin.bit_depth_m:.3f} m"]
        remark = "invented data of a simulated rig"
        return run_both(arguments, rig_path, source, Path(folder), remark, depth)


def run(arguments: argparse.Namespace) -> int:
    """Record a source and show it, as two processes under one parent."""
    from monitor.ingest.source import open_source

    # Say every fault here, once, before anything is started.
    rig = load_rig(arguments.rig, arguments.tally)
    options = record_options(arguments, rig)
    open_source(arguments.source, rig).close()
    return run_both(arguments, arguments.rig, arguments.source, arguments.data, "", options)


def record_options(arguments: argparse.Namespace, rig: Rig) -> list[str]:
    """Options of the recorder for what was given; what is wrong is refused here."""
    from monitor.ingest.acts import read_acts

    options: list[str] = []
    if quantity(arguments.bit_depth, "length", "--bit-depth") is not None:
        options += ["--bit-depth", arguments.bit_depth]
    if arguments.tally is not None:
        options += ["--tally", str(arguments.tally.absolute())]
    if arguments.acts is not None:
        read_acts(arguments.acts, rig)
        options += ["--acts", str(arguments.acts.absolute())]
    return options


def run_both(
    arguments: argparse.Namespace,
    rig_path: Path,
    source: str,
    data_dir: Path,
    remark: str,
    record_options: list[str] | None = None,
    *,
    page: str = "",
) -> int:
    """Run recorder and web server; ``page`` is the place that the printed address leads to."""
    from monitor.parent import PortTaken, run_parent

    writable_folder(data_dir)
    _log_to_stderr()
    address = f"http://{arguments.host}:{arguments.port}{page}"
    notes = ", ".join(filter(None, ["Ctrl-C stops it", remark]))
    print(f"Hook Load Monitor: {address} ({notes})", flush=True)
    print("Advises people; it is no safety device.", flush=True)
    try:
        return run_parent(
            rig_path,
            source,
            data_dir,
            host=arguments.host,
            port=arguments.port,
            record_options=record_options or [],
            serve_options=["--display", arguments.display],
        )
    except PortTaken as error:
        raise UseError(str(error)) from error


def record(arguments: argparse.Namespace) -> int:
    """Record a source until it is stopped."""
    from monitor.parent import follow_parent
    from monitor.recorder import record as record_source

    follow_parent()
    _log_to_stderr()
    text = rig_text(arguments.rig, arguments.tally)
    depth_m = quantity(arguments.bit_depth, "length", "--bit-depth")
    writable_folder(arguments.data)
    record_source(
        text,
        arguments.source,
        arguments.data,
        rig_file=str(arguments.rig),
        bit_depth_m=depth_m,
        until_finished=arguments.until_finished,
        acts=arguments.acts,
    )
    return DONE


def serve(arguments: argparse.Namespace) -> int:
    """Show a record until it is stopped."""
    from monitor.parent import follow_parent

    follow_parent()
    _log_to_stderr()
    from monitor.web.server import PortTaken
    from monitor.web.server import serve as serve_record

    try:
        serve_record(arguments.data, arguments.host, arguments.port, display=arguments.display)
    except PortTaken as error:
        raise UseError(str(error)) from error
    return DONE


def writable_folder(path: Path) -> None:
    """Make the data folder, or say why the record cannot lie there."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise UseError(f"{path}: is a file; --data must name a folder") from error
    except OSError as error:
        raise UseError(f"{path}: data folder cannot be made ({error.strerror})") from error
    if not os.access(path, os.W_OK | os.X_OK):
        raise UseError(f"{path}: data folder cannot be written to; choose another with --data")


def _log_to_stderr() -> None:
    logging.basicConfig(
        level=logging.WARNING, stream=sys.stderr, format="%(asctime)s %(name)s: %(message)s"
    )
