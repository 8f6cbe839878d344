"""What may be pulled: every limit as it was then, with the pipe's condition and factor chosen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from monitor.mechanics.pipe_limits import PullLimit
from monitor.mechanics.ratings import InUse, in_use_at_first, pull_limits
from monitor.model import Command
from monitor.rig.catalogue import PIPE_CLASSES
from monitor.rig.rig import Pipe, Rig

# As the rig file takes it.
LEAST_DESIGN_FACTOR, GREATEST_DESIGN_FACTOR = 1.0, 5.0


@dataclass(frozen=True, slots=True)
class PipeChoice:
    """Condition of the pipe and design factor to judge by; None: as the rig file says."""

    pipe_class: str | None = None  # new, premium or class 2
    design_factor: float | None = None

    @property
    def is_made(self) -> bool:
        """Whether anything but the rig file's own is chosen."""
        return self.pipe_class is not None or self.design_factor is not None

    def fault(self) -> str:
        """What is wrong with it; empty where nothing is."""
        if self.pipe_class is not None and self.pipe_class not in PIPE_CLASSES:
            return f"pipe class {self.pipe_class!r}: one of {', '.join(PIPE_CLASSES)} is expected"
        factor = self.design_factor
        if factor is not None and not LEAST_DESIGN_FACTOR <= factor < GREATEST_DESIGN_FACTOR:
            return f"design factor {factor:g}: from 1 to below 5 is expected"
        return ""


AS_GIVEN = PipeChoice()


def with_pipe(rig: Rig, choice: PipeChoice) -> Rig:
    """Give the rig with the uppermost section in the chosen condition, at the chosen factor."""
    if not choice.is_made or not rig.string:
        return rig
    pipe = rig.pipe or Pipe()
    top = rig.string[-1]
    if choice.pipe_class is not None:
        pipe = replace(pipe, pipe_class=choice.pipe_class)
        top = replace(top, pipe_class=choice.pipe_class)
    if choice.design_factor is not None:
        pipe = replace(pipe, design_factor=choice.design_factor)
    return replace(rig, pipe=pipe, string=(*rig.string[:-1], top))


def in_use_at(rig: Rig, commands: Sequence[Command], time_us: int) -> InUse:
    """Lines strung, gear and its weight, duty and compensator as declared up to a moment."""
    found = in_use_at_first(rig)
    sets = {gear.name: gear for gear in rig.gear}
    for command in commands:
        if command.time_us > time_us:
            continue
        known, text = math.isfinite(command.number), command.text.strip()
        if command.act == "lines_strung" and known:
            found = replace(found, lines_strung=int(command.number))
        elif command.act == "travelling_weight" and known:
            found = replace(found, travelling_weight_N=command.number)
        elif command.act == "gear":
            gear = sets.get(text.replace("_", " "))
            if gear is not None:
                weight_N = command.number if known else gear.weight_N
                found = replace(
                    found, gear=gear.name, duty=gear.duty, travelling_weight_N=weight_N
                )
        elif command.act == "duty":
            found = replace(found, duty=text)
        elif command.act == "compensator":
            found = replace(found, compensator=text)
    return found


def allowed_pull(
    rig: Rig, in_use: InUse, bit_depth_m: float, choice: PipeChoice = AS_GIVEN
) -> tuple[PullLimit, ...]:
    """Every limit of the pull as hook load, travelling equipment included, weakest first."""
    return pull_limits(with_pipe(rig, choice), in_use.lines_strung, in_use, bit_depth_m)
