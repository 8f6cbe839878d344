"""The calibration in force over a span, and what it changes in the correction's terms."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.metrology.proposal import Proposal
from monitor.model import CalibrationAct
from monitor.review.calibration import calibrations_in_force, version_at
from monitor.review.corrections import correction_at
from monitor.review.span import Span
from monitor.rig.rig import MudHose, Reeving, Rig

S = 1_000_000
POINTS = (0.0, 100e3, 200e3, 300e3)
PROPOSAL = Proposal("deadline_tension", POINTS, POINTS, reference="cell 7")


def act(at_s: int, name: str, version: int, in_force: int, text: str = "") -> CalibrationAct:
    return CalibrationAct(at_s, at_s * S, f"calibration_{name}", version, in_force, "A", text)


ACTS = [
    act(10, "proposed", 1, 0, PROPOSAL.to_text()),
    act(20, "approved", 1, 1, "checked"),
    act(30, "rolled_back", 0, 0, "wrong cell"),
]


def test_each_span_tells_what_was_in_force_and_what_came() -> None:
    whole = calibrations_in_force(ACTS, 0, 40 * S)
    assert [(each.version, each.since_us, each.who, each.reason) for each in whole] == [
        (0, None, "", ""),
        (1, 20 * S, "A", "checked"),
        (0, 30 * S, "A", "wrong cell"),
    ]
    assert "4 points" in whole[1].words
    assert "cell 7" in whole[1].words
    assert [each.version for each in calibrations_in_force(ACTS, 21 * S, 25 * S)] == [1]
    assert [version_at(ACTS, second * S) for second in (0, 19, 20, 29, 30)] == [0, 0, 1, 1, 0]
    assert version_at([], 5) == 0


def span(raw_N: float, plain_N: float) -> Span:
    count = 21
    columns = {
        "deadline_tension": np.full(count, raw_N),
        "hook_load_plain_N": np.full(count, plain_N),
        "hook_load_N": np.full(count, plain_N * 1.07),
        "hook_load_half_width_N": np.full(count, 5e3),
        "friction_state": np.ones(count),
        "block_position": np.full(count, 10.0),
    }
    return Span(np.arange(count) * 100_000, columns)


def test_what_a_calibration_changes_is_lines_times_the_change_of_tension() -> None:
    """A sensor that reads 1.5 kN too much, ten lines: 15 kN less on the hook."""
    rig = Rig("example", 245e3, Reeving(10, 0.985))
    found = correction_at(span(101.5e3, 1000e3), S, rig, 10, version=1)
    assert found is not None
    assert found.calibration_N == pytest.approx(-15e3)
    terms = found.plain_N + found.line_N + found.friction_N + found.inertia_N
    assert terms == pytest.approx(found.hook_load_N)
    uncalibrated = correction_at(span(101.5e3, 1015e3), S, rig, 10)
    assert uncalibrated is not None
    assert uncalibrated.calibration_N == 0.0


def test_a_raw_signal_has_no_tension_to_compare_with() -> None:
    rig = Rig("example", 245e3, Reeving(10, 0.985))
    part = span(1.0, 1000e3)
    columns = {name: c for name, c in part.columns.items() if name != "deadline_tension"}
    found = correction_at(Span(part.time_us, columns), S, rig, 10, version=1)
    assert found is not None
    assert np.isnan(found.calibration_N)


def test_what_hangs_of_the_mud_hose_is_a_term() -> None:
    """Half of the hose moves with the block: 440 N/m, 20 m above where the gear was read."""
    hose = MudHose(weight_N_m=440.0, at_block_height_m=-10.0)
    rig = Rig("example", 245e3, Reeving(10, 0.985), mud_hose=hose)
    found = correction_at(span(100e3, 1000e3), S, rig, 10)
    assert found is not None
    assert found.hose_N == pytest.approx(-440.0 * 20.0 / 2.0)
    terms = found.plain_N + found.line_N + found.friction_N + found.inertia_N + found.hose_N
    assert terms == pytest.approx(found.hook_load_N)
