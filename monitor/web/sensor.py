"""The Sensor page: a guided calibration, its versions, and what the record says of the sensor."""

from __future__ import annotations

from dash import html

from monitor.review.reference_kinds import GEOMETRY, KINDS
from monitor.web import ids
from monitor.web.components.places import places

STEPS = ("Reference", "Capture", "Fit and propose", "Approve")
MODELS = (("linear", "Straight line"), ("quadratic", "Curve"))
SECTIONS = (
    (ids.SENSOR_HEALTH_SECTION, "Signal"),
    (ids.SENSOR_UNCERTAINTY, "How sure a load is"),
    (ids.SENSOR_FRICTION, "Sheave friction"),
    (ids.SENSOR_ZERO, "Zero, checked on the empty block"),
    (ids.SENSOR_LINES, "Lines strung, by the data"),
    (ids.SENSOR_BLOCK, "Block position"),
)


def sensor_page() -> html.Main:
    """Left a known load and the reading, middle points and fit, right versions and checks."""
    return html.Main(
        [_capture(), _points(), _checks()], id=ids.PAGE_SENSOR, className="sensor away"
    )


def _head() -> html.Div:
    return html.Div(
        [
            html.H1("Sensor"),
            html.Span(id=ids.SENSOR_NOTE, className="soft"),
            places("sensor"),
        ],
        className="trip-head",
    )


def _capture() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    _head(),
                    html.Ol(
                        [html.Li(step) for step in STEPS],
                        id=ids.SENSOR_STEPS,
                        className="sensor-steps",
                    ),
                    html.Div(id=ids.SENSOR_NEXT, className="sensor-next", role="status"),
                ],
                className="panel sensor-guide",
            ),
            html.Div(
                [
                    html.Div("What gives the known load", className="tile-title"),
                    html.Div(
                        [_kind_button(kind.name, kind.title) for kind in KINDS.values()],
                        id=ids.SENSOR_KINDS,
                        className="sensor-kinds",
                    ),
                    html.Div([_kind_words(name) for name in KINDS], id=ids.SENSOR_KIND_WORDS),
                    html.P(
                        "Plan the load as any lift: below every rating, nobody under it or in "
                        "line with the dead line, no hand at the anchor while it is loaded. The "
                        "alarms take a pulled load for the string: tell the driller before.",
                        className="soft",
                    ),
                ],
                className="panel sensor-panel",
            ),
            html.Div(
                [
                    html.Div("Reading now", className="tile-title"),
                    html.Div(id=ids.SENSOR_READING, className="sensor-reading"),
                    html.Div(id=ids.SENSOR_STRIP, className="sensor-strip"),
                    html.Div(
                        [
                            _field("Known load", ids.SENSOR_LOAD, "sensor-load"),
                            html.Button(
                                "Capture",
                                id=ids.SENSOR_CAPTURE,
                                className="button sensor-main",
                                type="button",
                                disabled=True,
                            ),
                        ],
                        className="sensor-take",
                    ),
                    _check(ids.SENSOR_AS_FOUND, "As found: read before an adjustment"),
                    html.Div(id=ids.SENSOR_TOLD, className="sensor-told", role="status"),
                ],
                className="panel sensor-panel",
            ),
            html.Div(
                [
                    html.Div("Steady readings of the last minutes", className="tile-title"),
                    html.Div(id=ids.SENSOR_SPELLS, className="sensor-spells"),
                    html.Button(
                        "Take all",
                        id=ids.SENSOR_TAKE_ALL,
                        className="button",
                        type="button",
                        hidden=True,
                    ),
                ],
                className="panel sensor-panel sensor-spell-panel",
            ),
        ],
        className="sensor-column",
    )


def _kind_button(name: str, title: str) -> html.Button:
    return html.Button(
        title,
        className="button",
        type="button",
        **{"data-kind": name, "aria-pressed": "false"},
    )


def _kind_words(name: str) -> html.Div:
    kind = KINDS[name]
    rows = [
        ("Acts", kind.acts),
        ("Fixes the gain", kind.fixes_gain),
        ("the zero", kind.fixes_zero),
    ]
    return html.Div(
        [
            html.P(kind.how),
            html.Dl([part for row in rows for part in (html.Dt(row[0]), html.Dd(row[1]))]),
        ],
        className="sensor-kind",
        hidden=True,
        **{"data-kind": name, "data-percent": f"{kind.usual_percent:g}"},
    )


def _field(label: str, name: str, style: str) -> html.Label:
    return html.Label(
        [
            html.Span(label, className="soft"),
            # Not a component of Dash: its value belongs to the page alone.
            html.Div(
                id=name,
                className="sensor-input",
                **{"data-input": name, "data-label": label},
            ),
        ],
        className=f"field {style}",
    )


