"""Small drawing functions: axes and lines as inline SVG text. Same values, same text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from monitor.model import Floats


@dataclass(frozen=True, slots=True)
class Axis:
    """Values ``low`` to ``high`` on a stretch of pixels."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Pixel of one value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def all_at(self, values: Floats) -> Floats:
        """Pixels of many values."""
        share = (values - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def nice_axis(
    values: Sequence[Floats | Sequence[float]], start: float, end: float, *, margin: float = 0.06
) -> Axis:
    """Axis that holds all finite values with a little room."""
    finite = [np.asarray(part, dtype=float) for part in values]
    finite = [part[np.isfinite(part)] for part in finite]
    joined = np.concatenate(finite) if finite else np.zeros(0)
    if not len(joined):
        return Axis(0.0, 1.0, start, end)
    low, high = float(joined.min()), float(joined.max())
    room = (high - low) * margin or max(abs(high), 1.0) * 0.05
    return Axis(low - room, high + room, start, end)


def ticks(axis: Axis, wanted: int) -> list[float]:
    """Round values on the axis, about as many as wanted."""
    span = axis.high - axis.low
    rough = span / max(wanted, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1, 2, 5, 10) if power * factor >= rough)
    first = math.ceil(axis.low / step - 1e-9)
    last = math.floor(axis.high / step + 1e-9)
    return [number * step for number in range(first, last + 1)]


TIME_STEPS_S = (
    5,
    10,
    15,
    30,
    60,
    120,
    300,
    600,
    900,
    1800,
    3600,
    7200,
    14400,
    21600,
    43200,
    86400,
)


def time_ticks_us(axis: Axis, wanted: int) -> list[int]:
    """Round moments on an axis of microseconds."""
    rough = (axis.high - axis.low) / 1e6 / wanted
    step = next((each for each in TIME_STEPS_S if each >= rough), 86400) * 1_000_000
    first = math.ceil(axis.low / step)
    return [number * step for number in range(first, math.floor(axis.high / step) + 1)]


def thinned(x: Floats, y: Floats, columns: int) -> tuple[Floats, Floats]:
    """Least and greatest of each pixel column, so that no spike is thinned away."""
    if len(x) <= 3 * columns:
        return x, y
    low, high = float(x[0]), float(x[-1])
    number = np.minimum(((x - low) / (high - low) * columns).astype(np.int64), columns - 1)
    starts = np.concatenate(([0], np.flatnonzero(np.diff(number)) + 1))
    lows = np.fmin.reduceat(y, starts)
    highs = np.fmax.reduceat(y, starts)
    return np.repeat(x[starts], 2), np.column_stack((lows, highs)).ravel()


def path(x: Floats, y: Floats, style: str, *, breaks: Floats | None = None) -> str:
    """Line through the points, broken where one is not known or at the given rows."""
    pieces: list[str] = []
    pen = False
    cut = np.zeros(len(x), dtype=bool) if breaks is None else breaks.astype(bool)
    for px, py, ends in zip(x.tolist(), y.tolist(), cut.tolist(), strict=True):
        if not (math.isfinite(px) and math.isfinite(py)):
            pen = False
            continue
        pieces.append(f"{'L' if pen and not ends else 'M'}{px:.1f} {py:.1f}")
        pen = True
    return f'<path class="{style}" d="{"".join(pieces)}"/>' if pieces else ""


def band(x: Floats, low: Floats, high: Floats, style: str) -> str:
    """Fill between two lines, in pieces where they are known."""
    known = np.isfinite(x) & np.isfinite(low) & np.isfinite(high)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], known.astype(np.int8), [0]))))
    drawn = []
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        there = [f"{a:.1f} {b:.1f}" for a, b in zip(x[start:stop], low[start:stop], strict=True)]
        back = [f"{a:.1f} {b:.1f}" for a, b in zip(x[start:stop], high[start:stop], strict=True)]
        drawn.append(f"M{'L'.join([*there, *back[::-1]])}Z")
    return f'<path class="{style}" d="{"".join(drawn)}"/>' if drawn else ""


def line(x1: float, y1: float, x2: float, y2: float, style: str) -> str:
    """Straight line."""
    return f'<line class="{style}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def rect(x: float, y: float, width: float, height: float, style: str) -> str:
    """Upright rectangle."""
    return (
        f'<rect class="{style}" x="{x:.1f}" y="{y:.1f}" width="{max(width, 0.0):.1f}" '
        f'height="{max(height, 0.0):.1f}"/>'
    )


def dot(x: float, y: float, radius: float, style: str) -> str:
    """Filled or open circle, by its style."""
    return f'<circle class="{style}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'


def words(x: float, y: float, text: str, style: str = "tick", anchor: str = "start") -> str:
    """Text at a point."""
    return (
        f'<text class="{style}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">'
        f"{escape(text)}</text>"
    )


def drawing(width: float, height: float, label: str, parts: Sequence[str]) -> str:
    """Whole drawing; its label says in words what it shows."""
    return (
        f'<svg viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{escape(label)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )
