"""The Replay page's answers against the pipeline that was cut at the moment, and the truth."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from contextlib import closing
from typing import Any
from zipfile import ZipFile

import pytest

from monitor.ingest.csv_file import read_csv
from monitor.model import Event
from monitor.notes import note_text
from monitor.pipeline import Pipeline
from monitor.report.findings import find
from monitor.report.material import from_files
from monitor.report.record_material import from_record
from monitor.report.story import story_material
from monitor.review.standing import as_known_at
from monitor.store.inbox import Inbox
from monitor.store.moments import Moments
from monitor.web.live_columns import LIVE_COLUMNS
from tests.web.replayed import Client, Replayed, last_row, stuck_event, up_to
from tests.web.serving import served


@pytest.fixture(scope="module")
def record(stuck: Replayed) -> Iterator[Moments]:
    with closing(Moments(stuck.folder)) as reader:
        yield reader


@pytest.fixture(scope="module")
def client(stuck: Replayed) -> Iterator[Client]:
    with served(stuck.folder) as address:
        yield Client(address)


def asked(client: Client, name: str, **values: Any) -> Any:
    answer = client.get(f"/replay/{name}.json", params=values)
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.mark.parametrize("after_s", [-400.0, -0.05, 20.0, 47.9, 51.0, 130.0, 300.0, 1500.0])
def test_a_moment_is_what_the_pipeline_had_said_by_then(
    stuck: Replayed, record: Moments, client: Client, after_s: float
) -> None:
    at_us = stuck_event(stuck).start_us + int(after_s * 1e6)
    pipeline = Pipeline(stuck.rig, bit_depth_m=stuck.truth["bit_depth_m"])
    events: dict[str, Event] = {}
    for samples in read_csv([stuck.file], stuck.rig):
        seen = up_to(samples, at_us)
        if len(seen):
            output = pipeline.feed(seen)
            events |= {event.id: event for event in output.events}
    told = asked(client, "moment", at_us=at_us)
    shown = dict(zip(["seq", "time_us", *LIVE_COLUMNS], told["row"], strict=True))
    for name, decimals in LIVE_COLUMNS.items():
        if name not in output.columns:
            continue  # as received, not made by the pipeline
        then = last_row(output)[name]
        if math.isnan(then):
            assert shown[name] is None, name
        else:
            assert shown[name] == pytest.approx(then, abs=0.6 * 10.0**-decimals), name
    status = pipeline.status()
    for name in ("lines_strung", "travelling_weight_N", "event_limits_N", "floor_m", "crown_m"):
        assert told["status"][name] == status[name], name
    for kind, limit_N in status["alarm_limits_N"].items():
        mine = told["status"]["alarm_limits_N"][kind]
        assert mine is None or mine == pytest.approx(limit_N, rel=0.02), kind
    weakest = min(status["pull_limits"], key=lambda limit: limit["limit_N"])
    assert told["status"]["pull_limits"][0]["name"] == weakest["name"]
    assert told["status"]["pull_limits"][0]["limit_N"] == pytest.approx(
        weakest["limit_N"], rel=1e-6
    )
    newest = sorted(events.values(), key=lambda event: (event.raised_us, event.seq))[-12:]
    assert [each["id"] for each in told["events"]] == [each.id for each in reversed(newest)]
    for mine, then_event in zip(told["events"], reversed(newest), strict=True):
        assert mine["end_us"] == then_event.end_us
        assert mine["alarm"] == then_event.alarm, (mine, then_event)
        if mine["peak_excess_N"] is not None:
            assert mine["peak_excess_N"] == then_event.peak_excess_N


def test_an_event_not_raised_yet_is_known_now_and_was_not_then(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    event = stuck_event(stuck)
    told = asked(client, "moment", at_us=event.start_us + 5_000_000)
    assert event.id not in [each["id"] for each in told["events"]]
    assert event.id in [each["id"] for each in told["known"]["events"]]
    assert told["known"]["stand"]["way"] == "trip out"


def test_hindsight_is_taken_off_an_event() -> None:
    event = Event(7, "overpull", 10, 13, 50, 40, 1.0, 2e6, 1.5e6, 5e5, 1.0, "", True, "A", 60)
    assert as_known_at(event, 12) is None
    then = as_known_at(event, 20, 8e4, 9e4)
    assert then is not None
    assert (then.end_us, then.acknowledged_by, then.alarm) == (None, "", False)
    assert math.isnan(then.peak_excess_N)
    assert as_known_at(event, 60) == event


def test_the_story_of_few_rows_is_the_story_of_all(record: Moments) -> None:
    first, last = record.span_us() or (0, 0)
    few, full = story_material(record, first, last + 1), from_record(record, first, last + 1)
    assert len(few.span) < 0.8 * len(full.span)
    mine, whole = find(few), find(full)
    assert [(x.time_us, x.text) for x in mine.lines] == [(x.time_us, x.text) for x in whole.lines]
    assert mine.spells[0].spell.free == whole.spells[0].spell.free


def test_the_workbench_finds_the_known_stuck_depth(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    first, last = record.span_us() or (0, 0)
    event = stuck_event(stuck)
    (truth,) = stuck.truth["stuck"]
    told = asked(client, "spell", from_us=first, to_us=last + 1, event=event.id)

    spell = find(from_record(record, first, last + 1)).spells[0].spell
    assert spell.free.low_m < truth["free_length_m"] < spell.free.high_m
    assert told["answer"]["length"] == f"{spell.free.free_length_m:.0f} m"
    assert all(len(loop["block"]) <= 250 for loop in told["loops"])
    assert told["limits"][0]["name"] == "drill pipe"
    used = [pull["number"] for pull in told["pulls"] if pull["used"]]
    assert len(used) >= 3


def test_too_few_pulls_give_words_and_an_interval_but_no_figure(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    first, last = record.span_us() or (0, 0)
    span = {"from_us": first, "to_us": last + 1, "event": stuck_event(stuck).id}
    every = asked(client, "spell", **span)
    used = [pull["number"] for pull in every["pulls"] if pull["used"]]
    two = asked(client, "spell", **span, pulls=f"{used[0]},{used[1]}")
    assert two["answer"]["length"] == "no one figure"
    assert "2 of 2 pulls can be used and 3 are needed" in two["words"]
    assert "95 %" in two["answer"]["interval"]
    none = asked(client, "spell", **span, pulls="")
    assert none["answer"]["interval"] == ""
    assert "cannot tell" in none["words"]


def test_worn_pipe_and_a_greater_factor_allow_less(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    first, last = record.span_us() or (0, 0)
    span = {"from_us": first, "to_us": last + 1, "event": stuck_event(stuck).id}

    def pipe_limit(**chosen: str) -> float:
        told = asked(client, "spell", **span, **chosen)
        return next(each["shown"] for each in told["limits"] if each["acts"] == "pipe body")

    worn = pipe_limit(pipe="class 2")
    assert worn < pipe_limit() < pipe_limit(pipe="new")
    assert pipe_limit(factor="1.5") < pipe_limit(factor="1.1")
    # The capacity over the weight on the block goes as one over the factor (API RP 7G).
    gear = 245.0
    ratio = (pipe_limit(factor="1.5") - gear) / (pipe_limit(factor="1.1") - gear)
    assert ratio == pytest.approx(1.1 / 1.5, rel=0.02)


def test_a_span_marked_by_hand_is_worked_like_a_spell_that_was_found(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    event = stuck_event(stuck)
    told = asked(client, "spell", from_us=event.start_us, to_us=event.end_us)
    found = asked(
        client, "spell", from_us=event.start_us - 10**9, to_us=event.end_us, event=event.id
    )
    assert told["by_hand"] is True
    pulls = [pull["number"] for pull in told["pulls"] if pull["kind"] == "pull"]
    assert pulls == [pull["number"] for pull in found["pulls"] if pull["kind"] == "pull"]
    assert told["answer"]["length"] != "no one figure"


@pytest.mark.parametrize(
    ("name", "values", "says"),
    [
        ("moment", {}, "at_us: a whole number is expected"),
        ("moment", {"at_us": 5, "jump": "moon"}, "jump: one of event, stand is expected"),
        ("window", {"from_us": 9, "to_us": 3, "points": 9}, "later than from_us"),
        ("story", {"from_us": 1, "to_us": 2}, "no row of the record lies in that span"),
        ("spell", {"from_us": 1, "to_us": 9, "pulls": "a"}, "pulls: numbers with commas"),
        ("spell", {"from_us": 1, "to_us": 9, "factor": "9"}, "design factor 9"),
        ("spell", {"from_us": 1, "to_us": 9, "pipe": "rusty"}, "pipe class 'rusty'"),
    ],
)
def test_what_cannot_be_answered_is_said_in_words(
    client: Client, name: str, values: dict[str, Any], says: str
) -> None:
    answer = client.get(f"/replay/{name}.json", params=values)
    assert answer.status_code == 400
    assert says in answer.json()["error"]


def test_a_month_asked_for_at_once_is_refused_for_a_report(client: Client) -> None:
    answer = client.get("/replay/report.html", params={"from_us": 0, "to_us": 4 * 86_400_000_000})
    assert answer.status_code == 400
    assert "three days at most" in answer.json()["error"]


def test_report_and_data_are_those_of_the_report_command(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    event = stuck_event(stuck)
    span = {"from_us": event.start_us - 600_000_000, "to_us": event.end_us + 300_000_000}
    page = client.get("/replay/report.html", params=span)
    assert 'filename="hook-load-' in page.headers["content-disposition"]
    assert "<h1>Stuck pipe" in page.text
    packed = client.get("/replay/data.zip", params=span)
    with ZipFile(io.BytesIO(packed.content)) as archive:
        names = archive.namelist()
        pulls = archive.read(next(name for name in names if name.endswith("pulls.csv")))
    by_file = from_files(
        [stuck.file], stuck.rig, bit_depth_m=stuck.truth["bit_depth_m"],
        from_us=span["from_us"], to_us=span["to_us"],
    )  # fmt: skip
    told = sum(len(found.spell.pulls) for found in find(by_file).spells)
    assert len(pulls.decode().splitlines()) == 1 + told
    book = client.get("/replay/data.xlsx", params=span)
    with ZipFile(io.BytesIO(book.content)) as archive:
        assert "xl/workbook.xml" in archive.namelist()


def test_a_note_shows_in_its_window_and_alters_nothing(
    stuck: Replayed, record: Moments, client: Client
) -> None:
    event = stuck_event(stuck)
    span = {"from_us": event.start_us - 60_000_000, "to_us": event.end_us, "points": 300}
    before = asked(client, "window", **span)
    assert "first pull" not in [note["text"] for note in before["notes"]]
    with closing(Inbox(stuck.folder)) as inbox:
        inbox.put(
            "note", text=note_text("first pull", event.start_us), who="A. Engineer", wall_us=1
        )
    after = asked(client, "window", **span)
    assert after["buckets"] == before["buckets"]
    assert ("first pull", "A. Engineer") in [(n["text"], n["who"]) for n in after["notes"]]


def test_windows_are_bounded_whatever_they_span(record: Moments, client: Client) -> None:
    first, last = record.span_us() or (0, 0)
    for span_s in (10, 600, 1800, 4000):
        told = asked(
            client, "window", from_us=first, to_us=min(last, first + span_s * 10**6), points=1200
        )
        assert len(told["buckets"]["time_us"]) <= 1202
        assert len(told["events"]) <= 300
    assert len(asked(client, "record")["bands"]["time_us"]) <= 902
    frames = asked(client, "frames", from_us=first, step_us=1, count=100_000)
    assert len(frames["rows"]) <= 200
