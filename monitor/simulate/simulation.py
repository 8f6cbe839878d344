"""A simulated record: story, physics, sensors, truth. All invented, all from the seed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from monitor.model import Floats, Ints
from monitor.rig.rig import Rig
from monitor.simulate.demo_rig import (
    MUD_DENSITY_KG_M3,
    STRING,
    demo_rig,
    demo_rig_with_signal,
    rig_text,
)
from monitor.simulate.floating_rig import floating_rig
from monitor.simulate.hoist import Trace
from monitor.simulate.scenarios import SCENARIOS, Story, open_story
from monitor.simulate.sensors import Sensors
from monitor.simulate.stuck import StuckSpell
from monitor.simulate.truth import BottomTracker, EventTracker, StandTracker, TrueEvent
from monitor.simulate.waves import WaveTracker

__all__ = ["SCENARIOS", "Chunk", "Simulation", "simulate"]

Chunk = dict[str, Floats | Ints]

START_US = 1_772_323_200_000_000  # 2026-03-01T00:00:00Z, an invented date
DEFAULT_HOURS = dict.fromkeys(SCENARIOS, 4.0)
CHUNK_S = 60.0
DEFINITIONS = {
    "bit_depth_m": "by block, from the rig floor; at the first row on top, else at in-slips",
    "out_of_slips": "the load is fully on the elevators; the stand's depth starts here",
    "in_slips": "the load begins to come off; the stand's depth ends here; null: still open",
    "loads": "at the hook, travelling equipment included; medians of the free moving string",
    "excess": "what holds the string beyond drag, swab and inertia (the force at a tight spot)",
    "events": "start over the limit, end 10 kN under it for 2 s or slips; joined within 10 s",
    "free_length_m": "along the string from the rig floor to the stuck point",
}
LONGEST_STEP_S = 0.05
LIMITS_KN = (25, 40, 50)


class Simulation:
    """One scenario from one seed. Iterate ``chunks()`` once, then ask ``truth()``.

    ``hours`` None gives the scenario's usual length, ``math.inf`` an endless record.
    """

    def __init__(
        self,
        scenario: str,
        seed: int,
        hours: float | None = None,
        hz: float = 10.0,
        rig: Rig | None = None,
        start_us: int = START_US,
    ) -> None:
        if scenario not in SCENARIOS:
            raise ValueError(f"scenario is {scenario!r}; must be one of {', '.join(SCENARIOS)}")
        if not 0.01 <= hz <= 100.0:
            raise ValueError(f"hz is {hz}; must be between 0.01 and 100")
        if hours is not None and not hours > 0.0:
            raise ValueError(f"hours is {hours}; must be above 0")
        self.scenario, self.seed, self.hz, self.start_us = scenario, seed, hz, start_us
        self.hours = DEFAULT_HOURS[scenario] if hours is None else hours
        if rig is None:
            rigs = {"floater": floating_rig, "calibration": demo_rig_with_signal}
            rig = rigs.get(scenario, demo_rig)()
        self.rig = rig
        self.rig_text = rig_text(self.rig)
        self.step_s = min(LONGEST_STEP_S, 1.0 / hz)
        sections = self.rig.string or STRING
        mud = self.rig.mud_density_kg_m3 or MUD_DENSITY_KG_M3
        self.story: Story = open_story(scenario, seed, self.rig, sections, mud, self.step_s)
        # Told every leg of what really happens, with the number of its first step.
        self.listeners: list[Callable[[int, Trace], None]] = []
        self._sensors = Sensors(self.story, seed, hz, self.step_s)
        self._stands = StandTracker(self.step_s, self.story.hoist.depth_m)
        self._bottom = BottomTracker(self.step_s)
        self._waves = WaveTracker(self.step_s) if scenario == "floater" else None
        self._start_hole_m = self.story.hoist.hole.depth_m
        self.limit_kN = 60 if scenario == "floater" else 40
        limits = sorted({*LIMITS_KN, self.limit_kN})
        self._events = {kN: EventTracker(kN * 1e3, self.step_s) for kN in limits}
        self._start_depth_m = self.story.hoist.depth_m
        self._steps = 0
        self._last_step = float(np.ceil((self.samples - 1) / hz / self.step_s)) + 2
        self._hole_m = self._start_hole_m
        self._greatest_N = -np.inf

    @property
    def bit_depth_m(self) -> float:
        """Bit depth at the first row."""
        return self._start_depth_m

    @property
    def samples(self) -> float:
        """Rows in the record (inf when endless)."""
        return float(np.floor(self.hours * 3600.0 * self.hz + 1e-9))

    def chunks(self) -> Iterator[Chunk]:
        """Give the record in pieces of a minute: ``time_us`` and the channels in SI."""
        given = 0
        size = max(1, round(CHUNK_S * self.hz))
        for _ in self.story.script:
            self._take_traces()
            while self._sensors.ready(given) >= min(size, self.samples - given):
                count = int(min(size, self.samples - given))
                columns = self._sensors.read(given, count)
                numbers = np.arange(given, given + count)
                time_us = self.start_us + np.rint(numbers * (1e6 / self.hz)).astype(np.int64)
                yield {"time_us": time_us, **columns}
                given += count
                if given >= self.samples:
                    return

    def _take_traces(self) -> None:
        for whole in self.story.hoist.traces:
            # Nothing that happens after the last row belongs to the truth.
            trace = whole.head(int(min(self._last_step - self._steps, len(whole.step_m))))
            if len(trace.step_m) == 0:
                break
            for listen in self.listeners:
                listen(self._steps, trace)
            self._stands.feed(self._steps, trace)
            self._bottom.feed(self._steps, trace)
            if self._waves is not None:
                self._waves.feed(self._steps, trace)
            for tracker in self._events.values():
                if not trace.drilling:
                    tracker.feed(self._steps, trace, self._stands.number)
            self._greatest_N = max(self._greatest_N, float(trace.hook_load_N.max()))
            self._hole_m = max(self._hole_m, float(trace.bit_m.max()))
            self._sensors.feed(trace)
            self._steps += len(trace.step_m)
        self.story.hoist.traces.clear()

    # -- truth -------------------------------------------------------------------------

    def _iso(self, step: int | None) -> str | None:
        if step is None or step > self._steps:
            return None
        micros = self.start_us + round(step * self.step_s * 1e6)
        stamp = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=micros)
        return stamp.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def _event_row(self, event: TrueEvent) -> dict[str, Any]:
        return {
            "kind": event.kind,
            "start": self._iso(event.start),
            "end": self._iso(event.end),
            "peak_time": self._iso(event.peak),
            "peak_excess_kN": round(event.peak_excess_N / 1e3, 2),
            "bit_depth_m": round(event.depth_m, 3),
            "peak_hook_load_kN": round(event.peak_hook_load_N / 1e3, 2),
        }

    def _friction(self) -> dict[str, Any]:
        well = self.story.hoist.hole.well
        if well is None:
            return {}
        factors = {"open": round(well.friction, 4), "cased": round(well.cased_friction, 4)}
        return {"friction_factor": factors}

    def _spells(self) -> list[StuckSpell]:
        return [spell for spell in self.story.stuck if spell.start < self._steps]

    def _event_rows(self, limit_kN: int) -> list[dict[str, Any]]:
        events = sorted(self._events[limit_kN].events, key=lambda event: event.start)
        rows = [self._event_row(event) for event in events]
        for spell in self._spells():
            rows.append(
                {
                    "kind": "stuck",
                    "start": self._iso(spell.start),
                    "end": self._iso(spell.end),
                    "bit_depth_m": round(spell.bit_depth_m, 3),
                    "peak_excess_kN": round(spell.greatest_pull_N / 1e3, 2),
                }
            )
        return sorted(rows, key=lambda row: str(row["start"]))

    def truth(self) -> dict[str, Any]:
        """Tell what really happened so far; complete when the chunks are used up."""
        reeving = self.rig.reeving
        stands = [
            {"out_of_slips": self._iso(s.out), "in_slips": self._iso(s.into), **s.row()}
            for s in self._stands.all_stands()
        ]
        truth = {
            "invented": "simulated; no real rig, well, company or person",
            "definitions": DEFINITIONS,
            "scenario": self.scenario,
            "seed": self.seed,
            "hours": self.hours,
            "hz": self.hz,
            "start": self._iso(0),
            "rig": {
                "name": self.rig.name,
                "travelling_weight_kN": self.rig.travelling_weight_N / 1e3,
                "lines_strung": reeving.lines_strung,
                "sheave_efficiency": reeving.sheave_efficiency,
                "dead_line_sheave": reeving.dead_line_sheave,
                "mud_density_kg_m3": self.story.hoist.string.mud_density_kg_m3,
                "hoist_compliance_m_N": self.rig.hoist_compliance_m_N,
            },
            **self._friction(),
            "sensor": self._sensors.truth(),
            "bit_depth_m": round(self._start_depth_m, 3),
            "event_limit_kN": self.limit_kN,
            "stands": stands,
            "events": self._event_rows(self.limit_kN),
            "events_by_limit_kN": {str(kN): self._event_rows(kN) for kN in self._events},
            "stuck": [
                {**spell.row(), "start": self._iso(spell.start), "end": self._iso(spell.end)}
                for spell in self._spells()
            ],
            "hole_depth_m": {
                "start": round(self._start_hole_m, 3),
                "end": round(self._hole_m, 3),
            },
            "weight_on_bit": [
                {
                    "time": self._iso(step),
                    "weight_on_bit_kN": round(weight / 1e3, 2),
                    "hole_depth_m": round(depth, 3),
                }
                for step, weight, depth in self._bottom.rows
            ],
            "greatest_hook_load_kN": round(self._greatest_N / 1e3, 2),
        }
        if self.story.load_test is not None:
            truth["load_steps"] = [
                {
                    "start": self._iso(step.first),
                    "end": self._iso(step.last),
                    "reference_load_kN": step.load_N / 1e3,
                    "series": step.series,
                    "moved": step.moved,
                }
                for step in self.story.load_test.steps
                if step.last <= self._steps
            ]
        if self._waves is not None:
            truth["heave"] = self._waves.truth()
            truth["compensator"] = [
                {"start": self._iso(step), "state": "open" if is_open else "locked"}
                for step, is_open in self._waves.spells
            ]
        return truth


def simulate(
    scenario: str,
    *,
    seed: int,
    hours: float | None = None,
    hz: float = 10.0,
    rig: Rig | None = None,
    start_us: int = START_US,
) -> Iterator[Chunk]:
    """Give the chunks of one simulated record."""
    return Simulation(scenario, seed, hours, hz, rig, start_us).chunks()
