"""Invented rows and results for tests of the record."""

from __future__ import annotations

import numpy as np

from monitor.model import (
    INTEGER_RESULTS,
    RESULT_COLUMNS,
    Event,
    Output,
    Quality,
    Samples,
    TripRow,
)

START_us = 1_772_323_200_000_000


def rows(
    n: int,
    *,
    seq: int = 1,
    start_us: int = START_us,
    step_us: int = 100_000,
    seed: int = 1,
) -> Samples:
    """Ordinary rows of two channels, one value in twenty missing."""
    random = np.random.default_rng(seed + seq)
    values = {
        "deadline_tension": random.normal(150e3, 5e3, n),
        "block_position": random.uniform(0.0, 30.0, n),
    }
    for column in values.values():
        column[random.random(n) < 0.05] = np.nan
    return Samples(
        np.arange(seq, seq + n, dtype=np.int64),
        start_us + step_us * np.arange(n, dtype=np.int64),
        np.zeros(n, dtype=np.uint16),
        values,
        {
            name: np.where(np.isnan(column), int(Quality.MISSING), 0).astype(np.uint16)
            for name, column in values.items()
        },
    )


def results(samples: Samples, **columns: np.ndarray) -> Output:
    """Result columns, NaN (0 for the integer ones) unless given."""
    n = len(samples)
    filled: dict[str, np.ndarray] = {
        name: np.zeros(n, dtype=np.int64) if name in INTEGER_RESULTS else np.full(n, np.nan)
        for name in RESULT_COLUMNS
    }
    filled["hook_load_N"] = 0.5 * samples.values["deadline_tension"]
    filled.update(columns)
    return Output(samples.seq, samples.time_us, filled)


def event(seq: int = 7, *, end_us: int | None = None, peak_N: float = 50e3) -> Event:
    return Event(
        seq=seq,
        kind="overpull",
        start_us=START_us + 100_000 * seq,
        raised_us=START_us + 100_000 * seq,
        end_us=end_us,
        peak_time_us=START_us + 100_000 * seq,
        bit_depth_m=float("nan"),
        peak_hook_load_N=1.6e6,
        expected_hook_load_N=1.55e6,
        peak_excess_N=peak_N,
        confidence=0.9,
        why="over the limit",
        alarm=True,
    )


def trip_row(stand: int, *, in_slips_us: int | None = None) -> TripRow:
    return TripRow(
        stand=stand,
        direction="out",
        out_of_slips_us=START_us,
        in_slips_us=in_slips_us,
        bit_depth_m=3000.0 - 28.0 * stand,
        length_m=28.0,
        moving_weight_N=1.5e6,
        expected_weight_N=float("nan"),
        max_overpull_N=0.0,
        max_slack_off_N=0.0,
        average_speed_m_s=0.4,
    )
