"""The Sensor page over a record: its routes, and what it says of a sensor that has failed."""

from __future__ import annotations

import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.recorder import record
from monitor.review.reference_kinds import GEOMETRY, KINDS
from monitor.simulate import Simulation
from monitor.web.sensor_request import Asked, AskedError
from tests.web.serving import Watched, served
from tests.web.test_routes import fetched, posted

HZ = 5
MINUTES = 10
GOOD = pytest.mark.parametrize("recorded", ["good"], indirect=True)
FAULTS = {"good": "", "failed": "3.50000", "frozen": "5.90000"}


def written(path: Path, simulation: Simulation, fault: str) -> None:
    """The record as CSV; the signal of the last minute replaced by a fault."""
    rows = ["time,deadline_signal [mA],block_position [m],reference_load [kN]"]
    last = simulation.samples - 60 * HZ
    for chunk in simulation.chunks():
        for cells in zip(*(chunk[n] for n in (
            "time_us", "deadline_signal", "block_position", "reference_load"
        )), strict=True):  # fmt: skip
            stamp, signal, block, load = (float(cell) for cell in cells)
            seconds = (stamp - simulation.start_us) / 1e6
            shown = fault if fault and len(rows) > last else f"{signal * 1e3:.5f}"
            at = f"2026-03-01T00:{int(seconds // 60):02d}:{seconds % 60:06.3f}Z"
            rows.append(f"{at},{shown},{block:.3f},{load / 1e3:.2f}")
    path.write_text("\n".join(rows) + "\n")


@pytest.fixture(scope="module")
def recorded(request: Any, tmp_path_factory: Any) -> tuple[str, Path]:
    folder = tmp_path_factory.mktemp(request.param)
    simulation = Simulation("calibration", 7, MINUTES / 60.0, HZ)
    written(folder / "signal.csv", simulation, FAULTS[request.param])
    record(
        simulation.rig_text, f"csv:{folder / 'signal.csv'}", folder / "data", until_finished=True
    )
    return request.param, folder / "data"


@pytest.fixture
def page(recorded: tuple[str, Path]) -> Iterator[tuple[str, str]]:
    with served(recorded[1]) as address:
        yield recorded[0], address


def points_of(address: str) -> str:
    """All steady readings of the record as points, with the recorded load cell."""
    told = fetched(f"{address}/sensor/spells.json")
    moments = [spell["end_us"] for spell in reversed(told["spells"]) if spell["moved"]]
    code, taken = posted(
        f"{address}/sensor/capture", {"kind": "load_cell", "load": "", "moments_us": moments}
    )
    assert code == 200
    return "\n".join([taken["header"], *taken["lines"]]) + "\n"


@pytest.mark.parametrize("recorded", FAULTS, indirect=True)
def test_the_reading_now_and_a_failed_signal(page: tuple[str, str]) -> None:
    state, address = page
    now = fetched(f"{address}/sensor/now.json")
    health = fetched(f"{address}/sensor/sections.json")["sections"]["sensor-health-section"]
    assert (now["unit"], now["load_unit"]) == ("mA", "kN")
    assert "<svg" in now["strip"]
    if state == "good":
        assert now["ailment"] == ""
        assert not health["findings"]
        assert "Nothing ails the signal" in health["lines"][0]
    if state == "failed":
        assert now["value"] == pytest.approx(3.5)
        assert "failed low" in now["ailment"]
        assert "loop supply" in health["findings"][0]["check"]
        assert health["asks"]
        # A current that reports a fault stands still, and is no reading.
        spells = fetched(f"{address}/sensor/spells.json")["spells"]
        assert all(spell["mean"] > 3.8 for spell in spells)
    if state == "frozen":
        assert [found["what"] for found in health["findings"]] == ["frozen"]
        spells = fetched(f"{address}/sensor/spells.json")["spells"]
        assert [spell["is_frozen"] for spell in spells][:3] == [True, False, False]


@GOOD
def test_the_points_give_back_what_the_sensor_really_does(page: tuple[str, str]) -> None:
    _, address = page
    text = points_of(address)
    code, told = posted(
        f"{address}/sensor/points", {"points": text, "model": "linear", "percent": "0.1"}
    )
    assert code == 200
    found = told["certificate"]
    assert len(found["points"]) >= 18
    truth = Simulation("calibration", 7, 0.01, HZ).truth()["sensor"]["coefficients"]
    # The simulator's own sensor, its physics apart from these formulas: within the half width
    # that is stated, wherever in the range; and well off what the rig file says.
    worst_before = 0.0
    for row in found["inverse"]["table"]:
        load_N = row["load"] * 1e3
        true_mA = 1e3 * (truth[0] + truth[1] * load_N + truth[2] * load_N**2)
        off_kN = (true_mA - row["reading"]) / (1e6 * truth[1])
        assert abs(off_kN) < row["half_width_95"]
        worst_before = max(worst_before, abs((true_mA - 4.0) / 16.0 * 400.0 - row["load"]))
    assert worst_before > 2.0 > max(r["half_width_95"] for r in found["inverse"]["table"])
    assert found["series"]["reversibility_percent"] < 0.2
    assert "efficiency 0.98" in told["friction"]
    assert "The rig file's 0.985 agrees" in told["friction"]
    assert told["residual_chart"].count("<circle") == len(found["points"])
    posted_page = posted(f"{address}/sensor/certificate", {"points": text, "model": "linear"})
    assert posted_page[0] == 200
    assert "Approved by" in posted_page[1]["page"]


