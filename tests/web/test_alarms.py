"""Alarms and the mode of working stuck pipe in a real Chromium."""

from __future__ import annotations

import time
from typing import Any

import pytest

from tests.web.alarm_status import ALARMS, STUCK_OFF, STUCK_ON, STUCK_PROPOSED, shelved, sounding
from tests.web.serving import Watched
from tests.web.synthetic import Recorder
from tests.web.test_browser import wait_for_text

pytestmark = pytest.mark.browser


def wait_for_act(recorder: Recorder, act: str) -> Any:
    """Give the first act of that name once it has been left in the inbox."""
    end = time.monotonic() + 5.0
    while time.monotonic() < end:
        for found in recorder.acts():
            if found.act == act:
                return found
        time.sleep(0.05)
    raise AssertionError(f"no act {act}: {[found.act for found in recorder.acts()]}")


def test_an_alarm_asks_says_its_state_and_is_seen_by_key(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    raised = recorder.raise_event("overpull", alarm=True)
    first = recorder.raise_alarm(raised, first_up=True)
    other = recorder.raise_event("near_crown", alarm=True)
    recorder.raise_alarm(other, "high")
    # The more urgent asks first, then the one that came first.
    wait_for_text(page, "event-card", "Block near the crown")
    wait_for_text(page, "event-card", "not seen \u00b7 1 more")
    page.keyboard.press("s")
    wait_for_text(page, "event-card", "Overpull +140")
    assert wait_for_act(recorder, "acknowledge").text == other.id
    page.keyboard.press("s")
    page.wait_for_function("() => document.querySelector('#event-card .seen') === null")
    assert [act.text for act in recorder.acts()] == [other.id, raised.id]
    recorder.change_alarm(first, state="acknowledged", acknowledged_us=1, acknowledged_by="x")
    page.keyboard.press("a")
    wait_for_text(page, "alarms-present", "Overpull: seen, goes on, first up")
    wait_for_text(page, "alarms-journal", "Overpull: over \u2192 not seen")
    assert watched.complaints == []


def test_a_returned_alarm_asks_still_and_what_was_agreed_is_said(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    raised = recorder.raise_event("overpull", alarm=True, peak_excess_N=190e3)
    recorder.raise_alarm(raised, state="returned", times=3)
    recorder.status = {
        **recorder.status,
        "alarms": {**ALARMS, "beyond_agreed": ["overpull"]},
        "agreed_N": {"overpull": 180e3, "slack_off": None, "who": "company man (invented)"},
    }
    wait_for_text(page, "event-card", "over, not seen \u00b7 came 3 times")
    wait_for_text(page, "event-card", "Beyond the agreed +180: call company man (invented)")


def test_the_sound_needs_one_touch_then_plays_and_says_so(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    wait_for_text(page, "alarms-state", "touch once for sound")
    recorder.raise_alarm(recorder.raise_event("overpull", alarm=True))
    page.wait_for_selector("#event-card .seen")
    assert page.evaluate("() => hookLoad.sound.rounds") == 0  # not allowed, and it says so
    page.mouse.click(640, 20)
    wait_for_text(page, "alarms-state", "sound on")
    page.wait_for_function("() => hookLoad.sound.rounds > 0 && hookLoad.sound.peak > 0.1")
    assert page.evaluate("() => hookLoad.sound.priority") == "medium"
    recorder.status = {**recorder.status, "alarms": sounding("", "working stuck pipe")}
    wait_for_text(page, "alarms-state", "held: working stuck pipe")
    page.wait_for_function("() => hookLoad.sound.peak < 0.01", timeout=8000)
    rounds = page.evaluate("() => hookLoad.sound.rounds")
    page.wait_for_timeout(2100)  # longer than a round of this priority
    assert page.evaluate("() => hookLoad.sound.rounds") == rounds
    assert watched.complaints == []


def test_the_sound_goes_on_after_the_connection_was_lost(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    page.mouse.click(640, 20)
    recorder.raise_alarm(recorder.raise_event("near_crown", alarm=True), "high")
    page.wait_for_function("() => hookLoad.sound.rounds > 0")
    page.evaluate("() => { hookLoad.feed.socket.onmessage = () => {} }")  # as after sleep
    wait_for_text(page, "hook-load", "no connection")
    page.wait_for_function("() => hookLoad.sound.peak < 0.01", timeout=3000)
    rounds = page.evaluate("() => hookLoad.sound.rounds")
    page.wait_for_function(
        f"() => hookLoad.sound.rounds > {rounds} && hookLoad.sound.peak > 0.1", timeout=10_000
    )


def test_test_sound_and_mute(watched: Watched, recorder: Recorder) -> None:
    page = watched.open()
    page.click("#go-alarms")
    page.click("#sound-test")
    wait_for_text(page, "sound-tested", "sound sent")
    assert page.evaluate("() => hookLoad.sound.rounds") == 1
    page.click("#sound-mute")
    mute = wait_for_act(recorder, "mute")
    assert (mute.number, mute.text) == (300.0, "")
    until = time.time_ns() // 1000 + 272_000_000
    recorder.status = {**recorder.status, "alarms": sounding("", "muted", until)}
    wait_for_text(page, "sound-state", "muted 4:3")
    page.click("#sound-mute")
    page.wait_for_timeout(300)
    assert [act.text for act in recorder.acts() if act.act == "mute"] == ["", "off"]


ON_TOP = (
    "() => { const box = document.getElementById('act-answer').getBoundingClientRect();"
    "return document.getElementById('act-answer').matches(':popover-open') && box.width > 0; }"
)


def test_what_became_of_a_press_is_seen_over_the_panel(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    recorder.status = {**recorder.status, "alarms": {**ALARMS, "longest_mute_s": 20.0}}
    page.wait_for_function("() => hookLoad.now.status.alarms.longest_mute_s === 20")
    page.keyboard.press("a")
    page.click("#sound-mute")
    assert wait_for_act(recorder, "mute").number == 20.0
    wait_for_text(page, "act-answer", "No sound for 20 s")
    assert page.evaluate(ON_TOP)
    recorder.refusal = "mute refused: 5 min at most"
    page.click("#sound-mute")
    wait_for_text(page, "act-answer", "Refused: mute refused: 5 min at most")
    assert page.evaluate(ON_TOP)


def test_shelve_needs_an_end_a_reason_and_a_name_and_is_listed(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    recorder.raise_event("overpull", alarm=True)
    page.wait_for_selector("#event-card .seen")
    page.click("#go-alarms")
    rows = page.locator("#alarms-kinds .alarm-row")
    for name in ("Over a rating", "Block near the crown", "Block near the floor"):
        row = rows.filter(has_text=name)
        assert "replaces no crown or floor saver" in row.inner_text()
        assert row.locator("button").count() == 0
    rows.filter(has_text="Overpull").locator("button").click()
    confirm = page.locator(".dialog-confirm")
    assert confirm.is_disabled()
    page.click(".dialog-choices >> text=30 min")
    page.fill(".dialog label:visible input >> nth=0", "known ledge")
    assert confirm.is_disabled()
    page.fill(".dialog label:visible input >> nth=1", "driller (invented)")
    confirm.click()
    shelf = wait_for_act(recorder, "shelve")
    assert (shelf.number, shelf.text) == (1800.0, "overpull: known ledge")
    assert shelf.who.startswith("driller (invented)")
    recorder.status = {
        **recorder.status, "alarms": shelved("overpull", recorder.now_us + 1_800_000_000)
    }  # fmt: skip
    wait_for_text(page, "alarms-shelved", "Overpull: until ")
    wait_for_text(page, "alarms-shelved", "goes on now, known ledge, driller (invented)")
    wait_for_text(page, "alarms-state", "1 shelved")
    wait_for_text(page, "event-list", "shelved")  # listed, and asks for nothing
    assert page.locator("#event-card .seen").count() == 0
    page.locator("#alarms-shelved button").click()
    assert wait_for_act(recorder, "unshelve").text == "overpull"
    assert watched.complaints == []


def test_stuck_mode_is_proposed_begun_shown_and_ended(
    watched: Watched, recorder: Recorder
) -> None:
    page = watched.open()
    recorder.status = {**recorder.status, "stuck_mode": STUCK_PROPOSED}
    wait_for_text(page, "stuck-mode", "Stuck? Work pipe")
    assert recorder.acts() == []  # proposed, not entered
    page.click("#stuck-mode")
    page.click(".dialog-choices >> text=Work stuck pipe")
    page.fill(".dialog label:visible input >> nth=1", "toolpusher (invented)")
    page.click(".dialog-confirm")
    begun = wait_for_act(recorder, "stuck_mode")
    assert (begun.text, begun.number) == ("begin", 1.5e6)
    recorder.status = {**recorder.status, "stuck_mode": STUCK_ON}
    wait_for_text(page, "last-pull", "1,410")
    wait_for_text(page, "last-pull-note", "agreed 1,500, company man (invented)")
    wait_for_text(page, "last-set-down", "885")
    wait_for_text(page, "pulls-value", "12")
    wait_for_text(page, "jar", "cocked")
    assert page.locator("#bit-depth").is_hidden()
    working = {**STUCK_ON["jar"], "state": "working", "since_us": time.time_ns() // 1000}
    recorder.status = {
        **recorder.status,
        "stuck_mode": {**STUCK_ON, "jar": working, "over_agreed": True},
    }
    wait_for_text(page, "jar", "0:5")
    page.wait_for_selector("#last-pull.act-now")
    wait_for_text(page, "last-pull-note", "over the agreed 1,500")
    page.click("#stuck-mode")
    wait_for_text(page, "stuck-mode", "Press again")
    page.click("#stuck-mode")
    wait_for_text(page, "act-answer", "the sound is live")
    assert [act.text for act in recorder.acts()] == ["begin", "end"]
    assert watched.complaints == []


def test_stuck_pipe_keeps_the_mark_and_the_timer_and_colours_what_was_not_agreed(
    watched: Watched, recorder: Recorder
) -> None:
    recorder.status = {
        **recorder.status,
        "stuck_mode": {**STUCK_ON, "agreed_by": "driller, 10.0.0.7"},
    }
    recorder.set_mood("overpull")
    recorder.raise_alarm(recorder.raise_event("overpull", alarm=True))
    page = watched.open()
    wait_for_text(page, "stuck-where", "905 m up, 32.9 stands, \u2264 0.30 m/s, shoe")
    assert "pipe still 0:00" in watched.text("stuck-where")
    wait_for_text(page, "excess-word", "Overpull")
    assert watched.text("last-pull-note") == "agreed 1,500, driller"  # not from which machine
    page.wait_for_selector("#excess:not(.act-now):not(.be-ready)")
    beyond = {**STUCK_ON, "over_agreed": True}
    recorder.status = {**recorder.status, "stuck_mode": beyond}
    page.wait_for_selector("#excess.act-now")
    recorder.status = {**recorder.status, "stuck_mode": {**STUCK_ON, "agreed_pull_N": None}}
    page.wait_for_selector("#excess.act-now")
    over = {**STUCK_OFF, "ended_why": "the string has travelled 10 m freely"}
    recorder.status = {**recorder.status, "stuck_mode": over}
    wait_for_text(page, "act-answer", "has travelled 10 m freely. The sound is live")
    assert page.locator("#bit-depth").is_visible()
    assert watched.complaints == []


def test_on_another_page_a_sound_has_its_reason(watched: Watched, recorder: Recorder) -> None:
    page = watched.open("/hoist")
    recorder.raise_alarm(recorder.raise_event("near_floor", alarm=True), "high")
    wait_for_text(page, "alarm-elsewhere", "Block near the floor, not seen")
    page.click("#alarm-elsewhere")
    page.locator("#alarms-present button").click()
    wait_for_act(recorder, "acknowledge")
    page.wait_for_selector("#alarm-elsewhere", state="hidden")
