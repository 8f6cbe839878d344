"""A tile: title, unit, one figure (or a word in its place), and what it rests on below."""

from __future__ import annotations

from dash import html


def tile(name: str, title: str, quantity: str = "", *, size: str = "", more: str = "") -> html.Div:
    """Return a tile whose parts the scripts fill: ``name-value``, ``name-note``, ``name-unit``.

    ``more`` is the id of a second note, beside the title.
    """
    return html.Div(
        [
            html.Div(title, className="tile-title"),
            html.Div(id=f"{name}-unit", className="tile-unit", **{"data-quantity": quantity}),
            html.Div(id=f"{name}-note", className="tile-note"),
            html.Div(id=f"{name}-value", className="tile-value"),
            *([html.Div(id=more, className="tile-more")] if more else []),
        ],
        id=name,
        className=f"panel tile {size}".strip(),
    )
