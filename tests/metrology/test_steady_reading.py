"""Steady spells: found where a reading stands still, from what came before only."""

import numpy as np
import pytest

from monitor.metrology.steady_reading import LEAST_S, steady_spells

HZ = 10


def stamps(seconds: float) -> np.ndarray:
    return (np.arange(round(seconds * HZ)) * (1_000_000 // HZ)).astype(np.int64)


def test_mean_and_scatter_are_those_of_numpy() -> None:
    time_us = stamps(40.0)
    values = 5.0 + 0.01 * np.random.default_rng(3).standard_normal(len(time_us))
    (spell,) = steady_spells(time_us, values, 0.1)
    kept = values[time_us >= 2_000_000]
    assert spell.n_readings == len(kept)
    assert not spell.is_frozen
    assert spell.mean == pytest.approx(float(np.mean(kept)), rel=1e-12)
    assert spell.scatter == pytest.approx(float(np.std(kept, ddof=1)), rel=1e-12)
    slope = np.polyfit(time_us[time_us >= 2_000_000] / 1e6, kept, 1)[0]
    assert spell.drift == pytest.approx(slope * (37.9), rel=1e-6)


def test_the_stated_uncertainty_of_the_mean_is_its_scatter_over_many_spells() -> None:
    random = np.random.default_rng(11)
    time_us = stamps(22.0)
    found = [
        steady_spells(time_us, 5.0 + 0.01 * random.standard_normal(len(time_us)), 0.1)[0]
        for _ in range(400)
    ]
    scatter = np.std([spell.mean for spell in found])
    # White noise: sigma over the root of the count; 400 spells tell it to 4 % or so.
    assert scatter == pytest.approx(0.01 / np.sqrt(20 * HZ), rel=0.12)
    stated = np.sqrt(np.mean([spell.mean_uncertainty**2 for spell in found]))
    assert stated == pytest.approx(scatter, rel=0.12)


def test_nothing_that_comes_later_changes_a_spell_that_has_ended() -> None:
    random = np.random.default_rng(5)
    time_us = stamps(120.0)
    values = np.repeat([5.0, 5.5, 6.0, 5.5], 30 * HZ) + 0.002 * random.standard_normal(1200)
    whole = [spell for spell in steady_spells(time_us, values, 0.016) if not spell.is_open]
    for stop in range(35 * HZ, 120 * HZ, 77):
        cut = steady_spells(time_us[:stop], values[:stop], 0.016)
        ended = [spell for spell in cut if not spell.is_open]
        assert ended == whole[: len(ended)]
        assert len(ended) == stop // (30 * HZ) - (stop % (30 * HZ) == 0)


def test_a_drifting_reading_is_not_steady() -> None:
    time_us = stamps(60.0)
    # Slow enough for each second to lie near the spell's mean, too fast over the spell.
    (spell,) = steady_spells(time_us, 5.0 + 4e-4 * time_us / 1e6, 0.016)[-1:]
    assert spell.why_not == "drifting"


def test_too_short_a_spell_says_how_long_it_has_lasted() -> None:
    (spell,) = steady_spells(stamps(7.0), np.full(70, 5.0), 0.01)
    assert spell.is_open
    assert spell.why_not == f"steady for 5 of {LEAST_S} s"


def test_holes_and_missing_readings() -> None:
    time_us = stamps(60.0)
    values = np.full(len(time_us), 5.0)
    values[200:215] = np.nan  # a second and a half
    (spell,) = steady_spells(time_us, values, 0.01)
    assert spell.n_readings == 600 - 15 - 20
    assert spell.is_frozen
    values[200:260] = np.nan  # six seconds: two spells
    assert len(steady_spells(time_us, values, 0.01)) == 2
    assert steady_spells(time_us, np.full(600, np.nan), 0.01) == ()
    assert steady_spells(time_us[:0], values[:0], 0.01) == ()


def test_wrong_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="must pair"):
        steady_spells(stamps(2.0), np.zeros(3), 0.1)
    with pytest.raises(ValueError, match="tolerance is 0.0; must be above 0"):
        steady_spells(stamps(2.0), np.zeros(20), 0.0)
