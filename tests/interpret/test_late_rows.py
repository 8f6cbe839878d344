"""Rows of a second kind, late in turn with the others: kept, and nothing comes of them."""

from __future__ import annotations

import numpy as np

from monitor.interpret.stage import Rows
from monitor.model import Quality, Samples
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, Script, plain_rig


def _stands() -> Samples:
    script = Script()
    for _ in range(3):
        script.stand_out(1200e3)
    return script.hold(10, EMPTY_N).samples()


def _with_late_in_turn(samples: Samples) -> Samples:
    """Every row again, two seconds late."""
    at = np.repeat(np.arange(len(samples)), 2)
    late = np.arange(len(at)) % 2 == 1
    return Samples(
        np.arange(1, len(at) + 1),
        samples.time_us[at] - np.where(late, 2_000_000, 0),
        np.where(late, Quality.LATE, 0).astype(np.uint16),
        {name: column[at] for name, column in samples.values.items()},
        {},
    )


def test_results_are_those_without_them() -> None:
    plain = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(_stands())
    mixed = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(_with_late_in_turn(_stands()))
    for name, column in plain.columns.items():
        assert np.array_equal(mixed.columns[name][::2], column, equal_nan=True), name
    # As text: a field that is not known differs from itself.
    assert repr(mixed.trip_rows) == repr(plain.trip_rows)
    assert np.all(mixed.columns["quality"][1::2] == Quality.LATE)
    assert np.isnan(mixed.columns["hook_load_N"][1::2]).all()
    assert np.array_equal(mixed.columns["stand"][1::2], plain.columns["stand"])


def test_they_cost_no_piece_each() -> None:
    """Five rows a second and as many late ones were 90 000 pieces in five hours: minutes."""
    pipeline = Pipeline(plain_rig(), bit_depth_m=2000.0)
    motion, seen = pipeline.stages["motion"], []
    step = motion.step

    def counted(rows: Rows) -> None:
        seen.append(len(rows))
        step(rows)

    motion.step = counted  # type: ignore[method-assign]
    pipeline.feed(_with_late_in_turn(_stands()))
    assert seen == [len(_stands())]
