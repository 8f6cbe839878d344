"""The five places: each leads to the four others; what stands on all of them covers nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.model import TripRow
from monitor.web.components.places import PLACES
from tests.web import synthetic
from tests.web.serving import Watched, served
from tests.web.synthetic import Recorder, stands
from tests.web.test_browser import wait_for_text

pytestmark = pytest.mark.browser

NAMES = [name for name, _, _ in PLACES]
# Every way once, there and back: floor, trip sheet, floor, hoist, floor, ...
TOUR = [place for i, one in enumerate(NAMES) for other in NAMES[i + 1 :] for place in (other, one)]
COVERED = """() => [...document.querySelectorAll('main:not(.away) .button')].filter((button) => {
  const box = button.getBoundingClientRect();
  if (!box.width || box.top > innerHeight) return false;
  const banner = document.getElementById('alarm-elsewhere').getBoundingClientRect();
  return box.right > banner.left && box.left < banner.right
    && box.bottom > banner.top && box.top < banner.bottom;
}).map((button) => button.textContent)"""


def test_every_place_leads_to_the_four_others(watched: Watched) -> None:
    page, here = watched.open(), "floor"
    for there in TOUR:
        if there == here:
            continue
        page.click(f"#go-{there}-from-{here}")
        page.wait_for_selector(f"#page-{there}", state="visible")
        page.wait_for_function("() => document.querySelectorAll('main:not(.away)').length === 1")
        here = there
    # The synthetic record has no rig file to calibrate by: the Sensor page says so.
    assert [text for text in watched.complaints if "400" not in text] == []


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080)])
def test_an_alarm_told_elsewhere_covers_no_button(
    watched: Watched, recorder: Recorder, size: tuple[int, int]
) -> None:
    recorder.raise_alarm(recorder.raise_event("stationary_too_long", alarm=True))
    watched.page.set_viewport_size({"width": size[0], "height": size[1]})
    for _, path, _ in PLACES[1:]:
        page = watched.open(path)
        wait_for_text(page, "alarm-elsewhere", "Pipe still too long, not seen")
        assert page.evaluate(COVERED) == []


def test_the_timer_of_standing_pipe_is_on_every_place(
    watched: Watched, recorder: Recorder
) -> None:
    recorder.set_mood("slips")
    page = watched.open()
    assert page.locator("#pipe-still").is_visible()
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.locator("#pipe-still").is_visible()
    page.click("#go-hoist-from-floor")
    wait_for_text(page, "still-elsewhere", "pipe still 1:15")


@pytest.mark.parametrize("width", [1280, 390])
def test_the_timer_is_never_cut_by_what_stands_beside_it(
    watched: Watched, recorder: Recorder, width: int
) -> None:
    """In slips, holding pipe: the longest word for what the rig does."""
    recorder.set_mood("slips")
    recorder.raise_alarm(recorder.raise_event("stationary_too_long", alarm=True))
    watched.page.set_viewport_size({"width": width, "height": 844})
    page = watched.open("/hoist")
    wait_for_text(page, "activity", "In slips, holding pipe")
    wait_for_text(page, "still-elsewhere", "pipe still 1:15")
    page.wait_for_selector("#alarm-elsewhere", state="visible")
    right, least = page.evaluate(
        "() => { const box = id => document.getElementById(id).getBoundingClientRect();"
        "const alarm = box('alarm-elsewhere');"
        "const edge = alarm.top < 40 ? alarm.left : innerWidth;"
        "return [box('still-elsewhere').right, edge]; }"
    )
    assert right <= least


def test_the_trip_sheet_keeps_its_plots_on_a_phone(watched: Watched) -> None:
    watched.page.set_viewport_size({"width": 390, "height": 844})
    page = watched.open("/trip-sheet")
    page.wait_for_selector("#trip-weights .scatterlayer .trace", state="attached")
    for name in ("trip-weights", "trip-speeds"):
        assert page.locator(f"#{name}").bounding_box()["height"] > 200
    wide = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
    assert wide == 0


@pytest.mark.parametrize("display", ["metric", "field"])
def test_no_column_of_a_full_trip_sheet_is_cut(
    chromium: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, display: str
) -> None:
    """A drilling record with a tank and a tight stand has every column but the tally's."""

    def full(*given: int) -> list[TripRow]:
        caught = {"hoisting_weight_N": 1.31e6, "lowering_weight_N": 1.1e6,
                  "rotating_weight_N": 1.2e6, "weights_flow": "both"}  # fmt: skip
        return [replace(row, max_overpull_N=112e3, **caught) for row in stands(*given)]

    monkeypatch.setattr(synthetic, "stands", full)
    with Recorder(tmp_path), served(tmp_path, display=display) as address:
        watched = Watched(chromium.new_page(), address)
        for width, height in ((1280, 800), (1920, 1080)):
            watched.page.set_viewport_size({"width": width, "height": height})
            page = watched.open("/trip-sheet")
            wait_for_text(page, "trip-table", "Rotating")
            wide = "() => { const t = document.getElementById('trip-table');"
            page.wait_for_function(wide + "return t.scrollWidth <= t.clientWidth }", timeout=3000)
        watched.page.close()


def test_depth_and_tally_are_put_right_by_hand(watched: Watched, recorder: Recorder) -> None:
    page = watched.open("/trip-sheet")
    page.click("#correct-depth")
    page.fill(".dialog-amount input", "2950.5 m")
    page.fill(".dialog-who input", "toolpusher (invented)")
    assert page.locator(".dialog-confirm").is_disabled()  # a reason is lacking
    page.fill(".dialog-reason input", "counted by the tally")
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog", state="hidden")
    page.click("#give-tally")
    page.fill(".dialog-paste textarea", "1, 9.45\n2, 94.5")
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog-told:has-text('line 2')")
    assert "is no length of a joint" in page.inner_text(".dialog-told")
    page.fill(".dialog-paste textarea", "1, 9.45\n2, 9.52")
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog", state="hidden")
    depth, tally = recorder.acts()
    assert (depth.act, depth.number, depth.text) == ("bit_depth", 2950.5, "counted by the tally")
    assert depth.who.startswith("toolpusher (invented)")
    assert (tally.act, tally.text) == ("tally", "9.4500 9.5200")
    refused = [text for text in watched.complaints if "400" not in text]
    assert refused == []
