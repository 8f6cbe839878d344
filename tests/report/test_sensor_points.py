"""Points as text: read, fitted, proposed; against the published load cell where there is one."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np
import pytest

from monitor.metrology.calibration import load_of
from monitor.metrology.proposal import two_point
from monitor.report.certificate import Reference
from monitor.report.certificate_page import CAUTIONS, SIGNERS, certificate_page
from monitor.report.sensor_points import points_answer, points_text, proposal
from monitor.simulate.demo_rig import demo_rig_with_signal
from tests.metrology.load_cell import load_cell

RIG = demo_rig_with_signal()
WHEN = "2026-03-01T10:00:00.000Z"
CAPTURED = """reference_load [kN],reading [mA],series,time,reference,at_hook [kN],moved,block [m]
24.4,5.02,,2026-03-01T10:00:00Z,load_cell,245,hoisting,12
41.5,5.72,,2026-03-01T10:01:00Z,load_cell,445,hoisting,12
47.3,5.94,,2026-03-01T10:02:00Z,load_cell,445,lowering,12
60.3,6.46,,2026-03-01T10:03:00Z,load_cell,645,hoisting,12
41.5,5.73,,2026-03-01T10:04:00Z,load_cell,445,hoisting,12
24.4,5.01,,2026-03-01T10:05:00Z,load_cell,245,hoisting,12
80,7.0,as found,2026-03-01T09:00:00Z,anchor_pull,,,12
"""


def answer(text: str, model: str = "linear", **given: Any) -> dict[str, Any]:
    options: dict[str, Any] = {
        "model": model, "through_zero": False, "reference": Reference(), "who": "A. Person",
        "when": WHEN, "before": None,
    }  # fmt: skip
    return points_answer(text, RIG, **(options | given))


def test_the_published_load_cell_comes_through_the_page_to_the_digits_certified() -> None:
    loads, readings = (values.tolist() for values in load_cell())
    rows = [f"{load},{reading}" for load, reading in zip(loads, readings, strict=True)]
    text = "\n".join(["reference_load [lbf],reading [deflection]", *rows])
    found = answer(text, "quadratic")["certificate"]
    # NIST StRD, "Pontius"; certified values, looked up.
    certified = (0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14)
    assert found["coefficients"] == pytest.approx(certified, rel=1e-12)
    with pytest.raises(ValueError, match="no signal|they cannot be put in force"):
        proposal(
            text, RIG, reading_of="deadline_signal", model="quadratic", through_zero=False,
            reference=Reference(), who="A. Person", when=WHEN,
        )  # fmt: skip


def test_up_and_down_go_by_the_known_load_and_not_by_the_sheaves() -> None:
    rows = answer(CAPTURED)["points"]
    series = [row["series"] for row in rows]
    assert series == ["up", "up", "up", "up", "down", "down", "as found"]


def test_words_in_the_place_of_figures_do_no_harm() -> None:
    told = answer(CAPTURED.replace(",245,", ",about 245,").replace(",12\n", ",high\n"))
    assert len(told["certificate"]["points"]) == 6
    assert "it takes two loads" in told["friction"]


def test_as_found_is_told_beside_the_fit_and_is_not_in_it() -> None:
    told = answer(CAPTURED, before=two_point(400e3, 0.004, 0.020))
    found = told["certificate"]
    assert len(found["points"]) == 6
    (row,) = found["as_found"]
    others = np.polyfit(
        [24.4, 41.5, 47.3, 60.3, 41.5, 24.4], [5.02, 5.72, 5.94, 6.46, 5.73, 5.01], 1
    )
    assert row["residual"] == pytest.approx(7.0 - np.polyval(others, 80.0), rel=1e-9)
    assert "Out by its<br>calibration" in certificate_page(found)
    # The rig file's line shows 75 kN at 7 mA.
    assert found["as_found"][0]["error_before"] == pytest.approx(75.0 - 80.0)
    assert told["points"][-1]["error_before"] == pytest.approx(75.0 - 80.0)


def test_a_proposal_is_what_the_text_says_in_si() -> None:
    made = proposal(
        CAPTURED, RIG, reading_of="deadline_signal", model="linear", through_zero=False,
        reference=Reference("cell 7 (invented)", "no. 1 (invented)", 0.5), who="A. Person",
        when=WHEN, note="new sensor",
    )  # fmt: skip
    assert made.loads_N[:2] == pytest.approx((24.4e3, 41.5e3))
    assert made.readings[:2] == pytest.approx((0.00502, 0.00572))
    assert made.as_found == ((80e3, pytest.approx(0.0070)),)
    assert made.reference_uncertainty_N == pytest.approx(0.005 * 60.3e3 / 1.96)
    again = answer(points_text(made, RIG, "metric"))["certificate"]
    load, _ = load_of(made.fit(), np.array([0.006]))
    assert again["coefficients"][1] * float(load[0]) / 1e3 + again["coefficients"][
        0
    ] == pytest.approx(6.0, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("load,reading\n1,2\n", "no column reference_load"),
        ("reference_load [kN],reading [mA]\n1,x\n2,5\n3,6\n", 'points, line 2: column "reading"'),
        ("reference_load [stone],reading [mA]\n1,4\n", "is no unit of force"),
    ],
)
def test_a_faulty_text_is_refused_in_the_words_of_the_command(text: str, words: str) -> None:
    told = answer(text)
    assert any(words in fault for fault in told["faults"])
    assert told["certificate"] is None


def test_too_few_points_say_how_many_it_takes() -> None:
    told = answer("reference_load [kN],reading [mA]\n0,4\n50,7\n")
    assert "need at least 3" in told["why_no_fit"]
    assert answer("")["why_no_fit"] == "no point yet"


def test_directions_of_the_block_that_lie_apart_are_told() -> None:
    head, *rows = CAPTURED.splitlines()
    apart = [head]
    for row in rows[:-1]:
        apart += [row.replace("lowering", "hoisting"), row.replace("hoisting", "lowering")]
        cells = apart[-1].split(",")
        cells[1] = str(float(cells[1]) - 0.03)
        apart[-1] = ",".join(cells)
    notes = " ".join(answer("\n".join(apart))["certificate"]["notes"])
    assert "After hoisting the points lie 0.74 kN above" in notes  # 0.03 mA over 0.0405 mA/kN
    one_way = "\n".join([head, *(row.replace("lowering", "hoisting") for row in rows)])
    assert "Take them both ways" in " ".join(answer(one_way)["certificate"]["notes"])


def test_the_certificate_stands_alone_and_leaves_the_signatures_to_people() -> None:
    reference = Reference("<b>cell</b> 7 (invented)", "no. 1 (invented)", 0.5)
    found = answer(CAPTURED, reference=reference)["certificate"]
    page = certificate_page(found, [("Rig", "Heron 3 (invented)")])
    for forbidden in ("<script", "http:", "https:", "src=", "href=", "@import", "<b>cell"):
        assert forbidden not in page.replace("http://www.w3.org/2000/svg", "")
    for caution in CAUTIONS:
        assert escape(caution) in page
    for who in SIGNERS:
        assert f"<b>{who}</b><span>name</span><span>signature</span><span>date</span>" in page
    for point in found["points"]:
        assert f"{point['reading']:.2f}" in page
    assert "&lt;b&gt;cell&lt;/b&gt; 7 (invented)" in page
    assert found["points_sha256"] in page


def test_points_of_an_older_test_are_noticed() -> None:
    old = CAPTURED.replace("2026-03-01T10:05", "2026-02-11T10:05")
    notes = answer(old)["certificate"]["notes"]
    assert any("of 2 days, 2026-02-11 to 2026-03-01" in note for note in notes)
    assert not any("days" in note for note in answer(CAPTURED)["certificate"]["notes"])


def test_the_half_width_grows_with_the_reference() -> None:
    plain = answer(CAPTURED)["certificate"]["inverse"]["table"][5]["half_width_95"]
    with_reference = answer(CAPTURED, reference=Reference("cell", "", 2.0))["certificate"]
    grown = with_reference["inverse"]["table"][5]["half_width_95"]
    # 2 % of 60.3 kN, in squares.
    assert grown == pytest.approx(np.hypot(plain, 0.02 * 60.3), rel=1e-9)
