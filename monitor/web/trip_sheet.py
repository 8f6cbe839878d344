"""The Trip sheet page: a row a stand, newest first, and its plots."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from dash import dcc, html

from monitor.model import TripRow
from monitor.units import DISPLAY_SETS, NO_VALUE, format_value, zone
from monitor.web import ids
from monitor.web.components.graph import graph

ROWS_SHOWN = 300

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
                            dcc.Link("Floor", href="/", id=ids.GO_FLOOR, className="button"),
                            dcc.Link(
                                "Hoist",
                                href="/hoist",
                                id=ids.GO_HOIST_FROM_TRIP_SHEET,
                                className="button",
                            ),
                            html.Button(
                                "Night",
                                id=ids.LIGHT_TRIP_SHEET,
                                className="button light",
                                type="button",
                            ),
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
                    _plot(ids.TRIP_WEIGHTS, "Moving weight by bit depth"),
                    _plot(ids.TRIP_SPEEDS, "Speed of each stand"),
                    _plot(ids.TRIP_TANK, "Trip tank change of each stand"),
                ],
                className="trip-plots",
            ),
        ],
        id=ids.PAGE_TRIP_SHEET,
        className="trip-sheet away",
    )


def _plot(name: str, title: str) -> html.Div:
    return html.Div(
        [html.Div(title, className="tile-title"), graph(name, "trip-graph", follows_panel=True)],
        id=f"{name}-panel",
        className="panel trip-plot",
    )


def trip_table(rows: Sequence[TripRow], display: str, time_zone: str) -> html.Table:
    """Return the table, newest stand first, bounded."""
    units = DISPLAY_SETS[display]
    head = html.Tr(
        [
            html.Th([title, html.Span(units[quantity].unit if quantity else "", className="unit")])
            for title, quantity in COLUMNS
        ]
    )
    shown = list(reversed(rows))[:ROWS_SHOWN]
    body = [
        html.Tr(
            [html.Td(cell) for cell in cells(row, display, time_zone)],
            className="open" if row.in_slips_us is None else "",
        )
        for row in shown
    ]
    return html.Table([html.Thead(head), html.Tbody(body)], className="trip-table")


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
