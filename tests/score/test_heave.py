"""Floors for the floating rig: pulls among waves are found, waves raise none."""

from __future__ import annotations

import pytest

from monitor.score.case import CaseScore, score_case
from monitor.score.scorecard import figures
from monitor.score.variants import VARIANTS, Case

HEAVE = next(variant for variant in VARIANTS if variant.name == "heave")
# Seeds of the card that hold many pulls in four hours; what they measured on 2026-11-28 is
# beside each floor.
SEEDS = ((1004, 10.0), (1009, 10.0), (1014, 5.0))


@pytest.fixture(scope="module")
def scores() -> list[CaseScore]:
    return [score_case(Case(HEAVE, "floater", seed, hz, 4.0)) for seed, hz in SEEDS]


@pytest.mark.slow
def test_pulls_are_found_among_waves(scores: list[CaseScore]) -> None:
    large = figures("", scores)["large"]
    assert large["true"] == 12
    assert large["hits"] >= 11  # 12
    assert large["false"] <= 1  # 0
    assert large["delay_median_s"] <= 1.0  # 0.65


@pytest.mark.slow
def test_stands_depth_and_band_hold_among_waves(scores: list[CaseScore]) -> None:
    pooled = figures("", scores)
    assert pooled["stands"]["right"] == pooled["stands"]["true"] == 123
    assert pooled["stands"]["extra"] == 0
    assert pooled["bit_depth"]["greatest_error_share"] <= 0.001  # 0.0004
    assert pooled["band"]["inside_share"] >= 0.95  # 0.99
