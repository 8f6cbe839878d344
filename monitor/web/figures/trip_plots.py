"""Plots of the trip sheet. Colours are names of tokens; the browser puts in their values."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from monitor.model import TripRow
from monitor.units import DISPLAY_SETS, display_value

STANDS_DRAWN = 600
DIRECTIONS = {
    "out": ("out", "--trace", "triangle-up"),
    "in": ("in", "--trace-other", "triangle-down-open"),
    "drilled": ("drilled", "--ink-soft", "circle-open"),
}


# Weights caught at connections, sliding up, sliding down, turning.
CAUGHT = (
    ("hoisting_weight_N", "sliding up", "triangle-up-dot"),
    ("lowering_weight_N", "sliding down", "triangle-down-dot"),
    ("rotating_weight_N", "turning", "circle-dot"),
)
SPOTS_DRAWN = 60


def trip_plots(
    rows: Sequence[TripRow],
    display: str,
    spots: Sequence[Mapping[str, Any]] = (),
    fan: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Three figures by name; one without data is None and its panel is not shown."""
    drawn = list(rows)[-STANDS_DRAWN:]
    return {
        "weights": weights(drawn, display, spots, fan),
        "speeds": speeds(drawn, display),
        "tank": tank(drawn, display),
    }


def depth_span_m(rows: Sequence[TripRow]) -> tuple[float, float]:
    """Least and greatest bit depth that is drawn; 0 and 0 without any."""
    depths = [row.bit_depth_m for row in rows[-STANDS_DRAWN:] if math.isfinite(row.bit_depth_m)]
    return (min(depths), max(depths)) if depths else (0.0, 0.0)


