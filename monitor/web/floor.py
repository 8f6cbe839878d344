"""The Floor page: where everything stands. The scripts in assets fill it."""

from __future__ import annotations

from dash import dcc, html

from monitor.web import ids
from monitor.web.components.graph import graph
from monitor.web.components.tile import tile


def floor_page() -> html.Main:
    """One question per place: left how much, middle how it came to this, right where."""
    return html.Main([_loads(), _strips(), _whereabouts()], id=ids.PAGE_FLOOR, className="floor")


def _loads() -> html.Section:
    return html.Section(
        [
            tile(ids.HOOK_LOAD, "Hook load", "force", size="tile-largest"),
            html.Div(
                [
                    html.Div("Over or under expected", className="tile-title"),
                    html.Div(id=f"{ids.EXCESS}-mark", className="mark"),
                    html.Div(
                        [
                            html.Div(id=f"{ids.EXCESS}-word", className="excess-word"),
                            html.Div(id=f"{ids.EXCESS}-note", className="tile-note"),
                        ],
                        className="excess-words",
                    ),
                    html.Div(id=f"{ids.EXCESS}-value", className="tile-value"),
                ],
                id=ids.EXCESS,
                className="panel tile tile-excess",
            ),
            tile(ids.ROOM_LEFT, "Room left", size="tile-room"),
            html.Div(
                [
                    _ladder(ids.LOAD_LADDER, "all of it"),
                    _ladder(ids.FINE_LADDER, "over or under expected"),
                    _ladder(ids.BLOCK_TRAVEL, "block"),
                ],
                className="panel ladders",
            ),
        ],
        className="floor-left",
    )


def _ladder(name: str, title: str) -> html.Div:
    return html.Div(
        [
            html.Div(title, className="ladder-title"),
            html.Div(id=name, className="ladder-drawing"),
        ],
        className=f"ladder {name}",
    )


def _strips() -> html.Section:
    strips = (
        (ids.STRIP_HOOK_LOAD, "Hook load", "force"),
        (ids.STRIP_EXCESS, "Over or under expected", "force"),
        (ids.STRIP_BLOCK, "Block position", "block_position"),
    )
    return html.Section(
        [
            *(
                html.Div(
                    [
                        html.Span(title, className="tile-title"),
                        html.Span(className="tile-unit", **{"data-quantity": quantity}),
                        html.Div(className="strip-word"),
                    ],
                    id=name,
                    className=f"panel strip {name}",
                )
                for name, title, quantity in strips
            ),
            graph(ids.STRIPS_GRAPH, "strips-graph"),
            html.Button(
                id=ids.STRIP_SPAN,
                className="strip-span",
                type="button",
                n_clicks=0,
                title="Press to show a longer or shorter span of time",
            ),
        ],
        id=ids.STRIPS,
        className="floor-middle",
    )


def _whereabouts() -> html.Section:
    return html.Section(
        [
            tile(ids.BIT_DEPTH, "Bit depth", "length", size="tile-middle", more=ids.DEPTH_MARK),
            tile(ids.BLOCK_SPEED, "Block speed", "speed", size="tile-middle"),
            html.Div(
                [
                    tile(
                        ids.WEIGHT_ON_BIT, "On bit", "force", size="tile-small", more=ids.ZERO_AGE
                    ),
                    tile(ids.PIPE_STILL, "Pipe still", size="tile-small"),
                ],
                className="pair",
            ),
            html.Div(
                [
                    html.Div(id=ids.EVENT_CARD, className="event-card"),
                    html.Div(id=ids.EVENT_LIST, className="event-list"),
                ],
                className="panel events",
            ),
            html.Div(
                [
                    html.Button(
                        "Zero weight on bit", id=ids.TARE, className="button", type="button"
                    ),
                    dcc.Link(
                        "Trip sheet", href="/trip-sheet", id=ids.GO_TRIP_SHEET, className="button"
                    ),
                    dcc.Link("Hoist", href="/hoist", id=ids.GO_HOIST, className="button"),
                    html.Button("Night", id=ids.LIGHT, className="button light", type="button"),
                ],
                className="actions",
            ),
        ],
        className="floor-right",
    )
