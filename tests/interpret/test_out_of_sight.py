"""A string changed while nobody saw it: judged widely until its weight is known anew."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.trend import Second, Trend
from monitor.model import Output, Samples
from monitor.pipeline import Pipeline
from tests.interpret.streams import EMPTY_N, NAN, Script, plain_rig, with_gap

LOAD_N = 1200e3
# Ten stands of 27.8 m of 5 in pipe in mud, 290 N/m (derived).
LIGHTER_N = 80e3
STAND_N = LIGHTER_N / 10
PULL_N = 150e3
STANDS = 4


def _out(stands: int, load_N: float, script: Script | None = None) -> Script:
    """Stands out, the first of which weighs so much."""
    return (script or Script()).stands_out(stands, load_N - stands * STAND_N, STAND_N)


def _with_spell(kind: str, seconds: float) -> tuple[Samples, float]:
    """Four stands, a spell of a quarter of an hour, four stands of a lighter string."""
    script = _out(STANDS, LOAD_N)
    first = len(script.block)
    script.hold(seconds, EMPTY_N)
    last = len(script.block)
    samples = _out(STANDS, LOAD_N - STANDS * STAND_N - LIGHTER_N, script).samples()
    load = samples.values["deadline_tension"]
    # A line is never silent: 200 N of noise (common practice) but for the frozen spell.
    noise = np.random.default_rng(1).normal(0.0, 200.0, len(load))
    load += noise
    if kind == "gap":
        return with_gap(samples, first, last), last / 5.0
    if kind == "missing":
        load[first:last] = NAN
    else:
        load[first:last] = load[first]
        samples.values["block_position"][first:last] = 12.0
    return samples, last / 5.0


def _loads(output: Output) -> list[str]:
    return [e.kind for e in output.events if e.kind in ("overpull", "slack_off", "light")]


@pytest.mark.parametrize("kind", ["gap", "missing", "frozen"])
def test_lighter_string_after_a_quarter_of_an_hour_is_no_event(kind: str) -> None:
    samples, _ = _with_spell(kind, 900.0)
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    assert _loads(output) == []
    weights = [row.moving_weight_N for row in output.trip_rows if not row.void]
    last_N = LOAD_N - (2 * STANDS - 1) * STAND_N - LIGHTER_N
    assert weights[-1] == pytest.approx(last_N, abs=2e3)


def test_new_normal_is_known_after_one_stand() -> None:
    """A pull on the second stand after the spell is found as on any other."""
    samples, back_s = _with_spell("gap", 900.0)
    times = samples.time_us / 1e6
    block, load = samples.values["block_position"], samples.values["deadline_tension"]
    second = (times > back_s + 120.0) & (load > 0.9e5)
    start = int(np.flatnonzero(second & (block > 14.0))[0])
    load[start : start + 30] += PULL_N / 10
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    assert _loads(output) == ["overpull"]


@pytest.mark.parametrize(("seconds", "wide"), [(30.0, False), (900.0, True)])
def test_half_a_minute_hides_no_stand(seconds: float, wide: bool) -> None:
    """A quarter of an hour hides ten stands, 80 kN: the band holds them then, and only then."""
    samples, back_s = _with_spell("gap", seconds)
    output = Pipeline(plain_rig(), bit_depth_m=2000.0).feed(samples)
    times = samples.time_us / 1e6
    first = (times > back_s + 18.0) & (times < back_s + 22.0)
    assert np.all((output.columns["band_N"][first] > LIGHTER_N) == wide)
    assert output.columns["excess_N"][first] == pytest.approx(-LIGHTER_N, abs=5e3)


def test_doubt_widens_the_spread_and_ends_with_eight_metres() -> None:
    """12 observations of 0.7 m (``LEAST_OBSERVATIONS``, ``SPACING_M``) make the new level."""
    trend, prior = Trend(), (250.0, 60.0, 1e6)
    for i in range(60):
        trend.add(
            Second(-0.8 * i, 2000.0 - 0.8 * i, 5e3 - 200.0 * i, 0.5, 1.0 + i // 30, True), prior
        )
    before = trend.parameters()
    trend.doubt(60e3)
    doubted = trend.parameters()
    assert doubted[5] == pytest.approx(np.hypot(before[5], 60e3))
    changed = [
        trend.add(
            Second(-58.8 + 0.8 * i, 1941.2 + 0.8 * i, -70e3 + 200.0 * i, 0.5, 3.0, True), prior
        )
        for i in range(-11, 1)
    ]
    assert changed == [False] * 11 + [True]
    assert trend.parameters()[2] == pytest.approx(-70e3, abs=1e3)
    assert trend.parameters()[5] < 20e3
