from __future__ import annotations

import json
import re
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from websockets.exceptions import WebSocketException
from websockets.sync.client import connect

from tests.web.serving import served
from tests.web.synthetic import Recorder


def fetched(url: str) -> Any:
    with urllib.request.urlopen(url, timeout=10) as answer:
        return json.load(answer)


def posted(url: str, body: dict[str, str], origin: str | None = None) -> tuple[int, Any]:
    headers = {"Content-Type": "application/json"} | ({"Origin": origin} if origin else {})
    request = urllib.request.Request(url, json.dumps(body).encode(), headers)
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as error:
        with error:
            return error.code, json.load(error)


def socket_of(address: str) -> str:
    return address.replace("http", "ws") + "/live"


def test_rows_follow_the_window_without_a_hole(recorder: Recorder, address: str) -> None:
    window = fetched(f"{address}/window.json?span_s=600&points=601")
    assert 300 < len(window["buckets"]["time_us"]) <= 602
    last, got = window["through"], []
    with connect(socket_of(address)) as socket:
        socket.send(json.dumps({"since": last, "record": window["record"]}))
        while len(got) < 12:
            message = json.loads(socket.recv(timeout=5))
            if message["kind"] == "rows":
                assert message["after"] == last
                got += [row[0] for row in message["rows"]]
                last = got[-1]
        # A hole is asked for again, and exactly that is sent.
        socket.send(json.dumps({"since": got[3], "record": window["record"]}))
        while True:
            message = json.loads(socket.recv(timeout=5))
            if message["kind"] == "rows" and message["after"] == got[3]:
                break
    assert [row[0] for row in message["rows"]][:8] == got[4:12]
    assert all(seq in recorder.written for seq in got)


@pytest.mark.parametrize("ask", [{"since": 10**9, "record": ""}, {"since": 5, "record": "other"}])
def test_another_record_or_an_unknown_number_asks_for_the_window(
    address: str, ask: dict[str, Any]
) -> None:
    with connect(socket_of(address)) as socket:
        socket.send(json.dumps(ask))
        kinds = [json.loads(socket.recv(timeout=5))["kind"] for _ in range(4)]
    assert "load_window" in kinds


def test_a_heartbeat_comes_without_any_data(tmp_path: Path) -> None:
    with served(tmp_path / "empty") as at, connect(socket_of(at)) as socket:
        messages = [json.loads(socket.recv(timeout=2)) for _ in range(4)]
    assert [message["kind"] for message in messages].count("beat") >= 3
    assert messages[-1]["age_s"] is None


def test_an_act_goes_to_the_inbox(recorder: Recorder, address: str) -> None:
    status, answer = posted(f"{address}/act", {"act": "acknowledge", "text": "12-overpull"})
    assert status == 200
    assert answer["id"] >= 1
    assert posted(f"{address}/act", {"act": "tare"})[1]["id"] > answer["id"]


@pytest.mark.parametrize(
    ("text", "unit", "lengths"),
    [
        ("1,9.45\n2,9.52", "m", "9.4500 9.5200"),
        ("9.45\n9.52\n", "m", "9.4500 9.5200"),
        ("1;30.0\n2;31.5", "ft", "9.1440 9.6012"),
        ("joint,serial,length [ft]\n1,A,30.0", "m", "9.1440"),
        ("\n".join(f"{n},9.5" for n in range(1000)), "m", " ".join(["9.5000"] * 1000)),
        ("none", "m", "none"),
    ],
)
def test_a_tally_is_pasted_in_many_forms(
    recorder: Recorder, address: str, text: str, unit: str, lengths: str
) -> None:
    act = {"act": "tally", "text": text, "number": unit, "who": "toolpusher"}
    assert posted(f"{address}/act", act)[0] == 200
    assert recorder.acts()[-1].text == lengths


@pytest.mark.parametrize(
    ("body", "origin", "status"),
    [
        ({"act": "travelling_weight", "text": "1"}, None, 400),
        ({"text": "no act"}, None, 400),
        ({"act": "bit_depth", "number": "2950", "text": "x", "who": "y"}, None, 400),
        ({"act": "bit_depth", "number": "29500 m", "text": "x", "who": "y"}, None, 400),
        ({"act": "bit_depth", "number": "2950 m", "who": "y"}, None, 400),
        ({"act": "bit_depth", "number": "2950 m", "text": "x"}, None, 400),
        ({"act": "tally", "text": "9.45 94.5", "who": "y"}, None, 400),
        ({"act": "note", "text": "x" * 2001, "who": "y"}, None, 400),
        ({"act": "tare"}, "http://elsewhere.example", 403),
    ],
)
def test_other_acts_and_other_sites_are_refused(
    address: str, body: dict[str, str], origin: str | None, status: int
) -> None:
    assert posted(f"{address}/act", body, origin)[0] == status


def test_another_site_cannot_listen(address: str) -> None:
    with (
        pytest.raises(WebSocketException, match="403|4003|rejected"),
        connect(socket_of(address), origin="http://elsewhere.example") as socket,  # type: ignore[arg-type]
    ):
        socket.recv(timeout=2)


@pytest.mark.parametrize(
    "query", ["", "?span_s=x&points=5", "?span_s=60&points=999999", "?span_s=-1&points=9"]
)
def test_a_window_without_sense_is_refused(address: str, query: str) -> None:
    with pytest.raises(urllib.error.HTTPError, match="400") as refused:
        fetched(f"{address}/window.json{query}")
    refused.value.close()


def test_every_script_and_style_of_any_page_comes_from_here(address: str) -> None:
    for path in ("/", "/trip-sheet"):
        with urllib.request.urlopen(address + path, timeout=10) as answer:
            page = answer.read().decode()
        assert not re.search(r"(src|href)=\"(https?:)?//", page)
        assert "/assets/feed.js" in page


def test_no_page_describes_the_interface_with_scripts_from_elsewhere(address: str) -> None:
    with urllib.request.urlopen(f"{address}/docs", timeout=10) as answer:
        page = answer.read().decode()
    assert "cdn" not in page.lower()
    assert "_dash-config" in page
