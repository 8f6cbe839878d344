"""The Floor page: where everything stands. The scripts in assets fill it."""

from __future__ import annotations

from collections.abc import Sequence

from dash import html

from monitor.web import ids
from monitor.web.components.graph import graph
from monitor.web.components.places import places
from monitor.web.components.tile import tile


def floor_page() -> html.Main:
    """One question per place: left how much, middle how it came to this, right where."""
    left = loads(more=[_caught()])
    return html.Main([left, _strips(), _whereabouts()], id=ids.PAGE_FLOOR, className="floor")


def loads(place: str = "", more: Sequence[html.Div] = ()) -> html.Section:
    """How much hangs there, how far from normal, how much more; ``place`` in front of each id.

    ``more`` stands below the ladders.
    """
    return html.Section(
        [
            tile(place + ids.HOOK_LOAD, "Hook load", "force", size="tile-largest"),
            html.Div(
                [
                    html.Div("Over or under expected", className="tile-title"),
                    html.Div(id=f"{place}{ids.EXCESS}-mark", className="mark"),
                    html.Div(
                        [
                            html.Div(id=f"{place}{ids.EXCESS}-word", className="excess-word"),
                            html.Div(id=f"{place}{ids.EXCESS}-note", className="tile-note"),
                        ],
                        className="excess-words",
                    ),
                    html.Div(id=f"{place}{ids.EXCESS}-value", className="tile-value"),
                ],
                id=place + ids.EXCESS,
                className="panel tile tile-excess",
            ),
            tile(place + ids.ROOM_LEFT, "Room left", size="tile-room"),
            html.Div(
                [
                    _ladder(ids.LOAD_LADDER, "all of it", place),
                    _ladder(ids.FINE_LADDER, "over or under expected", place),
                    _ladder(ids.BLOCK_TRAVEL, "block", place),
                ],
                className="panel ladders",
            ),
            *more,
        ],
        className="floor-left",
    )


def _caught() -> html.Div:
    """One touch catches a weight; beside it the newest of each kind."""
    kinds = (
        (ids.CAUGHT_HOISTING, "Hoisting"),
        (ids.CAUGHT_LOWERING, "Lowering"),
        (ids.CAUGHT_ROTATING, "Rotating"),
    )
    return html.Div(
        [
            html.Button(
                "Catch weight",
                id=ids.CATCH_ON_FLOOR,
                className="button",
                type="button",
                title="Takes the hook load of this moment as the hoisting, lowering or rotating "
                "weight, by what the pipe does",
            ),
            *(
                html.Div(
                    [
                        html.Div(words, className="tile-title"),
                        html.Div(id=f"{name}-value", className="caught-value"),
                        html.Div(id=f"{name}-note", className="tile-note"),
                    ],
                    id=name,
                    className="panel caught-one",
                )
                for name, words in kinds
            ),
        ],
        className="caught",
    )


def _ladder(name: str, title: str, place: str) -> html.Div:
    return html.Div(
        [
            html.Div(title, className="ladder-title"),
            html.Div(id=place + name, className="ladder-drawing"),
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
            tile(
                ids.BIT_DEPTH,
                "Bit depth",
                "length",
                size="tile-middle not-stuck",
                more=ids.DEPTH_MARK,
            ),
            tile(ids.BLOCK_SPEED, "Block speed", "speed", size="tile-middle not-stuck"),
            html.Div(
                [
                    tile(
                        ids.WEIGHT_ON_BIT, "On bit", "force", size="tile-small", more=ids.ZERO_AGE
                    ),
                    tile(ids.PIPE_STILL, "Pipe still", size="tile-small"),
                ],
                className="pair not-stuck",
            ),
            # While stuck pipe is worked these stand in the place of the three above.
            tile(ids.LAST_PULL, "Last pull", "force", size="tile-middle stuck-only"),
            tile(ids.LAST_SET_DOWN, "Last set-down", "force", size="tile-middle stuck-only"),
            html.Div(
                [
                    tile(ids.PULLS, "Pulls", size="tile-small"),
                    tile(ids.JAR, "Jar", size="tile-small"),
                ],
                className="pair stuck-only",
            ),
            html.Div(id=ids.STUCK_WHERE, className="panel stuck-where stuck-only"),
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
                    html.Button(
                        [
                            html.Span("Alarms"),
                            html.Span("touch once for sound", id=ids.ALARMS_STATE),
                        ],
                        id=ids.GO_ALARMS,
                        className="button go-alarms",
                        type="button",
                        **{"aria-keyshortcuts": "a"},
                    ),
                    html.Button(
                        "Stuck pipe", id=ids.STUCK_MODE, className="button", type="button"
                    ),
                ],
                className="actions",
            ),
            places("floor", "actions places"),
        ],
        className="floor-right",
    )
