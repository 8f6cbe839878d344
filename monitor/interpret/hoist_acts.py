"""Which acts of people cannot be taken, and why."""

from __future__ import annotations

import math
from dataclasses import dataclass

from monitor import units
from monitor.interpret.agreed import agreed_refusal
from monitor.interpret.slip_mode import CONFIRMATIONS
from monitor.mechanics.ratings import InUse
from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.mechanics.string_up import (
    FEWEST_LINES,
    MOST_LINES,
    crown_sheaves,
    travelling_sheaves,
)
from monitor.model import Command
from monitor.notes import note_refusal
from monitor.rig.equipment import TRAVELLING_BLOCKS
from monitor.rig.hoisting import (
    COMPENSATOR_STATES,
    DUTIES,
    POSITIONER_STATES,
    ROTATION_LOCK_STATES,
)
from monitor.rig.rig import Rig

# A line count is contradicted where the empty block would not weigh what it does within
# this share and the reading's own half width.
EMPTY_SHARE = 0.03
# An older reading of the empty block says nothing of how the line is strung now.
FRESH_S = 600.0
PREPARATIONS = {"rotation lock": ROTATION_LOCK_STATES, "positioner": POSITIONER_STATES}
OVERRIDE = "override:"


@dataclass(frozen=True, slots=True)
class EmptyBlock:
    """What the empty block last read, with the lines declared then."""

    load_N: float
    half_width_N: float
    time_us: int

    def is_fresh(self, now_us: int) -> bool:
        """Whether it can be held against what is said now."""
        return math.isfinite(self.load_N) and abs(now_us - self.time_us) <= FRESH_S * 1e6


@dataclass(frozen=True, slots=True)
class HoistNow:
    """What acts are judged by."""

    in_use: InUse
    empty: EmptyBlock
    phase: float  # 0: slips have the string
    slip_mode: str


def refusal(rig: Rig, now: HoistNow, command: Command) -> str:
    """Why an act cannot be taken; empty where it can."""
    text = command.text.strip()
    if command.act == "lines_strung" and math.isfinite(command.number):
        return _lines(rig, now, command)
    if command.act == "gear":
        return _one_of("gear", text.replace("_", " "), [gear.name for gear in rig.gear])
    if command.act == "duty":
        return _one_of("duty", text, DUTIES)
    if command.act == "compensator":
        return _one_of("compensator", text, COMPENSATOR_STATES if rig.compensator else ())
    if command.act == "preparation":
        name, _, state = (part.strip() for part in text.partition(":"))
        return _one_of("preparation", name, tuple(PREPARATIONS)) or _one_of(
            name, state, PREPARATIONS[name]
        )
    if command.act == "slip_and_cut":
        return _slip_and_cut(now, text)
    if command.act == "note":
        return note_refusal(command)
    if command.act == "agreed_limit":
        return agreed_refusal(command)
    return ""


def _one_of(what: str, word: str, known: tuple[str, ...] | list[str]) -> str:
    if word in known:
        return ""
    names = ", ".join(known) or "none in the rig file"
    return f"{what} {word!r} refused: known are {names}"


def _lines(rig: Rig, now: HoistNow, command: Command) -> str:
    n = int(command.number)
    said = f"{command.number:g} lines refused: "
    if n != command.number or not FEWEST_LINES <= n <= MOST_LINES:
        return f"{said}{FEWEST_LINES} to {MOST_LINES} are expected"
    if n % 2 and rig.reeving.dead_line_sheave == "turning":
        return f"{said}an odd count has no turning dead-line sheave"
    for piece in rig.equipment:
        if piece.name == "crown block" and (piece.sheaves or MOST_LINES) < crown_sheaves(n):
            return f"{said}{crown_sheaves(n)} crown sheaves are needed, it has {piece.sheaves}"
        sheaves = piece.sheaves or MOST_LINES
        if piece.name in TRAVELLING_BLOCKS and sheaves < travelling_sheaves(n):
            return f"{said}{travelling_sheaves(n)} sheaves are needed, {piece.name} has {sheaves}"
    is_fresh = now.empty.is_fresh(command.time_us)
    if n == now.in_use.lines_strung or not is_fresh or _is_override(command.text):
        return ""
    weight_N = now.in_use.travelling_weight_N
    would_N = now.empty.load_N * _factor(rig, n) / _factor(rig, now.in_use.lines_strung)
    share = EMPTY_SHARE + now.empty.half_width_N / weight_N
    if abs(would_N / weight_N - 1.0) <= share:
        return ""
    return (
        f"{said}the empty block would read {units.format_value(would_N, 'force')} and weighs "
        f"{units.format_value(weight_N, 'force')}; the engineer may override with a reason"
    )


def _is_override(text: str) -> bool:
    _, found, reason = text.partition(OVERRIDE)
    return bool(found) and bool(reason.strip())


def _factor(rig: Rig, lines_strung: int) -> float:
    reeving = rig.reeving
    up = load_factor_hoisting(lines_strung, reeving.sheave_efficiency, reeving.dead_line_sheave)
    down = load_factor_lowering(lines_strung, reeving.sheave_efficiency, reeving.dead_line_sheave)
    return 0.5 * (up + down)


def _slip_and_cut(now: HoistNow, text: str) -> str:
    word, _, rest = text.partition(" ")
    if word == "begin":
        if now.slip_mode == "cutting":
            return "slip and cut refused: it has begun already"
        if now.phase != 0.0:
            return "slip and cut refused: the string is not in slips"
    if word == "confirm":
        what, _, count = rest.strip().partition(" ")
        if what == "wraps":
            return "" if _is_count(count) else "wraps refused: write the number counted"
        return _one_of("confirmation", rest.strip(), CONFIRMATIONS)
    return ""


def _is_count(text: str) -> bool:
    try:
        return 0.0 < float(text) < 1000.0
    except ValueError:
        return False
