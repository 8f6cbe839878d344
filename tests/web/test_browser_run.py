"""`hookload run` as people start it: recorder, web server and Chromium, on the simulated rig."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

from monitor.store.reader import Reader
from tests.web.serving import Watched, free_port
from tests.web.test_browser import NEWEST_X, SAID_S, held_rows, wait_for_text

pytestmark = [pytest.mark.browser, pytest.mark.slow]

ROOT = Path(__file__).parents[2]
# Faster than life, so that the stuck pipe is reached within the test.
SOURCE = "simulate:stuck_pipe?seed=7&speed=8&history=1500"


class Running(NamedTuple):
    """What a test may do to `hookload run`."""

    address: str
    process: subprocess.Popen[bytes]

    def child(self, command: str) -> int:
        """Return the process id of `hookload record` or `hookload serve`."""
        for line in Path("/proc").glob("[0-9]*/cmdline"):
            with suppress(OSError):
                words = line.read_bytes().split(b"\0")
                stat = (line.parent / "stat").read_text().rsplit(")", 1)[1].split()
                if command.encode() in words and int(stat[1]) == self.process.pid:
                    return int(line.parent.name)
        raise AssertionError(f"no child {command}")


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    port = free_port()
    command = [
        *(sys.executable, "-m", "monitor.cli", "run"),
        *("--rig", str(ROOT / "config" / "land_rig.toml"), "--source", SOURCE),
        *("--data", str(tmp_path / "data"), "--port", str(port)),
        *("--bit-depth", "3255.8 m"),
    ]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    end = time.monotonic() + 30
    while True:
        try:
            with urllib.request.urlopen(f"{address}/page.json", timeout=2):
                break
        except OSError:
            assert process.poll() is None, "hookload run ended by itself"
            assert time.monotonic() < end, "the page did not come"
            time.sleep(0.1)
    yield Running(address, process)
    process.send_signal(signal.SIGTERM)
    assert process.wait(15) == 0


def assert_chart_is_the_record(page: Any, reader: Reader) -> None:
    """Every bucket of the chart has the least and greatest of the rows in the record."""
    width_ms, last, newest_us, held = held_rows(page)
    rows = reader.between(newest_us - 700_000_000, newest_us + 1, 200_000)
    loads = rows.columns["hook_load_N"].astype(np.float64)[rows.seq <= last]
    keys = (rows.time_us[rows.seq <= last] / 1000 // width_ms).astype(np.int64)
    inner = sorted(held)[1:-1]
    assert len(inner) > 100
    assert {key for key in np.unique(keys).tolist() if inner[0] <= key <= inner[-1]} == set(inner)
    for key in inner:
        own = loads[(keys == key) & np.isfinite(loads)]
        low, high = held[key]
        if len(own) == 0:
            assert low is None
        else:
            assert low == pytest.approx(own.min(), abs=1.0)
            assert high == pytest.approx(own.max(), abs=1.0)


def test_the_main_job_from_one_command(running: Running, tmp_path: Path, chromium: Any) -> None:
    context = chromium.new_context(viewport={"width": 1920, "height": 1080})
    watched = Watched(context.new_page(), running.address)
    page = watched.open()
    page.wait_for_selector("#strips-graph .scatterlayer .js-line", state="attached")
    x0, clock0 = page.evaluate(NEWEST_X), watched.text("rig-time")
    page.wait_for_function(f"({NEWEST_X})() > {x0} + 5000", timeout=15_000)
    assert watched.text("rig-time") != clock0
    assert "Heron 3" in watched.text("rig-and-run")
    page.wait_for_function("() => hookLoad.now.events.some(e => e.alarm)", timeout=90_000)
    page.wait_for_selector("#event-card .seen")
    page.wait_for_selector("#event-list .event-row")
    reader = Reader(tmp_path / "data")
    assert_chart_is_the_record(page, reader)

    asking = page.locator("#event-card .seen").get_attribute("data-event")
    page.click("#event-card .seen")
    page.wait_for_function(
        "(id) => hookLoad.now.events.some(e => e.id === id && e.acknowledged_us !== null)",
        arg=asking,
        timeout=5_000,
    )
    page.reload()
    page.wait_for_function("window.hookLoad && hookLoad.now.received > 20")
    assert_chart_is_the_record(page, reader)
    page.click("#go-trip-sheet-from-floor")
    page.wait_for_selector(".trip-table tbody tr")
    stands = [row for row in reader.trip_rows() if not row.void]
    assert page.locator(".trip-table tbody tr").count() in (len(stands), len(stands) - 1)
    reader.close()
    context.close()
    assert watched.complaints == []
    assert watched.strangers == []


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="finds the children in /proc")
def test_frozen_and_killed_halves_come_back_without_a_hole(
    running: Running, tmp_path: Path, chromium: Any
) -> None:
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    page = Watched(context.new_page(), running.address).open()
    reader = Reader(tmp_path / "data")

    server = running.child("serve")
    os.kill(server, signal.SIGSTOP)
    assert wait_for_text(page, "hook-load", "no connection") <= SAID_S
    page.wait_for_timeout(1000)
    os.kill(server, signal.SIGCONT)
    page.wait_for_function("() => hookLoad.cover() === ''", timeout=8_000)

    os.kill(server, signal.SIGKILL)
    assert wait_for_text(page, "hook-load", "no connection") <= SAID_S
    page.wait_for_function("() => hookLoad.cover() === ''", timeout=15_000)

    os.kill(running.child("record"), signal.SIGKILL)
    last = page.evaluate("() => hookLoad.feed.last")
    page.wait_for_function(f"() => hookLoad.feed.last > {last} + 400", timeout=20_000)
    assert_chart_is_the_record(page, reader)
    reader.close()
    context.close()
