"""The commands that end by themselves: analyse, simulate, rig, export, bench."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from monitor.commands.errors import UseError
from monitor.commands.progress import Progress
from monitor.commands.quantity import quantity
from monitor.commands.rig_file import load_rig
from monitor.commands.version import refuse_later_suffix
from monitor.units import parse_iso

DONE = 0


def analyse(arguments: argparse.Namespace) -> int:
    """Write the tables of a record and say in two lines what is in them."""
    for path in arguments.files:
        if str(path).lower().endswith((".las", ".las.gz")):
            raise UseError(f"{path}: LAS files: not in this version")
    rig = load_rig(arguments.rig, arguments.tally)
    depth_m = quantity(arguments.bit_depth, "length", "--bit-depth")
    from monitor.report.analysis import analyse as analyse_record

    with Progress("analysed") as progress:
        summary = analyse_record(
            arguments.files,
            rig,
            arguments.out,
            bit_depth_m=depth_m,
            acts=arguments.acts,
            series=arguments.series,
            start=arguments.start,
            calibration=arguments.calibration,
            progress=progress,
        )
    if arguments.json:
        _print_json(summary)
        return DONE
    rejected = sum(summary["rejected"].values())
    print(
        f"{summary['samples']:,} samples, {rejected:,} rejected, {summary['stands']} stands, "
        f"{sum(summary['events'].values())} events -> {arguments.out}"
    )
    for line in (*summary["notes"], *summary["examples"]):
        print(f"  {line}", file=sys.stderr)
    return DONE


def simulate(arguments: argparse.Namespace) -> int:
    """Write an invented record and its truth."""
    from monitor.report.simulation_file import beside, write_simulation
    from monitor.simulate import SCENARIOS, Simulation

    if arguments.scenario not in SCENARIOS:
        raise UseError(f"scenario {arguments.scenario!r}: known are {', '.join(SCENARIOS)}")
    for name, value in (("--hours", arguments.hours), ("--hz", arguments.hz)):
        if value is not None and not 0 < value < 1e6:
            raise UseError(f"{name} {value:g}: must be above 0")
    rig = None if arguments.rig is None else load_rig(arguments.rig)
    simulation = Simulation(
        arguments.scenario, seed=arguments.seed, hours=arguments.hours, hz=arguments.hz, rig=rig
    )
    channels = None if arguments.columns is None else arguments.columns.split(",")
    with Progress("simulated") as progress:
        rows = write_simulation(simulation, arguments.out, channels=channels, progress=progress)
    truth, rig_file = (beside(arguments.out, end) for end in (".truth.json", ".rig.toml"))
    print(f"{rows:,} rows (invented) -> {arguments.out}; beside it {truth.name}, {rig_file.name}")
    return DONE


def rig(arguments: argparse.Namespace) -> int:
    """Print what a rig file says, its limits and the tensions under a load."""
    from monitor.report.rig_sheet import rig_sheet, rig_sheet_text

    configured = load_rig(arguments.rig)
    load_N = quantity(arguments.load, "force", "--load")
    if load_N is not None and load_N < 0:
        raise UseError(f"--load {arguments.load}: must not be negative")
    bit_depth_m = quantity(arguments.bit_depth, "length", "--bit-depth")
    if bit_depth_m is not None and not 0 < bit_depth_m < 15_000:
        raise UseError(f"--bit-depth {arguments.bit_depth}: must be above 0 m and below 15000 m")
    sheet = rig_sheet(configured, load_N, bit_depth_m)
    if arguments.json:
        _print_json(sheet)
    else:
        print(rig_sheet_text(sheet, arguments.display))
    return DONE


def export(arguments: argparse.Namespace) -> int:
    """Write a span of a record as a file."""
    refuse_later_suffix(arguments.out.suffix)
    from monitor.report.export import SIGNAL_UNITS
    from monitor.report.export import export as export_span
    from monitor.rig.file import parse_rig
    from monitor.store.reader import Reader

    from_us, to_us = _time(arguments.from_time, "--from"), _time(arguments.to_time, "--to")
    if to_us <= from_us:
        raise UseError("--to is not after --from")
    reader = Reader(arguments.data)
    try:
        if not reader.is_ready():
            raise UseError(f"{arguments.data}: holds no record")
        configured = parse_rig(reader.rig_text(), file="rig file of the record")
        unit = SIGNAL_UNITS[configured.sensor.signal_quantity]
        rows = export_span(reader, from_us, to_us, arguments.out, signal_unit=unit)
    finally:
        reader.close()
    print(f"{rows:,} rows -> {arguments.out}")
    return DONE


def _time(text: str, option: str) -> int:
    try:
        return parse_iso(text)
    except ValueError as error:
        raise UseError(f"{option} {text}: {error}") from error


def bench(arguments: argparse.Namespace) -> int:
    """Time `analyse` against the plainest reading of the same file."""
    from monitor import bench as measurement

    if not 0 < arguments.hours <= 240:
        raise UseError(f"--hours {arguments.hours:g}: must be above 0 and at most 240")
    if not 1 <= arguments.repeat <= 100:
        raise UseError(f"--repeat {arguments.repeat}: must be 1 to 100")
    result = measurement.bench(arguments.hours, arguments.repeat)
    if arguments.json:
        _print_json(result)
    else:
        print(measurement.bench_text(result))
    return DONE


def _print_json(value: Any) -> None:
    from monitor.report.summary import json_text

    sys.stdout.write(json_text(value))
