"""Charts of a calibration and of the zero, as inline SVG for the certificate and the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from monitor.report import svg
from monitor.report.svg import Axis

WIDTH, HEIGHT = 560.0, 210.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, 12.0, 12.0, 40.0


def residual_chart(found: dict[str, Any]) -> str:
    """Residuals as loads against load, with the 95 % half width of a load beside them."""
    points = found["points"]
    loads = [point["reference_load"] for point in points]
    residuals = [point["residual_load"] for point in points]
    table = found["inverse"]["table"]
    band_x = np.array([row["load"] for row in table])
    width = np.array([row["half_width_95"] for row in table])
    across = svg.nice_axis([loads, band_x], LEFT, WIDTH - RIGHT)
    finite = width[np.isfinite(width)]
    up = svg.nice_axis([residuals, finite, -finite, [0.0]], HEIGHT - BOTTOM, TOP)
    parts = [
        svg.band(across.all_at(band_x), up.all_at(-width), up.all_at(width), "band"),
        *_frame(across, up, f"load at the sensor, {found['load_unit']}", found["load_unit"]),
        svg.line(LEFT, up.at(0.0), WIDTH - RIGHT, up.at(0.0), "limit"),
    ]
    for point in points:
        x, y = across.at(point["reference_load"]), up.at(point["residual_load"])
        parts.append(svg.dot(x, y, 4.0, "rising" if point["load_is"] == "rising" else "falling"))
    label = (
        f"Residuals of {len(points)} points, as loads in {found['load_unit']}; filled: load "
        "rising, open: load falling; shaded: 95 % half width of a load"
    )
    return svg.drawing(WIDTH, HEIGHT, label, parts)


def _frame(across: Axis, up: Axis, x_title: str, y_title: str) -> list[str]:
    parts = []
    for value in svg.ticks(up, 4):
        parts.append(svg.line(LEFT, up.at(value), WIDTH - RIGHT, up.at(value), "grid"))
        parts.append(svg.words(LEFT - 6.0, up.at(value) + 4.0, _number(value), "tick", "end"))
    for value in svg.ticks(across, 6):
        x = across.at(value)
        parts.append(svg.line(x, TOP, x, HEIGHT - BOTTOM, "grid"))
        parts.append(svg.words(x, HEIGHT - BOTTOM + 15.0, _number(value), "tick", "middle"))
    middle = (LEFT + WIDTH - RIGHT) / 2.0
    parts.append(svg.words(middle, HEIGHT - 6.0, x_title, "tick", "middle"))
    parts.append(svg.words(4.0, TOP + 8.0, y_title, "tick"))
    return parts


def _number(value: float) -> str:
    if value == 0.0:
        return "0"
    return f"{value:.4g}".replace("-", "\u2212")


def zero_chart(
    values: Sequence[float],
    averages: Sequence[float],
    lower: Sequence[float],
    upper: Sequence[float],
    centre: float,
    unit: str,
) -> str:
    """Checks of the empty block in order, their weighted average and its limits."""
    numbers = np.arange(1.0, len(values) + 1.0)
    across = Axis(0.5, max(len(values) + 0.5, 6.5), LEFT, WIDTH - RIGHT)
    finite = [value for value in (*lower, *upper) if math.isfinite(value)]
    up = svg.nice_axis([values, averages, finite, [centre]], HEIGHT - BOTTOM, TOP)
    parts = _frame(across, up, "check of the empty block", unit)
    x = across.all_at(numbers)
    parts.append(svg.line(LEFT, up.at(centre), WIDTH - RIGHT, up.at(centre), "limit"))
    for limit in (lower, upper):
        if len(limit) == len(numbers):
            parts.append(svg.path(x, up.all_at(np.asarray(limit, dtype=float)), "mark"))
    parts.append(svg.path(x, up.all_at(np.asarray(averages, dtype=float)), "ink"))
    for place, value in enumerate(values):
        if math.isfinite(value):
            parts.append(svg.dot(float(x[place]), up.at(value), 3.0, "falling"))
    label = f"{len(values)} checks of the empty block in {unit}, weighted average and limits"
    return svg.drawing(WIDTH, HEIGHT, label, parts)
