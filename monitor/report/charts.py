"""The report's charts: load, excess and block on one time axis; loops; drag of the stands."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from monitor.interpret.hold import SETTLED
from monitor.model import Floats, State, TripRow
from monitor.report import svg
from monitor.report.svg import Axis
from monitor.report.wording import clock, unit
from monitor.review.pulls import PULL, Pull
from monitor.review.span import Span
from monitor.review.spell import Spell
from monitor.units import display_value

WIDTH, LEFT, RIGHT = 720.0, 52.0, 10.0
LOOP_ROWS = 1200


@dataclass(frozen=True, slots=True)
class Mark:
    """A labelled moment on a time chart."""

    time_us: int
    text: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One strip: name, its unit, its lines (values in SI, style) and its height."""

    name: str
    quantity: str
    lines: tuple[tuple[Floats, str], ...]
    height: float
    band: tuple[Floats, Floats] | None = None
    levels: tuple[tuple[float, str], ...] = ()  # value in SI, what it is


def panels(span: Span, limits: Sequence[tuple[float, str]]) -> list[Panel]:
    """Hook load with the expected band, excess with the limits, block position."""
    expected, half = span["expected_N"], span["band_N"]
    return [
        Panel(
            "Hook load",
            "force",
            ((expected, "mid"), (span["hook_load_N"], "ink")),
            150.0,
            (expected - half, expected + half),
        ),
        Panel(
            "Over or under expected",
            "force",
            ((span["excess_N"], "ink"),),
            96.0,
            None,
            tuple(limits),
        ),
        Panel("Block position", "block_position", ((span["block_position"], "ink"),), 84.0),
    ]


def time_chart(
    span: Span,
    label: str,
    display: str,
    *,
    limits: Sequence[tuple[float, str]] = (),
    shaded: Sequence[tuple[int, int]] = (),
    marks: Sequence[Mark] = (),
) -> str:
    """Strips on one time axis, UTC."""
    time = span.time_us.astype(np.float64)
    across = Axis(time[0], max(time[-1], time[0] + 1e6), LEFT, WIDTH - RIGHT)
    strips = panels(span, limits)
    top = 22.0
    height = top + sum(strip.height + 20.0 for strip in strips) + 14.0
    parts: list[str] = []
    bottom = height - 22.0
    for start, end in shaded:
        left, right = (min(max(across.at(t), LEFT), WIDTH - RIGHT) for t in (start, end))
        parts.append(svg.rect(left, top, right - left, bottom - top, "shade"))
    parts += _marks(marks, across, top, bottom)
    for moment in svg.time_ticks_us(across, 7):
        x = across.at(moment)
        parts.append(svg.line(x, top, x, bottom, "grid"))
        parts.append(
            svg.words(
                x,
                height - 8.0,
                clock(moment, seconds=time[-1] - time[0] < 3.6e9),
                "tick",
                "middle",
            )
        )
    y = top
    for strip in strips:
        parts += _strip(strip, time, across, y + 14.0, display)
        y += strip.height + 20.0
    return svg.drawing(WIDTH, height, label, parts)


def _marks(marks: Sequence[Mark], across: Axis, top: float, bottom: float) -> list[str]:
    parts, last = [], -math.inf
    for mark in sorted(marks, key=lambda each: each.time_us):
        x = across.at(mark.time_us)
        parts.append(svg.line(x, top, x, bottom, "mark"))
        if x - last > 6.0 * len(mark.text):
            parts.append(svg.words(x, top - 6.0, mark.text, "label", "middle"))
            last = x
    return parts


def _strip(strip: Panel, time: Floats, across: Axis, top: float, display: str) -> list[str]:
    def shown(values: Floats) -> Floats:
        scale = display_value(1.0, strip.quantity, display)
        return values * scale

    columns = int(WIDTH - LEFT - RIGHT)
    values = [shown(line) for line, _ in strip.lines]
    levels = [display_value(level, strip.quantity, display) for level, _ in strip.levels]
    held: list[Floats | list[float]] = [*values, levels]
    up = svg.nice_axis(held, top + strip.height, top)
    parts = [svg.words(LEFT, top - 3.0, f"{strip.name}, {unit(strip.quantity, display)}", "name")]
    for tick in svg.ticks(up, 4):
        y = up.at(tick)
        parts.append(svg.line(LEFT, y, WIDTH - RIGHT, y, "grid"))
        parts.append(svg.words(LEFT - 6.0, y + 3.0, f"{tick:g}", "tick", "end"))
    if strip.band is not None:
        x, low = svg.thinned(time, shown(strip.band[0]), columns)
        _, high = svg.thinned(time, shown(strip.band[1]), columns)
        clip = [np.clip(up.all_at(edge), top, top + strip.height) for edge in (low, high)]
        parts.append(svg.band(across.all_at(x), clip[0], clip[1], "band"))
    for level, (_, name) in zip(levels, strip.levels, strict=True):
        y = up.at(level)
        parts.append(svg.line(LEFT, y, WIDTH - RIGHT, y, "limit"))
        parts.append(svg.words(WIDTH - RIGHT - 2.0, y - 3.0, name, "small", "end"))
    for line, (_, style) in zip(values, strip.lines, strict=True):
        x, y_values = svg.thinned(time, line, columns)
        gap = np.concatenate(([False], np.diff(x) > _gap_us(time)))
        parts.append(svg.path(across.all_at(x), up.all_at(y_values), style, breaks=gap))
    return parts


def _gap_us(time: Floats) -> float:
    """Longer than this between points is a gap: the line breaks."""
    usual = float(np.median(np.diff(time))) if len(time) > 1 else 1e6
    pixel = float(time[-1] - time[0]) / (WIDTH - LEFT - RIGHT)
    return max(10e6, 5.0 * usual, 3.0 * pixel)


def loop_chart(span: Span, spell: Spell, label: str, display: str) -> str:
    """Hook load against block position, each pull a loop; sheave friction settled drawn full."""
    pulls = [pull for pull in spell.pulls if pull.kind == PULL]
    part = span.between(pulls[0].start_us, max(_drawn_to_us(pull) for pull in spell.pulls))
    block = part["block_position"] * display_value(1.0, "block_position", display)
    load = part["hook_load_N"] * display_value(1.0, "force", display)
    turned = np.abs(part["friction_state"]) <= SETTLED
    turned |= (part["state"].astype(np.int64) & int(State.REVERSED)) > 0
    height = 330.0
    across = svg.nice_axis([block], LEFT, WIDTH - RIGHT)
    free = [
        display_value(level, "force", display) for level in (spell.held.up_N, spell.held.low_N)
    ]
    up = svg.nice_axis([np.where(turned, np.nan, load), free], height - 40.0, 22.0)
    parts = _grid(across, up, height, display)
    names = ("free hoisting weight", "free lowering weight" + _guessed(spell))
    for level, name in zip(free, names, strict=True):
        parts.append(svg.line(LEFT, up.at(level), WIDTH - RIGHT, up.at(level), "limit"))
        parts.append(svg.words(WIDTH - RIGHT - 2.0, up.at(level) - 3.0, name, "small", "end"))
    speed = part["block_speed_m_s"]
    for style, chosen in (("slack", speed <= 0.0), ("pulling", speed > 0.0)):
        x = np.where(chosen & ~turned, across.all_at(block), np.nan)
        parts.append(svg.path(*_few(x, up.all_at(load)), style))
    for pull in pulls:
        at = part.row_at(pull.peak_us)
        parts.append(svg.dot(across.at(block[at]), up.at(load[at]), 7.5, "tag"))
        parts.append(
            svg.words(
                across.at(block[at]), up.at(load[at]) + 3.2, str(pull.number), "tagged", "middle"
            )
        )
    return svg.drawing(WIDTH, height, label, parts)


def _drawn_to_us(pull: Pull) -> int:
    """Slacking off makes the loop of a pull; after a set-down comes the next pull, or travel."""
    return pull.slack_end_us if pull.kind == PULL else pull.end_us


def _guessed(spell: Spell) -> str:
    return "" if math.isfinite(spell.held.down_N) else " (estimated)"


def _few(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Points of a line that a page can show; a loop is smooth at this rate."""
    step = max(len(x) // (4 * LOOP_ROWS), 1)
    return x[::step], y[::step]


def _grid(across: Axis, up: Axis, height: float, display: str) -> list[str]:
    bottom = height - 40.0
    parts = [svg.words(LEFT, 14.0, f"Hook load, {unit('force', display)}", "name")]
    for tick in svg.ticks(up, 6):
        parts.append(svg.line(LEFT, up.at(tick), WIDTH - RIGHT, up.at(tick), "grid"))
        parts.append(svg.words(LEFT - 6.0, up.at(tick) + 3.0, f"{tick:g}", "tick", "end"))
    for tick in svg.ticks(across, 8):
        parts.append(svg.line(across.at(tick), 22.0, across.at(tick), bottom, "grid"))
        parts.append(svg.words(across.at(tick), bottom + 14.0, f"{tick:g}", "tick", "middle"))
    name = f"Block position, {unit('block_position', display)}"
    parts.append(svg.words((LEFT + WIDTH - RIGHT) / 2.0, height - 8.0, name, "name", "middle"))
    return parts


def drag_chart(rows: Sequence[TripRow], label: str, display: str) -> str:
    """Greatest overpull of each stand before it stuck."""
    height, bottom = 150.0, 112.0
    sizes = np.array([display_value(row.max_overpull_N, "force", display) for row in rows])
    up = Axis(0.0, max(float(np.nanmax(sizes)), 1.0) * 1.15, bottom, 22.0)
    parts = [svg.words(LEFT, 14.0, f"Greatest overpull, {unit('force', display)}", "name")]
    for tick in svg.ticks(up, 4):
        parts.append(svg.line(LEFT, up.at(tick), WIDTH - RIGHT, up.at(tick), "grid"))
        parts.append(svg.words(LEFT - 6.0, up.at(tick) + 3.0, f"{tick:g}", "tick", "end"))
    place: Callable[[int], float] = Axis(-0.5, len(rows) - 0.5, LEFT, WIDTH - RIGHT).at
    for at, row in enumerate(rows):
        x, size = place(at), float(sizes[at])
        parts.append(svg.rect(x - 14.0, up.at(size), 28.0, bottom - up.at(size), "bar"))
        if size > 0.0:
            parts.append(svg.words(x, up.at(size) - 3.0, f"{size:.0f}", "small", "middle"))
        depth = display_value(row.bit_depth_m, "length", display)
        parts.append(svg.words(x, bottom + 13.0, str(row.stand), "tick", "middle"))
        parts.append(svg.words(x, bottom + 26.0, f"{depth:.0f}", "small", "middle"))
    parts.append(svg.words(LEFT - 6.0, bottom + 13.0, "stand", "small", "end"))
    parts.append(
        svg.words(LEFT - 6.0, bottom + 26.0, f"bit, {unit('length', display)}", "small", "end")
    )
    return svg.drawing(WIDTH, height, label, parts)
