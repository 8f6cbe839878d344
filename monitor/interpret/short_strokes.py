"""Loads that short strokes show in a direction that is only guessed, connection by connection.

A string is moved some decimetres the other way wherever it is lifted out of the slips or set
into them. What is off by as much at one connection after the other, stands apart, is no tight
spot but the guess: a bit depth entered wrong, or another string or mud than described.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.drilling_weights import CALM_N
from monitor.interpret.stage import Blocks, Carried, Rows
from monitor.interpret.steady import LEAST_SPEED_M_S, sheaves_turned
from monitor.interpret.turning_drag import YES
from monitor.interpret.watch import Condition, Watch
from monitor.interpret.windows import held_from, middle
from monitor.model import Command, Event, Floats

NAN = float("nan")

# So many connections with such a stroke say the same before the guess is moved (our choice:
# a tight hole holds at one or two, a wrong depth at each), the least of them no less than this
# share of the greatest.
STROKES_ALIKE = 3
ALIKE_SHARE = 2.0 / 3.0
# Two seconds of a stroke are of one load where they differ by no more than the noise of a run
# (``CALM_N``) or this share of what they are off: slips take ten times that in a second.
STAYS_SHARE = 0.2
# The move is the median of the last so many.
STROKES_KEPT = 5
# No depth is mistyped so that half the string guessed is not there: what is off by more is a
# load nobody saw change.
GREATEST_SHARE = 0.5
# Two seconds follow each other where no more lies between their beginnings (10 s rows).
NEXT_S = 12.0
SIDES = ((1.0, "hoisting", "more"), (-1.0, "lowering", "less"))


class ShortStrokes(Carried):
    """How far strokes at connections lie outside the guess of each direction, and the move."""

    STATE = ("before", "held", "band_N", "seen", "moved_N", "watch")

    def __init__(self) -> None:
        self.before = [0, NAN, NAN, 0.0]  # beginning, side, excess, speed of the second before
        self.held = [-math.inf, -math.inf]  # greatest excess that lasted, in this spell
        self.band_N = [NAN, NAN]  # of the guess then
        self.seen: list[list[list[float]]] = [[], []]  # excess and band, a stroke each
        self.moved_N = [0.0, 0.0]
        self.watch = Watch("string_suspect", confirm_s=0.0, clear_s=0.0)

    def gap(self) -> None:
        """Two seconds do not follow each other across a gap."""
        self.before = [0, NAN, NAN, 0.0]
        self.watch.gap()

    def command(self, command: Command) -> None:
        """Another depth, mud, gear or line count is another guess."""
        if command.act in ("bit_depth", "mud_density", "lines_strung", "travelling_weight"):
            self._forget()

    def _forget(self) -> None:
        self.held, self.seen = [-math.inf, -math.inf], [[], []]
        self.moved_N = [0.0, 0.0]

    def follow(
        self,
        rows: Rows,
        guesses: Sequence[Floats],
        learnt: Sequence[Floats],
        bands: Sequence[Floats],
    ) -> list[Floats]:
        """Move what is guessed by what the strokes say, a row each.

        Loads up and down, and the half width of what is believed of them: a stroke within it
        says nothing.
        """
        changes = [(0, *self.moved_N)]
        sets = [(turn.row, 1, -1) for turn in rows.turns if turn.kind == "set"]
        blocks, usable = rows.blocks, np.empty(0, dtype=bool)
        guessed = [
            np.isnan(known) & np.isfinite(load)
            for load, known in zip(guesses, learnt, strict=True)
        ]
        order = sets
        if blocks is not None and len(blocks):
            usable = _usable(rows, blocks, guessed)
            seconds = [(int(blocks.known_at[i]), 0, i) for i in np.flatnonzero(usable).tolist()]
            order = sorted([*sets, *seconds])
        for row, is_set, i in order:
            if not is_set:
                self._second(rows, row, i, guesses, bands)
            elif self._spell_ends():
                changes.append((row, *self.moved_N))
        rows_at, *moved_at = zip(*changes, strict=True)
        moves = [held_from(rows_at, values, len(rows)) for values in moved_at]
        moved = [
            np.where(here, load + sign * move, load)
            for load, here, move, (sign, *_) in zip(guesses, guessed, moves, SIDES, strict=True)
        ]
        rows.events.extend(self._told(rows, moves))
        return moved

    def _second(
        self, rows: Rows, row: int, i: int, guesses: Sequence[Floats], bands: Sequence[Floats]
    ) -> None:
        """Take a second of a string that moves; a load that stays over two of them counts."""
        blocks = rows.blocks
        if blocks is None:
            return
        start_us, speed = int(blocks.start_us[i]), abs(float(blocks.mean["block_speed_m_s"][i]))
        side = int(_is_lowering(blocks)[i])
        excess = SIDES[side][0] * float(blocks.mean["taught_load_N"][i] - guesses[side][row])
        before_us, before_side, before_N, before_m_s = self.before
        self.before = [start_us, side, excess, speed]
        follows = before_side == side and start_us - before_us <= NEXT_S * 1e6
        lasted = min(excess, before_N)
        stays = abs(excess - before_N) <= max(CALM_N, STAYS_SHARE * lasted)
        moves = max(speed, before_m_s) >= LEAST_SPEED_M_S
        string_N = float(guesses[side][row] - rows.column["empty_N"][row])
        is_string = abs(excess) <= GREATEST_SHARE * string_N
        if follows and stays and moves and is_string and lasted > self.held[side]:
            self.held[side], self.band_N[side] = lasted, float(bands[side][row])

    def _spell_ends(self) -> bool:
        """Take what the spell showed; whether it changes the move."""
        before = self.moved_N
        for side in (0, 1):
            if not math.isfinite(self.held[side]):
                continue
            kept = self.seen[side] = [
                *self.seen[side], [self.held[side], self.band_N[side]]
            ][-STROKES_KEPT:]  # fmt: skip
            last = kept[-STROKES_ALIKE:]
            outside = [excess > band for excess, band in last]
            sizes = [excess for excess, _ in last]
            alike = len(last) == STROKES_ALIKE and min(sizes) >= ALIKE_SHARE * max(sizes)
            if alike and all(outside):
                self.moved_N = [*self.moved_N]
                self.moved_N[side] = middle([excess for excess, _ in kept])
            elif not any(outside):
                self.moved_N = [*self.moved_N]
                self.moved_N[side] = 0.0
        self.held = [-math.inf, -math.inf]
        self.before = [0, NAN, NAN, 0.0]
        return self.moved_N != before

    def _told(self, rows: Rows, moves: list[Floats]) -> list[Event]:
        on = (moves[0] > 0.0) | (moves[1] > 0.0)
        return self.watch.follow(rows, Condition(on=on, off=~on, why=lambda row: _why(moves, row)))


def _is_lowering(blocks: Blocks) -> NDArray[np.bool_]:
    """Which way the string went last, by the friction in the sheaves."""
    result: NDArray[np.bool_] = blocks.mean["friction_state"] < 0.0
    return result


def _usable(rows: Rows, blocks: Blocks, guessed: list[NDArray[np.bool_]]) -> NDArray[np.bool_]:
    """Seconds in which the string moves, or has just moved, and its load is a guess."""
    at = blocks.known_at
    result: NDArray[np.bool_] = (
        (blocks.low["phase"] == 2)
        & sheaves_turned(blocks)
        & np.where(_is_lowering(blocks), guessed[1][at], guessed[0][at])
        & ~rows.column["on_bottom"][at]
        & (rows.column["turning"][at] != YES)
        & np.isfinite(blocks.mean["taught_load_N"])
    )
    return result


def _why(moves: list[Floats], row: int) -> str:
    told = [
        f"{name} at {STROKES_ALIKE} connections in a row the string weighed about "
        f"{moves[side][row] / 1e3:.0f} kN {way}"
        for side, (_, name, way) in enumerate(SIDES)
        if moves[side][row] > 0.0
    ]
    return (
        f"{', '.join(told)} than the string as described and the bit depth let expect: check "
        "bit depth, string and mud"
    )
