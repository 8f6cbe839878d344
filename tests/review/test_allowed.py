"""What may be pulled: as declared at that moment, by the pipe condition and factor chosen."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from monitor.model import Command
from monitor.review.agreed import agreed_changes, agreed_limit_N
from monitor.review.allowed import PipeChoice, allowed_pull, in_use_at, with_pipe
from monitor.rig.file import parse_rig

RIG = parse_rig((Path(__file__).parents[2] / "config" / "land_rig.toml").read_text("utf-8"))
S = 1_000_000


def act(at_s: int, name: str, number: float = math.nan, text: str = "", who: str = "A") -> Command:
    return Command(0, at_s * S, name, number, text, who)


def pipe_limit_N(choice: PipeChoice) -> float:
    limits = allowed_pull(RIG, in_use_at(RIG, [], 0), 3000.0, choice)
    return next(limit.limit_N for limit in limits if limit.acts == "pipe body")


def test_the_design_factor_divides_the_capacity() -> None:
    """Capacity of the pipe at the rig floor over the factor, and the travelling weight on top."""
    one, two = pipe_limit_N(PipeChoice(design_factor=1.0)), pipe_limit_N(PipeChoice(None, 2.0))
    weight = RIG.travelling_weight_N
    assert one - weight == pytest.approx(2.0 * (two - weight))
    # 5-in 19.50 lb/ft S135 premium bears 560 800 lbf (supplier's sheet, looked up).
    assert (one - weight) / 4.4482216 == pytest.approx(560_800.0, rel=5e-4)


def test_the_condition_is_that_of_the_sheet() -> None:
    """New pipe bears 712 100 lbf (supplier's sheet, looked up)."""
    new = pipe_limit_N(PipeChoice("new", 1.0)) - RIG.travelling_weight_N
    assert new / 4.4482216 == pytest.approx(712_100.0, rel=5e-4)


def test_no_choice_is_the_rig_file() -> None:
    assert with_pipe(RIG, PipeChoice()) is RIG
    assert not PipeChoice().is_made
    assert PipeChoice().fault() == ""


@pytest.mark.parametrize(
    ("choice", "why"),
    [
        (PipeChoice("worn"), "new, premium, class 2"),
        (PipeChoice(None, 0.9), "from 1 to below 5"),
        (PipeChoice(None, math.nan), "from 1 to below 5"),
    ],
)
def test_a_choice_that_cannot_be_is_told(choice: PipeChoice, why: str) -> None:
    assert why in choice.fault()


def test_limits_are_of_what_was_declared_by_then() -> None:
    acts = [
        act(10, "lines_strung", 12.0, "12"),
        act(20, "travelling_weight", 300e3),
        act(30, "duty", text="pulling on stuck pipe"),
        act(40, "lines_strung", 8.0, "8"),
    ]
    assert in_use_at(RIG, acts, 5 * S).lines_strung == 10
    now = in_use_at(RIG, acts, 35 * S)
    assert (now.lines_strung, now.travelling_weight_N, now.duty) == (
        12, 300e3, "pulling on stuck pipe",
    )  # fmt: skip


def test_agreed_limits_hold_from_the_moment_they_are_agreed() -> None:
    acts = [
        act(10, "agreed_limit", 300e3, "overpull: jars"),
        act(15, "agreed_limit", 400e3, "overpull", who=""),  # refused: by nobody
        act(20, "agreed_limit", math.nan, "overpull"),
    ]
    changes = agreed_changes(RIG, acts)
    assert [(c.before_N, c.who, c.text) for c in changes] == [
        (150e3, "A", "jars"), (300e3, "A", ""),
    ]  # fmt: skip
    limit = agreed_limit_N(RIG, changes, "overpull", np.array([9, 10, 19, 20]) * S)
    assert limit is not None
    assert limit[:3].tolist() == [150e3, 300e3, 300e3]
    assert math.isnan(limit[3])
    unchanged = agreed_limit_N(RIG, changes, "slack_off", np.array([9, 20]) * S)
    assert unchanged is not None
    assert unchanged.tolist() == [100e3, 100e3]
