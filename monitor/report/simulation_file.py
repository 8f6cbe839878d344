"""A simulated record as CSV, with what the simulator knows to be true beside it."""

from __future__ import annotations

import gzip
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import IO, cast

import numpy as np

from monitor.model import CHANNELS, Floats
from monitor.report import csv_columns
from monitor.report.finished_file import OutputError, finished_file
from monitor.report.summary import write_json
from monitor.simulate.simulation import Simulation
from monitor.units import from_si

# Unit and decimals of each quantity as a data logger would write it.
PRINTED = {
    "force": ("kN", 3),
    "length": ("m", 4),
    "angular_speed": ("rpm", 2),
    "torque": ("kN.m", 3),
    "flow": ("L/min", 1),
    "pressure": ("bar", 2),
    "volume": ("m3", 4),
    "temperature": ("degC", 2),
    "signal": ("mA", 5),
}


def beside(path: Path, ending: str) -> Path:
    """``trip.csv`` and ``trip.csv.gz`` both have their truth in ``trip.truth.json``."""
    name = path.name.removesuffix(".gz").removesuffix(".csv")
    return path.with_name(name + ending)


def write_simulation(
    simulation: Simulation,
    path: Path,
    *,
    channels: Sequence[str] | None = None,
    progress: Callable[[int], None] | None = None,
) -> int:
    """Write the record, its truth and its rig file; the same simulation, the same bytes.

    ``channels`` keeps only those; returns the number of rows.
    """
    if not path.name.endswith((".csv", ".csv.gz")):
        raise OutputError(f"{path}: a simulated record is written as .csv or .csv.gz")
    rows = 0
    names: list[str] = []
    with ExitStack() as stack:
        stream = _stream(stack, stack.enter_context(finished_file(path)), path.suffix == ".gz")
        for chunk in simulation.chunks():
            if not names:
                names = _chosen([name for name in chunk if name in CHANNELS], channels)
                csv_columns.write_header(stream, ("time", *map(_header, names)))
            cells = [csv_columns.time_cells(chunk["time_us"].astype(np.int64))]
            for name in names:
                values = _printed(name, chunk[name].astype(np.float64))
                cells.append(csv_columns.number_cells(values))
            csv_columns.write_rows(stream, cells)
            rows += len(chunk["time_us"])
            if progress is not None:
                progress(rows)
    write_json(beside(path, ".truth.json"), simulation.truth())
    with finished_file(beside(path, ".rig.toml")) as part:
        part.write_text(simulation.rig_text, encoding="utf-8")
    return rows


def _stream(stack: ExitStack, part: Path, compressed: bool) -> IO[bytes]:
    raw = stack.enter_context(part.open("wb"))
    if not compressed:
        return raw
    # No name and no time in the header: the same rows give the same bytes.
    packed = gzip.GzipFile(filename="", mode="wb", fileobj=raw, mtime=0, compresslevel=6)
    stack.callback(packed.close)
    return cast(IO[bytes], packed)


def _chosen(available: list[str], wanted: Sequence[str] | None) -> list[str]:
    if wanted is None:
        return available
    missing = [name for name in wanted if name not in available]
    if missing:
        raise OutputError(f"column {missing[0]!r}: this simulated rig has {', '.join(available)}")
    return [name for name in available if name in wanted]


def _header(name: str) -> str:
    return f"{name} [{PRINTED[CHANNELS[name].quantity][0]}]"


def _printed(name: str, values: Floats) -> Floats:
    quantity = CHANNELS[name].quantity
    unit, decimals = PRINTED[quantity]
    # Adding zero turns -0.0 into 0.0, which reads like a fault.
    return np.round(from_si(values, unit, quantity), decimals) + 0.0
