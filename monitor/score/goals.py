"""The goals the project set itself, each beside what a run measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

# Variants with right settings and a sound sensor: a flag raised there is false.
SOUND = ("clean", "noisy", "near surface", "worked pipe", "drilling", "1 Hz", "5 s")
FLAG_WITHIN = {"line_count_suspect": 3, "zero_drift": 10}  # in-slips periods
SHOULD_FLAG = {"line_count_suspect": ("lines +2", "lines -2"), "zero_drift": ("zero drift",)}


@dataclass(frozen=True, slots=True)
class Goal:
    """One figure, the bound it should keep, and how to find it."""

    name: str
    bound: float
    at_least: bool
    of: Sequence[str]  # path in the figures


# Pooled variants at 5 and 10 Hz.
POOLED_GOALS = (
    Goal("recall, 60 kN and more", 0.98, True, ("large", "recall")),
    Goal("precision, 60 kN and more", 0.98, True, ("large", "precision")),
    Goal("recall, 30 to 60 kN", 0.90, True, ("small", "recall")),
    Goal("precision, 30 to 60 kN", 0.95, True, ("small", "precision")),
    Goal("delay, median [s]", 0.5, False, ("large", "delay_median_s")),
    Goal("delay, 95th percentile [s]", 1.5, False, ("large", "delay_p95_s")),
    Goal("peaks within 10 % or 8 kN", 1.0, True, ("large", "peak_within_share")),
    Goal("stands split right", 1.0, True, ("stands", "right_share")),
    Goal("bit depth error over pipe moved", 0.001, False, ("bit_depth", "greatest_error_share")),
    Goal("free length within 5 %, clean pulls", 1.0, True, ("stuck", "within_5_percent_share")),
    Goal("free length inside its interval", 0.90, True, ("stuck", "inside_interval_share")),
)
# One variant each.
VARIANT_GOALS = (
    ("clean", Goal("95 % band holds", 0.95, True, ("band", "inside_share"))),
    ("near surface", Goal("95 % band holds near surface", 0.95, True, ("band", "inside_share"))),
    ("1 Hz", Goal("1 Hz: recall, 60 kN and more", 0.95, True, ("large", "recall"))),
    ("1 Hz", Goal("1 Hz: precision, 60 kN and more", 0.95, True, ("large", "precision"))),
    ("5 s", Goal("5 s: recall, 60 kN and more, 15 s and longer", 0.80, True, ("large", "recall"))),
    ("5 s", Goal("5 s: precision, 60 kN and more", 0.90, True, ("large", "precision"))),
    ("heave", Goal("heave: recall, 60 kN and more", 0.98, True, ("large", "recall"))),
    ("heave", Goal("heave: precision, 60 kN and more", 0.98, True, ("large", "precision"))),
)


def goals(variants: Mapping[str, Any], pooled: Mapping[str, Any]) -> list[dict[str, Any]]:
    """List every goal with its figure; ``met`` is None where the run has no figure."""
    found = [_judged(goal, _at(pooled, goal.of)) for goal in POOLED_GOALS]
    found.append(_clean(variants))
    found += [
        _judged(goal, _at(variants[name], goal.of))
        for name, goal in VARIANT_GOALS
        if name in variants
    ]
    for kind, within in FLAG_WITHIN.items():
        found += _flags(variants, kind, within)
    return found


def _judged(goal: Goal, value: float | None) -> dict[str, Any]:
    met = None
    if value is not None:
        met = value >= goal.bound if goal.at_least else value <= goal.bound
    return {
        "name": goal.name,
        "goal": goal.bound,
        "at_least": goal.at_least,
        "value": value,
        "met": met,
    }


def _at(figures: Mapping[str, Any], path: Sequence[str]) -> Any:
    value: Any = figures
    for name in path:
        value = None if value is None else value.get(name)
    return value


def _clean(variants: Mapping[str, Any]) -> dict[str, Any]:
    """Count false events in clean trips, at the worse of the two limits."""
    goal = Goal("false events in clean trips, per 200 stands", 1.0, False, ())
    clean = variants.get("clean")
    if clean is None or not clean["stands"]["true"]:
        return _judged(goal, None)
    loads = max(clean[name]["false"] for name in ("large", "small") if name in clean)
    false = loads + clean["stuck"]["false"] + sum(clean["unfounded"].values())
    return _judged(goal, 200.0 * false / clean["stands"]["true"])


def _flags(variants: Mapping[str, Any], kind: str, within: int) -> list[dict[str, Any]]:
    """Share of wrong records flagged in time, and false flags per 500 in-slips periods."""
    words = kind.replace("_", " ")
    after = [
        count
        for name in SHOULD_FLAG[kind]
        if name in variants
        for count in variants[name]["flagged_after"][kind]
    ]
    in_time = sum(count is not None and count <= within for count in after)
    rows = [variants[name] for name in SOUND if name in variants]
    periods = sum(row["stands"]["true"] for row in rows)
    false = sum(row["unfounded"].get(kind, 0) for row in rows)
    return [
        _judged(
            Goal(f"{words} flagged within {within} in-slips periods", 1.0, True, ()),
            _over(in_time, len(after)),
        ),
        _judged(
            Goal(f"{words} false, per 500 in-slips periods", 1.0, False, ()),
            _over(500.0 * false, periods),
        ),
    ]


def _over(part: float, whole: float) -> float | None:
    return part / whole if whole else None
