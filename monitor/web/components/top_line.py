"""The line above every page: what the rig is doing, and whether the figures can be believed."""

from __future__ import annotations

from dash import dcc, html

from monitor.web import ids


def top_line() -> html.Header:
    """Activity, stand, rig and run, lines strung, sensor health, age of the data, rig time."""
    return html.Header(
        [
            html.Div(
                [
                    html.Span("Connecting", id=ids.ACTIVITY, className="activity"),
                    html.Span(id=ids.STAND, className="soft"),
                    html.Span(id=ids.STILL_ELSEWHERE, className="top-still"),
                ],
                className="top-activity",
            ),
            html.Span(id=ids.RIG_AND_RUN, className="soft top-rig"),
            html.Span(id=ids.LINES_STRUNG, className="top-lines"),
            dcc.Link(
                html.Span(id=ids.SENSOR_HEALTH, className="soft"),
                href="/sensor",
                id=ids.GO_SENSOR,
                className="top-sensor",
                title="to the Sensor page",
            ),
            html.Span(
                [
                    html.Span("no data yet", id=ids.DATA_AGE, className="data-age"),
                    html.Span(id=ids.RIG_TIME, className="rig-time"),
                ],
                className="top-time",
            ),
        ],
        className="top-line",
    )


def footer() -> html.Footer:
    """What this tool is not, and how many rows were refused and why."""
    return html.Footer(
        [
            html.Span(
                "Advice only, no safety device. The rig's own weight indicator, "
                "procedures and local rules come first.",
                id=ids.CAUTION,
            ),
            html.Span(id=ids.REFUSED, className="refused"),
        ],
        className="footer",
    )
