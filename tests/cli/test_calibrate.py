"""`hookload calibrate`: points in, certificate out."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow.parquet as pq
import pytest

from monitor.cli import main
from tests.metrology.load_cell import load_cell

ROOT = Path(__file__).parent.parent.parent
LAND_RIG = str(ROOT / "config" / "land_rig.toml")
WHEN = ("--when", "2026-03-01T10:00:00+02:00")
UP_AND_DOWN = """reference_load [kN],reading [mA],series
0,4.00,1 up
50,7.21,1 up
100,10.39,1 up
150,13.62,1 up
200,16.79,1 up
150,13.64,1 down
100,10.43,1 down
50,7.24,1 down
0,4.01,1 down
"""


@pytest.fixture
def published(tmp_path: Path) -> Path:
    """The published load cell as a file of points."""
    path = tmp_path / "cell.csv"
    loads, readings = (values.tolist() for values in load_cell())
    rows = [f"{load},{reading}" for load, reading in zip(loads, readings, strict=True)]
    path.write_text("\n".join(["reference_load [lbf],reading [deflection]", *rows]) + "\n")
    return path


def calibrate(points: Path, *words: str) -> dict[str, Any]:
    out = points.with_name("cert.json")
    assert main(["calibrate", str(points), "--out", str(out), *WHEN, *words]) == 0
    content: dict[str, Any] = json.loads(out.read_text())
    return content


def write(tmp_path: Path, text: str = UP_AND_DOWN) -> Path:
    path = tmp_path / "points.csv"
    path.write_text(text)
    return path


def test_the_published_load_cell(published: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cert = calibrate(published, "--model", "quadratic", "--who", "A. Person")
    certified = (0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14)
    assert cert["coefficients"] == pytest.approx(certified, rel=1e-12)
    assert cert["residual_standard_deviation"] == pytest.approx(0.205177424076185e-03, rel=1e-12)
    assert cert["lower_limit_factor"] == pytest.approx(4.92426e-4, rel=1e-6)
    assert cert["range"]["load"] == [150_000.0, 3_000_000.0]
    assert (cert["load_unit"], cert["reading_unit"]) == ("lbf", "deflection")
    assert (cert["who"], cert["when"]) == ("A. Person", "2026-03-01T08:00:00.000Z")
    assert len(cert["points"]) == 40
    assert cert["degrees_of_freedom"] == 37
    said = capsys.readouterr()
    assert "reading [deflection] = +0.000673566 +7.32059e-07 load -3.16082e-15 load^2" in said.out


def test_the_inverse_gives_back_the_loads(published: Path) -> None:
    inverse = calibrate(published, "--model", "quadratic")["inverse"]
    c = inverse["coefficients"]
    for row in inverse["table"]:
        load = c[0] + c[1] * row["reading"] + c[2] * row["reading"] ** 2
        assert abs(load - row["load"]) <= inverse["coefficients_largest_difference"] * 1.001
    assert inverse["coefficients_largest_difference"] < 50.0  # of 3 000 000 lbf
    assert all(400 < row["half_width_95"] < 700 for row in inverse["table"])
    line = calibrate(published)["inverse"]
    assert line["coefficients_largest_difference"] == 0.0


def test_a_curved_cell_fitted_straight_is_told(published: Path) -> None:
    notes = calibrate(published)["notes"]
    assert any(note.startswith("The points are curved: a quadratic") for note in notes)


def test_up_and_down(tmp_path: Path) -> None:
    cert = calibrate(write(tmp_path))
    assert cert["series"]["reversibility_percent"] == pytest.approx(100 * 0.03 / 3.205, rel=1e-3)
    assert cert["series"]["repeatability_percent"] is None
    assert cert["zero_reading"] == pytest.approx(4.005)
    assert [row["load_is"] for row in cert["points"]] == ["rising"] * 5 + ["falling"] * 4
    assert any("at least 30" in note for note in cert["notes"])
    free = calibrate(write(tmp_path), "--through-zero")
    assert free["coefficients"][0] == 0.0
    assert any("do not hold it through zero" in note for note in free["notes"])


def test_the_same_points_give_the_same_bytes(tmp_path: Path) -> None:
    path = write(tmp_path)
    calibrate(path)
    first = path.with_name("cert.json").read_bytes()
    calibrate(path)
    assert path.with_name("cert.json").read_bytes() == first
    assert main(["calibrate", str(path), "--out", str(tmp_path / "now.json")]) == 0
    now = json.loads((tmp_path / "now.json").read_text())
    assert {**now, "when": None} == {**json.loads(first), "when": None}
    assert now["when"].endswith("Z")


def test_hook_loads_with_a_rig(tmp_path: Path) -> None:
    text = "reference_hook_load [kN],reading [mA]\n" + "".join(
        f"{load},{4 + load / 200}\n" for load in (250, 600, 1000, 1500)
    )
    path = write(tmp_path, text)
    cert = calibrate(path, "--rig", LAND_RIG, "--direction", "hoisting")
    assert cert["reeving"]["sheave_efficiency"] < 1.0
    assert cert["points"][0]["reference_hook_load"] == 250.0
    assert cert["points"][0]["reference_load"] < 50.0
    assert any("sheave efficiency" in note for note in cert["notes"])


def test_an_outlier_and_a_dead_sensor_are_named(tmp_path: Path) -> None:
    rows = [f"{10 * k},{4 + 0.8 * k + (0.5 if k == 7 else 0.001 * (-1) ** k)}" for k in range(20)]
    path = write(tmp_path, "\n".join(["reference_load [kN],reading [mA]", *rows]))
    assert any("line 9 of the points" in note for note in calibrate(path)["notes"])
    rows = [f"{10 * k},{4 + 0.01 * (-1) ** k + 1e-6 * k}" for k in range(8)]
    path = write(tmp_path, "\n".join(["reference_load [kN],reading [mA]", *rows]))
    assert any("hardly depends on the load" in note for note in calibrate(path)["notes"])


@pytest.mark.parametrize(
    ("text", "words", "expected"),
    [
        (UP_AND_DOWN, ("--model", "cubic"), "--model"),
        (UP_AND_DOWN, ("--when", "yesterday"), "--when yesterday"),
        (UP_AND_DOWN, ("--rig", "absent.toml"), "absent.toml"),
        ("reference_load [kN],reading [mA]\n1,2\n2,3\n", (), "loads has 2 points"),
        ("reference_load [kN],reading [mA]\n5,2\n5,3\n5,4\n", (), "1 different loads"),
        ("reference_load [kN],reading [mA]\n0,4\n5,4\n9,4\n", (), "flat or turns over"),
        ("reference_load [kN],reading [mA]\n0,x\n", (), 'line 2: column "reading": value "x"'),
        ("reference_hook_load [kN],reading [mA]\n0,4\n", (), "--rig R.toml"),
    ],
)
def test_what_cannot_be_obeyed_is_refused_and_nothing_written(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    text: str,
    words: tuple[str, ...],
    expected: str,
) -> None:
    path, out = write(tmp_path, text), tmp_path / "cert.json"
    try:
        status = main(["calibrate", str(path), "--out", str(out), *words])
    except SystemExit as stop:
        status = int(stop.code or 0)
    said = capsys.readouterr()
    assert status == 2
    assert expected in said.err
    assert "Traceback" not in said.err
    assert said.out == ""
    assert not out.exists()


def test_the_points_are_never_overwritten(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path)
    assert main(["calibrate", str(path), "--out", str(path)]) == 2
    assert "name another" in capsys.readouterr().err
    assert path.read_text() == UP_AND_DOWN
    assert main(["calibrate", str(tmp_path / "no.csv"), "--out", str(tmp_path / "c.json")]) == 2
    assert "no such file" in capsys.readouterr().err


HALF_PERCENT = """reference_load [kN],reading [kN]
0,0.5
100,100.0
200,199.5
300,299.0
"""


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "trip.csv"
    words = ("simulate", "trip_out", "--seed", "11", "--hours", "0.1", "--hz", "5")
    assert main([*words, "--out", str(path)]) == 0
    return path


def analysed(record: Path, name: str, *words: str) -> tuple[dict[str, Any], Any]:
    out = record.with_name(name)
    rig = str(record.with_name("trip.rig.toml"))
    assert main(["analyse", str(record), "--rig", rig, "--out", str(out), "--series", *words]) == 0
    return json.loads((out / "summary.json").read_text()), pq.read_table(out / "series.parquet")


def test_a_record_is_reprocessed_under_another_calibration_beside_the_first(
    record: Path, tmp_path: Path
) -> None:
    calibrate(write(tmp_path, HALF_PERCENT))
    before, plain = analysed(record, "as_recorded")
    after, corrected = analysed(record, "beside", "--calibration", str(tmp_path / "cert.json"))
    assert (before["calibration_in_force"], after["calibration_in_force"]) == (0, 1)
    loads = [table["hook_load_N"].to_numpy() for table in (plain, corrected)]
    both = np.isfinite(loads[0]) & np.isfinite(loads[1])
    # reading = 0.5 kN + 0.995 load, so load = (reading - 0.5 kN) / 0.995 (by hand): on ten
    # lines with friction 9.2 to 10.9 times that zero; line weight and inertia add 0.3 kN.
    less = loads[1][both] - loads[0][both] / 0.995
    assert both.sum() > 1000
    assert less.min() > -6.0e3
    assert less.max() < -4.2e3


def test_the_acts_of_a_record_can_name_a_certificate(record: Path, tmp_path: Path) -> None:
    calibrate(write(tmp_path, HALF_PERCENT))
    acts = tmp_path / "acts.csv"
    acts.write_text(
        "time,act,value,who\n"
        "2026-03-01T00:01:00Z,calibration_proposed,cert.json,A. Person\n"
        "2026-03-01T00:02:00Z,calibration_approved,1,B. Person\n"
        "2026-03-01T00:03:00Z,calibration_rolled_back,0 zero has moved,B. Person\n"
        "2026-03-01T00:04:00Z,calibration_approved,7,B. Person\n"
    )
    summary, _ = analysed(record, "with_acts", "--acts", str(acts))
    assert summary["calibration_in_force"] == 0
    assert "no version 7" in summary["acts_refused"][0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (UP_AND_DOWN.replace("mA", "bar"), "readings are in bar"),
        (UP_AND_DOWN, "the record gives deadline_tension"),
    ],
)
def test_a_certificate_of_something_else_is_refused(
    record: Path, tmp_path: Path, text: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    calibrate(write(tmp_path, text))
    capsys.readouterr()
    rig = str(record.with_name("trip.rig.toml"))
    words = ["analyse", str(record), "--rig", rig, "--out", str(tmp_path / "out")]
    assert main([*words, "--calibration", str(tmp_path / "cert.json")]) == 2
    assert told in capsys.readouterr().err


def test_a_certificate_that_was_edited_is_refused(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    calibrate(write(tmp_path, HALF_PERCENT))
    path = tmp_path / "cert.json"
    content = json.loads(path.read_text())
    content["coefficients"][1] *= 1.01
    path.write_text(json.dumps(content))
    rig = str(record.with_name("trip.rig.toml"))
    words = ["analyse", str(record), "--rig", rig, "--out", str(tmp_path / "out")]
    assert main([*words, "--calibration", str(path)]) == 2
    assert "changed or damaged" in capsys.readouterr().err


def test_the_certificate_as_a_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    points, page = write(tmp_path), tmp_path / "cert.html"
    cert = calibrate(
        points, "--certificate", str(page), "--reference", "cell 7 (invented)",
        "--reference-certificate", "no. 12 (invented)", "--reference-uncertainty", "0.5",
    )  # fmt: skip
    text = page.read_text(encoding="utf-8")
    assert str(page) in capsys.readouterr().out
    for told in ("cell 7 (invented)", "no. 12 (invented)", cert["points_sha256"], "Approved by"):
        assert told in text
    assert cert["reference"]["half_width_95_percent"] == 0.5
    plain = calibrate(points)
    # 0.5 % of 200 kN in squares with what the scatter gives.
    widths = [c["inverse"]["table"][5]["half_width_95"] for c in (plain, cert)]
    assert widths[1] == pytest.approx((widths[0] ** 2 + 1.0) ** 0.5, rel=1e-9)


def test_as_found_points_are_beside_the_fit(tmp_path: Path) -> None:
    cert = calibrate(write(tmp_path, UP_AND_DOWN + "100,10.00,as found\n"))
    plain = calibrate(write(tmp_path))
    assert cert["coefficients"] == plain["coefficients"]
    (row,) = cert["as_found"]
    c0, c1 = plain["coefficients"]
    assert row["residual_load"] == pytest.approx((10.0 - c0) / c1 - 100.0)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--certificate", "points.csv"), "--certificate is the file of the points"),
        (("--certificate", "cert.json"), "--out and --certificate are one file"),
        (("--reference-uncertainty", "50"), "percent of the greatest load, 0 to 20"),
    ],
)
def test_wrong_options_of_the_certificate(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str], told: str
) -> None:
    points = write(tmp_path)
    value = str(tmp_path / words[1]) if "." in words[1] else words[1]
    out = str(tmp_path / "cert.json")
    assert main(["calibrate", str(points), "--out", out, *WHEN, words[0], value]) == 2
    assert told in capsys.readouterr().err
    assert not Path(out).exists()
