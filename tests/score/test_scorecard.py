"""A small scorecard with floors: a little under what is measured now, not what is aimed at."""

import json
from collections.abc import Mapping
from typing import Any

import pytest

from monitor.cli import main
from monitor.report.summary import json_text
from monitor.score.case import CaseScore, Row, load_row, score_case
from monitor.score.goals import goals
from monitor.score.matching import Span, Standing
from monitor.score.scorecard import figures, scorecard
from monitor.score.text import scorecard_text
from monitor.score.truth import Truth
from monitor.score.variants import FIRST_SEED, VARIANTS, Case, cases

RUN = ("clean", "near surface", "worked pipe", "drilling", "1 Hz", "5 s")

# Figure, floor, and what this run measured on 2026-11-25. Seeds are fixed, so a change is a
# change of the code; there is room for one event or stand, hardly more. Goals are higher.
FLOORS = (
    ("pooled/large/recall", 0.95),  # 1.000, 23 of 23
    ("pooled/large/precision", 0.94),  # 1.000, 23 of 23
    ("pooled/small/recall", 0.90),  # 1.000, 10 of 10
    ("pooled/small/precision", 0.80),  # 0.909, 10 of 11
    ("pooled/large/peak_within_share", 0.95),  # 1.000, 23 of 23
    ("pooled/stands/right_share", 0.99),  # 131 of 131
    ("pooled/stuck/within_5_percent_share", 1.0),  # one spell
    ("pooled/stuck/inside_interval_share", 1.0),
    ("variants/clean/band/inside_share", 0.98),  # 0.996
    ("variants/near surface/band/inside_share", 0.96),  # 0.988
    ("variants/drilling/weight_on_bit/known_share", 0.99),  # 1.000
    ("variants/1 Hz/large/recall", 0.86),  # 0.909, 20 of 22
    ("variants/1 Hz/large/precision", 0.94),  # 1.000, 20 of 20
    ("variants/5 s/large/recall", 0.87),  # 8 of 8
    ("variants/5 s/large/precision", 0.88),  # 8 of 8
)
CEILINGS = (
    ("pooled/large/delay_median_s", 0.7),  # 0.50
    ("pooled/large/delay_p95_s", 3.4),  # 3.05
    ("pooled/large/false_per_100_stands", 0.8),  # 0 in 131 stands
    ("pooled/bit_depth/greatest_error_share", 0.0003),  # 0.00015
    ("variants/clean/large/delay_median_s", 0.7),  # 0.50
    ("variants/clean/large/false", 0),  # 0
    ("variants/clean/small/false", 1),  # 0
    ("variants/drilling/small/false", 0),  # 0
    ("variants/drilling/weight_on_bit/error_p95_kN", 4.0),  # 2.7
    ("variants/5 s/bit_depth/greatest_error_share", 0.0015),  # 0.0010
)


@pytest.fixture(scope="module")
def card() -> dict[str, Any]:
    chosen = [variant for variant in VARIANTS if variant.name in RUN]
    return scorecard(1, quick=True, variants=chosen)


def at(card: Mapping[str, Any], path: str) -> float:
    """Figure by its path, names parted by slashes."""
    value: Any = card
    for name in path.split("/"):
        value = value[name]
    assert value is not None, path
    return float(value)


@pytest.mark.slow
@pytest.mark.parametrize(("path", "floor"), FLOORS)
def test_not_below(card: dict[str, Any], path: str, floor: float) -> None:
    assert at(card, path) >= floor


@pytest.mark.slow
@pytest.mark.parametrize(("path", "ceiling"), CEILINGS)
def test_not_above(card: dict[str, Any], path: str, ceiling: float) -> None:
    assert at(card, path) <= ceiling


@pytest.mark.slow
def test_table_and_json_say_the_same(card: dict[str, Any]) -> None:
    text, data = scorecard_text(card), json.loads(json_text(card))
    for name in RUN:
        assert name in text
        assert data["variants"][name]["records"] >= 1
    assert "lags the load by 0.20 s" in text
    assert data["sensor_lag_s"] == 0.2
    large = data["pooled"]["large"]
    assert f"{large['hits']}/{large['true']}" in text
    judged = text[text.index("Goals") :].splitlines()[2:]
    assert len(judged) == len(data["goals"])
    for line, goal in zip(judged, data["goals"], strict=True):
        assert line.startswith(goal["name"])


def overpull(start_s: float, end_s: float, peak_kN: float) -> Truth:
    span = Span("overpull", round(start_s * 1e6), round(end_s * 1e6))
    return Truth(span, peak_kN * 1e3, end_s - start_s, span.start_us + 200_000)


def test_nothing_found_is_all_missed() -> None:
    row = load_row([overpull(10, 20, 80)], [Standing.COUNTED], [])
    assert (row.true, row.hits, row.false) == (1, 0, 0)
    assert row.by_kind == {"overpull": [0, 1]}


