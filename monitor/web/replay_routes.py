"""Routes of the Replay page. Nothing here remembers who looks at which moment: browsers do."""

from __future__ import annotations

import asyncio
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import numpy as np
from fastapi import FastAPI, Request, Response

from monitor.model import Command, Event
from monitor.report.findings import Findings, find, spell_findings
from monitor.report.finished_file import OutputError
from monitor.report.material import Material
from monitor.report.record_material import from_record
from monitor.report.report import write_report
from monitor.report.story import story_material
from monitor.report.workbench import chosen_spell, pipe_choice
from monitor.review.allowed import with_pipe
from monitor.review.standing import as_known_at, standing_at
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig
from monitor.store.errors import StoreError
from monitor.store.moments import JUMPS, MOST_FRAMES, Moments
from monitor.store.notes import notes_of
from monitor.units import iso_utc
from monitor.web.acts import json_response
from monitor.web.feed import LEAST_STALE_S, MOST_STALE_S, was_refused
from monitor.web.live_columns import wire_rows
from monitor.web.replay_facts import (
    event_facts,
    row_values,
    spell_facts,
    stand_facts,
    story_facts,
    tight_facts,
    trip_facts,
)

# Drawn from least to greatest; of the others the last value of a bucket is enough.
ENVELOPES = ("hook_load_N", "excess_N", "block_position_m")
LEVELS = ("expected_N", "band_N")
# Over coarser buckets than this the band around the expected load could not be made out.
FINE_US = 30_000_000
MOST_POINTS = 2500
OVERVIEW_POINTS = 900
# Beyond so many rows (twenty minutes at 10 Hz) a window is drawn from ten-second buckets.
ROWS_A_WINDOW = 12_000
FINEST_ROLLUP_US = 10_000_000
EVENTS_A_WINDOW = 300
STANDS_A_WINDOW = 400
NOTES_A_WINDOW = 100
EVENTS_THEN = 12
STORIES_KEPT = 4
JOURNAL_READ = 20_000
LONGEST_REPORT_US = 3 * 86_400_000_000
ROW_INTERVALS = 17
# Kinds that sound by the excess of their rows.
ALARMED_BY_EXCESS = ("overpull", "slack_off")
WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class ReplayError(Exception):
    """What was asked cannot be answered; the message says why."""


