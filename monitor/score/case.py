"""Scores one record: counts and errors, not yet pooled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from monitor.model import Activity, Event, Floats
from monitor.score.faults import DRIFT_BEGINS_S, DRIFT_LASTS_S, Spoiler
from monitor.score.matching import ENDLESS_US, Span, Stand, Standing, stands_split, tally
from monitor.score.record import Found, samples_of
from monitor.score.truth import LEAST_OVER_S, NEAR_LIMIT, Truth, Watch
from monitor.score.variants import SMALL_LIMIT_N, Case
from monitor.simulate.simulation import Simulation
from monitor.units import parse_iso

LOADS = ("overpull", "slack_off")
# Kinds that a record with right settings and a sound sensor gives no reason for. Nearness
# to crown or floor, gaps, standing still and heave may all be true, and are not judged.
UNFOUNDED = (
    "weight_loss", "over_rating", "line_count_suspect", "zero_drift", "sensor_fault",
    "string_suspect", "light", "jar_blow",
)  # fmt: skip
FLAGS = ("line_count_suspect", "zero_drift")
SMALL_FROM_N, SMALL_TO_N = 30e3, 60e3
FREE_WITHIN_N = 1e3  # true excess of a string that moves as normal
MOVING_M_S = 0.05
ON_BOTTOM_N = 2e3
# A pull is clean with so many loops, each so far over the free hoisting weight.
CLEAN_PULLS, CLEAN_PULL_N = 3, 200e3


@dataclass
class Row:
    """Overpull and slack-off of one size class in one record."""

    true: int = 0
    hits: int = 0
    false: int = 0
    sounded: int = 0  # of the false ones, those over the alarm limit too
    by_kind: dict[str, list[int]] = field(default_factory=dict)  # kind: [hits, true]
    delay_s: list[float] = field(default_factory=list)
    peak_error_N: list[tuple[float, float]] = field(default_factory=list)  # error, true peak


@dataclass
class CaseScore:
    """Everything one record adds to the scorecard."""

    variant: str
    scenario: str
    seed: int
    hz: float
    hours: float
    lag_s: float
    rows: dict[str, Row] = field(default_factory=dict)  # "large", "small"
    samples: int = 0
    stands: int = 0
    stands_right: int = 0
    stands_extra: int = 0
    moved_m: float = 0.0
    depth_error_m: float = 0.0  # greatest at the end of a stand
    weight_on_bit_error_N: list[float] = field(default_factory=list)
    on_bottom: int = 0
    moving: int = 0
    in_band: int = 0
    stuck: list[dict[str, Any]] = field(default_factory=list)  # a row a true spell
    stuck_false: int = 0
    unfounded: dict[str, int] = field(default_factory=dict)
    flagged_after: dict[str, int] = field(default_factory=dict)  # kind: in-slips periods


def score_case(case: Case) -> CaseScore:
    """Make the record, run it once for each limit, compare."""
    variant = case.variant
    simulation = Simulation(case.scenario, case.seed, hours=case.hours, hz=case.hz)
    watch = Watch(simulation, variant.limits_N)
    spoiler = Spoiler(variant.spoilt, case.seed, simulation.start_us)
    runs = {
        limit: Found.of(variant.settings(simulation.rig, limit), simulation)
        for limit in variant.limits_N
    }
    score = CaseScore(variant.name, case.scenario, case.seed, case.hz, case.hours, 0.0)
    for samples in samples_of(simulation, spoiler):
        score.samples += len(samples)
        for found in runs.values():
            found.feed(samples)
    truth = simulation.truth()
    score.lag_s = float(truth["sensor"]["tension_lag_s"])
    for limit_N, found in runs.items():
        name = "small" if limit_N == SMALL_LIMIT_N else "large"
        true = watch.events(limit_N, score.lag_s)
        standing = [_standing(t, limit_N, variant.least_s, spoiler.lost_us) for t in true]
        score.rows[name] = load_row(true, standing, list(found.events.values()))
    first = runs[variant.limits_N[0]]
    _stands(score, watch.stands(), first)
    _rows(score, watch, first)
    _stuck(score, truth["stuck"], first)
    score.unfounded = _unfounded(first, spoiler.lost_us)
    _flags(score, watch, first, simulation.start_us)
    return score


def _unfounded(found: Found, lost_us: Sequence[tuple[int, int]]) -> dict[str, int]:
    """Count the kinds nothing gave reason for; a frozen or missing signal is a sensor fault."""
    return dict(
        Counter(
            event.kind
            for event in found.events.values()
            if event.kind in UNFOUNDED
            and not (event.kind == "sensor_fault" and _meets(event, lost_us))
        )
    )


def _meets(event: Event, lost_us: Sequence[tuple[int, int]]) -> bool:
    end_us = ENDLESS_US if event.end_us is None else event.end_us
    return any(event.start_us <= b and end_us >= a for a, b in lost_us)


def _standing(
    truth: Truth, limit_N: float, least_s: float, lost_us: Sequence[tuple[int, int]]
) -> Standing:
    span = truth.span
    lost = any(min(span.end_us, b) > max(span.start_us, a) for a, b in lost_us)
    near = truth.peak_N < (1.0 + NEAR_LIMIT) * limit_N or truth.over_s < LEAST_OVER_S
    if near or lost or (span.end_us - span.start_us) / 1e6 < least_s:
        return Standing.NEITHER
    if limit_N == SMALL_LIMIT_N and not SMALL_FROM_N <= truth.peak_N <= SMALL_TO_N:
        return Standing.OTHER
    return Standing.COUNTED


def load_row(true: Sequence[Truth], standing: Sequence[Standing], events: list[Event]) -> Row:
    """Count one size class of overpull and slack-off."""
    loads = [event for event in events if event.kind in LOADS]
    found = [Span(e.kind, e.start_us, ENDLESS_US if e.end_us is None else e.end_us) for e in loads]
    counts = tally([t.span for t in true], standing, found)
    row = Row(
        true=len(counts.hits) + len(counts.missed),
        hits=len(counts.hits),
        false=len(counts.false),
        sounded=sum(loads[j].alarm for j in counts.false),
    )
    hit = {i for i, _ in counts.hits}
    for i in sorted(hit | set(counts.missed)):
        pair = row.by_kind.setdefault(true[i].span.kind, [0, 0])
        pair[0] += i in hit
        pair[1] += 1
    for i, j in counts.hits:
        row.peak_error_N.append((loads[j].peak_excess_N - true[i].peak_N, true[i].peak_N))
        sensed = true[i].sensed_us
        if sensed is not None:
            row.delay_s.append((loads[j].raised_us - sensed) / 1e6)
    return row


def _stands(score: CaseScore, true: list[Stand], found: Found) -> None:
    rows = [
        Stand(r.out_of_slips_us, r.in_slips_us, r.direction, r.length_m, r.bit_depth_m)
        for r in found.trip_rows.values()
        if r.in_slips_us is not None
    ]
    # What the record ends in is nobody's stand yet.
    counts = stands_split(true, rows)
    score.stands, score.stands_right = len(true), len(counts.right)
    score.stands_extra = counts.extra
    score.moved_m = sum(stand.length_m for stand in true)
    errors = [abs(rows[j].depth_m - true[i].depth_m) for i, j in counts.right]
    score.depth_error_m = max(errors, default=float("nan"))


def _rows(score: CaseScore, watch: Watch, found: Found) -> None:
    """Weight on bit, and normal moving rows inside the stated band."""
    times = found.times_us()
    excess = watch.at("excess_N", times)
    bottom = (watch.at("drilling", times) > 0) & (excess < -ON_BOTTOM_N)
    weight = found.column("weight_on_bit_N")[bottom]
    known = np.isfinite(weight)
    score.on_bottom = len(weight)
    error = np.abs(weight[known] + excess[bottom][known])
    score.weight_on_bit_error_N = [float(value) for value in error]
    score.moving, score.in_band = _band(watch, found, excess, times)


def _band(watch: Watch, found: Found, excess: Floats, times: Any) -> tuple[int, int]:
    activity = found.column("activity")
    moving = (activity == Activity.HOISTING) | (activity == Activity.LOWERING)
    moving &= np.abs(watch.at("speed_m_s", times)) >= MOVING_M_S
    moving &= (watch.at("drilling", times) == 0) & (watch.at("in_slips", times) == 0)
    moving &= np.abs(excess) < FREE_WITHIN_N
    measured, band = found.column("excess_N"), found.column("band_N")
    moving &= np.isfinite(measured) & np.isfinite(band)
    inside = np.abs(measured[moving]) <= band[moving]
    return int(moving.sum()), int(inside.sum())


def _stuck(score: CaseScore, spells: Sequence[dict[str, Any]], found: Found) -> None:
    """Stuck spells raised, and free lengths of those that were pulled cleanly."""
    told = found.pipeline.summary()["stuck"]
    true = [_span(parse_iso(s["start"]), s["end"] and parse_iso(s["end"])) for s in spells]
    raised = [_span(s["start_us"], s["end_us"]) for s in told]
    counts = tally(true, [Standing.COUNTED] * len(true), raised)
    score.stuck_false = len(counts.false)
    pairs = dict(counts.hits)
    for i, spell in enumerate(spells):
        row = told[pairs[i]] if i in pairs else {}
        score.stuck.append(
            {
                "free_length_m": spell["free_length_m"],
                # The simulator's crew pulls each loop alike, all over the least.
                "clean": spell["pulls"] >= CLEAN_PULLS
                and spell["greatest_pull_over_free_weight_kN"] * 1e3 >= CLEAN_PULL_N,
                "raised": i in pairs,
                "found_m": row.get("free_length_m"),
                "low_m": row.get("low_m"),
                "high_m": row.get("high_m"),
            }
        )


def _span(start_us: int, end_us: int | None) -> Span:
    return Span("stuck", start_us, ENDLESS_US if end_us is None else end_us)


def _flags(score: CaseScore, watch: Watch, found: Found, start_us: int) -> None:
    """Count in-slips periods until a flag came; 0 where it never did."""
    begun = [start_us, *(stand.into_us for stand in watch.stands())]
    drift_us = start_us + round((DRIFT_BEGINS_S + DRIFT_LASTS_S) * 1e6)
    for kind in FLAGS:
        since_us = drift_us if kind == "zero_drift" else start_us
        raised = [e.raised_us for e in found.events.values() if e.kind == kind]
        at = min((us for us in raised if us >= since_us), default=None)
        if at is None:
            score.flagged_after[kind] = 0
        else:
            score.flagged_after[kind] = max(1, sum(since_us <= us <= at for us in begun))