def score(row: Row, **more: Any) -> CaseScore:
    usual = {"flagged_after": {"line_count_suspect": 0, "zero_drift": 0}, "stands": 50}
    return CaseScore(
        "clean", "trip_out", 1, 10.0, 4.0, 0.2, rows={"large": row}, **{**usual, **more}
    )


def test_figures_by_hand() -> None:
    row = Row(
        true=4, hits=3, false=1, by_kind={"overpull": [3, 4]}, delay_s=[0.2, 0.4, 1.2],
        peak_error_N=[(5e3, 60e3), (-11e3, 100e3), (12e3, 130e3)],
    )  # fmt: skip
    pooled = figures("", [score(row, stands_right=49, stands_extra=1, moved_m=1000.0)])
    large = pooled["large"]
    assert large["recall"] == 0.75
    assert large["precision"] == 0.75
    assert large["false_per_100_stands"] == 2.0
    assert large["false_per_24_h"] == 6.0
    assert large["delay_median_s"] == pytest.approx(0.4)
    # 5 of 60 is within 8; 11 of 100 is not within 10; 12 of 130 is within 13.
    assert large["peak_within_share"] == pytest.approx(2 / 3)
    assert pooled["stands"]["right_share"] == pytest.approx(49 / 51)


def spell(found_m: float | None, low_m: float | None, high_m: float | None) -> dict[str, Any]:
    return {
        "free_length_m": 2000.0, "clean": True, "raised": True,
        "found_m": found_m, "low_m": low_m, "high_m": high_m,
    }  # fmt: skip


def test_a_free_length_that_was_not_told_is_not_near() -> None:
    spells = [
        spell(2080.0, 1990.0, 2100.0), spell(2120.0, 2050.0, 2200.0), spell(None, None, None),
    ]  # fmt: skip
    stuck = figures("", [score(Row(), stuck=spells)])["stuck"]
    assert stuck["within_5_percent_share"] == pytest.approx(1 / 3)
    assert stuck["inside_interval_share"] == pytest.approx(1 / 2)
    assert stuck["error_greatest_share"] == pytest.approx(0.06)


def test_goals_without_figures_are_neither_reached_nor_missed() -> None:
    assert all(goal["met"] is None for goal in goals({}, figures("", [])))


def test_goals_by_hand() -> None:
    after = [{"line_count_suspect": n, "zero_drift": 0} for n in (1, 3, 4, 0)]
    wrong = figures("", [score(Row(), flagged_after=flagged) for flagged in after])
    sound = figures("", [score(Row(true=1, hits=1, false=1), unfounded={"line_count_suspect": 1})])
    judged = {g["name"]: g for g in goals({"clean": sound, "lines +2": wrong}, sound)}
    flagged = judged["line count suspect flagged within 3 in-slips periods"]
    assert (flagged["value"], flagged["met"]) == (0.5, False)
    assert judged["line count suspect false, per 500 in-slips periods"]["value"] == 10.0
    assert judged["false events in clean trips, per 200 stands"]["value"] == 8.0
    assert judged["recall, 60 kN and more"]["met"] is True
    assert judged["precision, 60 kN and more"]["met"] is False


def test_every_variant_has_its_own_records() -> None:
    todo = cases(2, longest_h=1.0, variants=VARIANTS)
    assert {case.variant.name for case in todo} == {variant.name for variant in VARIANTS}
    assert all(case.seed >= FIRST_SEED for case in todo)
    clean = [case for case in todo if case.variant.name == "clean"]
    assert {case.hz for case in clean} == {5.0, 10.0}
    assert len({(case.scenario, case.seed) for case in clean}) == 4


def test_more_processes_change_nothing() -> None:
    drilling = [variant for variant in VARIANTS if variant.name == "drilling"]
    one, two = (scorecard(2, quick=True, n_jobs=n, variants=drilling) for n in (1, 2))
    # As text, since a figure that is not known differs from itself as a number.
    assert json_text(one) == json_text(two)
    assert one["variants"]["drilling"]["weight_on_bit"]["on_bottom_s"] > 1000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--seeds", "0"], "--seeds 0: must be 1 to 1000"),
        (["--quick", "--seeds", "1001"], "--seeds 1001"),
        (["--jobs", "0"], "--jobs 0: must be 1 to 64"),
    ],
)
def test_wrong_use(capsys: pytest.CaptureFixture[str], words: list[str], said: str) -> None:
    assert main(["score", *words]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.slow
def test_stops_of_fast_pipe_raise_little() -> None:
    """A heavy trip in whose mud drags by speed: friction may hold that drag at a stop."""
    score = score_case(Case(VARIANTS[0], "trip_in", 908, 5.0, 4.0))
    small = score.rows["small"]
    assert (small.true, small.hits) == (6, 6)
    assert small.false <= 4  # 3 on 2026-11-25; 6 without the wait at a stop
