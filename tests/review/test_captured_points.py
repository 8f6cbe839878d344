"""Points from a record: which known loads, which way the block moved, what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from monitor.mechanics.pipe import buoyancy_factor
from monitor.review.captured_points import (
    CaptureError,
    Reading,
    captured,
    known_load_N,
    moved,
)
from monitor.review.reference_kinds import AT_SENSOR, KINDS
from monitor.simulate.demo_rig import demo_rig_with_signal

RIG = demo_rig_with_signal()
ROWS = 300


def reading(**changes: object) -> Reading:
    """Half a minute of a still signal, the block raised before."""
    whole = Reading(
        time_us=np.arange(ROWS, dtype=np.int64) * 100_000,
        raw=np.full(ROWS, 0.0060),
        signal=np.full(ROWS, 0.0060),
        reference_N=np.full(ROWS, 200e3),
        block_m=np.full(ROWS, 12.0),
        friction=np.ones(ROWS),
        reading_of="deadline_signal",
        reach=0.016,
        lines_strung=10,
        travelling_weight_N=245e3,
        bit_depth_m=1000.0,
    )
    return replace(whole, **changes)  # type: ignore[arg-type]


def test_a_load_cell_below_the_hook_is_carried_to_the_sensor_by_hand() -> None:
    here = reading()
    (spell,) = here.spells()
    point = captured(here, RIG, spell, "load_cell", 200e3)
    e = 0.985
    factor = sum(e**-k for k in range(10))  # hoisting: W over the dead line's tension
    by_hand = 445e3 / factor - 51.08 * (12.0 - 2.0)
    assert point.sensor_load_N == pytest.approx(by_hand, rel=1e-9)
    assert (point.hook_load_N, point.moved) == (445e3, "hoisting")
    down = captured(reading(friction=-np.ones(ROWS)), RIG, spell, "load_cell", 200e3)
    factor = sum(e**k for k in range(10))
    assert down.sensor_load_N == pytest.approx(445e3 / factor - 510.8, rel=1e-9)


def test_what_the_rig_knows_of_each_reference() -> None:
    here = reading()
    (spell,) = here.spells()
    known = {kind: known_load_N(kind, here, RIG, spell) for kind in KINDS}
    assert known["empty_block"] == 245e3
    assert known["load_cell"] == 200e3
    assert known["no_load"] == 0.0
    assert math.isnan(known["anchor_pull"])
    # 110 m of collars, 140 m of heavy pipe and 750 m of pipe, in mud of 1200 kg/m3.
    in_air = 110.0 * 2184.0 + 140.0 * 719.48 + 750.0 * 343.25
    # Twelve metres of pipe stand above the floor, in air.
    string_N = in_air * buoyancy_factor(1200.0) + 12.0 * 343.25
    assert known["known_string"] == pytest.approx(245e3 + string_N)
    bare = replace(RIG, mud_density_kg_m3=None)
    assert math.isnan(known_load_N("known_string", here, bare, spell))
    assert math.isnan(known_load_N("known_string", reading(bit_depth_m=math.nan), RIG, spell))


def test_a_pull_at_the_anchor_has_no_sheave_in_it() -> None:
    turning = reading(friction=np.zeros(ROWS))
    (spell,) = turning.spells()
    point = captured(turning, RIG, spell, "anchor_pull", 80e3)
    assert (point.sensor_load_N, point.moved) == (80e3, "")
    assert KINDS["anchor_pull"].acts == AT_SENSOR


def test_what_says_nothing_is_refused_with_the_reason() -> None:
    turning = reading(friction=np.full(ROWS, 0.4))
    (spell,) = turning.spells()
    assert moved(turning, spell) == ""
    with pytest.raises(CaptureError, match="move the block half a metre one way"):
        captured(turning, RIG, spell, "load_cell", 200e3)
    here = reading()
    with pytest.raises(CaptureError, match="reference load is missing"):
        captured(here, RIG, spell, "load_cell", math.nan)
    with pytest.raises(CaptureError, match="not steady yet: drifting"):
        captured(here, RIG, replace(spell, why_not="drifting"), "load_cell", 1e5)
    with pytest.raises(CaptureError, match="no such reference: guess"):
        captured(here, RIG, spell, "guess", 1e5)
    with pytest.raises(CaptureError, match="less than the weight of the line"):
        captured(replace(here, travelling_weight_N=0.0), RIG, spell, "load_cell", 1e3)
