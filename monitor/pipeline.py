"""The one fold over the stages: live, replay and batch all feed this class.

A chunk is cut at commands, gaps, clock steps and late rows; every stage then sees whole
pieces in order. Cutting the stream elsewhere never changes a bit of the output.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor import __version__
from monitor.interpret.agreed import AgreedLimits
from monitor.interpret.alarm_status import alarm_status
from monitor.interpret.alarms import Alarms
from monitor.interpret.block_survey import surveyed
from monitor.interpret.bottom import Bottom
from monitor.interpret.circulation import Circulation
from monitor.interpret.depth import Depth
from monitor.interpret.depth_marks import DepthMarks
from monitor.interpret.drilling_weights import DrillingWeights
from monitor.interpret.empty_block import EmptyBlock
from monitor.interpret.event_facts import EventFacts
from monitor.interpret.events import Events
from monitor.interpret.expected import Expected
from monitor.interpret.faults import Faults
from monitor.interpret.heave import Heave
from monitor.interpret.heave_limit import HeaveLimit
from monitor.interpret.heights import Heights
from monitor.interpret.hoist import Hoist
from monitor.interpret.hoist_status import hoist_status
from monitor.interpret.known import known_or_none
from monitor.interpret.lateness import Lateness
from monitor.interpret.load import Load
from monitor.interpret.motion import Motion
from monitor.interpret.pieces import pieces, together, with_late, without
from monitor.interpret.pipe_motion import PipeMotion
from monitor.interpret.rotation import Rotation
from monitor.interpret.seconds import Seconds
from monitor.interpret.sensor import SensorStage
from monitor.interpret.sensor_status import sensor_status, sensor_summary
from monitor.interpret.slips import Slips
from monitor.interpret.stage import Rows, Stage, decode, encode
from monitor.interpret.still import Still
from monitor.interpret.stuck import Stuck
from monitor.interpret.stuck_mode import StuckMode
from monitor.interpret.tally import Tally
from monitor.interpret.trip_sheet import TripSheet
from monitor.interpret.version import RESULT_CODE, code_digest
from monitor.interpret.waves import Waves
from monitor.interpret.weight_loss import WeightLoss
from monitor.mechanics.ratings import pull_limits
from monitor.model import (
    CALIBRATION_ACTS,
    INTEGER_RESULTS,
    RESULT_COLUMNS,
    CalibrationAct,
    Command,
    EmptyCheck,
    Event,
    Output,
    Quality,
    Samples,
    State,
    TripRow,
)
from monitor.rig.rig import Rig

NAN = float("nan")

STEP_S = 1.0  # what bridges a clock step in the time the stages see


class Pipeline:
    """Samples and commands in; result columns, events and trip rows out."""

    def __init__(self, rig: Rig, *, bit_depth_m: float | None = None) -> None:
        depth = NAN if bit_depth_m is None else bit_depth_m
        self.rig = rig
        self.load = Load(rig)
        self.hoist = Hoist(rig)
        self.slips = Slips(rig, depth, lambda: self.hoist.slip.kept_until_us)
        self.depth = Depth(rig, depth)
        self.heave = Heave(rig)
        self.bottom = Bottom(rig)
        self.events = Events(rig, self.hoist.in_use)
        self.drilling_weights = DrillingWeights(rig)
        self.expected = Expected(rig)
        self.stuck = Stuck(rig)
        self.event_facts = EventFacts(rig)
        self.depth_marks = DepthMarks(rig, self.event_facts.spots.places)
        self.tally = Tally(rig)
        self.trip_sheet = TripSheet(rig)
        self.faults = Faults(rig)
        self.empty_block = EmptyBlock(rig)
        self.sensor = SensorStage(rig, self.load)
        self.agreed = AgreedLimits(rig)
        self.stuck_mode = StuckMode(rig)
        self.alarms = Alarms(rig, self.agreed)
        self.stages: dict[str, Stage] = {
            "motion": Motion(rig),
            "load": self.load,
            "waves": Waves(rig),
            "slips": self.slips,
            "lateness": Lateness(rig),
            "depth": self.depth,
            "heave": self.heave,
            "pipe_motion": PipeMotion(rig),
            "seconds": Seconds(),
            "bottom": self.bottom,
            "rotation": Rotation(rig),
            "circulation": Circulation(rig),
            "drilling_weights": self.drilling_weights,
            "expected": self.expected,
            "events": self.events,
            "stuck": self.stuck,
            "faults": self.faults,
            "heights": Heights(rig),
            "heave_limit": HeaveLimit(rig),
            "still": Still(rig),
            "weight_loss": WeightLoss(rig),
            "empty_block": self.empty_block,
            "sensor": self.sensor,
            "event_facts": self.event_facts,
            "depth_marks": self.depth_marks,
            "tally": self.tally,
            "trip_sheet": self.trip_sheet,
            "hoist": self.hoist,
            "agreed": self.agreed,
            "stuck_mode": self.stuck_mode,
            "alarms": self.alarms,
        }
        self.started = False
        self.origin_us = 0
        self.last_s = 0.0
        self.counts: dict[str, int] = {}
        self.stands = 0
        self.run = rig.run
        self.samples = 0
        self.still_s = NAN
        self.state = 0

    def feed(self, samples: Samples, commands: Sequence[Command] = ()) -> Output:
        """Interpret one chunk; commands act between the rows their seq stands between."""
        late = (samples.row & Quality.LATE) > 0
        if late.any():
            # Rows of a second kind may come in turn with the others: no piece for each.
            stand = self.trip_sheet.count + 1
            output = self.feed(without(samples, late), commands)
            return with_late(output, samples, late, stand)
        parts: list[dict[str, NDArray[Any]]] = []
        events: dict[str, Event] = {}
        trip_rows: dict[int, TripRow] = {}
        calibrations: list[CalibrationAct] = []
        checks: list[EmptyCheck] = []
        waiting = sorted(commands, key=lambda command: command.seq)
        for start, stop in pieces(samples, waiting):
            while waiting and (start == stop or waiting[0].seq < int(samples.seq[start])):
                calibrations.extend(self._command(waiting.pop(0)))
            if start == stop:
                continue
            rows = self._piece(samples, start, stop)
            parts.append(self._results(rows))
            latest = {event.id: event for event in rows.events}
            for event in latest.values():
                if event.seq >= int(rows.seq[0]):
                    self.counts[event.kind] = self.counts.get(event.kind, 0) + 1
            events.update(latest)
            trip_rows.update((row.stand, row) for row in rows.trip_rows)
            checks.extend(rows.checks)
            self.still_s = float(rows.column["still_s"][-1])
            self.state = int(parts[-1]["state"][-1])
        # In the order they were raised, whichever stage raised them: the same for any cut.
        raised = sorted(events.values(), key=lambda event: (event.seq, event.kind))
        alarms, changes = self.alarms.drain()
        changes = sorted([*self.stuck_mode.drain(), *changes], key=lambda change: change.seq)
        return Output(
            samples.seq,
            samples.time_us,
            together(parts),
            raised,
            list(trip_rows.values()),
            calibrations,
            checks,
            alarms,
            changes,
        )

    def _piece(self, samples: Samples, start: int, stop: int) -> Rows:
        piece = samples.piece(start, stop)
        first_us = int(piece.time_us[0])
        if not self.started:
            self.origin_us, self.started = first_us, True
        flags = int(piece.row[0])
        if flags & Quality.EPOCH:
            self.origin_us = first_us - round((self.last_s + STEP_S) * 1e6)
        if flags & (Quality.EPOCH | Quality.GAP):
            for stage in self.stages.values():
                stage.gap()
        rows = Rows(
            seq=piece.seq,
            time_us=piece.time_us,
            time_s=(piece.time_us - self.origin_us) / 1e6,
            row=piece.row,
            origin_us=self.origin_us,
            values=surveyed(piece.values, self.rig.drum),
            quality=dict(piece.quality),
        )
        for stage in self.stages.values():
            stage.step(rows)
        self.last_s = float(rows.time_s[-1])
        self.samples += int(np.count_nonzero((rows.row & Quality.GAP) == 0))
        return rows

    def refusal(self, command: Command) -> str:
        """Why an act would not be taken now; empty where it would."""
        others = self.stuck_mode.refusal(command) or self.alarms.refusal(command)
        others = others or self.load.calibrations.refusal(command) or self.tally.refusal(command)
        return others or self.drilling_weights.refusal(command) or self.hoist.refusal(command)

    def _command(self, command: Command) -> list[CalibrationAct]:
        if command.act in CALIBRATION_ACTS:
            taken = self.load.calibrations.take(command)
            if taken is None:
                return []
            for stage in self.stages.values():
                stage.command(command)
            return [taken]
        for act in self.hoist.taken(command, self.refusal(command)):
            if act.act == "run":
                self.run = act.text
            for stage in self.stages.values():
                stage.command(act)
        return []

    def _results(self, rows: Rows) -> dict[str, NDArray[Any]]:
        column = rows.column
        hanging = column["phase"] == 2
        unmoved = (column["friction_known"] == 0) & (not self.load.as_reported)
        state = np.zeros(len(rows), dtype=np.int64)
        unseen = (column["block_quality"] & Quality.MISSING) > 0
        if unseen.any():  # the stages go on from the last position; nobody is told it is so
            for name in ("block_speed_m_s", "still_s"):
                column[name] = np.where(unseen, NAN, column[name])
        flags = (
            (State.LEARNING, hanging & column["learning"]),
            (State.DEPTH_UNCERTAIN, (column["depth_uncertain"] > 0) | (unseen & hanging)),
            (State.SLIPS_HOLDING_PIPE, column["holding"]),
            (State.FRICTION_UNKNOWN, unmoved),
            (State.TARE_MISSING, hanging & np.isnan(column["tare_N"])),
            (State.LOAD_NOT_TAKEN, column["phase"] == 1),
            (State.REVERSED, column["reversed"]),
            (State.ALARMS_HELD, column["alarms_held"]),
            (State.OUTSIDE_CALIBRATION, column["outside_calibration"]),
            (State.WORKING_STUCK, column["working_stuck"]),
        )
        for flag, where in flags:
            state[where] |= int(flag)
        column["state"] = state
        column["quality"] = (column["load_quality"] | column["block_quality"] | rows.row).astype(
            np.int64
        )
        gap = (rows.row & Quality.GAP) > 0
        if gap.any():
            for name in RESULT_COLUMNS:
                if name not in INTEGER_RESULTS and name != "line_work_J":
                    column[name] = np.where(gap, NAN, column[name])
            column["activity"] = np.where(gap, 0, column["activity"])
        return {
            name: np.asarray(column[name], np.int64 if name in INTEGER_RESULTS else np.float64)
            for name in RESULT_COLUMNS
        }

    def snapshot(self) -> dict[str, Any]:
        """Everything carried, as JSON, with what it was made by."""
        return {
            "code": CODE,
            "rig": self.rig.text_hash,
            "stages": {name: stage.state() for name, stage in self.stages.items()},
            "own": encode(
                {
                    name: getattr(self, name)
                    for name in (
                        "started",
                        "origin_us",
                        "last_s",
                        "counts",
                        "run",
                        "samples",
                        "still_s",
                        "state",
                    )
                }
            ),
        }

    @classmethod
    def restore(cls, rig: Rig, snapshot: dict[str, Any]) -> Pipeline:
        """Carry on from a snapshot; ValueError where code or rig are not the same."""
        if snapshot.get("code") != CODE or snapshot.get("rig") != rig.text_hash:
            raise ValueError(
                "snapshot was made by other code or another rig file; rebuild from the raw rows"
            )
        pipeline = cls(rig)
        for name, stage in pipeline.stages.items():
            stage.restore(snapshot["stages"][name])
        for name, value in decode(snapshot["own"]).items():
            setattr(pipeline, name, value)
        return pipeline

    def summary(self) -> dict[str, Any]:
        """Running totals for ``summary.json`` (SI; the report converts)."""
        in_use = self.hoist.in_use()
        limits = pull_limits(self.rig, in_use.lines_strung, in_use)
        greatest = self.load.greatest_N
        return {
            "samples": self.samples,
            "stands": self.trip_sheet.count,
            "events": dict(sorted(self.counts.items())),
            "greatest_hook_load_N": greatest,
            "line_work_J": self.load.work_J,
            "margins_N": {limit.name: limit.limit_N - greatest for limit in limits},
            "bit_depth_m": self.depth.start_m + self.depth.last_m,
            "hole_depth_m": self.bottom.hole_m,
            "lines_strung": self.load.lines_strung,
            "travelling_weight_N": self.load.travelling_weight_N,
            "empty_block_N": self.slips.empty_N,
            "stuck": self.stuck.found(),
            "friction": self.expected.soft.status(),
            "alarms": dict(sorted(self.alarms.counts.items())),
            "acts_refused": sorted([*self.hoist.refused, *self.load.calibrations.refused]),
            "calibration_in_force": self.load.calibrations.in_force,
            "sensor": sensor_summary(
                self.load, self.empty_block, self.sensor, self.faults, self.slips
            ),
        }

    def status(self) -> dict[str, Any]:
        """Small figures for the screen that change slowly."""
        rig = self.rig
        hoist = hoist_status(self.hoist, self.heave.status())
        marks = self.depth_marks.ahead(self.trip_sheet.stand_m)
        return {
            "rig": rig.name,
            "run": self.run,
            "lines_strung": self.load.lines_strung,
            "travelling_weight_N": self.load.travelling_weight_N,
            "as_reported": self.load.as_reported,
            "calibration_in_force": self.load.calibrations.in_force,
            "sensor": sensor_status(
                self.load,
                self.empty_block,
                self.sensor,
                self.faults,
                self.events.alarm_N["overpull"],
                self.slips,
            ),
            "pull_limits": [
                {"name": rating["name"], "limit_N": rating["limit_N"]}
                for rating in hoist["ratings"]
            ],
            "hoist": hoist,
            "event_limits_N": {
                "overpull": rig.events.overpull_N,
                "slack_off": rig.events.slack_off_N,
            },
            "alarm_limits_N": {
                kind: known_or_none(limit_N) for kind, limit_N in self.events.alarm_N.items()
            },
            "alarms": alarm_status(self.alarms),
            "stuck_mode": self.stuck_mode.status(),
            "agreed_N": self.agreed.status(),
            "depth_marks": [
                {"name": mark.name, "depth_m": mark.depth_m} for mark in rig.depth_marks
            ],
            "next_depth_mark": marks[0] if marks else None,
            "depth_marks_ahead": marks,
            "tight_spots": self.event_facts.spots.places(),
            "depth_difference_m": known_or_none(self.depth.difference_m),
            "floor_m": rig.limits.floor_m,
            "crown_m": rig.limits.crown_m,
            "learning": {
                "up": not self.expected.up.known,
                "down": not self.expected.down.known,
            },
            "friction": self.expected.soft.status(),
            "direction": (self.trip_sheet.last_row or {}).get("direction", ""),
            "tally": self.tally.status(),
            "tare": self.bottom.tares.status(),
            "caught": self.drilling_weights.status(),
            "heave": self.heave.status(),
            "time_zone": rig.time_zone,
        }


# Whatever may change a result changes this digest: state of other code is not carried on.
CODE = code_digest(RESULT_CODE, __version__)
