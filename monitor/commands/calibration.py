"""The command `calibrate`: points in, certificate out."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from monitor.commands.errors import UseError
from monitor.commands.rig_file import load_rig
from monitor.units import iso_utc, microseconds, parse_iso

if TYPE_CHECKING:
    from monitor.report.certificate import Reference

DONE = 0
# A reference that is known no better than this is none (our choice).
GREATEST_PERCENT = 20.0


def calibrate(arguments: argparse.Namespace) -> int:
    """Fit test points and write their certificate."""
    from monitor.ingest.errors import InputError, message
    from monitor.ingest.points import read_points
    from monitor.report.certificate import Reference, certificate, certificate_text
    from monitor.report.certificate_page import certificate_page
    from monitor.report.finished_file import finished_file
    from monitor.report.summary import write_json

    _check_files(arguments)
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
            reference=_reference(arguments, Reference),
        )
    except ValueError as error:
        raise InputError(message(str(arguments.points), str(error))) from error
    write_json(arguments.out, found)
    written = [str(arguments.out)]
    if arguments.certificate is not None:
        with finished_file(arguments.certificate) as part:
            part.write_text(certificate_page(found), encoding="utf-8")
        written.append(str(arguments.certificate))
    print(f"{certificate_text(found)} -> {', '.join(written)}")
    for note in found["notes"]:
        print(f"  {note}", file=sys.stderr)
    return DONE


def _check_files(arguments: argparse.Namespace) -> None:
    named = {"--out": arguments.out, "--certificate": arguments.certificate}
    for option, path in named.items():
        if path is not None and path.exists() and arguments.points.exists():
            if path.samefile(arguments.points):
                raise UseError(f"{option} is the file of the points; name another")
    if arguments.certificate is not None:
        if arguments.certificate.resolve() == arguments.out.resolve():
            raise UseError("--out and --certificate are one file; name another")


def _reference(arguments: argparse.Namespace, kind: type[Reference]) -> Reference:
    percent = arguments.reference_uncertainty
    if not 0.0 <= percent <= GREATEST_PERCENT:
        raise UseError(
            f"--reference-uncertainty {percent:g}: percent of the greatest load, "
            f"0 to {GREATEST_PERCENT:g}"
        )
    return kind(arguments.reference, arguments.reference_certificate, percent)


def _when(text: str | None) -> str:
    if text is None:
        return iso_utc(microseconds(datetime.now(UTC).replace(microsecond=0)))
    try:
        return iso_utc(parse_iso(text))
    except ValueError as error:
        raise UseError(f"--when {text}: {error}") from error
