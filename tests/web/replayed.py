"""An invented stuck pipe in a record of its own, as ``hookload replay`` makes it."""

from __future__ import annotations

import json
import threading
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import urlopen

import numpy as np

from monitor.model import Event, Output, Samples
from monitor.recorder import record
from monitor.report.simulation_file import write_simulation
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig
from monitor.simulate import Simulation
from monitor.store.moments import Moments

LAND_RIG = Path(__file__).parent.parent.parent / "config" / "land_rig.toml"
HOURS = 1.2


@dataclass(frozen=True)
class Replayed:
    """The record's folder, the file it came from and what is known to be true of it."""

    folder: Path
    file: Path
    rig: Rig
    truth: dict[str, Any]


def replayed(folder: Path, *, seed: int = 7, hz: float = 5.0) -> Replayed:
    """Record the invented file by the recorder's own path."""
    text = LAND_RIG.read_text(encoding="utf-8")
    rig = parse_rig(text)
    simulation = Simulation("stuck_pipe", seed=seed, hours=HOURS, hz=hz, rig=rig)
    path = folder / "stuck.csv"
    write_simulation(simulation, path)
    truth = simulation.truth()
    data = folder / "data"
    record(
        text,
        f"csv:{path}",
        data,
        bit_depth_m=truth["bit_depth_m"],
        until_finished=True,
        stop=threading.Event(),
    )
    return Replayed(data, path, rig, truth)


def stuck_event(made: Replayed) -> Event:
    """The one stuck pipe that the monitor found."""
    with closing(Moments(made.folder)) as record:
        (event,) = [each for each in record.events(1000) if each.kind == "stuck"]
    return event


def up_to(samples: Samples, stop_us: int) -> Samples:
    """Rows not later than a moment: what a driller had seen by then."""
    return samples.piece(0, int(np.searchsorted(samples.time_us, stop_us, side="right")))


def last_row(output: Output) -> dict[str, float]:
    """Results of the newest row."""
    return {name: float(column[-1]) for name, column in output.columns.items()}


@dataclass(frozen=True)
class Answer:
    """What the server said."""

    status_code: int
    headers: dict[str, str]
    content: bytes

    @property
    def text(self) -> str:
        return self.content.decode()

    def json(self) -> Any:
        return json.loads(self.content)


@dataclass(frozen=True)
class Client:
    """Asks a running server."""

    address: str

    def get(self, path: str, *, params: dict[str, Any]) -> Answer:
        try:
            with urlopen(f"{self.address}{path}?{urlencode(params)}", timeout=30) as answer:
                return Answer(answer.status, dict(answer.headers), answer.read())
        except HTTPError as refused:
            return Answer(refused.code, dict(refused.headers), refused.read())
