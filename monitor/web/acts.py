"""What people press: left in the recorder's inbox, and what became of it.

Nothing is judged here beyond whether an act can be read; whether it is taken is for the
recorder to say, in its journal.
"""

from __future__ import annotations

import asyncio
import math
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from urllib.parse import urlsplit

import orjson
from fastapi import FastAPI, Request, Response

from monitor.model import CHANNELS
from monitor.report.pasted_tally import InputError, pasted_tally
from monitor.store.errors import StoreError
from monitor.store.inbox import Inbox
from monitor.store.reader import Reader
from monitor.store.rows import JournalEntry
from monitor.units import UnitError, to_si

# Acts that change what the figures rest on bear a name; the others say where they came from.
CALIBRATION_ACTS = ("calibration_approved", "calibration_rolled_back")
SIGNED_ACTS = (
    "lines_strung", "gear", "duty", "compensator", "preparation", "slip_and_cut", "note",
    "agreed_limit", "bit_depth", "tally", *CALIBRATION_ACTS,
)  # fmt: skip
# Of the acts on alarms those that take something away bear a name.
ALARM_ACTS = ("unshelve", "mute", "reset_alarm", "shelve", "stuck_mode")
ACTS_FROM_A_PAGE = ("acknowledge", "tare", "catch_weight", *SIGNED_ACTS, *ALARM_ACTS)
# What the number of an act is, where it has one.
QUANTITY_OF_ACT = {
    "slip_and_cut": "length",
    "agreed_limit": "force",
    "shelve": "time",
    "mute": "time",
    "stuck_mode": "force",
}
ACT_BYTES_AT_MOST = 100_000  # a tally has hundreds of joints
TEXT_AT_MOST = 2000  # of any other act
JOURNAL_LOOKED_AT = 60


class ActError(Exception):
    """An act that cannot be left; the message says what is expected."""


def is_same_origin(headers: Any) -> bool:
    """Whether a request comes from our own page: no other site may listen in or press buttons."""
    origin = headers.get("origin")
    return origin is None or urlsplit(origin).netloc == headers.get("host")


def json_response(content: dict[str, Any], status: int = 200) -> Response:
    """Return an answer that no browser keeps."""
    return Response(
        orjson.dumps(content, option=orjson.OPT_SERIALIZE_NUMPY),
        status_code=status,
        media_type="application/json",
        headers={"Cache-Control": "no-store"},
    )


class Acts:
    """The routes of people's acts: one leaves an act, one tells whether it was taken."""

    def __init__(self, record: Reader, inbox: Callable[[], Inbox]) -> None:
        self.record, self.inbox = record, inbox
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="acts")

    def add_to(self, server: FastAPI) -> None:
        """Register the routes; Dash's own catch-all comes after them."""
        server.add_api_route("/act", self.act, methods=["POST"])
        server.add_api_route("/act.json", self.became, methods=["GET"])

    async def act(self, request: Request) -> Response:
        """Leave a person's act in the inbox; the recorder takes it from there."""
        if not is_same_origin(request.headers):
            return json_response({"error": "only from this page"}, 403)
        body = await request.body()
        try:
            act, number, text, who = read_act(body)
        except ActError as error:
            return json_response({"error": str(error)}, 400)
        where = request.client.host if request.client else "here"
        who = f"{who}, {where}" if who else f"floor page, {where}"
        loop = asyncio.get_running_loop()
        try:
            told = await loop.run_in_executor(self._thread, self._put, act, number, text, who)
        except StoreError as error:
            return json_response({"error": str(error)}, 503)
        return json_response(told)

    def _put(self, act: str, number: float, text: str, who: str) -> dict[str, Any]:
        inbox = self.inbox()  # there may be no record yet, and another one tomorrow
        wall_us = time.time_ns() // 1000
        try:
            return {
                "id": inbox.put(act, number=number, text=text, who=who, wall_us=wall_us),
                "wall_us": wall_us,
            }
        finally:
            inbox.close()

    async def became(self, request: Request) -> Response:
        """Tell whether the recorder has taken an act, and what its journal says of it."""
        try:
            number = int(request.query_params["id"])
            wall_us = int(request.query_params["wall_us"])
        except (KeyError, ValueError):
            return json_response({"error": "id and wall_us of an act are expected"}, 400)
        loop = asyncio.get_running_loop()
        try:
            told = await loop.run_in_executor(self._thread, self._became, number, wall_us)
        except StoreError as error:
            return json_response({"error": str(error)}, 503)
        return json_response(told)

    def _became(self, number: int, wall_us: int) -> dict[str, Any]:
        taken = int(self.record.status().get("inbox_taken") or 0) >= number
        if not taken:
            return {"taken": False, "refused": None}
        # Read after: whatever was noted of an act taken by now is in it.
        return {"taken": True, "refused": refusal(self.record.journal(JOURNAL_LOOKED_AT), wall_us)}


