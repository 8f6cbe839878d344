"""The Trip sheet page: a row a stand, newest first, and its plots."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from dash import html

from monitor.model import TripRow
from monitor.units import DISPLAY_SETS, NO_VALUE, format_value, zone
from monitor.web import ids
from monitor.web.components.graph import graph
from monitor.web.components.places import places

ROWS_SHOWN = 300
SPOTS_SHOWN = 60
# A spot shorter than this is one depth.
LEAST_RANGE_M = 1.0

# heading, quantity whose unit stands below it
COLUMNS = (
    ("Stand", ""),
    ("Direction", ""),
    ("Out of slips", ""),
    ("In slips", ""),
    ("Bit depth", "length"),
    ("Length", "length"),
    ("Moving weight", "force"),
    ("Expected", "force"),
    ("Most over", "force"),
    ("Most under", "force"),
    ("Speed", "speed"),
    ("Trip tank", "volume"),
    ("Events", ""),
)
# Shown only where some stand has them.
DRILLING_COLUMNS = (
    ("Hoisting", "force"),
    ("Lowering", "force"),
    ("Rotating", "force"),
    ("Flow", ""),
)
TALLY_COLUMNS = (("By tally", "length"),)


def trip_sheet_page(display: str) -> html.Main:
    """Table and plots side by side; on a narrow screen one below the other."""
    return html.Main(
        [
            html.Section(
                [
                    html.Div(
                        [
                            html.H1("Trip sheet"),
                            html.Span(id=ids.TRIP_NOTE, className="soft"),
                            html.Button(
                                "Catch weight",
                                id=ids.CATCH_WEIGHT,
                                className="button",
                                type="button",
                                title="Takes the hook load of this moment as the hoisting, "
                                "lowering or rotating weight, by what the pipe does",
                            ),
                            html.Button(
                                "Bit depth",
                                id=ids.CORRECT_DEPTH,
                                className="button",
                                type="button",
                                title="Puts the bit depth right by hand; it goes into the journal",
                            ),
                            html.Button(
                                "Tally",
                                id=ids.GIVE_TALLY,
                                className="button",
                                type="button",
                                title="Gives the pipe tally that bit depth is compared with",
                            ),
                            places("trip-sheet"),
                        ],
                        className="trip-head",
                    ),
                    html.Div(
                        trip_table([], display, "UTC"), id=ids.TRIP_TABLE, className="trip-scroll"
                    ),
                ],
                className="panel trip-table-panel",
            ),
            html.Section(
                [
                    _plot(ids.TRIP_WEIGHTS, "Weights by bit depth", ids.TRIP_FRICTION),
                    _plot(ids.TRIP_SPEEDS, "Speed of each stand"),
                    _plot(ids.TRIP_TANK, "Trip tank change of each stand"),
                    html.Div(id=ids.TRIP_SPOTS, className="trip-spots away"),
                ],
                className="trip-plots",
            ),
        ],
        id=ids.PAGE_TRIP_SHEET,
        className="trip-sheet away",
    )


def _plot(name: str, title: str, told: str = "") -> html.Div:
    """One plot under its title; ``told`` is the place of words that come with its data."""
    words: list[Any] = [title]
    if told:
        words.append(html.Span(id=told, className="trip-told"))
    return html.Div(
        [html.Div(words, className="tile-title"), graph(name, "trip-graph", follows_panel=True)],
        id=f"{name}-panel",
        className="panel trip-plot",
    )


def trip_table(rows: Sequence[TripRow], display: str, time_zone: str) -> html.Table:
    """Return the table, newest stand first, bounded."""
    units = DISPLAY_SETS[display]
    shown = list(reversed(rows))[:ROWS_SHOWN]
    more = more_columns(shown)
    table = [cells(row, display, time_zone) for row in shown]
    columns = kept_columns(table) if more else range(len(COLUMNS))
    head = html.Tr(
        [
            html.Th([title, html.Span(units[quantity].unit if quantity else "", className="unit")])
            for title, quantity in (*(COLUMNS[column] for column in columns), *more)
        ]
    )
    body = [
        html.Tr(
            [
                html.Td(cell)
                for cell in (
                    *(own[column] for column in columns),
                    *(more_cell(row, title, display) for title, _ in more),
                )
            ],
            className="open" if row.in_slips_us is None else "",
        )
        for row, own in zip(shown, table, strict=True)
    ]
    wide = " wide" if len(columns) + len(more) > len(COLUMNS) else ""
    return html.Table([html.Thead(head), html.Tbody(body)], className=f"trip-table{wide}")


def kept_columns(table: Sequence[Sequence[str]]) -> list[int]:
    """Columns in which something stands: where there are more, the empty ones make room."""
    return [
        column
        for column in range(len(COLUMNS))
        if any(cells_of_row[column] != NO_VALUE for cells_of_row in table)
    ]


def more_columns(rows: Sequence[TripRow]) -> list[tuple[str, str]]:
    """Columns of what only some records have: weights caught while drilling, a tally."""
    columns: list[tuple[str, str]] = []
    if any(math.isfinite(load) for row in rows for load in caught_N(row)):
        columns += DRILLING_COLUMNS
    if any(math.isfinite(row.tally_depth_m) for row in rows):
        columns += TALLY_COLUMNS
    return columns


def caught_N(row: TripRow) -> tuple[float, float, float]:
    """Weights caught at the connection of a stand."""
    return row.hoisting_weight_N, row.lowering_weight_N, row.rotating_weight_N


def more_cell(row: TripRow, title: str, display: str) -> str:
    """Cell of one of the columns that only some records have."""
    if title == "Flow":
        return row.weights_flow or NO_VALUE
    if title == "By tally":
        return format_value(
            row.tally_depth_m - row.bit_depth_m, "length", display, with_unit=False
        )
    loads = dict(zip(("Hoisting", "Lowering", "Rotating"), caught_N(row), strict=True))
    return format_value(loads[title], "force", display, with_unit=False)


def spots_table(places: Sequence[Mapping[str, Any]], display: str) -> list[Any]:
    """Places where the string was held, deepest last: depth, how often, how hard."""
    if not places:
        return []
    units = DISPLAY_SETS[display]
    heads = (
        ("Held at", units["length"].unit),
        ("Times", ""),
        ("Trips", ""),
        ("Most", units["force"].unit),
    )
    rows = []
    for place in list(places)[-SPOTS_SHOWN:]:
        top, bottom = place["top_m"], place["bottom_m"]
        depth = format_value(top, "length", display, with_unit=False)
        if bottom - top >= LEAST_RANGE_M:
            depth += f" to {format_value(bottom, 'length', display, with_unit=False)}"
        most = format_value(place["excess_N"], "force", display, with_unit=False)
        told = (depth, str(place["times"]), str(place["trips"]), most)
        rows.append(html.Tr([html.Td(cell) for cell in told]))
    head = html.Tr([html.Th([title, html.Span(unit, className="unit")]) for title, unit in heads])
    return [
        html.Div("Tight spots of this record", className="tile-title"),
        html.Div(
            html.Table([html.Thead(head), html.Tbody(rows)], className="spots-table"),
            className="trip-scroll",
        ),
    ]


def cells(row: TripRow, display: str, time_zone: str) -> list[str]:
    """One row as shown: the column's unit stands in its heading."""

    def shown(value_si: float, quantity: str) -> str:
        return format_value(value_si, quantity, display, with_unit=False)

    return [
        str(row.stand),
        row.direction,
        clock(row.out_of_slips_us, time_zone),
        clock(row.in_slips_us, time_zone) if row.in_slips_us is not None else "still out",
        shown(row.bit_depth_m, "length"),
        shown(row.length_m, "length"),
        shown(row.moving_weight_N, "force"),
        shown(row.expected_weight_N, "force"),
        shown(row.max_overpull_N, "force"),
        shown(row.max_slack_off_N, "force"),
        shown(row.average_speed_m_s, "speed"),
        shown(row.trip_tank_change_m3, "volume"),
        str(row.events) if row.events else NO_VALUE,
    ]


def clock(time_us: int, time_zone: str) -> str:
    """Rig time of day."""
    moment = datetime.fromtimestamp(time_us // 1_000_000, UTC).astimezone(zone(time_zone or "UTC"))
    return f"{moment:%H:%M:%S}"


def note(rows: Sequence[TripRow]) -> str:
    """How much of the record the table shows."""
    if not rows:
        return "no stand yet"
    if len(rows) <= ROWS_SHOWN:
        return f"{len(rows)} stand{'s' if len(rows) > 1 else ''}, newest first"
    return f"newest {ROWS_SHOWN} of {len(rows)} stands"
