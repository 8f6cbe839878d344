"""A calibration on its way through a record: the text it travels as, as found, a change."""

from __future__ import annotations

import json

import numpy as np
import pytest

from monitor.metrology.calibration import load_of
from monitor.metrology.proposal import Proposal, as_found, change_between, from_text, two_point
from tests.metrology.load_cell import load_cell


def published() -> Proposal:
    loads, readings = load_cell()
    return Proposal(
        "deadline_signal",
        tuple(loads.tolist()),
        tuple(readings.tolist()),
        "quadratic",
        reference="dead weights",
        as_found=((300_000.0, 0.2197),),
        measured="2026-03-01T08:00:00Z",
    )


def test_the_text_gives_back_what_it_was_made_of() -> None:
    proposal = published()
    assert from_text(proposal.to_text()) == proposal
    assert "\n" not in proposal.to_text()


# NIST Statistical Reference Datasets, "Pontius": a load cell, certified values (looked up).
def test_the_published_load_cell_keeps_its_certified_digits_on_the_way() -> None:
    fit = from_text(published().to_text()).fit()
    certified = (0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14)
    assert fit.coefficients == pytest.approx(certified, rel=1e-12)
    assert fit.residual_standard_deviation == pytest.approx(0.205177424076185e-03, rel=1e-12)
    # Inverse at 1.08, from exact rational arithmetic on the certified coefficients (derived).
    assert load_of(fit, np.array([1.08]))[0][0] == pytest.approx(1_483_877.6, abs=0.1)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"reading_of": "hook_load"}, "reading_of"),
        ({"model": "cubic"}, "model"),
        ({"readings": [1.0]}, "must be pairs"),
        ({"loads_N": "many"}, "a list"),
        ({"loads_N": [1.0, None] * 20}, "a list of numbers"),
        ({"reference_uncertainty_N": -1}, "from 0 up"),
        ({"as_found": [[1.0]]}, "pairs of load and reading"),
        ({"series": ["up"]}, "names of series"),
        ({"gain": 1.0}, "unknown in a calibration: gain"),
    ],
)
def test_what_cannot_be_a_calibration_is_refused_with_the_reason(
    change: dict[str, object], told: str
) -> None:
    content = {**json.loads(published().to_text()), **change}
    with pytest.raises(ValueError, match=told):
        from_text(json.dumps(content))


@pytest.mark.parametrize("text", ["", "[1]", "linear", '{"reading_of": "deadline_signal"}'])
def test_a_text_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="expected"):
        from_text(text)


def test_a_curve_that_turns_over_is_refused() -> None:
    bent = Proposal("deadline_signal", (0.0, 1.0, 2.0, 3.0), (0.0, 3.0, 4.0, 3.1), "quadratic")
    with pytest.raises(ValueError, match="turns over"):
        from_text(bent.to_text())


def test_as_found_says_how_far_off_and_whether_that_was_stated() -> None:
    loads = np.arange(0.0, 300e3, 20e3)
    scatter = np.where(np.arange(len(loads)) % 2 == 0, 60.0, -60.0)
    had = Proposal("deadline_tension", tuple(loads), tuple(loads + scatter)).fit()
    found = as_found(((100e3, 100.05e3), (200e3, 203e3)), had)
    assert found.error_N == pytest.approx((50.0, 3000.0), abs=40.0)
    assert found.is_within == (True, False)


def test_a_change_is_the_difference_at_the_same_readings() -> None:
    """Two straight lines through 4-20 mA; the second has 1 % more span (derived)."""
    before, after = two_point(400e3, 0.004, 0.020), two_point(404e3, 0.004, 0.020)
    change = change_between(before, after)
    assert change.greatest_N == pytest.approx(4e3)
    assert change.greatest_share == pytest.approx(4 / 404)
