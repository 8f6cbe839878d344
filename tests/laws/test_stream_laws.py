"""Laws of the one fold: cuts, restarts and later rows never change what was said.

Bit equality throughout, never closeness: these are laws of this project, not estimates.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from monitor.interpret.version import code_digest
from monitor.model import RESULT_COLUMNS, Samples
from monitor.pipeline import CODE, Pipeline
from monitor.rig.rig import Rig
from tests.laws.records import commands, differences, faulty, run, simulated

Record = tuple[Rig, Samples, float]
SCENARIOS = (
    "trip_out", "trip_in", "drilling", "stuck_pipe", "floater", "deviated stuck_pipe",
    "deviated drilling",
)  # fmt: skip


@pytest.fixture(scope="module", params=SCENARIOS)
def record(request: pytest.FixtureRequest) -> Record:
    rig, samples, depth = simulated(request.param, 0.6)
    return rig, faulty(samples, 5), depth


@pytest.fixture(scope="module")
def short_record() -> Record:
    rig, samples, depth = simulated("trip_out", 0.12)
    return rig, faulty(samples, 6), depth


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_any_cut_gives_the_same_bits(record: Record, data: st.DataObject) -> None:
    rig, samples, depth = record
    cuts = data.draw(st.lists(st.integers(1, len(samples) - 1), max_size=12, unique=True))
    whole = run(rig, samples, [], commands(samples), depth)
    assert differences(whole, run(rig, samples, cuts, commands(samples), depth)) == []


def test_one_row_at_a_time_gives_the_same_bits(short_record: Record) -> None:
    rig, samples, depth = short_record
    whole = run(rig, samples, [], commands(samples), depth)
    single = run(rig, samples, range(1, len(samples)), commands(samples), depth)
    assert whole.trip_rows
    assert differences(whole, single) == []


def test_pieces_of_some_seconds_give_the_same_bits_while_drilling() -> None:
    """Shorter than what a second on bottom is compared with."""
    rig, clean, depth = simulated("drilling", 0.6)
    samples = faulty(clean, 5)
    whole = run(rig, samples, [], commands(samples), depth)
    assert np.nanmax(whole.column("weight_on_bit_N")) > 0.0
    short = run(rig, samples, range(17, len(samples), 17), commands(samples), depth)
    assert differences(whole, short) == []


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_restore_at_any_cut_changes_nothing(record: Record, data: st.DataObject) -> None:
    rig, samples, depth = record
    cuts = data.draw(
        st.lists(st.integers(1, len(samples) - 1), min_size=1, max_size=6, unique=True)
    )
    whole = run(rig, samples, [], commands(samples), depth)
    resumed = run(rig, samples, cuts, commands(samples), depth, restart=cuts)
    assert differences(whole, resumed) == []


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(share=st.floats(0.05, 0.95))
def test_later_rows_never_change_what_was_said(record: Record, share: float) -> None:
    rig, samples, depth = record
    stop = int(share * len(samples))
    acts = [c for c in commands(samples) if c.seq < int(samples.seq[stop])]
    whole = run(rig, samples, [stop], commands(samples), depth)
    prefix = run(rig, samples.piece(0, stop), [], acts, depth)
    for name in RESULT_COLUMNS:
        assert np.array_equal(
            whole.columns[name][0],
            prefix.columns[name][0],
            equal_nan=whole.columns[name][0].dtype.kind == "f",
        ), name


def test_what_was_raised_is_in_the_record_cut_there(record: Record) -> None:
    rig, samples, depth = record
    whole = run(rig, samples, [], (), depth)
    for event in list(whole.events.values())[:6]:
        row = int(np.searchsorted(samples.seq, event.seq))
        prefix = run(rig, samples.piece(0, row + 1), [], (), depth)
        assert event.id in prefix.events
        assert prefix.events[event.id].start_us == event.start_us
        assert prefix.events[event.id].raised_us == event.raised_us


def test_snapshot_is_plain_json(short_record: Record) -> None:
    rig, samples, depth = short_record
    pipeline = Pipeline(rig, bit_depth_m=depth)
    pipeline.feed(samples)
    text = json.dumps(pipeline.snapshot(), allow_nan=False)
    assert Pipeline.restore(rig, json.loads(text)).snapshot() == pipeline.snapshot()


def test_snapshot_of_another_rig_is_refused(short_record: Record) -> None:
    rig, samples, depth = short_record
    pipeline = Pipeline(rig, bit_depth_m=depth)
    snapshot = {**pipeline.snapshot(), "rig": "another"}
    with pytest.raises(ValueError, match="rebuild from the raw rows"):
        Pipeline.restore(rig, snapshot)


def test_state_of_other_code_is_refused(short_record: Record) -> None:
    rig, _, depth = short_record
    snapshot = {**Pipeline(rig, bit_depth_m=depth).snapshot(), "code": "older"}
    with pytest.raises(ValueError, match="rebuild from the raw rows"):
        Pipeline.restore(rig, snapshot)


def test_code_digest_is_the_same_in_every_process() -> None:
    digests = {
        subprocess.run(
            [sys.executable, "-c", f"{first}from monitor.pipeline import CODE; print(CODE)"],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, first in (("1", ""), ("2", "import monitor.report.rig_sheet; "))
    }
    assert digests == {f"{CODE}\n"}


def test_code_digest_follows_a_constant(monkeypatch: pytest.MonkeyPatch) -> None:
    before = code_digest(("monitor.interpret",), "1")
    monkeypatch.setattr("monitor.interpret.trend.SPACING_M", 0.8)
    assert code_digest(("monitor.interpret",), "1") != before
