"""What people did, as the sequence of a report tells it."""

from __future__ import annotations

import numpy as np
import pytest

from monitor.interpret.tally import tally_text
from monitor.model import Command
from monitor.review.sequence import sequence
from monitor.review.span import CHANNELS, RESULTS, Span

NAN = float("nan")
S = 1_000_000


def told(*acts: tuple[str, float, str]) -> list[str]:
    """Lines of the acts alone, in a record of nothing but slips."""
    times = np.arange(0, 60 * S, S, dtype=np.int64)
    columns = {name: np.full(len(times), NAN) for name in (*CHANNELS, *RESULTS)}
    columns["activity"] = np.ones(len(times))
    commands = [
        Command(at, at * S, name, number, text, "toolpusher")
        for at, (name, number, text) in enumerate(acts, 1)
    ]
    lines = sequence(Span(times, columns), [], [], [], commands)
    return [line.text for line in lines if line.kind == "act"]


@pytest.mark.parametrize(
    ("act", "text", "expected"),
    [
        ("tally", tally_text((9.45, 9.52)), ["Pipe tally given: 2 joints, 18.97 m"]),
        ("tally", "none", ["Pipe tally taken away"]),
        ("tally", "94 m", []),  # it was refused
        ("slip_and_cut", "begin", ["Slip and cut begun"]),
        ("slip_and_cut", "end 30 m", ["Line slipped and cut"]),
        ("slip_and_cut", "confirm zero", []),
        ("stuck_mode", "begin", ["Working stuck pipe begun"]),
        ("stuck_mode", "not now", []),
        ("gear", "casing tools", ["Travelling gear: casing tools"]),
    ],
)
def test_acts_are_told_in_words(act: str, text: str, expected: list[str]) -> None:
    assert told((act, NAN, text)) == [f"{words}, by toolpusher." for words in expected]
