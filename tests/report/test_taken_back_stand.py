"""A stand that came back is in no table."""

from __future__ import annotations

from monitor.pipeline import Pipeline
from monitor.report.analysis import Collected
from tests.interpret.streams import EMPTY_N, Script, plain_rig


def test_stand_taken_back_is_not_counted() -> None:
    script = Script().hold(10, EMPTY_N).ramp(1.2, 900e3).move(15.0, 900e3).move(1.5, 900e3)
    samples = script.samples()
    pipeline = Pipeline(plain_rig(), bit_depth_m=2000.0)
    collected = Collected()
    seen = []
    for start in range(0, len(samples), 50):
        piece = samples.piece(start, min(start + 50, len(samples)))
        collected.add(piece, pipeline.feed(piece))
        seen.append(len(collected.trip_rows))
    assert max(seen) == 1
    assert seen[-1] == 0
