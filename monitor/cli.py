"""Arguments and exit codes of `hookload`. No logic: each command is in `monitor.commands`.

Exit 0 done (a live command ended by Ctrl-C or SIGTERM included); 2 wrong use,
configuration or input, with one message on stderr; 1 our fault; 130 batch work interrupted
by Ctrl-C or SIGTERM (128 + SIGINT, the shell's convention).
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import threading
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TypeAlias

from monitor import __version__
from monitor.commands.errors import UseError
from monitor.ingest.errors import InputError
from monitor.report.finished_file import OutputError
from monitor.rig.file import ConfigError
from monitor.store.errors import StoreError
from monitor.units import DISPLAY_SETS, UnitError

if TYPE_CHECKING:
    Commands: TypeAlias = "argparse._SubParsersAction[Parser]"

OUR_ERRORS = (UseError, ConfigError, InputError, OutputError, StoreError, UnitError)
DONE, OUR_FAULT, WRONG_USE, INTERRUPTED = 0, 1, 2, 130

DISPLAYS = tuple(DISPLAY_SETS)
SOURCE_HELP = (
    "simulate:SCENARIO?seed=7&speed=1 | csv:PATH | csv-follow:PATH "
    "(las:, wits: and wits-listen: are not in this version)"
)
TALLY_HELP = "joint,length [m]: bit depth is compared with it, never changed by it"

ACTS_HELP = "time,act,value,who: what people did, each act before the first row not older"


class Parser(argparse.ArgumentParser):
    """One line on stderr instead of the usage block, and no abbreviated options."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and where the help is."""
        self.exit(WRONG_USE, f"hookload: {message} (see `{self.prog} --help`)\n")


def port_number(text: str) -> int:
    """Port of this machine; the system would quietly take 80500 for another."""
    number = int(text)
    if not 1 <= number <= 65535:
        raise argparse.ArgumentTypeError(f"{number} is no port; give 1 to 65535")
    return number


