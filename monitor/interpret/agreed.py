"""Limits agreed with the company man: what is allowed without calling him, by whom, when."""

from __future__ import annotations

import math
from typing import Any

from monitor.interpret.stage import Rows, Stage
from monitor.model import Command
from monitor.rig.rig import Rig
from monitor.units import iso_utc

KINDS = ("overpull", "slack_off")
# A limit beyond this is a slip of the finger on any rig (the rig file's own bound).
GREATEST_LIMIT_N = 5e6


def agreed_kind(text: str) -> tuple[str, str]:
    """Which limit an act ``agreed_limit`` is of, and the reason given after a colon.

    >>> agreed_kind("slack-off: tight hole expected")
    ('slack_off', 'tight hole expected')
    """
    kind, _, reason = text.strip().partition(":")
    return kind.strip().lower().replace("-", "_").replace(" ", "_"), reason.strip()


def agreed_refusal(command: Command) -> str:
    """Why an agreed limit cannot be taken; empty where it can. No number takes it away."""
    kind, _ = agreed_kind(command.text)
    if kind not in KINDS:
        return f"agreed limit refused: {kind or 'nothing'!r} is none of {', '.join(KINDS)}"
    if not command.who.strip():
        return "agreed limit refused: the name of who agreed it is expected"
    if math.isfinite(command.number) and not 0.0 < command.number <= GREATEST_LIMIT_N:
        return "agreed limit refused: it must be above 0 and at most 5000 kN"
    return ""


class AgreedLimits(Stage):
    """Keeps the limits in force; changes no figure of a row."""

    STATE = ("limit_N", "who", "when")

    def __init__(self, rig: Rig) -> None:
        agreed = rig.agreed
        self.limit_N: dict[str, float | None] = {
            "overpull": agreed.overpull_N,
            "slack_off": agreed.slack_off_N,
        }
        self.who, self.when = agreed.who, agreed.when

    def step(self, rows: Rows) -> None:
        """Nothing is derived from what people allow."""

    def command(self, command: Command) -> None:
        """Take a limit raised, lowered or taken away."""
        if command.act != "agreed_limit" or agreed_refusal(command):
            return
        kind, _ = agreed_kind(command.text)
        number = command.number if math.isfinite(command.number) else None
        self.limit_N = {**self.limit_N, kind: number}
        self.who, self.when = command.who, iso_utc(command.time_us)

    def status(self) -> dict[str, Any]:
        """Give them for the screen."""
        return {**self.limit_N, "who": self.who, "when": self.when}
