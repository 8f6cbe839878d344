"""`hookload run` as people start it: recorder, web server and Chromium, on the simulated rig."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from monitor.store.reader import Reader
from tests.web.serving import Watched, free_port
from tests.web.test_browser import NEWEST_X, held_rows

pytestmark = [pytest.mark.browser, pytest.mark.slow]

ROOT = Path(__file__).parents[2]
# Faster than life, so that the stuck pipe is reached within the test.
SOURCE = "simulate:stuck_pipe?seed=7&speed=8&history=1500"


@pytest.fixture
def running(tmp_path: Path) -> Iterator[str]:
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
    yield address
    process.send_signal(signal.SIGTERM)
    assert process.wait(15) == 0


def assert_chart_is_the_record(page: Any, reader: Reader) -> None:
    """Every bucket of the chart has the least and greatest of the rows in the record."""
    span = page.evaluate(
        "() => [hookLoad.strips.buckets.widthMs, hookLoad.feed.last, hookLoad.now.row.time_us]"
    )
    held = held_rows(page)
    width_ms, last, newest_us = span
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


def test_the_main_job_from_one_command(running: str, tmp_path: Path, chromium: Any) -> None:
    context = chromium.new_context(viewport={"width": 1920, "height": 1080})
    watched = Watched(context.new_page(), running)
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
    page.click("#go-trip-sheet")
    page.wait_for_selector(".trip-table tbody tr")
    stands = reader.trip_rows()
    assert page.locator(".trip-table tbody tr").count() in (len(stands), len(stands) - 1)
    reader.close()
    context.close()
    assert watched.complaints == []
    assert watched.strangers == []
