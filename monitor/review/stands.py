"""Stands in the written sequence: runs of them in a few words, drag as it built up."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from monitor.model import Event, TripRow
from monitor.review.line import Line, count, duration, force, length
from monitor.review.span import Span
from monitor.review.working import worked_out_of_slips

WAYS = {"out": "pulled out of hole", "in": "run in hole", "drilled": "drilled down"}
# Stands looked back on from where the string stuck.
STANDS_BEFORE = 12
# Drag rises: the last sign well above the first, and rising over all (our choice).
RISE = 1.25
# Tight spots this near in depth are one place.
SAME_PLACE_M = 15.0


def stand_runs(
    rows: Sequence[TripRow], cuts_us: Sequence[int] = (), span: Span | None = None
) -> list[Line]:
    """One line for each run of stands in one direction; a run also ends at ``cuts_us``."""
    runs: list[list[TripRow]] = []
    for row in sorted(rows, key=lambda each: each.stand):
        last = runs[-1][-1] if runs else None
        cut = last is not None and any(
            last.out_of_slips_us < at <= row.out_of_slips_us for at in cuts_us
        )
        if last is None or last.direction != row.direction or cut:
            runs.append([])
        runs[-1].append(row)
    return [_run(run, span) for run in runs]


def _run(run: Sequence[TripRow], span: Span | None) -> Line:
    first, last = run[0], run[-1]
    which = f"Stand {first.stand}" if len(run) == 1 else f"Stands {first.stand} to {last.stand}"
    text = f"{which} {WAYS.get(first.direction, first.direction)}"
    sign = 1.0 if first.direction == "out" else -1.0
    figures = {
        "from": length(first.bit_depth_m + sign * first.length_m),
        "to": length(last.bit_depth_m),
    }
    if all(math.isfinite(value) for value, _ in figures.values()):
        text += ", bit {from} to {to}"
    weights = [row.moving_weight_N for row in run if math.isfinite(row.moving_weight_N)]
    if weights:
        moving = "hoisting" if first.direction == "out" else "lowering"
        text += f"; {moving} {{weight}}" + (" to {last_weight}" if len(weights) > 1 else "")
        figures |= {"weight": force(weights[0]), "last_weight": force(weights[-1])}
        text += _against_expected(run, figures)
    speeds = [row.average_speed_m_s for row in run if math.isfinite(row.average_speed_m_s)]
    if speeds:
        text += "; average {speed}"
        figures["speed"] = (float(np.mean(speeds)), "speed")
    still = [row.seconds_in_slips_before_s for row in run[1:]]
    still = [seconds for seconds in still if math.isfinite(seconds)]
    if still:
        text += f"; in slips {duration(float(np.median(still)))} between stands"
    if span is not None:
        last_us = last.in_slips_us if last.in_slips_us is not None else int(span.time_us[-1])
        worked, known = worked_out_of_slips(span, first.out_of_slips_us, last_us)
        text += f"; {worked}" if worked else ""
        figures |= known
    return Line(first.out_of_slips_us, "stands", text + ".", figures)


def _against_expected(run: Sequence[TripRow], figures: dict[str, tuple[float, str]]) -> str:
    over = [row.moving_weight_N - row.expected_weight_N for row in run]
    known = [value for value in over if math.isfinite(value)]
    if not known:
        return " (no expected weight yet)"
    worst = max(known, key=abs)
    figures["off"] = force(abs(worst))
    way = "over" if worst > 0.0 else "under"
    return f", at most {{off}} {way} expected" if len(known) > 1 else f", {{off}} {way} expected"


def signs_before(rows: Sequence[TripRow], events: Sequence[Event], stuck_us: int) -> list[Event]:
    """Overpulls of the last stands before the string stuck, the greatest of each stand."""
    before = [row for row in rows if row.out_of_slips_us < stuck_us][-STANDS_BEFORE:]
    signs = []
    for row in before:
        until = row.in_slips_us if row.in_slips_us is not None else stuck_us
        inside = [
            event
            for event in events
            if event.kind == "overpull"
            and row.out_of_slips_us <= event.start_us <= min(until, stuck_us - 1)
        ]
        if inside:
            signs.append(max(inside, key=lambda event: event.peak_excess_N))
    return signs


def stand_of(rows: Sequence[TripRow], time_us: int) -> int | None:
    """Give the number of the stand that was moving then."""
    for row in rows:
        if row.out_of_slips_us <= time_us and (
            row.in_slips_us is None or time_us <= row.in_slips_us
        ):
            return row.stand
    return None


def drag_lines(rows: Sequence[TripRow], signs: Sequence[Event], stuck_us: int) -> list[Line]:
    """Write the first sign, each later one, and how drag went from stand to stand."""
    lines = []
    for number, event in enumerate(signs):
        end_us = event.end_us if event.end_us is not None else event.peak_time_us
        stand = stand_of(rows, event.start_us)
        on = "" if stand is None else f" on stand {stand}"
        opening = "First sign: overpull" if number == 0 else "Overpull"
        text = (
            f"{opening} of {{over}}{on}, bit {{depth}}: {{load}} against {{expected}} expected; "
            f"lasted {duration((end_us - event.start_us) / 1e6)}, pulled through."
        )
        figures = {
            "over": force(event.peak_excess_N),
            "depth": length(event.bit_depth_m),
            "load": force(event.peak_hook_load_N),
            "expected": force(event.expected_hook_load_N),
        }
        lines.append(Line(event.start_us, "drag", text, figures, is_key=number == 0))
    return [*lines, *_trend(rows, signs, stuck_us)]


def _trend(rows: Sequence[TripRow], signs: Sequence[Event], stuck_us: int) -> list[Line]:
    if len(signs) < 2:
        return []
    sizes = np.array([event.peak_excess_N for event in signs])
    numbers = np.array([stand_of(rows, event.start_us) or at for at, event in enumerate(signs)])
    first, second = np.triu_indices(len(sizes), 1)
    apart = np.maximum(numbers[second] - numbers[first], 1)
    slope = float(np.median((sizes[second] - sizes[first]) / apart))
    names = [f"s{at}" for at in range(len(sizes))]
    listed = ", ".join(f"{{{name}}}" for name in names)
    figures = {name: force(float(size)) for name, size in zip(names, sizes, strict=True)}
    rising = slope > 0.0 and sizes[-1] > RISE * sizes[0]
    text = f"Drag before it stuck, greatest overpull of {len(sizes)} stands: {listed}"
    if rising:
        text += ": rising by about {slope} a stand."
        figures["slope"] = force(slope)
    else:
        text += ": no steady rise."
    return [Line(stuck_us, "drag", text, figures, is_key=rising)]


def same_place(events: Sequence[Event], depth_m: float, before_us: int) -> list[Event]:
    """Overpulls and slack-offs seen earlier with the bit near this depth."""
    return [
        event
        for event in events
        if event.kind in ("overpull", "slack_off")
        and event.start_us < before_us
        and abs(event.bit_depth_m - depth_m) <= SAME_PLACE_M
    ]


def stands_in_all(rows: Sequence[TripRow]) -> str:
    """Count stands by direction.

    >>> stands_in_all([])
    'no stands'
    """
    parts = [
        f"{count(number, 'stand')} {word}"
        for way, word in (("out", "out"), ("in", "in"), ("drilled", "drilled"))
        if (number := sum(row.direction == way for row in rows))
    ]
    return ", ".join(parts) or "no stands"
