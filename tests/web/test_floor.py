"""The Floor page in a real Chromium: depth marks, weights caught by one touch."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.serving import Watched
from tests.web.synthetic import Recorder
from tests.web.test_browser import wait_for_text

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [1280, 390])
def test_a_long_mark_lies_on_nothing(watched: Watched, recorder: Recorder, width: int) -> None:
    mark = {
        "name": "13 3/8 in casing shoe, top of the liner (invented)", "distance_m": 1905.0,
        "stands": 132.9, "way": "up", "slow_down_m_s": 0.3, "is_near": True,
    }  # fmt: skip
    recorder.status = {**recorder.status, "next_depth_mark": mark}
    recorder.set_mood("no_block")  # so that the depth is not sure, in words beside the digits
    watched.page.set_viewport_size({"width": width, "height": 844})
    page = watched.open()
    wait_for_text(page, "depth-mark", "1,905 m up")
    wait_for_text(page, "bit-depth-note", "not sure: confirm")
    title, told, unit, note, digits = page.evaluate(
        "() => ['#bit-depth .tile-title', '#depth-mark', '#bit-depth-unit', '#bit-depth-note',"
        "'#bit-depth-value'].map(name => { const range = document.createRange();"
        "range.selectNodeContents(document.querySelector(name));"
        "const box = document.querySelector(name).getBoundingClientRect();"
        "const text = range.getBoundingClientRect();"
        "return [Math.max(box.left, text.left), Math.min(box.right, text.right)]; })"
    )
    assert title[1] <= told[0]
    assert told[1] <= unit[0]
    assert note[1] <= digits[0]
    recorder.status = {**recorder.status, "next_depth_mark": None}
    wait_for_text(page, "depth-mark", "no depth mark\ngiven")


def caught_status(touches: int, **weights: dict[str, Any]) -> dict[str, Any]:
    """What the stage tells of weights caught; the last of them by the last touch."""
    touched = list(weights)[-1] if touches else ""
    return {"touches": touches, "touched": touched, "weights": weights}


def test_one_touch_on_the_floor_catches_a_weight_and_shows_it(
    watched: Watched, recorder: Recorder
) -> None:
    before = {"load_N": 1.181e6, "depth_m": 2390.0, "flow": "", "by": "connection"}
    recorder.status = {**recorder.status, "caught": caught_status(0, lowering=before)}
    page = watched.open()
    wait_for_text(page, "caught-lowering", "1,181")
    page.click("#catch-on-floor")
    wait_for_text(page, "act-answer", "sent to the recorder")
    now = {"load_N": 1.346e6, "depth_m": 2305.0, "flow": "on", "by": "touch"}
    told = caught_status(1, lowering=before, hoisting=now)
    recorder.status = {**recorder.status, "caught": told}
    wait_for_text(page, "act-answer", "Hoisting weight 1,346 kN, flow on: caught")
    wait_for_text(page, "caught-hoisting", "1,346")
    assert watched.text("caught-hoisting").split("\n") == [
        "Hoisting", "1,346", "flow on", "2,305 m",
    ]  # fmt: skip
    page.wait_for_selector("#caught-hoisting.by-touch")
    assert [act.act for act in recorder.acts()] == ["catch_weight"]
    assert watched.complaints == []


def test_a_weight_that_cannot_be_caught_says_why(watched: Watched, recorder: Recorder) -> None:
    recorder.refusal = "no weight caught: the bit is on bottom"
    page = watched.open()
    page.click("#catch-on-floor")
    wait_for_text(page, "act-answer", "No weight caught: the bit is on bottom")
    assert watched.text("caught-hoisting").endswith("\u2013")
