"""The Hoist page in a real Chromium: every state it can show, and what people press there."""

from __future__ import annotations

import math
import time
from typing import Any

import pytest

from tests.web.hoist_status import (
    BARE_HOIST,
    FLOATING_HOIST,
    LAND_HOIST,
    troubled_hoist,
    without_load,
)
from tests.web.serving import Watched
from tests.web.synthetic import Recorder
from tests.web.test_browser import SAID_S, wait_for_text

pytestmark = pytest.mark.browser


def opened(watched: Watched) -> Any:
    page = watched.open("/hoist")
    page.wait_for_function(
        "() => document.querySelector('#string-up svg')"
        "&& !document.getElementById('string-up').textContent.includes('no data yet')"
    )
    return page


def tell(recorder: Recorder, hoist: dict[str, Any]) -> None:
    recorder.status = {
        **recorder.status,
        "hoist": hoist,
        "lines_strung": hoist["string_up"]["lines_strung"],
    }


def ask_for_twelve_lines(page: Any) -> None:
    page.click("#change-lines")
    page.click(".dialog-more")
    page.fill(".dialog-reason input", "strung down for casing")
    page.fill(".dialog-who input", "A. Driller")


def test_every_line_bears_its_tension_and_every_sheave_is_drawn(watched: Watched) -> None:
    page = opened(watched)
    words = page.locator("#string-up").inner_text()
    for value in LAND_HOIST["string_up"]["tensions_N"]:
        assert f"{value / 1e3:.0f}" in words
    for told in ("1,012 kN", "110 kN", "94 kN", "on the derrick 1,216 kN", "efficiency 0.921"):
        assert told in words.replace("\n", " ")
    # Six sheaves at the crown, five at the block, each with one half turn of line around it.
    assert page.locator("#string-up path[d*=' A']").count() == 11
    assert watched.text("greatest-pull-value") == "1,640"
    assert "drill pipe" in watched.text("weakest")
    assert page.locator("#ratings .rating").count() == 1 + len(LAND_HOIST["ratings"])
    assert "design factor" in watched.text("drilling-line")
    assert page.locator("#compensator-panel").is_hidden()
    assert page.locator(".hoist .mark, .hoist .act-now, .hoist .be-ready").count() == 0
    assert watched.complaints == []
    assert watched.strangers == []


@pytest.mark.parametrize(("lines", "crown", "block"), [(2, 2, 1), (9, 5, 4), (16, 9, 8)])
def test_any_string_up_is_drawn(
    watched: Watched, recorder: Recorder, lines: int, crown: int, block: int
) -> None:
    string_up = LAND_HOIST["string_up"]
    tensions = [90e3 - 700.0 * number for number in range(lines)]
    tell(
        recorder,
        {**LAND_HOIST, "string_up": string_up | {"lines_strung": lines, "tensions_N": tensions}},
    )
    page = opened(watched)
    wait_for_text(page, "string-up-note", f"{lines} lines")
    page.wait_for_function(
        f"() => document.querySelectorAll(\"#string-up path[d*=' A']\").length === {crown + block}"
    )
    shown = page.evaluate(
        "() => { const around = document.getElementById('string-up').getBoundingClientRect();"
        "return [...document.querySelectorAll('#string-up text')].every(t => {"
        "const b = t.getBoundingClientRect();"
        "return b.left >= around.left - 1 && b.right <= around.right + 1; }) }"
    )
    assert shown
    assert watched.complaints == []