@GOOD
def test_field_units_give_the_same_calibration(recorded: tuple[str, Path]) -> None:
    fits = []
    for display in ("metric", "field"):
        with served(recorded[1], display=display) as address:
            asked = {"points": points_of(address), "model": "linear"}
            found = posted(f"{address}/sensor/points", asked)[1]["certificate"]
        per_kN = {"kN": 1.0, "klbf": 4.4482216}[found["load_unit"]]
        fits.append((found["coefficients"][0], found["coefficients"][1] / per_kN))
    # Seven figures are written of each load and reading.
    assert fits[1] == pytest.approx(fits[0], rel=1e-5)


@GOOD
def test_wrong_asks_are_refused_in_words(page: tuple[str, str]) -> None:
    _, address = page
    capture = {"kind": "load_cell", "load": "200", "moments_us": [1]}
    for path, body, words in (
        ("capture", capture, "does not stand still there any more"),
        ("capture", {"kind": "", "moments_us": [1]}, "kind is expected"),
        ("capture", capture | {"moments_us": []}, "1 to 200 are expected"),
        ("points", {"points": "", "model": "cubic", "percent": "30"}, "0 to 20"),
        ("propose", {"points": "x", "model": "linear"}, "a name is expected"),
        ("propose", {"points": "a,b\n1,2\n", "model": "linear", "who": "A. Person"}, "no column"),
        ("certificate", {"points": "", "model": "linear"}, "no point yet"),
    ):
        code, told = posted(f"{address}/sensor/{path}", body)  # type: ignore[arg-type]
        assert code == 400, path
        assert words in told["error"], (path, told)
        code, _ = posted(f"{address}/sensor/{path}", body, origin="http://elsewhere")  # type: ignore[arg-type]
        assert code == 403
    for act, words in (
        (
            {"act": "calibration_approved", "number": "x", "who": "A. Person"},
            "number of a version",
        ),
        ({"act": "calibration_approved", "number": "1", "who": ""}, "a name is expected"),
        ({"act": "calibration_proposed", "text": "{}", "who": "A. Person"}, "not an act of this"),
    ):
        code, told = posted(f"{address}/act", act)
        assert (code, words in told["error"]) == (400, True)
    with pytest.raises(urllib.error.HTTPError, match="404"):
        fetched(f"{address}/sensor/version.html?version=7")


def test_fields_of_a_request() -> None:
    with pytest.raises(AskedError, match="a JSON object is expected"):
        Asked([])
    with pytest.raises(AskedError, match="percent of the greatest load is expected"):
        Asked({"percent": "much"}).reference()
    assert Asked({"percent": "0,5"}).reference().half_width_percent == 0.5


def points_come_from_a_file_or_are_pasted(page: Any, folder: Path) -> None:
    """The same parser and the same refusals as the command's."""
    path = folder / "points.csv"
    path.write_text("reference_load [kN],reading [mA]\n0,4.02\n50,6.05\n100,7.98\n150,10.01\n")
    with page.expect_file_chooser() as chooser:
        page.click("#sensor-file")
    chooser.value.set_files(path)
    page.wait_for_function("document.querySelectorAll('.sensor-table tr').length === 5")
    page.wait_for_selector("#sensor-chart circle")
    page.click("#sensor-paste")
    page.fill("#sensor-text textarea", "reference_load [kN],reading [mA]\n0,four\n")
    page.wait_for_selector(".sensor-fault")
    assert "line 2" in page.locator("#sensor-points").inner_text()
    assert page.locator("#sensor-propose").is_disabled()
    # What was written is still there after the page is loaded again.
    page.reload()
    page.wait_for_selector(".sensor-fault")
    page.click("#sensor-clear")
    page.wait_for_selector(".sensor-fault", state="detached")


@pytest.mark.parametrize("recorded", ["failed"], indirect=True)
@pytest.mark.browser
def test_a_failed_signal_is_said_and_nothing_can_be_captured(
    page: tuple[str, str], chromium: Any, tmp_path: Path
) -> None:
    _, address = page
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    watched = Watched(context.new_page(), address)
    watched.page.goto(f"{address}/sensor")
    watched.page.wait_for_function("window.hookLoad && hookLoad.sensor && hookLoad.sensor.asked")
    watched.page.click("[data-kind=load_cell]")
    assert "record ended; failed low" in watched.text("sensor-reading")
    assert watched.page.locator("#sensor-capture").is_disabled()
    watched.page.wait_for_selector("#sensor-health-section .mark.be-ready")
    assert "loop supply" in watched.text("sensor-health-section")
    for kind in KINDS.values():
        watched.page.click(f"[data-kind={kind.name}]")
        words = watched.text("sensor-kind-words")
        assert kind.fixes_gain in words
        assert kind.fixes_zero in words
    watched.page.click("#sensor-geometry summary")
    assert GEOMETRY[2][1][:40] in watched.text("sensor-geometry")
    points_come_from_a_file_or_are_pasted(watched.page, tmp_path)
    watched.page.click(".sensor-survey summary")
    heights = "\n".join(f"{1.01 * h:.2f},{h:.2f},up" for h in (1.0, 10.0, 20.0, 30.0))
    watched.page.fill("#sensor-survey textarea", heights)
    watched.page.wait_for_function(
        "() => document.getElementById('sensor-survey-told').textContent.includes('counter 1.01')"
    )
    assert watched.complaints == []
    assert watched.strangers == []
    context.close()
