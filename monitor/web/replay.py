"""The Replay page: any moment of the record as it stood, beside what is known of it now."""

from __future__ import annotations

from dash import html

from monitor.rig.catalogue import PIPE_CLASSES
from monitor.web import ids
from monitor.web.components.places import places
from monitor.web.components.tile import tile
from monitor.web.floor import loads

# In front of the ids of the figures of the moment.
THEN = "then-"
# name of the button, what it shows, what it says to whoever points at it
TRANSPORT = (
    ("event-before", "◂ Event", "Previous event (Shift E)"),
    ("stand-before", "◂ Stand", "Previous stand (Shift S)"),
    ("row-before", "◂ Row", "One row back (left arrow)"),
    ("play", "Play", "Play or pause (space)"),
    ("row-after", "Row ▸", "One row on (right arrow)"),
    ("stand-after", "Stand ▸", "Next stand (S)"),
    ("event-after", "Event ▸", "Next event (E)"),
)
VIEWS = (
    (ids.REPLAY_STRIPS, "Strips"),
    (ids.REPLAY_STORY, "What happened"),
    (ids.REPLAY_STUCK, "Stuck pipe"),
)
KEYS = (
    "Keys: space plays; left and right arrow a row, with Shift ten seconds; E and S the next "
    "event and stand, with Shift the one before; up and down the speed; + and \u2212 zoom, 0 the "
    "whole record; [ and ] mark a span."
)


def replay_page() -> html.Main:
    """Left and right the figures of the moment, middle how it came to it, below all time."""
    return html.Main(
        [loads(THEN), _middle(), _right(), _bottom()],
        id=ids.PAGE_REPLAY,
        className="replay away",
    )


def _middle() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    html.H1("Replay"),
                    html.Div(
                        [
                            html.Div(id=ids.REPLAY_MOMENT, className="replay-moment"),
                            html.Div(id=ids.REPLAY_DOING, className="soft"),
                        ],
                        className="replay-when",
                    ),
                    html.Div(
                        [_button(f"view-{name}", words, "") for name, words in VIEWS],
                        id=ids.REPLAY_VIEWS,
                        className="replay-views",
                    ),
                ],
                className="panel replay-head",
            ),
            html.Div(
                [
                    html.Canvas(
                        id=ids.REPLAY_STRIPS,
                        className="replay-view",
                        title="Press to go to a moment; turn the wheel to zoom",
                    ),
                    html.Div(id=ids.REPLAY_STORY, className="replay-view away"),
                    _stuck(),
                ],
                className="panel replay-body",
            ),
        ],
        className="replay-middle",
    )


def _stuck() -> html.Div:
    """The workbench; the scripts build it for the spell that is asked for."""
    return html.Div(
        id=ids.REPLAY_STUCK,
        className="replay-view replay-stuck away",
        **{"data-conditions": ",".join(PIPE_CLASSES)},
    )


def _right() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    tile(THEN + ids.BIT_DEPTH, "Bit depth", "length", size="tile-middle"),
                    tile(THEN + ids.BLOCK_SPEED, "Block speed", "speed", size="tile-middle"),
                    tile(THEN + ids.WEIGHT_ON_BIT, "On bit", "force", size="tile-small"),
                    tile(THEN + ids.PIPE_STILL, "Pipe still", size="tile-small"),
                ],
                className="replay-tiles",
            ),
            html.Div(
                [
                    html.H2("Known at that moment"),
                    html.Div(id=ids.REPLAY_THEN, className="replay-list"),
                    html.H2("Known now"),
                    html.Div(id=ids.REPLAY_NOW, className="replay-list"),
                    html.H2("Notes"),
                    html.Div(id=ids.REPLAY_NOTES, className="replay-list"),
                ],
                className="panel replay-known",
            ),
        ],
        className="replay-right",
    )


def _bottom() -> html.Section:
    return html.Section(
        [
            html.Div(
                [
                    html.Div(
                        [_button(name, words, why) for name, words, why in TRANSPORT],
                        className="replay-group replay-transport",
                    ),
                    html.Div(
                        [
                            _button("slower", "−", "Slower (down arrow)"),
                            html.Span("1×", id=ids.REPLAY_SPEED, className="replay-figure"),
                            _button("faster", "+", "Faster (up arrow)"),
                        ],
                        className="replay-group",
                    ),
                    html.Div(
                        [
                            _button("wider", "−", "Show a longer span (−)"),
                            html.Span(id=ids.REPLAY_SPAN, className="replay-figure"),
                            _button("closer", "+", "Show a shorter span (+)"),
                        ],
                        className="replay-group",
                    ),
                    html.Div(
                        [
                            _button("mark-from", "[ From", "Mark the start of a span ([)"),
                            _button("mark-to", "To ]", "Mark the end of a span (])"),
                            _button("note", "Note", "Write a note on the moment or the span"),
                            _button("report", "Report", "Report of the span, as a page"),
                            _button("csv", "CSV", "The report's data as CSV, packed"),
                            _button("xlsx", "XLSX", "The report's data as one workbook"),
                        ],
                        className="replay-group replay-doing-group",
                    ),
                    html.Div(id=ids.REPLAY_TOLD, className="replay-told", role="status"),
                    places("replay", "replay-group replay-places"),
                ],
                className="replay-controls",
            ),
            html.Canvas(
                id=ids.REPLAY_TIMELINE,
                className="replay-timeline",
                title=KEYS,
                tabIndex=0,
                role="slider",
                **{"aria-label": "Time line of the record"},
            ),
        ],
        className="panel replay-bottom",
    )


def _button(name: str, words: str, why: str) -> html.Button:
    return html.Button(
        words, id=f"replay-{name}", className="button", type="button", title=why or words
    )
