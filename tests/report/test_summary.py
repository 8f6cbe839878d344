"""Numbers of summary.json in the units of the contract."""

import json

import numpy as np

from monitor.report.summary import json_text, results_part, span_part


def test_totals_are_turned_into_the_contracts_units() -> None:
    totals = {
        "stands": 3,
        "greatest_hook_load_N": 1_234_567.8,
        "line_work_J": 14_317_442.0,  # about one ton-mile: 2000 lbf over 5280 ft
        "margins_N": {"drilling line": 2.5e6, "crown block": float("nan")},
        "stuck": [
            {"start_us": 0, "end_us": None, "free_length_m": 1500.0, "low_m": None, "high_m": None}
        ],
    }
    part = results_part(totals, [])
    assert part["greatest_hook_load_kN"] == 1234.568
    assert part["line_work_MJ"] == 14.317442
    assert abs(part["ton_miles"] - 1.0) < 1e-5  # 2000 lbf x 5280 ft = 14.3174 MJ
    assert part["margins_kN"] == {"drilling line": 2500.0, "crown block": None}
    assert part["stuck"][0]["start"] == "1970-01-01T00:00:00.000Z"
    assert part["stuck"][0]["end"] is None
    assert part["events"] == {}


def test_an_empty_record_has_no_span() -> None:
    assert span_part(None, None) == {"start": None, "end": None, "span_s": None}
    assert span_part(0, 1_500_000)["span_s"] == 1.5


def test_json_never_holds_what_json_has_no_word_for() -> None:
    text = json_text({"a": float("nan"), "b": [np.float64("inf"), np.int64(3)], "c": (1, None)})
    assert json.loads(text) == {"a": None, "b": [None, 3], "c": [1, None]}