def refusal(entries: list[JournalEntry], wall_us: int) -> str | None:
    """Give the recorder's reason for refusing the act of that moment; None where it did not."""
    for entry in entries:
        if entry.time_us == wall_us and "refused" in entry.what:
            return entry.after or entry.what
    return None


def read_act(body: bytes) -> tuple[str, float, str, str]:
    """Read act, number (SI), text and who; `ActError` says what is expected."""
    try:
        asked = orjson.loads(body[:ACT_BYTES_AT_MOST])
        act = str(asked["act"])
        number, text, who = (str(asked.get(key, "")).strip() for key in ("number", "text", "who"))
    except (orjson.JSONDecodeError, KeyError, TypeError, AttributeError):
        raise ActError("an act and its text are expected, as JSON") from None
    if act not in ACTS_FROM_A_PAGE:
        raise ActError(f"not an act of this page: {act}")
    is_signed = act in SIGNED_ACTS or act == "shelve" or (act, text) == ("stuck_mode", "begin")
    if is_signed and not who:
        raise ActError("a name is expected: who does this?")
    if act == "tally":
        return act, math.nan, _tally(text, number), who
    if len(text) > TEXT_AT_MOST:
        raise ActError(f"the text is too long: {TEXT_AT_MOST} letters at most")
    if act in NUMBER_AND_REASON:
        return act, NUMBER_AND_REASON[act](number), _reason(text), who
    if act in CALIBRATION_ACTS:
        return act, _version(number), text, who
    if act in SIGNED_ACTS and not text:
        raise ActError("what it is to be is expected")
    quantity = QUANTITY_OF_ACT.get(act)
    return act, math.nan if quantity is None else _quantity(number, quantity), text, who


def _reason(text: str) -> str:
    if not text.removeprefix("override:").strip():
        raise ActError("a reason is expected")
    return text


def _depth(number: str) -> float:
    """Read a bit depth, within what the channel of that name may be."""
    depth_m, channel = _quantity(number, "length"), CHANNELS["bit_depth"]
    if not channel.low <= depth_m <= channel.high:
        raise ActError(f"{number!r}: a bit depth with its unit is expected")
    return depth_m


def _count(number: str) -> float:
    try:
        return float(int(number))
    except ValueError:
        raise ActError(f"{number!r}: a whole number of lines is expected") from None


def _version(number: str) -> float:
    try:
        return float(int(number))
    except ValueError:
        raise ActError(f"{number!r}: the number of a version is expected") from None


def _tally(text: str, unit: str) -> str:
    try:
        return pasted_tally(text, unit or "m")
    except (InputError, UnitError) as error:
        raise ActError(str(error)) from None


def _quantity(number: str, quantity: str) -> float:
    if not number:
        return math.nan
    try:
        return to_si(number, quantity)
    except UnitError as error:
        raise ActError(str(error)) from None


# Acts that need both: a figure, and why it is what it is.
NUMBER_AND_REASON: dict[str, Callable[[str], float]] = {
    "lines_strung": _count,
    "bit_depth": _depth,
}
