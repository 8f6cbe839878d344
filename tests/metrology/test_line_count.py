"""Odds of the line count from known weights."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from monitor.metrology.line_count import KnownWeight, line_count_odds
from monitor.metrology.sheave_friction import load_factors

WEIGHT_N, E = 245e3, 0.985


def seen(n_lines: int, weight_N: float = WEIGHT_N, up: bool = True) -> KnownWeight:
    factor = load_factors(E, n_lines)[0 if up else 1]
    return KnownWeight(weight_N / factor, 200.0, WEIGHT_N, 5e3, 1.0 if up else -1.0)


@pytest.mark.parametrize("strung", [6, 8, 10, 12, 14])
@pytest.mark.parametrize("told", [8, 10, 12])
def test_the_count_that_is_strung_is_the_likely_one(strung: int, told: int) -> None:
    found = line_count_odds([seen(strung), seen(strung, up=False)], told, E)
    assert found.most_likely == strung
    assert found.odds > 20.0
    assert sum(found.by_lines.values()) + found.something_else == pytest.approx(1.0)


def test_a_weight_between_two_counts_is_something_else() -> None:
    found = line_count_odds([seen(10, 1.12 * WEIGHT_N)], 10, E)
    assert found.something_else > max(found.by_lines.values())


def test_a_known_string_sharpens_the_odds() -> None:
    """12 % off: alone it could be other gear; a string of known weight says which lines."""
    block = KnownWeight(seen(12).tension_N * 1.03, 300.0, WEIGHT_N, 12e3, 1.0)
    alone = line_count_odds([block], 10, E)
    string_N = 1.2e6
    string = KnownWeight(string_N / load_factors(E, 12)[0], 1000.0, string_N, 25e3, 1.0, "string")
    both = line_count_odds([block, string], 10, E)
    assert both.by_lines[12] > alone.by_lines[12]


def test_two_hypotheses_by_scipys_density() -> None:
    """The ratio of two probabilities is that of prior times normal density (scipy.stats)."""
    weight = seen(10, 1.08 * WEIGHT_N)
    found = line_count_odds([weight], 10, E, efficiency_uncertainty=0.0)
    spread = np.sqrt((200.0 / weight.tension_N) ** 2 + (5 / 245) ** 2 + 0.0025**2)
    density = [
        stats.norm.pdf(np.log(weight.tension_N * load_factors(E, n)[0] / WEIGHT_N), scale=spread)
        for n in (10, 8)
    ]
    ratio = 0.95 * density[0] / (0.05 / 6 * density[1])
    assert found.by_lines[10] / found.by_lines[8] == pytest.approx(ratio, rel=1e-6)


def test_no_weight_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        line_count_odds([], 10, E)
    with pytest.raises(ValueError, match="above 0"):
        line_count_odds([KnownWeight(-1.0, 1.0, 1.0, 1.0)], 10, E)
