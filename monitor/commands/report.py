"""The `report` command: what happened, from files or from a record."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from monitor.commands.errors import UseError
from monitor.commands.progress import Progress
from monitor.commands.quantity import quantity
from monitor.commands.rig_file import load_rig
from monitor.report.findings import Findings
from monitor.report.material import Material
from monitor.report.summary import json_text
from monitor.review.allowed import PipeChoice
from monitor.review.pulls import PULL
from monitor.units import UnitError, iso_utc, parse_iso

DONE = 0


def report(arguments: argparse.Namespace) -> int:
    """Write the report and say in a line or two what it says."""
    _check_use(arguments)
    from_us, to_us = (
        _time(arguments.from_time, "--from"),
        _time(arguments.to_time, "--to"),
    )
    if from_us is not None and to_us is not None and to_us <= from_us:
        raise UseError("--to is not after --from")
    made = ""
    if arguments.made is not None:
        made = iso_utc(_time(arguments.made, "--made") or 0)
    chosen = _pulls(arguments.pulls)
    choice = PipeChoice(arguments.pipe_class, arguments.design_factor)
    if choice.fault():
        raise UseError(choice.fault())
    material = replace(
        _material(arguments, from_us, to_us),
        pipe_choice=choice,
        chosen_pulls=chosen,
    )
    from monitor.report.findings import find
    from monitor.report.report import write_report

    findings = find(material)
    _refuse_absent_pulls(chosen, findings)
    findings, paths = write_report(
        material, arguments.out, display=arguments.display, made=made, findings=findings
    )
    if arguments.json:
        print(json_text(_said(findings, paths)), end="")
        return DONE
    print(f"{len(findings.spells)} stuck spells, {len(findings.lines)} lines -> {arguments.out}")
    for found in findings.spells:
        free = found.spell.free
        what = (
            f"free length {free.free_length_m:.0f} m ({free.low_m:.0f} to {free.high_m:.0f})"
            if free.is_supported
            else f"no free length: {free.why}"
        )
        print(f"  {len(found.spell.pulls)} pulls and set-downs, {what}, {found.spell.outcome}")
    print(f"  tables beside it: {', '.join(path.name for path in paths[1:])}")
    return DONE


def _refuse_absent_pulls(chosen: frozenset[int] | None, findings: Findings) -> None:
    """A pull that is in no spell would be left out of the free length without a word."""
    counts = [sum(pull.kind == PULL for pull in found.spell.pulls) for found in findings.spells]
    absent = sorted(number for number in chosen or () if not 1 <= number <= max(counts, default=0))
    if not absent:
        return
    named = ", ".join(map(str, absent))
    what = f"no pull {named} in this span"
    if not counts:
        raise UseError(f"--pulls {named}: {what}: no stuck pipe was found; leave --pulls out")
    numbered = ", ".join(
        f"{f'1 to {count}' if count > 1 else count or 'none'} in the spell of "
        f"{iso_utc(found.spell.event.start_us)}"
        for count, found in zip(counts, findings.spells, strict=True)
    )
    raise UseError(f"--pulls {named}: {what}: give some of {numbered}")


def _said(findings: Findings, paths: Sequence[Path]) -> dict[str, object]:
    return {
        "spells": [
            {
                "start": iso_utc(found.spell.event.start_us),
                "outcome": found.spell.outcome,
                "pulls": sum(pull.kind == PULL for pull in found.spell.pulls),
                "set_downs": sum(pull.kind != PULL for pull in found.spell.pulls),
                "free_length_m": found.spell.free.free_length_m,
                "low_m": found.spell.free.low_m,
                "high_m": found.spell.free.high_m,
                "why": found.spell.free.why,
            }
            for found in findings.spells
        ],
        "lines": len(findings.lines),
        "files": [str(path) for path in paths],
    }


def _check_use(arguments: argparse.Namespace) -> None:
    if bool(arguments.files) == (arguments.data is not None):
        raise UseError("report takes files (with --rig) or --data DIR, not both and not neither")
    if arguments.files and arguments.rig is None:
        raise UseError("--rig is needed with files")
    only_files = {"--rig": arguments.rig, "--bit-depth": arguments.bit_depth,
                  "--tally": arguments.tally,
                  "--acts": arguments.acts, "--start": arguments.start}  # fmt: skip
    given = [name for name, value in only_files.items() if value is not None]
    if arguments.data is not None and given:
        raise UseError(f"{', '.join(given)}: not with --data, the record knows its own")


def _material(arguments: argparse.Namespace, from_us: int | None, to_us: int | None) -> Material:
    if arguments.data is None:
        from monitor.report.material import from_files

        rig = load_rig(arguments.rig, arguments.tally)
        depth_m = quantity(arguments.bit_depth, "length", "--bit-depth")
        with Progress("interpreted") as progress:
            return from_files(
                arguments.files,
                rig,
                bit_depth_m=depth_m,
                acts=arguments.acts,
                start=arguments.start,
                from_us=from_us,
                to_us=to_us,
                progress=progress,
            )
    from monitor.report.record_material import from_record
    from monitor.store.reader import Reader

    reader = Reader(arguments.data)
    try:
        if not reader.is_ready():
            raise UseError(f"{arguments.data}: holds no record")
        return from_record(reader, from_us, to_us)
    finally:
        reader.close()


def _pulls(text: str | None) -> frozenset[int] | None:
    if text is None:
        return None
    try:
        return frozenset(int(number) for number in text.split(","))
    except ValueError:
        raise UseError(f"--pulls {text}: numbers of pulls are expected, like 2,3,5") from None


def _time(text: str | None, option: str) -> int | None:
    if text is None:
        return None
    try:
        return parse_iso(text)
    except UnitError as error:
        raise UseError(f"{option}: {error}") from error
