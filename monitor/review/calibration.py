"""Which calibration made the rows of a span: in force as it began, and each change in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.metrology.proposal import from_text
from monitor.model import CalibrationAct

RIG_FILE = 0


@dataclass(frozen=True, slots=True)
class InForce:
    """A calibration in force; ``since_us`` None: the rig file's, nothing before it."""

    version: int  # 0 is the rig file's
    since_us: int | None
    who: str
    reason: str
    words: str  # what it is; empty for the rig file's


def calibrations_in_force(
    acts: Sequence[CalibrationAct], from_us: int, to_us: int
) -> list[InForce]:
    """Give the one in force at ``from_us`` and those that came into force up to ``to_us``."""
    words = {
        act.version: from_text(act.text).in_words()
        for act in acts
        if act.act == "calibration_proposed"
    }
    found = [InForce(RIG_FILE, None, "", "", "")]
    for act in sorted(acts, key=lambda each: each.seq):
        if act.time_us > to_us or act.in_force == found[-1].version:
            continue
        told = InForce(act.in_force, act.time_us, act.who, act.text, words.get(act.in_force, ""))
        if act.time_us <= from_us:
            found = [told]
        else:
            found.append(told)
    return found


def version_at(acts: Sequence[CalibrationAct], time_us: int) -> int:
    """Version in force at a moment."""
    return calibrations_in_force(acts, time_us, time_us)[-1].version
