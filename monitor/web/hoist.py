"""The Hoist page: what hangs in which lines, what may be pulled, the line and what moves it."""

from __future__ import annotations

from dash import html

from monitor.web import ids
from monitor.web.components.places import places
from monitor.web.components.tile import tile

# What a person writes in the rig file so that a panel has something to show.
MISSING = {
    ids.RATINGS: "[equipment.NAME] rating, rated_for",
    ids.LINE_WORK: "[line] diameter and [line_work] goal, cut_length",
    ids.DRILLING_LINE: "[line] diameter, strength or grade",
    ids.DRUM: "[line] diameter and [drum] diameter, width, line_on_drum",
    ids.BRAKING: "[drawworks] brake_deceleration and [limits] floor, crown",
    ids.GEAR: "[gear.NAME] weight",
    ids.PREPARATION: "[hook] rotation_lock, positioner",
}


def hoist_page() -> html.Main:
    """Left the string-up and what moves it, middle what may be pulled, right line and gear."""
    return html.Main([_left(), _middle(), _right()], id=ids.PAGE_HOIST, className="hoist away")


def _left() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    html.Div(
                        [
                            html.H1("Hoist"),
                            html.Span(id=ids.STRING_UP_NOTE, className="soft"),
                            places("hoist"),
                        ],
                        className="trip-head",
                    ),
                    html.Div(id=ids.STRING_UP, className="string-up-drawing"),
                    html.Button(
                        "Change the number of lines",
                        id=ids.CHANGE_LINES,
                        className="button",
                        type="button",
                    ),
                ],
                className="panel string-up-panel",
            ),
            html.Div(
                [
                    _panel(ids.DRUM, "Wraps left"),
                    _panel(ids.BRAKING, "Room to stop", quantity="length"),
                ],
                className="pair",
            ),
            _panel(ids.GEAR, "Travelling gear"),
        ],
        className="hoist-left",
    )


def _middle() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    tile(ids.GREATEST_PULL, "Greatest pull now", "force", size="tile-pull"),
                    tile(ids.WEAKEST, "Weakest", size="tile-pull tile-weakest"),
                ],
                className="pair",
            ),
            html.Div(id=ids.HOIST_WARNINGS, className="hoist-warnings"),
            _panel(ids.RATINGS, "What each part bears, as hook load", quantity="force"),
            _panel(ids.SLIP_AND_CUT, "Slip and cut"),
        ],
        className="hoist-middle",
    )


def _right() -> html.Section:
    return html.Section(
        [
            _panel(ids.LINE_WORK, "Line work since the cut", quantity="work"),
            _panel(ids.DRILLING_LINE, "Drilling line"),
            _panel(ids.PREPARATION, "Preparation"),
            _panel(ids.COMPENSATOR, "Compensator"),
        ],
        className="hoist-right",
    )


def _panel(name: str, title: str, quantity: str = "") -> html.Div:
    """Return a panel whose body the scripts fill, or say which key of the rig file is missing."""
    return html.Div(
        [
            html.Div(title, className="tile-title"),
            html.Div(className="tile-unit", **{"data-quantity": quantity}),
            html.Div(id=name, className="hoist-body", **{"data-missing": MISSING.get(name, "")}),
        ],
        id=f"{name}-panel",
        className=f"panel hoist-panel {name}",
    )
