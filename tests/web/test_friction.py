"""Friction of a recorded deviated trip: from the recorder's status to the trip sheet's plot."""

from __future__ import annotations

import math
import threading
from dataclasses import replace
from pathlib import Path

from monitor.recorder import record
from monitor.report.friction_fan import friction_words
from monitor.report.simulation_file import write_simulation
from monitor.rig.file import parse_rig
from monitor.rig.rig import SurveyStation
from monitor.simulate import Simulation
from monitor.simulate.demo_rig import demo_rig, rig_text
from monitor.web.app import recorded_fan
from monitor.web.feed import Feed


def test_a_recorded_trip_shows_its_friction(tmp_path: Path) -> None:
    path = ((0.0, 0.0), (600.0, 0.0), (1500.0, 45.0), (4000.0, 45.0))
    survey = tuple(SurveyStation(d, math.radians(i), 0.0) for d, i in path)
    text = rig_text(replace(demo_rig(), survey=survey))
    simulation = Simulation("trip_out", seed=5, hours=0.5, hz=5.0, rig=parse_rig(text))
    write_simulation(simulation, tmp_path / "trip.csv")
    record(
        text, f"csv:{tmp_path / 'trip.csv'}", tmp_path / "data",
        bit_depth_m=simulation.bit_depth_m, until_finished=True, stop=threading.Event(),
    )  # fmt: skip
    feed = Feed.of(tmp_path / "data")
    feed.poll()
    told = feed.status["friction"]
    assert told["hoisting"]["stands"] > 5
    assert friction_words(told).startswith("Friction factor hoisting 0.")
    fan = recorded_fan(feed, (1500.0, 3000.0))
    assert fan is not None
    assert fan["found"]["hoisting"][-1] > fan["turning_N"][-1] > fan["usual"][0]["lowering"][-1]
