"""Pools the records of a run into the figures of the scorecard."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import Any

import numpy as np

from monitor.score.case import FLAGS, CaseScore, Row, score_case
from monitor.score.goals import goals
from monitor.score.variants import VARIANTS, Case, Variant, cases

Figures = dict[str, Any]

SEEDS = 10
QUICK_SEEDS = 1
QUICK_H = 1.5  # longest record of a quick run
# Peak excess error allowed: the greater of these (goal of the scorecard).
PEAK_SHARE, PEAK_N = 0.10, 8e3
LENGTH_SHARE = 0.05
# What the goals "at 5-10 Hz" are held against.
POOLED = ("clean", "noisy", "near surface", "worked pipe")


def scorecard(
    n_seeds: int,
    *,
    quick: bool = False,
    n_jobs: int = 1,
    variants: Sequence[Variant] = VARIANTS,
    progress: Callable[[int], None] | None = None,
) -> Figures:
    """Run every variant over so many seeds; figures by variant, and the goals."""
    longest_h = QUICK_H if quick else 24.0
    todo = cases(n_seeds, longest_h=longest_h, variants=tuple(variants))
    scores, done = [], 0
    for score in _scored(todo, n_jobs):
        scores.append(score)
        done += score.samples
        if progress is not None:
            progress(done)
    by_variant = {
        variant.name: figures(variant.what, [s for s in scores if s.variant == variant.name])
        for variant in variants
    }
    pooled = [s for s in scores if s.variant in POOLED]
    return {
        "invented": "simulated records; no real rig, well, company or person",
        "seeds": n_seeds,
        "quick": quick,
        "sensor_lag_s": max((s.lag_s for s in scores), default=None),
        "pooled_of": [name for name in POOLED if name in by_variant],
        "pooled": figures("variants at 5 and 10 Hz, right settings, sound data", pooled),
        "variants": by_variant,
        "goals": goals(by_variant, figures("", pooled)),
    }


def _scored(todo: Sequence[Case], n_jobs: int) -> Iterable[CaseScore]:
    if n_jobs == 1:
        yield from map(score_case, todo)
        return
    # Fresh processes: the same on every system, and no lock is copied half-held.
    with ProcessPoolExecutor(max_workers=n_jobs, mp_context=get_context("spawn")) as pool:
        yield from pool.map(score_case, todo)


def figures(what: str, scores: Sequence[CaseScore]) -> Figures:
    """Pool some records; None where there is nothing to say."""
    stands = sum(s.stands for s in scores)
    hours = sum(s.hours for s in scores)
    right = sum(s.stands_right for s in scores)
    extra = sum(s.stands_extra for s in scores)
    names = dict.fromkeys(name for s in scores for name in s.rows)
    return {
        "what": what,
        "records": len(scores),
        "hours": hours,
        "samples": sum(s.samples for s in scores),
        **{
            name: _loads([s.rows[name] for s in scores if name in s.rows], stands, hours)
            for name in names
        },
        "stands": {
            "true": stands,
            "right": right,
            "extra": extra,
            "right_share": share(right, stands + extra),
        },
        "bit_depth": {
            "greatest_error_m": _greatest(s.depth_error_m for s in scores),
            "greatest_error_share": _greatest(
                s.depth_error_m / s.moved_m for s in scores if s.moved_m > 0
            ),
        },
        "weight_on_bit": _weight_on_bit(scores),
        "stuck": _stuck(scores),
        "band": {
            "moving_s": sum(s.moving for s in scores),
            "inside_share": share(sum(s.in_band for s in scores), sum(s.moving for s in scores)),
        },
        "unfounded": dict(sum((Counter(s.unfounded) for s in scores), Counter())),
        "flagged_after": {kind: [s.flagged_after[kind] or None for s in scores] for kind in FLAGS},
    }


def _loads(rows: Sequence[Row], stands: int, hours: float) -> Figures:
    true, hits, false = (sum(getattr(r, n) for r in rows) for n in ("true", "hits", "false"))
    delays = [delay for row in rows for delay in row.delay_s]
    errors = [pair for row in rows for pair in row.peak_error_N]
    within = sum(abs(error) <= max(PEAK_SHARE * peak, PEAK_N) for error, peak in errors)
    kinds = sorted({kind for row in rows for kind in row.by_kind})
    return {
        "true": true,
        "hits": hits,
        "false": false,
        "false_over_alarm_limit": sum(row.sounded for row in rows),
        "recall": share(hits, true),
        "precision": share(hits, hits + false),
        "false_per_100_stands": share(100.0 * false, stands),
        "false_per_24_h": share(24.0 * false, hours),
        "delay_median_s": quantile(delays, 0.5),
        "delay_p95_s": quantile(delays, 0.95),
        "peak_error_median_kN": quantile([abs(e) / 1e3 for e, _ in errors], 0.5),
        "peak_error_p95_kN": quantile([abs(e) / 1e3 for e, _ in errors], 0.95),
        "peak_within_share": share(within, len(errors)),
        "by_kind": {
            kind: {
                "hits": sum(row.by_kind.get(kind, [0, 0])[0] for row in rows),
                "true": sum(row.by_kind.get(kind, [0, 0])[1] for row in rows),
            }
            for kind in kinds
        },
    }


def _weight_on_bit(scores: Sequence[CaseScore]) -> Figures:
    errors = [error / 1e3 for s in scores for error in s.weight_on_bit_error_N]
    on_bottom = sum(s.on_bottom for s in scores)
    return {
        "on_bottom_s": on_bottom,
        "known_share": share(len(errors), on_bottom),
        "error_median_kN": quantile(errors, 0.5),
        "error_p95_kN": quantile(errors, 0.95),
    }


def _stuck(scores: Sequence[CaseScore]) -> Figures:
    spells = [spell for s in scores for spell in s.stuck]
    clean = [spell for spell in spells if spell["clean"]]
    told = [spell for spell in clean if spell["found_m"] is not None]
    errors = [abs(s["found_m"] / s["free_length_m"] - 1.0) for s in told]
    bounded = [s for s in told if s["low_m"] is not None and s["high_m"] is not None]
    inside = sum(s["low_m"] <= s["free_length_m"] <= s["high_m"] for s in bounded)
    return {
        "true": len(spells),
        "raised": sum(spell["raised"] for spell in spells),
        "false": sum(s.stuck_false for s in scores),
        "clean": len(clean),
        "length_told": len(told),
        "error_median_share": quantile(errors, 0.5),
        "error_greatest_share": _greatest(errors),
        # A spell without a length is neither near nor inside.
        "within_5_percent_share": share(sum(e <= LENGTH_SHARE for e in errors), len(clean)),
        "inside_interval_share": share(inside, len(told)),
    }


def share(part: float, whole: float) -> float | None:
    """Part over whole, None of nothing."""
    return part / whole if whole else None


def quantile(values: Sequence[float], level: float) -> float | None:
    """Quantile by linear interpolation, None of nothing."""
    return float(np.quantile(np.asarray(values), level)) if len(values) else None


def _greatest(values: Iterable[float]) -> float | None:
    known = [value for value in values if np.isfinite(value)]
    return max(known) if known else None