def test_colour_comes_only_with_what_asks_for_action(watched: Watched, recorder: Recorder) -> None:
    tell(recorder, troubled_hoist(time.time_ns() // 1000 - 900_000_000))
    page = opened(watched)
    wait_for_text(page, "hoist-warnings", "collar elevator")
    assert page.locator("#weakest.act-now").count() == 1
    assert page.locator("#ratings .hoist-bar.act-now").count() == 1
    for panel in ("drilling-line", "line-work", "drum", "preparation"):
        assert page.locator(f"#{panel} .mark.be-ready").count() == 1, panel
    assert page.locator("#braking .mark.act-now").count() == 1
    assert "waits for: first lift" in watched.text("slip-and-cut")


def test_the_compensator_tells_waves_and_what_they_leave(
    watched: Watched, recorder: Recorder
) -> None:
    tell(recorder, FLOATING_HOIST)
    page = opened(watched)
    wait_for_text(page, "compensator", "swing left at the bit")
    words = " ".join(watched.text("compensator").split())
    for told in ("over whole waves 810 kN, swing 42 kN", "highest wave 3.1 m of 4.0 m", "402.6 m"):
        assert told in words
    assert "swing 42 kN" in page.locator("#string-up").inner_text()
    assert page.locator("#compensator .mark").count() == 0
    high = {**FLOATING_HOIST["compensator"], "heave_height_m": 4.4}
    tell(recorder, {**FLOATING_HOIST, "compensator": high})
    page.wait_for_selector("#compensator .mark.be-ready")
    assert watched.complaints == []


def test_on_a_heaving_rig_the_floor_says_mean_and_swing(
    watched: Watched, recorder: Recorder
) -> None:
    waves = {"load_mean_N": 0.81e6, "load_swing_N": 42e3}
    recorder.status = {**recorder.status, "heave": waves}
    page = watched.open("/")
    wait_for_text(page, "hook-load-note", "mean 810, swing 42")
    recorder.status = {**recorder.status, "heave": {**waves, "load_mean_N": None}}
    page.wait_for_function(
        "() => document.getElementById('hook-load-note').textContent === 'swing 42'"
    )


def test_a_missing_table_names_the_key_to_write(watched: Watched, recorder: Recorder) -> None:
    tell(recorder, BARE_HOIST)
    opened(watched)
    for panel, key in {
        "ratings": "[equipment.NAME]", "line-work": "[line_work]", "drilling-line": "[line]",
        "drum": "[drum]", "braking": "[drawworks]", "gear": "[gear.NAME]",
        "preparation": "[hook]",
    }.items():  # fmt: skip
        words = watched.text(panel)
        assert "not given in the rig file" in words, panel
        assert key in words, panel
        assert not any(character.isdigit() for character in words), panel


def test_an_unknown_load_leaves_no_tension(watched: Watched, recorder: Recorder) -> None:
    tell(recorder, without_load(LAND_HOIST))
    recorder.set_mood("bad_sensor")
    page = opened(watched)
    wait_for_text(page, "string-up", "sensor fault")
    assert not any(character.isdigit() for character in watched.text("string-up"))
    assert not any(character.isdigit() for character in watched.text("greatest-pull-value"))


def test_without_a_block_position_nothing_is_told_by_the_last_one(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open("/hoist")
    recorder.set_mood("no_block")
    for name in ("drum", "braking"):
        wait_for_text(page, name, "no block position")
    assert page.locator("#ratings .rating").count() > 1
    wait_for_text(page, "sensor-health", "sensor: no block position")
    page.click("#go-floor-from-hoist")
    wait_for_text(page, "block-speed", "no reading")
    wait_for_text(page, "bit-depth-note", "not sure: confirm")
    assert watched.text("hook-load-value").replace(",", "").isdigit()


def test_a_dead_feed_takes_the_figures_of_the_hoist(watched: Watched, recorder: Recorder) -> None:
    page = opened(watched)
    recorder.silent = True
    assert wait_for_text(page, "string-up", "stale") <= SAID_S + 0.3  # drawn four times a second
    for panel in ("ratings", "drum", "braking", "drilling-line", "greatest-pull-value"):
        wait_for_text(page, panel, "stale", 0.6)
        assert not any(character.isdigit() for character in watched.text(panel)), panel
    recorder.silent = False
    wait_for_text(page, "greatest-pull-value", "1,640")
    assert watched.complaints == []


def test_another_number_of_lines_asks_who_and_why_and_marks_the_strips(
    watched: Watched, recorder: Recorder
) -> None:
    page = opened(watched)
    page.click("#change-lines")
    confirm = page.locator(".dialog-confirm")
    assert confirm.is_disabled()
    page.click(".dialog-more")
    assert confirm.inner_text() == "Change 10 to 12 lines"
    assert confirm.is_disabled()
    page.fill(".dialog-reason input", "strung down for casing")
    assert confirm.is_disabled()
    page.fill(".dialog-who input", "A. Driller")
    assert recorder.acts() == []
    confirm.click()
    page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    (act,) = recorder.acts()
    assert (act.act, act.number, act.text) == ("lines_strung", 12.0, "strung down for casing")
    assert act.who.startswith("A. Driller, ")
    page.wait_for_function("() => hookLoad.now.marks.length === 1")
    page.click("#go-floor-from-hoist")
    page.wait_for_function(
        "() => (document.querySelector('#strips-graph .js-plotly-plot').layout.annotations || [])"
        ".some(a => a.text === '12 lines')",
        timeout=8000,
    )
    assert watched.complaints == []


def test_a_refusal_is_shown_and_the_engineer_may_override(
    watched: Watched, recorder: Recorder
) -> None:
    recorder.refusal = "12 lines refused: 7 crown sheaves are needed, it has 6"
    page = opened(watched)
    ask_for_twelve_lines(page)
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog-told.refused")
    assert page.locator(".dialog-override").is_hidden()
    page.keyboard.press("Escape")
    recorder.refusal = (
        "12 lines refused: the empty block would read 293 kN and weighs 245 kN; "
        "the engineer may override with a reason"
    )
    ask_for_twelve_lines(page)
    assert page.locator(".dialog-override").is_hidden()
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog-told.refused")
    assert "weighs 245 kN" in page.locator(".dialog-told").inner_text()
    assert page.evaluate("() => hookLoad.now.marks.length") == 0
    page.click(".dialog-override")
    page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    assert [act.text for act in recorder.acts()] == [
        "strung down for casing",
        "strung down for casing",
        "override: strung down for casing",
    ]
    page.wait_for_function("() => hookLoad.now.marks.length === 1")
    assert watched.complaints == []


def test_a_recorder_that_takes_nothing_is_said(watched: Watched, recorder: Recorder) -> None:
    recorder.takes_acts = False
    page = opened(watched)
    ask_for_twelve_lines(page)
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog-told.refused", timeout=12_000)
    assert "not taken it yet" in page.locator(".dialog-told").inner_text()
    page.keyboard.press("Escape")
    assert not page.evaluate("() => document.querySelector('.dialog').open")


def test_gear_duty_and_confirmations_are_acts_with_a_name(
    watched: Watched, recorder: Recorder
) -> None:
    slip = {**LAND_HOIST["slip_and_cut"], "since_us": 1, "waiting_for": ["wraps"]}
    tell(recorder, {**FLOATING_HOIST, "slip_and_cut": slip})
    page = opened(watched)
    page.click("[data-gear=casing_tools]")
    page.fill(".dialog-who input", "A. Driller")
    page.click(".dialog-confirm")
    page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    pressed = (
        ("#drilling-line button", "[data-choice='setting casing']", ""),
        ("#compensator button", "", ""),
        ("#preparation button", "[data-choice=locked]", ""),
        ("#slip-and-cut button", "", "23"),
    )
    for press, choice, amount in pressed:  # the name is remembered
        page.locator(press).first.click()
        if choice:
            page.click(choice)
        if amount:
            assert page.locator(".dialog-confirm").is_disabled()
            page.fill(".dialog-amount input", amount)
        page.click(".dialog-confirm")
        page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    assert [(act.act, act.text) for act in recorder.acts()] == [
        ("gear", "casing_tools"),
        ("duty", "setting casing"),
        ("compensator", "locked"),
        ("preparation", "rotation lock: locked"),
        ("slip_and_cut", "confirm wraps 23"),
    ]
    assert all(act.who.startswith("A. Driller, ") for act in recorder.acts())


def test_slip_and_cut_begins_and_ends_with_the_length_cut(
    watched: Watched, recorder: Recorder
) -> None:
    page = opened(watched)
    page.click("#slip-and-cut button")
    page.fill(".dialog-who input", "A. Driller")
    page.click(".dialog-confirm")
    page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    active = {**LAND_HOIST["slip_and_cut"], "active": True, "since_us": time.time_ns() // 1000}
    tell(recorder, {**LAND_HOIST, "slip_and_cut": active})
    page.locator("#slip-and-cut button", has_text="End").click()
    page.fill(".dialog-amount input", "31 fathoms")
    page.click(".dialog-confirm")
    page.wait_for_selector(".dialog-told.refused")
    page.fill(".dialog-amount input", "102 ft")
    page.click(".dialog-confirm")
    page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    begin, end = recorder.acts()
    assert (begin.act, begin.text) == ("slip_and_cut", "begin")
    assert math.isnan(begin.number)
    assert end.text == "end"
    assert end.number == pytest.approx(102 * 0.3048)  # the foot is exactly 0.3048 m


def test_the_keyboard_reaches_everything_and_comes_back(
    watched: Watched, recorder: Recorder
) -> None:
    page = opened(watched)
    page.focus("#change-lines")
    page.keyboard.press("Enter")
    page.fill(".dialog-number input", "8")
    page.fill(".dialog-reason input", "two lines fewer")
    page.fill(".dialog-who input", "A. Driller")
    page.wait_for_timeout(600)  # figures go on changing below; the focus stays
    page.keyboard.press("Enter")
    page.wait_for_function("() => !document.querySelector('.dialog').open", timeout=8000)
    assert [act.number for act in recorder.acts()] == [8.0]
    assert page.evaluate("() => document.activeElement.id") == "change-lines"


@pytest.mark.parametrize("size", [(1920, 1080), (1280, 800), (390, 844)])
def test_the_page_fits_and_every_button_fits_a_finger(
    watched: Watched, recorder: Recorder, size: tuple[int, int]
) -> None:
    tell(recorder, FLOATING_HOIST)
    watched.page.set_viewport_size({"width": size[0], "height": size[1]})
    page = opened(watched)
    page.wait_for_timeout(500)
    wide, high = page.evaluate(
        "() => [document.documentElement.scrollWidth - innerWidth,"
        "document.documentElement.scrollHeight - innerHeight]"
    )
    assert wide == 0
    assert high == 0 or size[0] < 900  # a phone scrolls downwards
    boxes = page.evaluate(
        "() => [...document.querySelectorAll('#page-hoist button, #page-hoist a.button')].map("
        "b => [b.textContent, b.getBoundingClientRect().height, b.getBoundingClientRect().width])"
    )
    assert len(boxes) > 8
    assert all(height >= 48 and width >= 48 for _, height, width in boxes), boxes
    assert watched.complaints == []
