"""The ways from one place to the four others, and the light: the same on every page."""

from __future__ import annotations

from dash import dcc, html

# name of a place, its address, its words; in the order of the work
PLACES = (
    ("floor", "/", "Floor"),
    ("trip-sheet", "/trip-sheet", "Trip sheet"),
    ("hoist", "/hoist", "Hoist"),
    ("sensor", "/sensor", "Sensor"),
    ("replay", "/replay", "Replay"),
)


def places(here: str, className: str = "places") -> html.Nav:
    """Links to the other places, and the button that changes the light."""
    return html.Nav(
        [
            *(
                dcc.Link(words, href=address, id=f"go-{name}-from-{here}", className="button")
                for name, address, words in PLACES
                if name != here
            ),
            html.Button("Night", id=f"light-{here}", className="button light", type="button"),
        ],
        className=className,
        **{"aria-label": "Places"},
    )
