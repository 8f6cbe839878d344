"""Routes of the Sensor page: what the sensor reads now, points in, fit out, versions.

Reads the record, calls one pure function, answers. Proposals go into the inbox like every
act of a person; the recorder alone takes or refuses them.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import orjson
from fastapi import FastAPI, Request, Response

from monitor.model import TripRow
from monitor.report.certificate_page import certificate_page
from monitor.report.sensor_geometry import survey_answer
from monitor.report.sensor_now import captured_lines, now_answer
from monitor.report.sensor_points import points_answer, proposal
from monitor.report.sensor_sections import sections
from monitor.report.sensor_versions import (
    fit_of,
    settings,
    version_certificate,
    versions,
)
from monitor.review.captured_points import CaptureError
from monitor.review.sensor_reading import span_of_rows
from monitor.review.span import Span
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig
from monitor.rig.table import ConfigError
from monitor.store.errors import StoreError
from monitor.store.inbox import Inbox
from monitor.store.rows import Rows
from monitor.units import iso_utc
from monitor.web.acts import is_same_origin, json_response
from monitor.web.feed import Feed
from monitor.web.sensor_request import Asked, AskedError

ROWS_NOW = 1000  # looked at for the reading now: 100 s at 10 Hz
STANDS_READ = 200
SLIPS_READ = 40
CHECKS_READ = 200  # newest weighings of the empty block
ROWS_BACK = 12_000  # for steady spells and the health of the signal: 20 min at 10 Hz
BODY_BYTES_AT_MOST = 200_000


class SensorRoutes:
    """Serves the Sensor page from one record."""

    def __init__(self, feed: Feed, inbox: Callable[[], Inbox], display: str) -> None:
        self.feed, self.inbox, self.display = feed, inbox, display
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="sensor")
        self._rig: tuple[str, Rig] | None = None

    def add_to(self, server: FastAPI) -> None:
        """Register the routes; Dash's own catch-all comes after them."""
        gets: Mapping[str, Callable[[Request], dict[str, Any]]] = {
            "now": self._now, "spells": self._spells, "versions": self._versions,
            "sections": self._sections,
        }  # fmt: skip
        posts: Mapping[str, Callable[[Asked], dict[str, Any]]] = {
            "capture": self._capture, "points": self._points, "propose": self._propose,
            "survey": self._survey,
        }  # fmt: skip
        for name, get in gets.items():
            server.add_api_route(f"/sensor/{name}.json", self._answering(get), methods=["GET"])
        for name, post in posts.items():
            server.add_api_route(f"/sensor/{name}", self._taking(post), methods=["POST"])
        server.add_api_route("/sensor/certificate", self.certificate, methods=["POST"])
        server.add_api_route("/sensor/version.html", self.version, methods=["GET"])

    def _answering(self, task: Callable[[Request], dict[str, Any]]) -> Callable[..., Any]:
        async def route(request: Request) -> Response:
            return await self._told(lambda: task(request))

        return route

    def _taking(self, task: Callable[[Asked], dict[str, Any]]) -> Callable[..., Any]:
        async def route(request: Request) -> Response:
            if not is_same_origin(request.headers):
                return json_response({"error": "only from this page"}, 403)
            body = (await request.body())[: BODY_BYTES_AT_MOST + 1]
            return await self._told(lambda: task(_asked(body)))

        return route

    async def _told(self, task: Callable[[], dict[str, Any]]) -> Response:
        """Run off the event loop; say in words what cannot be."""
        loop = asyncio.get_running_loop()
        try:
            return json_response(await loop.run_in_executor(self._thread, task))
        except (AskedError, CaptureError, ValueError) as error:
            return json_response({"error": str(error)}, 400)
        except (StoreError, ConfigError) as error:
            return json_response({"error": str(error)}, 503)

    def _rig_now(self) -> Rig:
        text = self.feed.record.rig_text()
        if not text:
            raise AskedError("no record yet")
        if self._rig is None or self._rig[0] != text:
            self._rig = (text, parse_rig(text))
        return self._rig[1]

    def _rows(self, most: int) -> Rows:
        """Give the newest rows, so many at most whatever the rate and the record's length."""
        if self.feed.newest_us is None:
            raise AskedError("no data yet")
        return self.feed.record.newest(most)

    def _now(self, _request: Request) -> dict[str, Any]:
        return now_answer(
            self._rows(ROWS_NOW),
            self._rig_now(),
            self.feed.status,
            self.display,
            with_spells=False,
        )

    def _spells(self, _request: Request) -> dict[str, Any]:
        return now_answer(
            self._rows(ROWS_BACK),
            self._rig_now(),
            self.feed.status,
            self.display,
            with_spells=True,
        )

    def _sections(self, _request: Request) -> dict[str, Any]:
        record, rig = self.feed.record, self._rig_now()
        stands = self._stands()
        return sections(
            self._rows(ROWS_BACK),
            rig,
            self.feed.status,
            record.empty_checks(CHECKS_READ),
            stands,
            self._at_slips(stands),
            self._in_force(rig),
            self.display,
        )

    def _stands(self) -> list[TripRow]:
        return self.feed.record.trip_rows()[-STANDS_READ:]

    def _at_slips(self, stands: Sequence[TripRow]) -> Span:
        """Give the row at which slips were set, for the newest stands run in."""
        inside = [row for row in stands if row.direction != "out" and row.in_slips_us is not None]
        found = [
            self.feed.record.between(row.in_slips_us, row.in_slips_us + 1_000_000, 1)
            for row in inside[-SLIPS_READ:]
            if row.in_slips_us is not None
        ]
        return span_of_rows(found)

    def _in_force(self, rig: Rig) -> Any:
        """Fit that loads go by now; None where there is none."""
        acts = self.feed.record.calibrations()
        return fit_of(acts, acts[-1].in_force if acts else 0, rig, self._reading_of())

    def _reading_of(self) -> str:
        told = self.feed.status.get("sensor") or {}
        found = (told.get("calibration") or {}).get("reading_of")
        return str(found or "deadline_signal")

    def _versions(self, _request: Request) -> dict[str, Any]:
        acts = self.feed.record.calibrations()
        return versions(acts, self._rig_now(), self._reading_of(), self.display)

    def _capture(self, asked: Asked) -> dict[str, Any]:
        return captured_lines(
            self._rows(ROWS_BACK),
            self._rig_now(),
            self.feed.status,
            self.display,
            kind=asked.word("kind"),
            load=asked.text("load"),
            moments_us=asked.counts("moments_us"),
            is_as_found=asked.flag("as_found"),
        )

    def _points(self, asked: Asked) -> dict[str, Any]:
        rig = self._rig_now()
        return points_answer(
            asked.text("points"),
            rig,
            model=asked.word("model"),
            through_zero=asked.flag("through_zero"),
            reference=asked.reference(),
            who=asked.text("who"),
            when=_wall(),
            before=self._in_force(rig),
            lines_strung=self.feed.status.get("lines_strung"),
        )

    def _survey(self, asked: Asked) -> dict[str, Any]:
        return survey_answer(
            asked.text("survey"), self.display, self._stands(), asked.text("tally")
        )

    def _propose(self, asked: Asked) -> dict[str, Any]:
        who = asked.text("who")
        if not who:
            raise AskedError("a name is expected: who proposes this?")
        made = proposal(
            asked.text("points"),
            self._rig_now(),
            reading_of=self._reading_of(),
            model=asked.word("model"),
            through_zero=asked.flag("through_zero"),
            reference=asked.reference(),
            who=who,
            when=_wall(),
            note=asked.text("note"),
        )
        inbox = self.inbox()
        wall_us = time.time_ns() // 1000
        try:
            number = inbox.put(
                "calibration_proposed", text=made.to_text(), who=who, wall_us=wall_us
            )
        finally:
            inbox.close()
        return {"id": number, "wall_us": wall_us}

    async def certificate(self, request: Request) -> Response:
        """Page to print, of the points as they are on the screen."""
        if not is_same_origin(request.headers):
            return json_response({"error": "only from this page"}, 403)
        body = (await request.body())[: BODY_BYTES_AT_MOST + 1]

        def task() -> dict[str, Any]:
            answer = self._points(_asked(body))
            if answer["certificate"] is None:
                raise AskedError("; ".join([*answer["faults"], answer["why_no_fit"]]).strip("; "))
            return {"page": certificate_page(answer["certificate"], settings(self._rig_now()))}

        return await self._told(task)

    async def version(self, request: Request) -> Response:
        """Page to print, of a saved version."""
        loop = asyncio.get_running_loop()
        try:
            number = int(request.query_params.get("version", ""))
            page = await loop.run_in_executor(self._thread, self._version_page, number)
        except ValueError as error:
            return json_response({"error": f"a version is expected ({error})"}, 400)
        except (StoreError, AskedError) as error:
            return json_response({"error": str(error)}, 503)
        if page is None:
            return json_response({"error": f"version {number} has no points of its own"}, 404)
        return Response(page, media_type="text/html", headers={"Cache-Control": "no-store"})

    def _version_page(self, number: int) -> str | None:
        acts = self.feed.record.calibrations()
        found = version_certificate(acts, number, self._rig_now(), self.display)
        return None if found is None else certificate_page(*found)


def _asked(body: bytes) -> Asked:
    if len(body) > BODY_BYTES_AT_MOST:
        raise AskedError(f"more than {BODY_BYTES_AT_MOST // 1000} kB of points")
    try:
        return Asked(orjson.loads(body))
    except orjson.JSONDecodeError:
        raise AskedError("JSON is expected") from None


def _wall() -> str:
    return iso_utc(time.time_ns() // 1_000_000_000 * 1_000_000)
