"""Records for the laws: a simulated rig with every fault a stream can have."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from monitor.metrology.proposal import Proposal
from monitor.model import (
    Alarm,
    AlarmChange,
    Command,
    Event,
    Flags,
    Output,
    Quality,
    Samples,
    TripRow,
)
from monitor.pipeline import Pipeline
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig, SurveyStation
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import demo_rig

# A well with a bend: friction factors are fitted there, and expected loads start from them.
SURVEY = tuple(
    SurveyStation(depth_m, math.radians(inclination), math.radians(30.0))
    for depth_m, inclination in ((0.0, 0.0), (700.0, 0.0), (1600.0, 50.0), (4000.0, 55.0))
)


def simulated(
    scenario: str, hours: float, hz: float = 5.0, seed: int = 3
) -> tuple[Rig, Samples, float]:
    """Return the rig, the whole record and the bit depth at its first row.

    A scenario's name with ``deviated`` before it: the same in a surveyed well.
    """
    told = scenario.removeprefix("deviated ")
    well = None if told == scenario else replace(demo_rig(), survey=SURVEY)
    simulation = Simulation(told, seed, hours=hours, hz=hz, rig=well)
    chunks = list(simulation.chunks())
    columns = {key: np.concatenate([chunk[key] for chunk in chunks]) for key in chunks[0]}
    time_us = columns.pop("time_us")
    samples = Samples(
        np.arange(1, len(time_us) + 1) * 2,
        time_us,
        np.zeros(len(time_us), dtype=np.uint16),
        columns,
        {},
    )
    rig = parse_rig(simulation.rig_text)
    return rig, samples, float(simulation.truth()["bit_depth_m"])


def faulty(samples: Samples, seed: int) -> Samples:
    """Add missing values, spikes, late rows, a gap, a counter jump, a clock step, mixed rows."""
    random = np.random.default_rng(seed)
    length = len(samples)
    values = {name: column.copy() for name, column in samples.values.items()}
    quality = {name: np.zeros(length, dtype=np.uint16) for name in values}
    row: Flags = samples.row.copy()
    time_us = samples.time_us.copy()
    for name in values:
        holes = random.integers(0, length, length // 80)
        values[name][holes] = np.nan
        quality[name][holes] = Quality.MISSING
        values[name][random.integers(0, length, 5)] *= 3.0
    values["block_position"][length // 2 :] += 8.0
    # Out of sight and frozen, for long enough to be guessed at and to be a fault.
    values["block_position"][length // 8 : length // 8 + 400] = np.nan
    frozen = slice(length // 5, length // 5 + 600)
    values["block_position"][frozen] = values["block_position"][frozen.start]
    values["deadline_tension"][3 * length // 5 : 3 * length // 5 + 150] = np.nan
    # A spell of two kinds of rows: some without a load, others without the block.
    kind = np.arange(length) % 5
    mixed = np.arange(length) // 1000 % 4 == 1
    for name, there in (("deadline_tension", kind < 2), ("block_position", kind > 1)):
        values[name][mixed & ~there] = np.nan
        quality[name][mixed & ~there] = Quality.MISSING
    late = random.integers(1, length, length // 100)
    row[late] |= np.uint16(Quality.LATE)
    gap = length // 3
    row[gap] = Quality.GAP
    for name in values:
        values[name][gap] = np.nan
    time_us[gap + 1 :] += 90_000_000
    step = 3 * length // 4
    row[step] = Quality.EPOCH
    time_us[step:] -= 40_000_000
    return Samples(samples.seq, time_us, row, values, quality)


def commands(samples: Samples) -> list[Command]:
    """One of every act that changes interpretation, numbered between rows."""
    points = [0.0, 100e3, 200e3, 300e3]
    readings = [load / 1.008 + 150.0 for load in points[:-1]] + [297.9e3]
    calibration = Proposal("deadline_tension", tuple(points), tuple(readings)).to_text()
    acts = (
        ("tare", float("nan"), ""),
        ("bit_depth", 2000.0, ""),
        ("run", float("nan"), "run 2"),
        ("mud_density", 1250.0, ""),
        ("slip_and_cut", float("nan"), "begin"),
        ("slip_and_cut", 30.0, "end 30 m"),
        ("calibration_proposed", float("nan"), calibration),
        ("travelling_weight", 243e3, ""),
        ("calibration_approved", 1.0, ""),
        ("calibration_rolled_back", 0.0, "zero has moved"),
        ("lines_strung", 10.0, "override: told so"),
        ("agreed_limit", 90e3, "overpull: told so"),
        ("note", float("nan"), "words"),
        ("catch_weight", float("nan"), "hoisting"),
        ("acknowledge", float("nan"), "overpull"),
        ("shelve", 300.0, "overpull: worked on"),
        ("stuck_mode", 1.5e6, "begin"),
        ("mute", 60.0, ""),
        ("shelve", 60.0, "near_crown"),
        ("unshelve", float("nan"), "overpull"),
        ("shelve", 120.0, "slack_off"),
        ("acknowledge", float("nan"), "stuck"),
    )
    at = [len(samples) * k // (len(acts) + 1) for k in range(1, len(acts) + 1)]
    return [
        Command(int(samples.seq[i]) - 1, int(samples.time_us[i]), act, number, text, "tester")
        for i, (act, number, text) in zip(at, acts, strict=True)
    ]


class Collected:
    """What a run gave, merged as a reader of the record would merge it."""

    def __init__(self) -> None:
        self.columns: dict[str, list[Any]] = {}
        self.events: dict[str, Event] = {}
        self.trip_rows: dict[int, TripRow] = {}
        self.others: list[Any] = []  # weighings of the empty block, acts on calibrations
        self.alarms: dict[str, Alarm] = {}
        self.alarm_changes: list[AlarmChange] = []

    def take(self, output: Output) -> None:
        for name, column in output.columns.items():
            self.columns.setdefault(name, []).append(column)
        self.events.update((event.id, event) for event in output.events)
        for row in output.trip_rows:
            self.trip_rows[row.stand] = row
            if row.void:  # taken back: every reader drops it, whenever it was shown
                del self.trip_rows[row.stand]
        self.others += [*output.checks, *output.calibrations]
        self.alarms.update((alarm.id, alarm) for alarm in output.alarms)
        self.alarm_changes.extend(output.alarm_changes)

    def column(self, name: str) -> Any:
        return np.concatenate(self.columns[name])


def run(
    rig: Rig,
    samples: Samples,
    cuts: Sequence[int],
    acts: Sequence[Command] = (),
    depth_m: float | None = None,
    restart: Sequence[int] = (),
) -> Collected:
    """Feed the record in pieces; at ``restart`` cuts go on from a restored snapshot."""
    pipeline = Pipeline(rig, bit_depth_m=depth_m)
    collected = Collected()
    edges = [0, *sorted(cuts), len(samples)]
    waiting = list(acts)
    for start, stop in zip(edges, edges[1:], strict=False):
        if start in restart:
            pipeline = Pipeline.restore(rig, pipeline.snapshot())
        last = stop == len(samples)
        due = [c for c in waiting if last or c.seq < int(samples.seq[stop])]
        waiting = waiting[len(due) :]
        collected.take(pipeline.feed(samples.piece(start, stop), due))
    return collected


def differences(first: Collected, second: Collected) -> list[str]:
    """Names of what is not the same to the bit."""
    found = [
        name
        for name in first.columns
        if not np.array_equal(
            first.column(name), second.column(name), equal_nan=first.column(name).dtype.kind == "f"
        )
    ]
    if repr(first.events) != repr(second.events):
        found.append("events")
    if repr(first.trip_rows) != repr(second.trip_rows):
        found.append("trip rows")
    if sorted(map(repr, first.others)) != sorted(map(repr, second.others)):
        found.append("weighings or calibrations")
    if repr(first.alarms) != repr(second.alarms):
        found.append("alarms")
    if repr(first.alarm_changes) != repr(second.alarm_changes):
        found.append("alarm journal")
    return found
