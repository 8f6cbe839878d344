"""A tile: title, unit, one figure (or a word in its place), and what it rests on below."""

from __future__ import annotations

from dash import html


def tile(name: str, title: str, quantity: str = "", *, size: str = "") -> html.Div:
    """Return a tile whose parts the scripts fill: ``name-value``, ``name-note``, ``name-unit``."""
    return html.Div(
        [
            html.Div(title, className="tile-title"),
            html.Div(id=f"{name}-unit", className="tile-unit", **{"data-quantity": quantity}),
            html.Div(id=f"{name}-note", className="tile-note"),
            html.Div(id=f"{name}-value", className="tile-value"),
        ],
        id=name,
        className=f"panel tile {size}".strip(),
    )
