"""Notes and agreed limits: acts of people that change no figure of a row."""

from __future__ import annotations

import math

import pytest

from monitor.interpret.agreed import agreed_refusal
from monitor.model import Command
from monitor.notes import note_of, note_text, read_note
from monitor.pipeline import Pipeline
from tests.laws.records import differences, run, simulated

T = 1_772_332_805_000_000


def act(name: str, number: float = math.nan, text: str = "", who: str = "N. Ame") -> Command:
    return Command(4, T, name, number, text, who)


def test_a_note_is_read_as_it_was_written() -> None:
    span = note_text("worked the pipe: {no} figures / here", T, T + 60_000_000)
    assert read_note(span, 0) == (T, T + 60_000_000, "worked the pipe: {no} figures / here")
    found = note_of(act("note", text=note_text("first drag", T - 500_000)), wall_us=9)
    assert found is not None
    assert (found.from_us, found.to_us, found.text, found.who, found.wall_us) == (
        T - 500_000, None, "first drag", "N. Ame", 9,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "who", "why"),
    [
        ("words", " ", "a name is expected"),
        ("2026-03-01T00:00:00Z", "A", "says nothing"),
        ("2026-03-01T00:00:01Z/2026-03-01T00:00:00Z words", "A", "ends before it begins"),
        ("w" * 1001, "A", "1001 characters"),
    ],
)
def test_a_note_that_cannot_be_kept_is_refused(text: str, who: str, why: str) -> None:
    rig, _, depth = simulated("trip_out", 0.01)
    refused = act("note", text=text, who=who)
    assert why in Pipeline(rig, bit_depth_m=depth).refusal(refused)
    assert note_of(refused) is None


def test_notes_and_agreed_limits_alter_no_figure() -> None:
    rig, samples, depth = simulated("trip_out", 0.05)
    seq, time_us = int(samples.seq[400]) - 1, int(samples.time_us[400])
    acts = [
        Command(seq, time_us, "note", math.nan, "words", "A"),
        Command(seq, time_us, "agreed_limit", 70e3, "overpull: sticky shale", "B"),
    ]
    assert differences(run(rig, samples, [], (), depth), run(rig, samples, [], acts, depth)) == []


def test_an_agreed_limit_is_in_force_with_its_name_until_taken_away() -> None:
    rig, samples, depth = simulated("trip_out", 0.01)
    pipeline = Pipeline(rig, bit_depth_m=depth)
    pipeline.feed(samples, [act("agreed_limit", 150e3, "overpull: tight hole expected")])
    agreed = pipeline.status()["agreed_N"]
    assert agreed["overpull"] == 150e3
    assert agreed["slack_off"] == rig.agreed.slack_off_N
    assert (agreed["who"], agreed["when"]) == ("N. Ame", "2026-03-01T02:40:05.000Z")
    pipeline = Pipeline.restore(rig, pipeline.snapshot())
    pipeline.feed(samples.piece(0, 0), [act("agreed_limit", math.nan, "overpull")])
    assert pipeline.status()["agreed_N"]["overpull"] is None


@pytest.mark.parametrize(
    ("number", "text", "who", "why"),
    [
        (1e5, "torque", "A", "none of overpull, slack_off"),
        (1e5, "overpull", "", "the name of who agreed"),
        (-1.0, "overpull", "A", "above 0 and at most"),
    ],
)
def test_an_agreed_limit_that_makes_no_sense_is_refused(
    number: float, text: str, who: str, why: str
) -> None:
    refused = act("agreed_limit", number, text, who)
    assert why in agreed_refusal(refused)
    rig, samples, depth = simulated("trip_out", 0.01)
    pipeline = Pipeline(rig, bit_depth_m=depth)
    pipeline.feed(samples, [refused])
    assert pipeline.status()["agreed_N"]["overpull"] == rig.agreed.overpull_N