def weights(
    rows: Sequence[TripRow],
    display: str,
    spots: Sequence[Mapping[str, Any]] = (),
    fan: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Moving weight of each stand, what was expected, and weights caught, against depth.

    Places where the string was held lie behind them as bands, in a surveyed hole the fan of
    the soft string too.
    """
    if not rows:
        return _words("No stand yet")
    if not any(math.isfinite(row.bit_depth_m) for row in rows):
        return _words("Bit depth is not known:<br>give it with the button Bit depth")
    force, length = DISPLAY_SETS[display]["force"].unit, DISPLAY_SETS[display]["length"].unit
    data: list[dict[str, Any]] = [] if fan is None else _fan(fan, display)
    for direction, (word, colour, symbol) in DIRECTIONS.items():
        own = [row for row in rows if row.direction == direction]
        if not own:
            continue
        depth = [_shown(row.bit_depth_m, "length", display) for row in own]
        data.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": f"{word}, expected",
                "x": [_shown(row.expected_weight_N, "force", display) for row in own],
                "y": depth,
                "line": {"color": colour, "width": 1, "dash": "dot"},
            }
        )
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "name": word,
                "x": [_shown(row.moving_weight_N, "force", display) for row in own],
                "y": depth,
                "marker": {"color": colour, "symbol": symbol, "size": 8},
            }
        )
    data += _caught(rows, display)
    layout = _layout(f"weight, {force}", f"bit depth, {length}")
    layout["yaxis"]["autorange"] = "reversed"
    layout["legend"]["font"] = {"size": 14 if fan is None else 12}
    layout["shapes"] = [_band(place, rows, display) for place in _near(spots, rows)]
    return {"data": data, "layout": layout}


def _fan(fan: Mapping[str, Any], display: str) -> list[dict[str, Any]]:
    """Curves of usual friction factors, thin; of those found, dashed."""
    depth = [_shown(value, "length", display) for value in fan["depth_m"]]

    def curve(name: str, loads_N: Sequence[float], **line: Any) -> dict[str, Any]:
        return {
            "type": "scatter",
            "mode": "lines",
            "name": name,
            "showlegend": bool(name),
            "x": [_shown(load, "force", display) for load in loads_N],
            "y": depth,
            "line": {"color": "--ink-soft", "width": 1, **line},
        }

    usual = fan["usual"]
    name = f"friction {usual[0]['friction_factor']:g} to {usual[-1]['friction_factor']:g}"
    curves = [curve("", one[way]) for one in usual for way in ("hoisting", "lowering")]
    curves[0] |= {"name": name, "showlegend": True}
    curves.append(curve("turning", fan["turning_N"], dash="dot"))
    for way, loads_N in fan["found"].items():
        colour = DIRECTIONS["out" if way == "hoisting" else "in"][1]
        curves.append(curve(f"found {way}", loads_N, color=colour, dash="dash", width=2))
    return curves


def _caught(rows: Sequence[TripRow], display: str) -> list[dict[str, Any]]:
    traces = []
    for field, word, symbol in CAUGHT:
        own = [row for row in rows if math.isfinite(getattr(row, field))]
        if own:
            traces.append(
                {
                    "type": "scatter",
                    "mode": "markers",
                    "name": f"caught, {word}",
                    "x": [_shown(getattr(row, field), "force", display) for row in own],
                    "y": [_shown(row.bit_depth_m, "length", display) for row in own],
                    "marker": {"color": "--ink-soft", "symbol": symbol, "size": 9},
                }
            )
    return traces


def _near(spots: Sequence[Mapping[str, Any]], rows: Sequence[TripRow]) -> list[Mapping[str, Any]]:
    """Spots at depths the stands reach: others would squeeze the plot."""
    depths = [row.bit_depth_m for row in rows if math.isfinite(row.bit_depth_m)]
    if not depths:
        return []
    top, bottom = min(depths), max(depths)
    near = [s for s in spots if s["bottom_m"] >= top and s["top_m"] <= bottom]
    return near[-SPOTS_DRAWN:]


def _band(place: Mapping[str, Any], rows: Sequence[TripRow], display: str) -> dict[str, Any]:
    """One tight spot across the plot, drawn thick enough to be seen."""
    depths = [row.bit_depth_m for row in rows if math.isfinite(row.bit_depth_m)]
    least = 0.004 * (max(depths) - min(depths))
    middle = 0.5 * (place["top_m"] + place["bottom_m"])
    half = 0.5 * max(place["bottom_m"] - place["top_m"], least)
    return {
        "type": "rect",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": _shown(middle - half, "length", display),
        "y1": _shown(middle + half, "length", display),
        "fillcolor": "--load",
        "opacity": 0.8,
        "line": {"width": 0},
        "layer": "below",
    }


def speeds(rows: Sequence[TripRow], display: str) -> dict[str, Any]:
    """Average speed of each stand while it moved."""
    if not rows:
        return _words("No stand yet")
    data = []
    for direction, (word, colour, symbol) in DIRECTIONS.items():
        own = [row for row in rows if row.direction == direction]
        if own:
            data.append(
                {
                    "type": "scatter",
                    "mode": "markers",
                    "name": word,
                    "x": [row.stand for row in own],
                    "y": [_shown(row.average_speed_m_s, "speed", display) for row in own],
                    "marker": {"color": colour, "symbol": symbol, "size": 8},
                }
            )
    layout = _layout("stand", DISPLAY_SETS[display]["speed"].unit)
    _count_whole(layout, len(rows))
    layout["yaxis"]["rangemode"] = "tozero"
    return {"data": data, "layout": layout}


def tank(rows: Sequence[TripRow], display: str) -> dict[str, Any] | None:
    """Change of the trip tank with each stand; None where there is no tank to read."""
    own = [row for row in rows if math.isfinite(row.trip_tank_change_m3)]
    if not own:
        return None
    bars = {
        "type": "bar",
        "name": "trip tank",
        "x": [row.stand for row in own],
        "y": [_shown(row.trip_tank_change_m3, "volume", display) for row in own],
        "marker": {"color": "--trace"},
    }
    layout = _layout("stand", DISPLAY_SETS[display]["volume"].unit)
    _count_whole(layout, len(rows))
    return {"data": [bars], "layout": layout}


def _count_whole(layout: dict[str, Any], n_stands: int) -> None:
    """Stands are counted: no tick between two of them."""
    if n_stands <= 10:
        layout["xaxis"]["dtick"] = 1


def _words(words: str) -> dict[str, Any]:
    """A plot that says why it is empty."""
    layout = _layout("", "")
    for axis in ("xaxis", "yaxis"):
        layout[axis]["visible"] = False
    layout["annotations"] = [
        {
            "text": words,
            "xref": "paper",
            "yref": "paper",
            "x": 0.5,
            "y": 0.5,
            "showarrow": False,
            "font": {"color": "--ink", "size": 16},
        }
    ]
    return {"data": [], "layout": layout}


def _shown(value_si: float, quantity: str, display: str) -> float | None:
    return display_value(value_si, quantity, display) if math.isfinite(value_si) else None


def _layout(x_title: str, y_title: str) -> dict[str, Any]:
    axis = {
        "color": "--ink-soft",
        "gridcolor": "--rule",
        "zerolinecolor": "--rule",
        "automargin": True,
        "separatethousands": True,
        "exponentformat": "none",
    }
    return {
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"color": "--ink-soft", "size": 14},
        "margin": {"l": 56, "r": 16, "t": 8, "b": 44},
        "legend": {"orientation": "h", "y": 1.0, "yanchor": "bottom", "x": 0},
        "showlegend": True,
        "xaxis": {**axis, "title": {"text": x_title}},
        "yaxis": {**axis, "title": {"text": y_title}},
        "uirevision": "trip",
    }
