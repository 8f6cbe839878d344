"""The scorecard as a table for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

LOADS_HEAD = (
    "variant", "limit", "hits/true", "recall", "precision", "false", "/100 stands", "/24 h",
    "delay s", "p95", "peak kN", "p95", "in 10 %",
)  # fmt: skip
REST_HEAD = (
    "variant", "records", "hours", "stands right", "extra", "depth err m", "of moved %",
    "WOB err kN", "p95", "known", "in band", "other false",
)  # fmt: skip
STUCK_HEAD = (
    "variant", "spells", "raised", "false", "clean", "told", "median err %", "greatest %",
    "within 5 %", "in interval",
)  # fmt: skip
MEANING = (
    "Overpull and slack-off. A truth counts from 20 % over the limit and 1 s over it (60+:",
    "limit 50 kN, on the floating rig 60 kN; 30-60: limit 25 kN); those within 20 % of the",
    "limit count neither way. Delay counts from the noise-free sensor output, which itself",
    "lags the load by {lag} s (first order).",
)
LIMITS = {"large": "60+", "small": "30-60"}


def scorecard_text(card: Mapping[str, Any]) -> str:
    """Write all tables, with what the figures mean."""
    named = {"pooled": card["pooled"], **card["variants"]}
    loads = [
        _loads(name, LIMITS[size], figures[size])
        for name, figures in named.items()
        for size in LIMITS
        if size in figures
    ]
    rest = [_rest(name, figures) for name, figures in named.items()]
    stuck = [
        _stuck(name, f["stuck"])
        for name, f in named.items()
        if f["stuck"]["true"] or f["stuck"]["false"]
    ]
    return "\n".join(
        [
            f"Simulated records (invented), {card['seeds']} seeds a scenario"
            + (", quick" if card["quick"] else "")
            + f"; pooled: {', '.join(card['pooled_of'])}.",
            "",
            *(line.format(lag=_number(card["sensor_lag_s"], 2)) for line in MEANING),
            *_table(LOADS_HEAD, loads),
            "",
            "Stands, bit depth, weight on bit, 95 % band of expected load, other false events.",
            *_table(REST_HEAD, rest),
            "",
            "Stuck pipe: free length where pulls were clean.",
            *(_table(STUCK_HEAD, stuck) if stuck else ["no spell in this run"]),
            "",
            "Goals",
            *_table(("", "goal", "measured", ""), [_goal(goal) for goal in card["goals"]]),
        ]
    )


def _loads(name: str, size: str, row: Mapping[str, Any]) -> list[str]:
    return [
        name,
        size,
        f"{row['hits']}/{row['true']}",
        _number(row["recall"], 3),
        _number(row["precision"], 3),
        str(row["false"]),
        _number(row["false_per_100_stands"], 2),
        _number(row["false_per_24_h"], 1),
        _number(row["delay_median_s"], 2),
        _number(row["delay_p95_s"], 2),
        _number(row["peak_error_median_kN"], 1),
        _number(row["peak_error_p95_kN"], 1),
        _number(row["peak_within_share"], 2),
    ]


def _rest(name: str, figures: Mapping[str, Any]) -> list[str]:
    stands, depth = figures["stands"], figures["bit_depth"]
    weight, band = figures["weight_on_bit"], figures["band"]
    unfounded = [f"{kind} {count}" for kind, count in sorted(figures["unfounded"].items())]
    return [
        name,
        str(figures["records"]),
        _number(figures["hours"], 1),
        f"{stands['right']}/{stands['true']}",
        str(stands["extra"]),
        _number(depth["greatest_error_m"], 2),
        _number(depth["greatest_error_share"], 3, 100.0),
        _number(weight["error_median_kN"], 1),
        _number(weight["error_p95_kN"], 1),
        _number(weight["known_share"], 3),
        _number(band["inside_share"], 4),
        ", ".join(unfounded) or "0",
    ]


def _stuck(name: str, row: Mapping[str, Any]) -> list[str]:
    return [
        name,
        str(row["true"]),
        str(row["raised"]),
        str(row["false"]),
        str(row["clean"]),
        str(row["length_told"]),
        _number(row["error_median_share"], 1, 100.0),
        _number(row["error_greatest_share"], 1, 100.0),
        _number(row["within_5_percent_share"], 2),
        _number(row["inside_interval_share"], 2),
    ]


def _goal(goal: Mapping[str, Any]) -> list[str]:
    words = {None: "no figure", True: "reached", False: "missed"}
    sign = ">=" if goal["at_least"] else "<="
    return [
        goal["name"],
        f"{sign} {goal['goal']:g}",
        _number(goal["value"], 5 if goal["goal"] < 0.01 else 3),
        words[goal["met"]],
    ]


def _number(value: float | None, decimals: int, scale: float = 1.0) -> str:
    return "-" if value is None else f"{value * scale:.{decimals}f}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(len(line[k]) for line in lines) for k in range(len(head))]
    return [
        "  ".join(
            cell.ljust(width) if k == 0 else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    ]
