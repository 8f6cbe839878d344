"""Build the Dash app over one record: layout, routes, callbacks."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

from dash import ClientsideFunction, Dash, Input, Output, dcc, html, no_update
from fastapi import FastAPI

from monitor import __version__
from monitor.report.friction_fan import friction_fan, friction_words
from monitor.rig.file import parse_rig
from monitor.store.inbox import Inbox
from monitor.store.moments import Moments
from monitor.web import ids
from monitor.web.acts import Acts
from monitor.web.alarms import alarm_elsewhere, alarm_panel
from monitor.web.components.top_line import footer, top_line
from monitor.web.display import page_facts
from monitor.web.feed import Feed
from monitor.web.figures.trip_plots import depth_span_m, trip_plots
from monitor.web.floor import floor_page
from monitor.web.hoist import hoist_page
from monitor.web.live import Live
from monitor.web.replay import replay_page
from monitor.web.replay_routes import Replay
from monitor.web.sensor import sensor_page
from monitor.web.sensor_routes import SensorRoutes
from monitor.web.trip_sheet import note, spots_table, trip_sheet_page, trip_table

ASSETS = Path(__file__).parent / "assets"
TITLE = "Hook Load Monitor"


def create_app(data_dir: Path, *, display: str = "metric") -> Dash:
    """Return the app over the record in ``data_dir``, which need not exist yet."""
    return app_over(Feed.of(data_dir), lambda: Inbox(data_dir), display=display)


def app_over(feed: Feed, inbox: Callable[[], Inbox], *, display: str = "metric") -> Dash:
    """Return the app over a feed and an inbox; nothing is kept outside the returned app."""

    @asynccontextmanager
    async def lifespan(_server: FastAPI) -> AsyncIterator[None]:
        running = asyncio.create_task(feed.run())
        with suppress(TimeoutError):  # so that the first page asked for has its window
            await asyncio.wait_for(feed.has_polled.wait(), 2.0)
        try:
            yield
        finally:
            running.cancel()
            with suppress(asyncio.CancelledError):
                await running

    # Without the pages that describe the interface: they would load scripts from elsewhere.
    server = FastAPI(lifespan=lifespan, docs_url=None, redoc_url=None, openapi_url=None)
    app = Dash(
        "monitor.web",
        server=server,
        backend="fastapi",
        assets_folder=str(ASSETS),
        serve_locally=True,
        compress=False,
        title=TITLE,
        update_title="",
        meta_tags=[{"name": "viewport", "content": "width=device-width, initial-scale=1"}],
    )
    app.backend.websocket_capability = False  # no second socket of Dash's own beside ours
    Live(feed, page_facts(display, build())).add_to(server)
    Acts(feed.record, inbox).add_to(server)
    SensorRoutes(feed, inbox, display).add_to(server)
    Replay(Moments(feed.record.path), display=display).add_to(server)
    app.layout = layout(display)
    add_callbacks(app, feed, display)
    # Dash does this at the first request for "/"; another page asked for first would come
    # without its scripts and styles.
    app._setup_server()
    return app


def layout(display: str) -> html.Div:
    """Return the whole page; only one of its places is shown at a time."""
    return html.Div(
        [
            dcc.Location(id=ids.URL),
            dcc.Store(id=ids.THEME),
            dcc.Store(id=ids.TRIP_REVISION),
            dcc.Store(id=ids.TRIP_FIGURES),
            top_line(),
            floor_page(),
            trip_sheet_page(display),
            hoist_page(),
            sensor_page(),
            replay_page(),
            footer(),
            alarm_elsewhere(),
            alarm_panel(),
            html.Div(id=ids.ACT_ANSWER, className="act-answer", role="status"),
        ],
        className="page",
    )


def add_callbacks(app: Dash, feed: Feed, display: str) -> None:
    """What is not live: the trip sheet when a stand changes, its colours, which place is shown."""

    @app.callback(
        Output(ids.TRIP_TABLE, "children"),
        Output(ids.TRIP_NOTE, "children"),
        Output(ids.TRIP_FIGURES, "data"),
        Output(ids.TRIP_SPOTS, "children"),
        Output(ids.TRIP_SPOTS, "className"),
        Output(ids.TRIP_FRICTION, "children"),
        Input(ids.TRIP_REVISION, "data"),
        Input(ids.URL, "pathname"),
    )
    def show_trip_sheet(revision: int | None, pathname: str | None) -> tuple[Any, ...]:
        """Read the stands once and show them in table and plots."""
        if revision is None or pathname != "/trip-sheet":
            return (no_update,) * 6
        rows = [row for row in feed.record.trip_rows() if not row.void]
        time_zone = str(feed.status.get("time_zone") or "UTC")
        spots = feed.status.get("tight_spots") or []
        friction = feed.status.get("friction")
        return (
            trip_table(rows, display, time_zone),
            note(rows),
            trip_plots(rows, display, spots, recorded_fan(feed, depth_span_m(rows))),
            spots_table(spots, display),
            "panel trip-spots" if spots else "trip-spots away",
            friction_words(friction),
        )

    app.clientside_callback(
        ClientsideFunction("hookLoadPages", "paintTripPlots"),
        Output(ids.TRIP_WEIGHTS, "figure"),
        Output(ids.TRIP_SPEEDS, "figure"),
        Output(ids.TRIP_TANK, "figure"),
        Output(f"{ids.TRIP_TANK}-panel", "className"),
        Input(ids.TRIP_FIGURES, "data"),
        Input(ids.THEME, "data"),
    )
    app.clientside_callback(
        ClientsideFunction("hookLoadPages", "showPlace"),
        Output(ids.PAGE_FLOOR, "className"),
        Output(ids.PAGE_TRIP_SHEET, "className"),
        Output(ids.PAGE_HOIST, "className"),
        Output(ids.PAGE_SENSOR, "className"),
        Output(ids.PAGE_REPLAY, "className"),
        Input(ids.URL, "pathname"),
    )


def recorded_fan(feed: Feed, span_m: tuple[float, float]) -> dict[str, Any] | None:
    """Fan of the soft string for the record as it is; None without a surveyed hole."""
    friction = feed.status.get("friction")
    if friction is None:
        return None
    rig = parse_rig(feed.record.rig_text(), file="rig file of the record")
    return friction_fan(rig, friction, feed.status["travelling_weight_N"], *span_m)


def build() -> str:
    """Tell which scripts and styles this server has, so that an old page loads anew."""
    digest = sha256(__version__.encode())
    for path in sorted(ASSETS.rglob("*")):
        if path.is_file():
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
