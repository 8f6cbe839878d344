"""The guided calibration from beginning to end on the simulated rig, in a real Chromium."""

from __future__ import annotations

import os
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

from monitor.metrology.calibration import load_of
from monitor.metrology.load_interval import load_half_width
from monitor.metrology.proposal import from_text
from monitor.rig.file import parse_rig
from monitor.simulate import Simulation
from monitor.store.reader import Reader
from tests.web.serving import Watched, free_port

pytestmark = [pytest.mark.browser, pytest.mark.slow]

ROOT = Path(__file__).parents[2]
LAND_RIG = ROOT / "config" / "land_rig.toml"
# Three times life: a load is held for six seconds, long enough to be caught by hand.
SOURCE = "simulate:calibration?seed=7&speed=3&history=600"


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    port = free_port()
    command = [
        *(sys.executable, "-m", "monitor.cli", "run", "--rig", str(LAND_RIG)),
        *("--source", SOURCE, "--data", str(tmp_path / "data"), "--port", str(port)),
    ]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    end = time.monotonic() + 30
    while True:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/page.json", timeout=2):
                break
        except OSError:
            assert process.poll() is None, "hookload run ended by itself"
            assert time.monotonic() < end, "the page did not come"
            time.sleep(0.1)
    yield f"http://127.0.0.1:{port}"
    os.kill(process.pid, signal.SIGTERM)
    assert process.wait(15) == 0


def text_has(page: Any, name: str, words: str, timeout: float = 12_000) -> None:
    page.wait_for_function(
        "([name, words]) => document.getElementById(name).textContent.includes(words)",
        arg=[name, words],
        timeout=timeout,
    )


def filled(page: Any, name: str, words: str) -> None:
    page.fill(f"#{name} input", words)


def act(page: Any, who: str, reason: str = "") -> None:
    if reason:
        page.fill(".dialog-reason input", reason)
    page.fill(".dialog-who input", who)
    page.click(".dialog-confirm")


def test_a_first_time_engineer_puts_the_sensor_right(
    address: str, tmp_path: Path, chromium: Any
) -> None:
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    watched = Watched(context.new_page(), address)
    page = watched.open()
    page.click("#go-sensor")
    text_has(page, "sensor-next", "Choose what gives the known load")
    page.click("[data-kind=load_cell]")
    text_has(page, "sensor-next", "Hang a load, hold it still")

    # By hand, at a load that is held now ...
    page.wait_for_function("!document.getElementById('sensor-capture').disabled", timeout=20_000)
    page.click("#sensor-capture")
    text_has(page, "sensor-told", "Captured")
    page.wait_for_function("document.querySelectorAll('.sensor-table td').length > 0")
    # ... and the ones that were held before.
    page.click("#sensor-take-all")
    text_has(page, "sensor-told", "readings taken")
    page.wait_for_selector("#sensor-chart circle")
    text_has(page, "sensor-next", "Look at what the fit leaves")
    assert "Hysteresis" in watched.text("sensor-fit")

    filled(page, "sensor-reference", "load cell 12 (invented)")
    filled(page, "sensor-certificate", "2026-031 (invented)")
    filled(page, "sensor-percent", "0.2")
    with page.expect_popup() as opened:
        page.click("#sensor-print")
    opened.value.wait_for_selector("text=Approved by")
    assert "load cell 12 (invented)" in opened.value.inner_text("body")
    opened.value.close()

    page.click("#sensor-propose")
    act(page, "A. Engineer")
    text_has(page, "sensor-versions", "Version 1")
    text_has(page, "sensor-next", "Whoever answers for it approves it")
    page.click("#sensor-versions button:has-text('Approve')")
    act(page, "B. Toolpusher", "calibrated after a change of sensor")
    text_has(page, "sensor-note", "version 1 in force")
    text_has(page, "sensor-next", "In force")

    reader = Reader(tmp_path / "data")
    check_against_the_truth(reader)
    page.click("#sensor-versions .sensor-version:last-child button:has-text('Go back')")
    act(page, "B. Toolpusher", "only a trial")
    text_has(page, "sensor-note", "as the rig file says")
    assert [one.in_force for one in reader.calibrations()] == [0, 1, 0]
    reader.close()
    context.close()
    assert watched.complaints == []
    assert watched.strangers == []


def check_against_the_truth(reader: Reader) -> None:
    """The calibration is that of the simulated sensor within what it states of itself."""
    rig = parse_rig(LAND_RIG.read_text())
    truth = Simulation("calibration", 7, 0.01, rig=rig).truth()["sensor"]["coefficients"]
    proposed = from_text(reader.calibrations()[0].text)
    fit = proposed.fit()
    loads_N = np.linspace(*fit.load_range, 9)
    signal_A = truth[0] + truth[1] * loads_N + truth[2] * loads_N**2
    off_N = np.abs(load_of(fit, signal_A)[0] - loads_N)
    width_N = load_half_width(
        fit, signal_A, reference_uncertainty=proposed.reference_uncertainty_N
    )
    assert np.all(off_N < width_N)
    by_rig_file_N = (signal_A - 0.004) / 0.016 * 400e3
    assert np.abs(by_rig_file_N - loads_N).max() > 3.0 * off_N.max()
    # People's acts stand in the record with who and why.
    approved = reader.calibrations()[1]
    assert approved.act == "calibration_approved"
    assert approved.who.startswith("B. Toolpusher")
    assert "change of sensor" in approved.text
