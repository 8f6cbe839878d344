"""Routes beside Dash: the live socket and the window of the strips."""

from __future__ import annotations

import asyncio
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import Any

import orjson
from fastapi import FastAPI, Request, Response, WebSocket, WebSocketDisconnect

from monitor.model import Alarm, Event
from monitor.web.acts import is_same_origin, json_response
from monitor.web.alarms import JOURNAL_SHOWN, change_facts
from monitor.web.feed import Feed
from monitor.web.live_columns import STRIP_COLUMNS

HEARTBEAT_S = 0.5
ROWS_A_MESSAGE = 600
MOST_POINTS = 5000
LONGEST_WINDOW_S = 31 * 86400.0


def event_facts(event: Event) -> dict[str, Any]:
    """One event as the page gets it."""
    facts = {name: getattr(event, name) for name in Event.__dataclass_fields__}
    return {**facts, "id": event.id}


def alarm_facts(alarm: Alarm) -> dict[str, Any]:
    """One alarm as the page gets it."""
    facts = {name: getattr(alarm, name) for name in Alarm.__dataclass_fields__}
    return {**facts, "id": alarm.id}


class Live:
    """Serves any number of browsers from one feed."""

    def __init__(self, feed: Feed, facts: dict[str, Any]) -> None:
        self.feed, self.facts = feed, facts
        self._thread = ThreadPoolExecutor(max_workers=2, thread_name_prefix="window")

    def add_to(self, server: FastAPI) -> None:
        """Register the routes; Dash's own catch-all comes after them."""
        server.add_api_route("/page.json", self.page, methods=["GET"])
        server.add_api_route("/window.json", self.window, methods=["GET"])
        server.add_api_route("/alarm-journal.json", self.alarm_journal, methods=["GET"])
        server.add_api_websocket_route("/live", self.live)

    async def page(self) -> Response:
        """Units and names: fixed while the server runs."""
        return json_response(self.facts)

    async def alarm_journal(self) -> Response:
        """Send the newest changes of the alarms' states."""
        loop = asyncio.get_running_loop()
        found = await loop.run_in_executor(
            self._thread, self.feed.record.alarm_journal, JOURNAL_SHOWN
        )
        return json_response({"journal": [change_facts(change) for change in found]})

    async def window(self, request: Request) -> Response:
        """Send the last ``span_s`` seconds for the strips, and the number they reach up to."""
        try:
            span_us = int(min(float(request.query_params["span_s"]), LONGEST_WINDOW_S) * 1e6)
            points = int(request.query_params["points"])
        except (KeyError, ValueError, OverflowError):
            return json_response(
                {"error": "span_s (seconds) and points (a number) are expected"}, 400
            )
        if span_us <= 0 or not 2 <= points <= MOST_POINTS:
            return json_response(
                {"error": f"span_s above 0 and 2 to {MOST_POINTS} points, please"}, 400
            )
        loop = asyncio.get_running_loop()
        return json_response(
            await loop.run_in_executor(self._thread, self._window, span_us, points)
        )

    def _window(self, span_us: int, points: int) -> dict[str, Any]:
        newest, through = self.feed.ring.newest, self.feed.ring.last
        answer: dict[str, Any] = {
            "record": self.feed.identity,
            "through": through,
            "newest": newest,
            "buckets": None,
        }
        if self.feed.newest_us is not None:
            to_us = self.feed.newest_us + 1
            answer["buckets"] = self.feed.record.window(
                to_us - span_us, to_us, STRIP_COLUMNS, points
            )
        return answer

    async def live(self, socket: WebSocket) -> None:
        """One browser: it says the last number it has and is sent all that follows."""
        if not is_same_origin(socket.headers):
            await socket.close(code=4003, reason="only from this page")
            return
        await socket.accept()
        session = _Session(self.feed, socket, self.facts["build"])
        listening = asyncio.create_task(session.listen())
        try:
            await session.send_all()
        except (WebSocketDisconnect, RuntimeError):  # RuntimeError: sent after it was closed
            pass
        finally:
            listening.cancel()
            with suppress(asyncio.CancelledError):
                await listening


class _Session:
    """What one browser has been sent."""

    def __init__(self, feed: Feed, socket: WebSocket, build: str) -> None:
        self.feed, self.socket, self.build = feed, socket, build
        self.seq: int | None = None  # the last number the browser has; None until it says
        self.record = ""
        self.open = True

    async def listen(self) -> None:
        """Take what the browser asks for: ``{"since": number, "record": which}``."""
        try:
            while True:
                asked = orjson.loads(await self.socket.receive_text())
                self.seq, self.record = int(asked["since"]), str(asked["record"])
                self.feed.wake()
        except (WebSocketDisconnect, RuntimeError):
            pass
        except (orjson.JSONDecodeError, KeyError, TypeError, ValueError):
            await self.socket.close(code=1003, reason="since and record are expected")
        finally:
            self.open = False
            self.feed.wake()

    async def send_all(self) -> None:
        """Send rows as they come, notices when they change, a heartbeat in any case."""
        revision, beaten = -1, -HEARTBEAT_S
        while self.open and not self.feed.stopping:
            if self.feed.revision != revision:
                revision = self.feed.revision
                await self._send(self._notice())
            more = await self._send_rows()
            if time.monotonic() - beaten >= HEARTBEAT_S:
                beaten = time.monotonic()
                await self._send({"kind": "beat"})
            if not more:
                await self.feed.wait(HEARTBEAT_S)

    def _notice(self) -> dict[str, Any]:
        return {
            "kind": "notice",
            "status": self.feed.status,
            "events": [event_facts(event) for event in self.feed.events],
            "alarms": [alarm_facts(alarm) for alarm in self.feed.alarms],
            "marks": self.feed.marks,
            "trip_revision": self.feed.pulse.trip_revision,
        }

    async def _send_rows(self) -> bool:
        if self.seq is None:
            return False
        batch = None
        if self.record == self.feed.identity:
            batch = self.feed.ring.after(self.seq, ROWS_A_MESSAGE)
        if batch is None:
            self.seq = None
            await self._send({"kind": "load_window"})
        elif batch.rows:
            self.seq = batch.rows[-1][0]
            await self._send({"kind": "rows", "after": batch.after, "rows": batch.rows})
        return batch is not None and len(batch.rows) == ROWS_A_MESSAGE

    async def _send(self, message: dict[str, Any]) -> None:
        message["build"] = self.build
        message["age_s"] = self.feed.age_s()
        message["stale_after_s"] = self.feed.stale_after_s()
        message["pulse"] = {
            "finished": self.feed.pulse.finished,
            "stopped": self.feed.pulse.stopped,
            "heartbeat_age_s": _age_s(self.feed.pulse.heartbeat_us),
            "trouble": self.feed.trouble,
        }
        await self.socket.send_text(orjson.dumps(message).decode())


def _age_s(wall_us: int | None) -> float | None:
    return None if wall_us is None else max(0.0, time.time() - wall_us / 1e6)
