"""Versions of a record: who, what each would change, as found, and their certificates."""

from __future__ import annotations

import pytest

from monitor.metrology.proposal import Proposal
from monitor.model import CalibrationAct
from monitor.report.certificate_page import certificate_page
from monitor.report.sensor_versions import fit_of, version_certificate, versions
from monitor.simulate.demo_rig import demo_rig_with_signal

RIG = demo_rig_with_signal()


def proposal(gain: float) -> str:
    """Five points of a sensor whose gain is off by so much from 400 kN at 20 mA."""
    loads = (20e3, 40e3, 60e3, 80e3, 100e3)
    noise = (1e-6, -1e-6, 0.0, 1e-6, -1e-6)
    readings = tuple(
        0.004 + 0.016 * gain * load / 400e3 + off for load, off in zip(loads, noise, strict=True)
    )
    return Proposal(
        "deadline_signal", loads, readings, reference="cell 7 (invented)",
        certificate="no. 1 (invented)", reference_uncertainty_N=100.0,
        as_found=((50e3, 0.0064),), measured="2026-03-01T10:00:00.000Z", measured_by="A. Person",
    ).to_text()  # fmt: skip


def acts() -> list[CalibrationAct]:
    """Proposed, approved; a second proposed; gone back to the rig file."""
    rows = [
        ("calibration_proposed", 1, 0, "A. Person", proposal(1.02)),
        ("calibration_approved", 1, 1, "B. Person", "after a change of sensor"),
        ("calibration_proposed", 2, 1, "A. Person", proposal(1.05)),
        ("calibration_rolled_back", 0, 0, "B. Person", "only a trial"),
    ]
    return [
        CalibrationAct(10 * n, n * 60_000_000, act, version, in_force, who, text)
        for n, (act, version, in_force, who, text) in enumerate(rows, 1)
    ]


def test_each_version_tells_who_when_and_what_it_would_change() -> None:
    told = versions(acts(), RIG, "deadline_signal", "metric")
    assert told["in_force"] == 0
    second, first, rig_file = told["rows"]
    assert [row["state"] for row in told["rows"]] == ["proposed", "not in force", "in force"]
    assert [act["who"] for act in first["acts"]] == ["A. Person", "B. Person"]
    assert first["acts"][1]["text"] == "after a change of sensor"
    assert rig_file["version"] == 0
    # 2 % and 5 % of gain at 100 kN, against the two points of the rig file.
    assert first["change"] == pytest.approx(2.0, abs=0.05)
    assert second["change_percent"] == pytest.approx(5.0, abs=0.1)
    # As found 6.4 mA at 50 kN: the rig file shows 60, 10 out; the first version shows 58.8.
    assert first["as_found_worst"] == pytest.approx(10.0, abs=0.01)
    assert second["as_found_worst"] == pytest.approx(60.0 / 1.02 - 50.0, abs=0.1)


def test_a_saved_version_prints_with_what_was_in_force_before_it() -> None:
    made = version_certificate(acts(), 2, RIG, "metric")
    assert made is not None
    found, settings = made
    assert found["coefficients"][1] == pytest.approx(0.016 * 1.05 / 400.0 * 1e3, rel=1e-3)
    assert found["reference"]["half_width_95_percent"] == pytest.approx(0.196)
    assert found["as_found"][0]["error_before"] == pytest.approx(60.0 / 1.02 - 50.0, abs=0.1)
    page = certificate_page(found, settings)
    for told in ("cell 7 (invented)", "Version 2 proposed", "4 to 20 mA, span 400 kN"):
        assert told in page
    assert version_certificate(acts(), 7, RIG, "metric") is None
    assert version_certificate(acts(), 0, RIG, "metric") is None


def test_without_acts_the_rig_file_is_in_force() -> None:
    told = versions([], RIG, "deadline_signal", "metric")
    assert [row["state"] for row in told["rows"]] == ["in force"]
    fit = fit_of([], 0, RIG, "deadline_signal")
    assert fit is not None
    assert fit.coefficients == pytest.approx((0.004, 0.016 / 400e3))
    assert fit_of([], 0, RIG, "deadline_tension") is not None
