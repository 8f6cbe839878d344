"""The command `calibrate`: points in, certificate out."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime

from monitor.commands.errors import UseError
from monitor.commands.rig_file import load_rig
from monitor.units import iso_utc, microseconds, parse_iso

DONE = 0


def calibrate(arguments: argparse.Namespace) -> int:
    """Fit test points and write their certificate."""
    from monitor.ingest.errors import InputError, message
    from monitor.ingest.points import read_points
    from monitor.report.certificate import certificate, certificate_text
    from monitor.report.summary import write_json

    if arguments.out.exists() and arguments.points.exists():
        if arguments.out.samefile(arguments.points):
            raise UseError("--out is the file of the points; name another")
    when = _when(arguments.when)
    rig = None if arguments.rig is None else load_rig(arguments.rig)
    points = read_points(arguments.points, rig, arguments.direction)
    try:
        found = certificate(
            points,
            arguments.model,
            through_zero=arguments.through_zero,
            who=arguments.who,
            when=when,
            rig=rig,
        )
    except ValueError as error:
        raise InputError(message(str(arguments.points), str(error))) from error
    write_json(arguments.out, found)
    print(f"{certificate_text(found)} -> {arguments.out}")
    for note in found["notes"]:
        print(f"  {note}", file=sys.stderr)
    return DONE


def _when(text: str | None) -> str:
    if text is None:
        return iso_utc(microseconds(datetime.now(UTC).replace(microsecond=0)))
    try:
        return iso_utc(parse_iso(text))
    except ValueError as error:
        raise UseError(f"--when {text}: {error}") from error
