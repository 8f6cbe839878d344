"""Agreed limits over time: what was in force when, who changed it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from monitor.interpret.agreed import agreed_kind, agreed_refusal
from monitor.model import Command, Floats, Ints
from monitor.rig.rig import Rig

NAN = float("nan")


@dataclass(frozen=True, slots=True)
class AgreedChange:
    """A change of an agreed limit; not-a-number: none was agreed."""

    time_us: int
    kind: str  # "overpull" or "slack_off"
    before_N: float
    after_N: float
    who: str
    text: str  # as it was written


def agreed_changes(rig: Rig, commands: Sequence[Command]) -> list[AgreedChange]:
    """Every change in order of time, from the acts; the rig file's limits come before."""
    in_force = {"overpull": rig.agreed.overpull_N, "slack_off": rig.agreed.slack_off_N}
    changes = []
    for command in commands:
        if command.act != "agreed_limit" or agreed_refusal(command):
            continue
        kind, reason = agreed_kind(command.text)
        before = in_force[kind]
        changes.append(
            AgreedChange(
                command.time_us,
                kind,
                NAN if before is None else before,
                command.number,
                command.who,
                reason,
            )
        )
        in_force[kind] = command.number if math.isfinite(command.number) else None
    return changes


def agreed_limit_N(
    rig: Rig, changes: Sequence[AgreedChange], kind: str, time_us: Ints
) -> Floats | None:
    """Limit in force at each moment; None where none was ever agreed."""
    first = rig.agreed.overpull_N if kind == "overpull" else rig.agreed.slack_off_N
    limit = np.full(len(time_us), NAN if first is None else first)
    for change in changes:
        if change.kind == kind:
            limit[time_us >= change.time_us] = change.after_N
    return limit if np.isfinite(limit).any() else None