def _check(name: str, label: str) -> html.Div:
    return html.Div(id=name, className="sensor-check", **{"data-check": name, "data-label": label})


def _points() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    html.Div("Points", className="tile-title"),
                    html.Div(id=ids.SENSOR_POINTS, className="sensor-points"),
                    html.Div(
                        [
                            html.Button(
                                "Paste or edit as text",
                                id=ids.SENSOR_PASTE,
                                className="button",
                                type="button",
                            ),
                            html.Button(
                                "From a file",
                                id=ids.SENSOR_FILE,
                                className="button",
                                type="button",
                            ),
                            html.Button(
                                "Clear", id=ids.SENSOR_CLEAR, className="button", type="button"
                            ),
                        ],
                        className="sensor-buttons",
                    ),
                    html.Div(id=ids.SENSOR_TEXT, className="sensor-text away"),
                ],
                className="panel sensor-panel sensor-points-panel",
            ),
            html.Div(
                [
                    html.Div("Fit", className="tile-title"),
                    html.Div(
                        [
                            *(
                                html.Button(
                                    words,
                                    className="button",
                                    type="button",
                                    **{"data-model": name, "aria-pressed": "false"},
                                )
                                for name, words in MODELS
                            ),
                            html.Button(
                                "Through zero",
                                className="button",
                                type="button",
                                **{"data-zero": "yes", "aria-pressed": "false"},
                            ),
                        ],
                        id=ids.SENSOR_MODEL,
                        className="sensor-buttons sensor-model",
                    ),
                    html.Div(id=ids.SENSOR_FIT, className="sensor-fit"),
                    html.Div(id=ids.SENSOR_CHART, className="sensor-chart"),
                    html.Div(
                        [
                            _field("Reference used", ids.SENSOR_REFERENCE, ""),
                            _field("Its certificate", ids.SENSOR_CERTIFICATE, ""),
                            _field("\u00b1 %, 95 %", ids.SENSOR_PERCENT, "sensor-narrow"),
                        ],
                        className="sensor-fields",
                    ),
                    html.P(
                        "\u00b1 stands at what is usual for such a reference until the one on its "
                        "certificate is written.",
                        className="soft",
                    ),
                    html.Div(
                        [
                            html.Button(
                                "Certificate to print",
                                id=ids.SENSOR_PRINT,
                                className="button",
                                type="button",
                                disabled=True,
                            ),
                            html.Button(
                                "Propose",
                                id=ids.SENSOR_PROPOSE,
                                className="button sensor-main",
                                type="button",
                                disabled=True,
                            ),
                        ],
                        className="sensor-buttons",
                    ),
                ],
                className="panel sensor-panel",
            ),
        ],
        className="sensor-column",
    )


def _checks() -> html.Section:
    geometry = [part for name, words in GEOMETRY for part in (html.Dt(name), html.Dd(words))]
    return html.Section(
        [
            html.Div(
                [
                    html.Div("Calibrations of this record", className="tile-title"),
                    html.Div(id=ids.SENSOR_VERSIONS),
                ],
                className="panel sensor-panel",
            ),
            *(_section(name, title) for name, title in SECTIONS),
            _survey(),
            html.Details(
                [
                    html.Summary("At the anchor: arm, area and fluid"),
                    html.Div(id=ids.SENSOR_GEOMETRY_TOLD, className="sensor-section"),
                    html.Dl(geometry, className="sensor-geometry"),
                ],
                id=ids.SENSOR_GEOMETRY,
                className="panel sensor-panel",
            ),
        ],
        className="sensor-column",
    )


def _survey() -> html.Details:
    """Tape against counter: heights taken down one by one."""
    return html.Details(
        [
            html.Summary("Survey of the block: tape and tally"),
            html.P(
                "Over the whole stroke, up and then down: hold the block, measure from the rig "
                "floor to the elevators, write the height, press Take."
            ),
            html.Div(
                [
                    _field("Height by tape", ids.SENSOR_TAPED, ""),
                    html.Button(
                        "Take", id=ids.SENSOR_TAKE_TAPED, className="button", type="button"
                    ),
                ],
                className="sensor-take",
            ),
            html.Div(id=ids.SENSOR_SURVEY, className="sensor-text"),
            html.P("Lengths of the newest stands by the tally, one a line, oldest first:"),
            html.Div(id=ids.SENSOR_TALLY, className="sensor-text"),
            html.Div(id=ids.SENSOR_SURVEY_TOLD, className="sensor-section", role="status"),
        ],
        className="panel sensor-panel sensor-survey",
    )


def _section(name: str, title: str) -> html.Div:
    return html.Div(
        [html.Div(title, className="tile-title"), html.Div(id=name, className="sensor-section")],
        id=f"{name}-panel",
        className="panel sensor-panel",
    )