def build_parser() -> argparse.ArgumentParser:
    """Return the whole command line of this version."""
    parser = Parser(
        prog="hookload",
        description="Drilling rig hook load from dead-line tension. "
        "Without a command: the dashboard on a simulated demo rig.",
        epilog="Advises people; it is no safety device.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"hookload {__version__}")
    commands = parser.add_subparsers(
        dest="command", required=True, metavar="COMMAND", parser_class=Parser
    )
    _add_live(commands)
    _add_batch(commands)
    _add_calibrate(commands)
    _add_report(commands)
    return parser


def _command(commands: Commands, name: str, what: str, run: str) -> Parser:
    parser = commands.add_parser(name, help=what, description=what, allow_abbrev=False)
    parser.set_defaults(run=run)
    return parser


def _add_live(commands: Commands) -> None:
    demo = _command(
        commands, "demo", "the dashboard on a simulated rig (also without a command)", "live:demo"
    )
    demo.add_argument("--scenario", default="stuck_pipe", help="what the simulated rig does")
    demo.add_argument("--seed", type=int, default=7, metavar="N")
    demo.add_argument("--speed", type=float, default=1.0, metavar="X", help="times real time")

    run = _command(commands, "run", "record a source and show it", "live:run")
    record = _command(commands, "record", "record a source, without screens", "live:record")
    serve = _command(commands, "serve", "show a record, without recording", "live:serve")
    for parser in (run, record):
        parser.add_argument("--rig", required=True, type=Path, metavar="R.toml")
        parser.add_argument("--source", required=True, metavar="SPEC", help=SOURCE_HELP)
        parser.add_argument("--bit-depth", metavar='"3000 m"', help="at the first usable row")
        parser.add_argument("--tally", type=Path, metavar="TALLY.csv", help=TALLY_HELP)
        parser.add_argument("--acts", type=Path, metavar="ACTS.csv", help=ACTS_HELP)
    record.add_argument(
        "--until-finished", action="store_true", help="stop when the source comes to its end"
    )
    replay = _command(commands, "replay", "the same screens over files", "replay:replay")
    replay.add_argument("files", nargs="+", type=Path, metavar="FILE", help="parts of one record")
    replay.add_argument("--rig", required=True, type=Path, metavar="R.toml")
    replay.add_argument("--bit-depth", metavar='"3000 m"', help="at the first usable row")
    replay.add_argument("--tally", type=Path, metavar="TALLY.csv", help=TALLY_HELP)
    replay.add_argument("--acts", type=Path, metavar="ACTS.csv", help=ACTS_HELP)
    replay.add_argument("--data", type=Path, metavar="DIR", help="keep the record, and its notes")
    replay.add_argument("--start", metavar="ISO", help="what time 0 is, for a file in seconds")
    replay.add_argument(
        "--speed", type=float, default=1.0, metavar="X", help="0.25 to 240 times real time"
    )
    for parser in (run, record, serve):
        parser.add_argument(
            "--data",
            type=Path,
            default=Path("hookload-data"),
            metavar="DIR",
            help="where the record lies (default: ./hookload-data)",
        )
    for parser in (demo, run, serve, replay):
        parser.add_argument("--host", default="127.0.0.1", metavar="H")
        parser.add_argument("--port", type=port_number, default=8050, metavar="P")
        parser.add_argument("--display", choices=DISPLAYS, default="metric")


def _add_batch(commands: Commands) -> None:
    analyse = _command(
        commands, "analyse", "events, trip sheet and summary of a record", "batch:analyse"
    )
    analyse.add_argument("files", nargs="+", type=Path, metavar="FILE", help="parts of one record")
    analyse.add_argument("--rig", required=True, type=Path, metavar="R.toml")
    analyse.add_argument("--out", required=True, type=Path, metavar="DIR")
    analyse.add_argument("--bit-depth", metavar='"3000 m"', help="at the first usable row")
    analyse.add_argument("--tally", type=Path, metavar="TALLY.csv", help=TALLY_HELP)
    analyse.add_argument("--acts", type=Path, metavar="ACTS.csv", help=ACTS_HELP)
    analyse.add_argument("--start", metavar="ISO", help="what time 0 is, for a file in seconds")
    analyse.add_argument(
        "--calibration", type=Path, metavar="CERT.json", help="read the sensor by this certificate"
    )
    analyse.add_argument("--series", action="store_true", help="write series.parquet too")
    analyse.add_argument("--json", action="store_true", help="print summary.json on stdout")

    simulate = _command(
        commands, "simulate", "an invented record, with its truth beside it", "batch:simulate"
    )
    simulate.add_argument("scenario", metavar="SCENARIO")
    simulate.add_argument("--seed", required=True, type=int, metavar="N")
    simulate.add_argument("--hours", type=float, metavar="H")
    simulate.add_argument("--hz", type=float, default=10.0, metavar="F")
    simulate.add_argument("--rig", type=Path, metavar="R.toml", help="default: the demo rig")
    simulate.add_argument("--columns", metavar="A,B", help="only these channels")
    simulate.add_argument("--out", required=True, type=Path, metavar="FILE", help=".csv[.gz]")

    rig = _command(commands, "rig", "check rig files, print their limits", "batch:rig")
    rig.add_argument("rigs", nargs="+", type=Path, metavar="R.toml")
    rig.add_argument("--load", metavar='"300 klbf"', help="all that hangs on the lines")
    rig.add_argument("--bit-depth", metavar='"3000 m"', help="weights, pull, stretch there")
    rig.add_argument("--display", choices=DISPLAYS, default="metric")
    rig.add_argument("--json", action="store_true")

    export = _command(commands, "export", "a span of a record as a file", "batch:export")
    export.add_argument("--data", required=True, type=Path, metavar="DIR")
    export.add_argument("--from", dest="from_time", required=True, metavar="T", help="ISO 8601")
    export.add_argument("--to", dest="to_time", required=True, metavar="T", help="ISO 8601")
    export.add_argument("--out", required=True, type=Path, metavar="FILE", help=".csv or .parquet")

    bench = _command(
        commands, "bench", "time analyse against pandas.read_csv on the same file", "batch:bench"
    )
    bench.add_argument("--hours", type=float, default=24.0, metavar="H")
    bench.add_argument("--repeat", type=int, default=3, metavar="N", help="medians of N rounds")
    bench.add_argument("--json", action="store_true")

    score = _command(
        commands, "score", "how well simulated records are interpreted", "scorecard:score"
    )
    score.add_argument("--quick", action="store_true", help="one seed, short records")
    score.add_argument("--seeds", type=int, metavar="N", help="records a scenario (default: 10)")
    score.add_argument("--jobs", type=int, default=1, metavar="N", help="processes at once")
    score.add_argument("--json", action="store_true")


def _add_report(commands: Commands) -> None:
    report = _command(commands, "report", "what happened, as one page to send", "report:report")
    report.add_argument("files", nargs="*", type=Path, metavar="FILE", help="parts of one record")
    report.add_argument("--rig", type=Path, metavar="R.toml", help="needed with files")
    report.add_argument("--data", type=Path, metavar="DIR", help="a record, instead of files")
    report.add_argument("--out", required=True, type=Path, metavar="REPORT.html")
    report.add_argument("--bit-depth", metavar='"3000 m"', help="at the first usable row")
    report.add_argument("--tally", type=Path, metavar="TALLY.csv", help=TALLY_HELP)
    report.add_argument("--acts", type=Path, metavar="ACTS.csv", help=ACTS_HELP)
    report.add_argument("--start", metavar="ISO", help="what time 0 is, for a file in seconds")
    report.add_argument("--from", dest="from_time", metavar="T", help="ISO 8601; default: all")
    report.add_argument("--to", dest="to_time", metavar="T", help="ISO 8601; default: all")
    report.add_argument(
        "--pulls", metavar="N,N", help="pulls for the free length, instead of the found ones"
    )
    report.add_argument(
        "--pipe-class", metavar="CLASS", help="new, premium or class 2, instead of the rig file's"
    )
    report.add_argument(
        "--design-factor", type=float, metavar="X", help="of the pipe, instead of the rig file's"
    )
    report.add_argument("--display", choices=DISPLAYS, default="metric")
    report.add_argument("--made", metavar="ISO", help="printed as when it was made; else nothing")
    report.add_argument("--json", action="store_true", help="print what was found on stdout")


def _add_calibrate(commands: Commands) -> None:
    calibrate = _command(
        commands, "calibrate", "fit a calibration to test points", "calibration:calibrate"
    )
    calibrate.add_argument("points", type=Path, metavar="POINTS.csv")
    calibrate.add_argument("--out", required=True, type=Path, metavar="CERT.json")
    calibrate.add_argument(
        "--certificate", type=Path, metavar="FILE.html", help="the same as a page to print"
    )
    calibrate.add_argument("--model", choices=("linear", "quadratic"), default="linear")
    calibrate.add_argument(
        "--through-zero", action="store_true", help="hold the reading at no load at zero"
    )
    calibrate.add_argument("--who", default="", metavar="NAME", help="who calibrated")
    calibrate.add_argument("--when", metavar="ISO", help="default: now")
    calibrate.add_argument(
        "--rig", type=Path, metavar="R.toml", help="for points of reference_hook_load"
    )
    calibrate.add_argument(
        "--direction",
        choices=("hoisting", "lowering", "held"),
        help="of the block at points of reference_hook_load, where no column tells it",
    )
    calibrate.add_argument(
        "--reference", default="", metavar="NAME", help="what gave the loads, and its number"
    )
    calibrate.add_argument(
        "--reference-certificate", default="", metavar="TEXT", help="its certificate, with date"
    )
    calibrate.add_argument(
        "--reference-uncertainty",
        type=float,
        default=0.0,
        metavar="PERCENT",
        help="of the greatest load, at 95 %%, as its certificate says",
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    words = list(sys.argv[1:] if argv is None else argv)
    if not words or (words[0].startswith("-") and words[0] not in ("-h", "--help", "--version")):
        words.insert(0, "demo")
    arguments = build_parser().parse_args(words)
    module_name, function_name = arguments.run.split(":")
    try:
        if module_name not in ("live", "replay"):
            _end_on_sigterm_as_on_ctrl_c()
        # Imported only when asked for: `analyse` must not wait for the screens' libraries.
        module = import_module(f"monitor.commands.{module_name}")
        status: int = getattr(module, function_name)(arguments)
        sys.stdout.flush()
        return status
    except OUR_ERRORS as error:
        return _refuse(str(error))
    except (KeyboardInterrupt, _Terminated):
        if module_name in ("live", "replay"):
            return DONE
        print("hookload: interrupted, nothing half-written is left", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output went away (`| head`): nothing is wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


class _Terminated(BaseException):
    """SIGTERM came; no KeyboardInterrupt, or the exit code may be lost.

    One raised while ``exec`` runs makes Python end itself by SIGINT at its exit, caught or not.
    """


def _end_on_sigterm_as_on_ctrl_c() -> None:
    """Unwind, so that no half-written file stays behind. Live commands have their own way."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, _terminate)


def _terminate(number: int, frame: object) -> None:
    raise _Terminated


def _refuse(message: str) -> int:
    print(f"hookload: {message}", file=sys.stderr)
    return WRONG_USE


if __name__ == "__main__":
    sys.exit(main())