class Replay:
    """Answers for one moment, one window, one story, one spell of the record."""

    def __init__(self, record: Moments, *, display: str) -> None:
        self.record, self.display = record, display
        # A story or a report may take seconds: never in the way of a seek.
        self._quick = ThreadPoolExecutor(max_workers=3, thread_name_prefix="moment")
        self._slow = ThreadPoolExecutor(max_workers=1, thread_name_prefix="story")
        self._guard = threading.Lock()
        self._stories: OrderedDict[Any, tuple[Material, Findings]] = OrderedDict()
        self._rig: tuple[str, Rig] | None = None

    def add_to(self, server: FastAPI) -> None:
        """Register the routes; Dash's own catch-all comes after them."""
        quick = {
            "/replay/record.json": self.overview,
            "/replay/window.json": self.window,
            "/replay/moment.json": self.moment,
            "/replay/frames.json": self.frames,
        }
        slow = {"/replay/story.json": self.story, "/replay/spell.json": self.spell}
        for pool, routes in ((self._quick, quick), (self._slow, slow)):
            for path, task in routes.items():
                server.add_api_route(path, _route(pool, task, json_response), methods=["GET"])
        for path, give in (
            ("/replay/report.html", self.report),
            ("/replay/data.zip", self.tables),
            ("/replay/data.xlsx", self.workbook),
        ):
            server.add_api_route(path, _route(self._slow, give, lambda made: made))

    def overview(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """Span of the record and its bands, from a bounded number of points."""
        span = self.record.span_us()
        if span is None:
            return {"span": None}
        rig = self._rig_of_record()
        bands = self.record.window(span[0], span[1] + 1, ("activity",), OVERVIEW_POINTS)
        events = self.record.events_touching(span[0], span[1] + 1, EVENTS_A_WINDOW)
        return {
            "span": span,
            "record": str(span[0]),
            "rig": rig.name,
            "time_zone": rig.time_zone,
            "bands": {name: bands[name] for name in ("step_us", "time_us", "activity")},
            "events": [event_facts(event) for event in events],
            "spells": [
                {"id": e.id, "from_us": e.start_us, "to_us": e.end_us or span[1]}
                for e in self.record.events_of("stuck", span[0], span[1] + 1, EVENTS_A_WINDOW)
            ],
            "finished": self.record.pulse().finished,
        }

    def window(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """Strips, events and stands of a span."""
        from_us, to_us = _span(asked)
        points = self._affordable(
            from_us, to_us, min(max(_whole(asked, "points"), 2), MOST_POINTS)
        )
        is_fine = (to_us - from_us) / points <= FINE_US
        levels = ("activity", *(LEVELS if is_fine else ()))
        found = self.record.window(from_us, to_us, (*ENVELOPES, *levels), points)
        unused = {f"{name}{end}" for name in levels for end in ("_min", "_max")}
        return {
            "from_us": from_us,
            "to_us": to_us,
            "buckets": {name: cells for name, cells in found.items() if name not in unused},
            "events": [
                event_facts(event)
                for event in self.record.events_touching(from_us, to_us, EVENTS_A_WINDOW)
            ],
            "stands": [
                {"stand": row.stand, "from_us": row.out_of_slips_us, "to_us": row.in_slips_us,
                 "way": row.direction}
                for row in self.record.stands_touching(from_us, to_us, STANDS_A_WINDOW)
            ],
            "notes": [asdict(n) for n in notes_of(self.record, from_us, to_us)[:NOTES_A_WINDOW]],
        }  # fmt: skip

    def _affordable(self, from_us: int, to_us: int, points: int) -> int:
        """Fewer points where the finer ones would have to be made from too many rows."""
        if self.record.rows_between(from_us, to_us) <= ROWS_A_WINDOW:
            return points
        return max(2, min(points, (to_us - from_us) // FINEST_ROLLUP_US))

    def moment(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """The row of a moment with what stood then, and what is known of it now."""
        at_us = self._moved(asked, _whole(asked, "at_us"))
        if at_us is None:
            return {"none": True}
        rows = self.record.row_at(at_us)
        if not len(rows):
            return {"at_us": at_us, "row": None}
        values = row_values(rows)
        rig = self._rig_of_record()
        status = standing_at(rig, self._acts(), at_us, values)
        return {
            "at_us": at_us,
            "row": wire_rows(rows)[0],
            "status": status,
            "events": [event_facts(e) for e in self._events_then(at_us, status)],
            "stale_after_s": self._stale_after_s(at_us),
            "known": {
                "events": [event_facts(e) for e in self.record.events_open_at(at_us, EVENTS_THEN)],
                "stand": stand_facts(self.record.stand_begun_by(at_us), at_us),
            },
        }

    def frames(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """Rows for playing: the newest at each of so many moments from one on."""
        from_us, step_us = _whole(asked, "from_us"), max(_whole(asked, "step_us"), 1)
        count = min(max(_whole(asked, "count"), 1), MOST_FRAMES)
        rows = self.record.frames([from_us + step_us * at for at in range(count)])
        return {"to_us": from_us + step_us * (count - 1), "rows": wire_rows(rows)}

    def story(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """The written sequence of a span."""
        from_us, to_us = _span(asked)
        material, findings = self._story(from_us, to_us)
        return {
            "from_us": from_us,
            "to_us": to_us,
            **story_facts(findings, self.display),
            "trips": trip_facts(material, self.display),
            "tight": tight_facts(material, findings, self.display),
        }

    def spell(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """One stuck spell, or a span marked by hand, with the pulls and the pipe chosen."""
        from_us, to_us = _span(asked)
        chosen = _numbers(asked["pulls"]) if "pulls" in asked else None
        pipe = pipe_choice(asked.get("pipe", ""), asked.get("factor", ""))
        material, _ = self._story(from_us, to_us, whole=asked.get("event", "") == "")
        event = next((e for e in material.events if e.id == asked.get("event", "")), None)
        if event is None:
            event = chosen_spell(material, from_us, to_us)
        chosen_of = None if chosen is None else frozenset(chosen)
        material = replace(material, pipe_choice=pipe, chosen_pulls=chosen_of)
        found = spell_findings(material, event)
        rig = with_pipe(material.rig, pipe)
        told = spell_facts(material, found, self.display, chosen)
        if rig.pipe is not None:
            told["pipe"] = {
                "class": rig.pipe.pipe_class,
                "design_factor": rig.pipe.design_factor,
                "known": any(limit.acts == "pipe body" for limit in found.limits),
            }
        return {**told, "by_hand": event.seq == 0}

    def report(self, asked: Mapping[str, str]) -> Response:
        """The report of a span as one page to keep."""
        with self._written(asked) as path:
            return _file(path.read_bytes(), "text/html; charset=utf-8", path.name)

    def workbook(self, asked: Mapping[str, str]) -> Response:
        """The report's data as one workbook."""
        with self._written(asked) as path:
            book = path.with_suffix(".xlsx")
            return _file(book.read_bytes(), WORKBOOK, book.name)

    def tables(self, asked: Mapping[str, str]) -> Response:
        """The report's data as CSV, packed into one file."""
        with self._written(asked) as path:
            packed = path.with_suffix(".zip")
            with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
                for each in sorted(path.parent.glob("*.csv")):
                    archive.write(each, each.name)
            return _file(packed.read_bytes(), "application/zip", packed.name)

    @contextmanager
    def _written(self, asked: Mapping[str, str]) -> Iterator[Path]:
        """Write the report with its data into a folder that goes away again."""
        from_us, to_us = _span(asked)
        if to_us - from_us > LONGEST_REPORT_US:
            raise ReplayError("a report holds three days at most: zoom in, or mark a span")
        material = from_record(self.record, from_us, to_us)
        pulls = frozenset(_numbers(asked["pulls"])) if asked.get("pulls") else None
        pipe = pipe_choice(asked.get("pipe", ""), asked.get("factor", ""))
        material = replace(material, pipe_choice=pipe, chosen_pulls=pulls)
        begin = iso_utc(from_us).replace(":", "").replace("-", "")[:15]
        with tempfile.TemporaryDirectory(prefix="hookload-report-") as folder:
            path = Path(folder) / f"hook-load-{begin}.html"
            write_report(material, path, display=self.display)
            yield path

    def _moved(self, asked: Mapping[str, str], at_us: int) -> int | None:
        """Where a step or a jump leads; the moment itself where neither is asked for."""
        direction = 1 if asked.get("direction", "1") == "1" else -1
        if "jump" in asked:
            if asked["jump"] not in JUMPS:
                raise ReplayError(f"jump: one of {', '.join(JUMPS)} is expected")
            return self.record.jump_from(at_us, asked["jump"], direction)
        if "step" in asked:
            return self.record.step_from(at_us, direction)
        return at_us

    def _events_then(self, at_us: int, status: Mapping[str, Any]) -> list[Event]:
        found = []
        for event in self.record.events_known_at(at_us, EVENTS_THEN):
            excess_N, alarm_N = float("nan"), status["alarm_limits_N"].get(event.kind)
            if event.peak_time_us > at_us:
                excess_N = self._excess_so_far_N(event, at_us)
            then = as_known_at(event, at_us, excess_N, alarm_N)
            if then is not None:
                found.append(then)
        return found

    def _excess_so_far_N(self, event: Event, at_us: int) -> float:
        if event.kind not in ALARMED_BY_EXCESS:
            return float("nan")
        found = self.record.window(event.start_us, at_us + 1, ("excess_N",), 2000)
        sign = -1.0 if event.kind == "slack_off" else 1.0
        cells = found["excess_N_max" if sign > 0 else "excess_N_min"]
        return max((sign * cell for cell in cells if cell is not None), default=float("nan"))

    def _stale_after_s(self, at_us: int) -> float:
        """Age at which the data counted as stale, by the rule of the live page."""
        usual = 0.0
        rows = self.record.frames([at_us - 100_000 * back for back in range(ROW_INTERVALS)])
        if len(rows) > 4:
            usual = float(np.median(np.diff(rows.time_us))) / 1e6
        elif len(rows):
            before = self.record.step_from(int(rows.time_us[0]), -1)
            usual = 0.0 if before is None else (int(rows.time_us[0]) - before) / 1e6
        return min(max(LEAST_STALE_S, 2.5 * usual), MOST_STALE_S)

    def _acts(self) -> list[Command]:
        commands = self.record.commands()
        journal = self.record.journal(JOURNAL_READ) if commands else []
        return [each for each in commands if not was_refused(each, journal)]

    def _rig_of_record(self) -> Rig:
        text = self.record.rig_text()
        if self._rig is None or self._rig[0] != text:
            self._rig = (text, parse_rig(text, file="rig file of the record"))
        return self._rig[1]

    def _story(
        self, from_us: int, to_us: int, *, whole: bool = False
    ) -> tuple[Material, Findings]:
        """Material and findings of a span, kept while nothing new was found in the record."""
        pulse = self.record.pulse()
        key = (from_us, to_us, whole, pulse.events_revision, pulse.trip_revision)
        with self._guard:
            kept = self._stories.get(key)
        if kept is not None:
            return kept
        read: Callable[[Moments, int, int], Material] = from_record if whole else story_material
        if whole and to_us - from_us > LONGEST_REPORT_US // 6:
            raise ReplayError("a span marked by hand holds twelve hours at most")
        material = read(self.record, from_us, to_us)
        made = (material, find(material))
        with self._guard:
            self._stories[key] = made
            while len(self._stories) > STORIES_KEPT:
                self._stories.popitem(last=False)
        return made


def _route(
    pool: ThreadPoolExecutor,
    task: Callable[[Mapping[str, str]], Any],
    answer: Callable[[Any], Response],
) -> Callable[[Request], Any]:
    """Run a task on a thread of its own; what it cannot answer is said in words."""

    async def route(request: Request) -> Response:
        loop = asyncio.get_running_loop()
        try:
            made = await loop.run_in_executor(pool, task, dict(request.query_params))
        except (ReplayError, OutputError, ValueError) as error:
            return json_response({"error": str(error)}, 400)
        except StoreError as error:
            return json_response({"error": str(error)}, 503)
        return answer(made)

    return route


def _file(content: bytes, kind: str, name: str) -> Response:
    return Response(
        content,
        media_type=kind,
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "Cache-Control": "no-store",
        },
    )


def _whole(asked: Mapping[str, str], name: str) -> int:
    try:
        return int(asked[name])
    except (KeyError, ValueError):
        raise ReplayError(f"{name}: a whole number is expected") from None


def _span(asked: Mapping[str, str]) -> tuple[int, int]:
    from_us, to_us = _whole(asked, "from_us"), _whole(asked, "to_us")
    if to_us <= from_us:
        raise ReplayError("to_us must be later than from_us")
    return from_us, to_us


def _numbers(text: str) -> set[int]:
    try:
        return {int(part) for part in text.split(",") if part}
    except ValueError:
        raise ReplayError("pulls: numbers with commas between them are expected") from None
