"""The sentences of the Sensor page: what they say of checks, odds and uncertainty."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from monitor.model import EmptyCheck
from monitor.report.sensor_section import force
from monitor.report.sensor_sections import (
    line_count_section,
    uncertainty_section,
    zero_section,
)
from monitor.simulate.demo_rig import demo_rig_with_signal

RIG = demo_rig_with_signal()
HOUR_US = 3_600_000_000


def checks(levels_N: Sequence[float], **given: Any) -> list[EmptyCheck]:
    """One an hour; the chart's average and limit as given."""
    found = []
    for number, level_N in enumerate(levels_N):
        facts: dict[str, Any] = {
            "seq": number, "time_us": number * HOUR_US, "direction": "up", "level_N": level_N,
            "height_m": 20.0, "tension_N": level_N / 10.8, "block_height_m": 20.0, "seconds": 30,
            "lines_strung": 10, "declared_N": 245e3, "temperature_K": math.nan, "charted": True,
            "average_N": level_N, "reference_N": 245e3, "limit_N": 12e3,
        }  # fmt: skip
        found.append(EmptyCheck(**(facts | given)))
    return found


def test_a_quiet_zero_is_said_calmly() -> None:
    noise = 300.0 * np.random.default_rng(1).standard_normal(24)
    section = zero_section(checks((245e3 + noise).tolist()), RIG, "metric")
    assert "24 checks of the empty block going up" in section.lines[0]
    assert not section.findings
    assert not section.asks
    assert section.chart.count("<circle") == 24
    assert "Not checked yet" in zero_section([], RIG, "metric").lines[0]


def test_a_drift_says_how_fast_and_when_it_is_at_its_limit() -> None:
    noise = 100.0 * np.random.default_rng(2).standard_normal(20)
    levels = 245e3 + noise + 400.0 * np.arange(20)  # 0.4 kN an hour: 7.6 kN after 19 h
    section = zero_section(checks(levels.tolist()), RIG, "metric")
    said = " ".join(section.lines)
    assert "drifts by 0.40 kN an hour" in said
    hours = re.search(r"1 % of span in (\d+) h", said)
    assert hours is not None
    # 1 % of a span of 400 kN is 42.9 kN at the hook going up with these ten lines; from the
    # middle of the first twenty (9.5 h) on 400 N an hour get there 107 h later, 97.8 h from now.
    up = sum(0.985**-k for k in range(10))
    assert float(hours[1]) == pytest.approx(0.01 * 400e3 * up / 400.0 - 9.5, abs=4.0)


def test_a_step_is_told_from_a_drift_and_beyond_the_limit_it_asks() -> None:
    levels = 245e3 + 100.0 * np.random.default_rng(3).standard_normal(20)
    levels[12:] -= 60e3
    section = zero_section(checks(levels.tolist()), RIG, "metric")
    said = " ".join(section.lines)
    assert "A step of \u221260 kN at 1970-01-01 12:00:00" in said
    assert section.findings[0]["what"] == "the zero has moved"
    assert "fluid and gap at the anchor" in section.findings[0]["check"]
    assert section.asks


def test_a_reading_that_goes_with_the_temperature_says_so() -> None:
    found = [
        EmptyCheck(**{**{n: getattr(one, n) for n in EmptyCheck.__dataclass_fields__},
                      "temperature_K": 280.0 + number})
        for number, one in enumerate(checks([245e3 + 50.0 * n for n in range(12)]))
    ]  # fmt: skip
    section = zero_section(found, RIG, "metric")
    assert "by 0.050 kN \u00b1 0 kN a kelvin" in " ".join(section.notes)


def test_lines_in_doubt_ask_to_be_counted() -> None:
    told = {
        "told": 10, "most_likely": 12, "by_lines": {"12": 0.97, "10": 0.01}, "in_words":
        "the empty block reads like 12 lines (97.0%), told are 10: count the lines",
        "something_else": 0.02,
    }  # fmt: skip
    section = line_count_section(told)
    assert section.asks
    assert "the block reads like 12" in section.findings[0]["what"]
    assert "12: 97.0%" in section.notes[0]
    same = told | {"told": 12}
    assert not line_count_section(same).asks
    assert "Not known yet" in line_count_section({}).lines[0]


def test_a_doubt_wider_than_the_alarm_margin_is_said() -> None:
    told = {
        "hook_load_N": 9.04e5, "hook_load_half_width_N": 95e3, "alarm_margin_N": 90e3,
        "exceeds_alarm_margin": True, "weight_on_bit_half_width_N": None,
        "hook_load_budget": [
            {"name": "sheave efficiency", "half_width_N": 94e3, "less": "measure it: run it"},
        ],
    }  # fmt: skip
    section = uncertainty_section(told, "metric")
    assert section.lines[0] == "Hook load 904 kN \u00b1 95 kN (95 %)."
    assert "wider than the alarm margin of 90 kN" in section.findings[0]["what"]
    assert section.findings[0]["check"] == "measure it: run it"
    assert uncertainty_section({}, "metric").lines == ("No hook load is known now.",)


def test_loads_keep_their_figures_in_every_unit() -> None:
    assert force(-1234.0, "metric") == "\u22121.2 kN"
    assert force(1234567.0, "metric", 3) == "1,235 kN"
    assert force(None, "metric") == "\u2013 kN"
    assert force(44500.0, "field", 3) == "10.0 klbf"
