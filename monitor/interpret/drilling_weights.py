"""Hoisting, lowering and rotating weights, caught at every connection while drilling.

What drillers write down before slips are set: the load while the string slides up, slides
down, and turns off bottom at rest. Caught by itself from the last run of each kind in a
stand, or by one touch (act ``catch_weight``) from what the pipe does at that moment.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.known import known_or_none
from monitor.interpret.stage import Blocks, Rows, Stage
from monitor.interpret.steady import sheaves_turned
from monitor.interpret.turning_drag import NO, YES
from monitor.model import Command
from monitor.rig.rig import Rig

NAN = float("nan")

KINDS = ("hoisting", "lowering", "rotating")
# Moving weights: this speed or more, without acceleration, after static friction has broken
# (as for the trip sheet and the expected loads).
LEAST_SPEED_M_S = 0.05
STEADY_M_S2 = 0.12
LEAST_RUN_M = 1.0
# At rest: slower than this. The string turns and has let its stretch out after so long.
REST_M_S = 0.01
LEAST_REST_S = 2
# A weight is the median of so many steady seconds; a driller waits about as long to read it.
LEAST_SECONDS = 3
MOST_SECONDS = 60
# While drilling: the bit so near the bottom of the hole (a stand and a half).
NEAR_BOTTOM_M = 45.0
# Above noise of a flow meter, far below any circulation (120 L/min).
FLOWING_M3_S = 2e-3
# One-second means of a free string scatter by 3 kN: a run that spreads further than three
# times that met something, and teaches nothing.
CALM_N = 9e3
# One touch takes the mean of the last seconds.
TOUCH_SECONDS = 3

# Places of a second's figures.
LOAD, ALONG, DEPTH, SPEED, HOLE, BOTTOM, TURNING, FLOW, STEADY = range(9)
FLOWS = ("", "off", "on")
ON_BOTTOM = "on bottom"  # what the pipe does where it is none of KINDS
STANDS_STILL = "the string stands still and does not turn: hoist, lower or rotate it"


@dataclass(frozen=True, slots=True)
class Weight:
    """One weight: its load, where along the pipe, how fast, with or without flow."""

    load_N: float
    along_m: float
    depth_m: float
    speed_m_s: float
    flow: str  # "on", "off", empty where the record does not say
    spread_N: float  # least to greatest of its seconds

    @property
    def is_calm(self) -> bool:
        """Whether nothing held the string meanwhile, as far as the load can say."""
        return self.spread_N <= CALM_N


@dataclass(frozen=True, slots=True)
class Caught:
    """Weights of one spell out of slips, complete at ``row``; the open one at the end."""

    row: int
    is_set: bool
    weights: dict[str, Weight]

    def load_N(self, kind: str) -> float:
        """Load of a kind, not-a-number where it was not caught."""
        weight = self.weights.get(kind)
        return NAN if weight is None else weight.load_N

    @property
    def flow(self) -> str:
        """With flow on or off, or both."""
        told = {weight.flow for weight in self.weights.values()} - {""}
        return "both" if len(told) > 1 else next(iter(told), "")


class DrillingWeights(Stage):
    """Catches weights; gives them with the row at which slips were set."""

    STATE = (
        "runs", "weights", "near", "moving", "rested", "recent", "rotary_told", "newest", "touches"
    )  # fmt: skip

    def __init__(self, rig: Rig) -> None:
        del rig
        self.runs: dict[str, list[list[float]]] = {kind: [] for kind in KINDS}
        self.weights: dict[str, list[float]] = {}
        self.near = False
        self.moving = ""
        self.rested = 0
        self.recent: list[list[float]] = []
        self.rotary_told = False  # whether a channel says that the string turns
        # The newest weight of each kind for the screen: those of the last connection, and those
        # of a touch since; the kind of the last touch, and how many there were.
        self.newest: dict[str, list[Any]] = {}
        self.touches: list[Any] = [0, ""]

    def gap(self) -> None:
        """A run is not seen across a gap."""
        self.runs = {kind: [] for kind in KINDS}
        self.moving, self.rested, self.recent = "", 0, []

    def command(self, command: Command) -> None:
        """One touch: what hangs there now is the weight of what the pipe does now."""
        if command.act in ("lines_strung", "travelling_weight"):
            self.gap()
            self.weights = {}
        if command.act in ("lines_strung", "travelling_weight", "run"):
            self.newest = {}
        if command.act != "catch_weight" or self.refusal(command):
            return
        kind = self._touched(command)
        self.weights[kind] = _weight(self.recent[-TOUCH_SECONDS:])
        self.near = True
        self.newest = {**self.newest, kind: [*self.weights[kind], "touch"]}
        self.touches = [self.touches[0] + 1, kind]

    def _touched(self, command: Command) -> str:
        return command.text if command.text in KINDS else _kind_now(self.recent[-1])

    def refusal(self, command: Command) -> str:
        """Why no weight can be caught now; empty where one can."""
        if command.act != "catch_weight":
            return ""
        why = self._lacking(command)
        return f"no weight caught: {why}" if why else ""

    def _lacking(self, command: Command) -> str:
        if self.moving == ON_BOTTOM:
            return "the bit is on bottom"
        if len(self.recent) < TOUCH_SECONDS:
            return f"the string has not hung free for {TOUCH_SECONDS} s with a known load"
        if command.text in KINDS:
            return ""
        kinds = {_kind_now(entry) for entry in self.recent}
        if len(kinds) > 1:
            return f"keep the pipe moving one way, or still, for {TOUCH_SECONDS} s"
        turns = self.recent[-1][TURNING] != NO or not self.rotary_told
        return "" if turns or "rotating" not in kinds else STANDS_STILL

    def status(self) -> dict[str, Any]:
        """The newest weight of each kind, and which kind the last touch caught."""
        return {
            "touches": self.touches[0],
            "touched": self.touches[1],
            "weights": {
                kind: {
                    "load_N": entry[0],
                    "depth_m": known_or_none(entry[2]),
                    "flow": FLOWS[int(entry[4])],
                    "by": entry[6],
                }
                for kind, entry in self.newest.items()
            },
        }

    def step(self, rows: Rows) -> None:
        """Follow the seconds; give the weights of every spell that ends, and of the open one."""
        sets = [turn.row for turn in rows.turns if turn.kind == "set"]
        self.rotary_told = rows.channel("rotary_speed") is not None
        known_at, seconds = self._seconds(rows)
        order = sorted(
            [(row, 1, -1) for row in sets] + [(at, 0, index) for index, at in enumerate(known_at)]
        )
        rows.caught = []
        for row, is_set, index in order:
            if is_set:
                self._give(rows, row, is_set=True)
                self._keep()
                self.weights, self.near = {}, False
                self.gap()
            else:
                self._second(seconds[index])
        self._give(rows, len(rows), is_set=False)

    def _give(self, rows: Rows, row: int, *, is_set: bool) -> None:
        weights = self.weights if self.near else {}
        told = {
            kind: Weight(load, along, depth, speed, FLOWS[int(flow)], spread)
            for kind, (load, along, depth, speed, flow, spread) in weights.items()
        }
        rows.caught.append(Caught(row, is_set, told))

    def _keep(self) -> None:
        """What a connection caught takes the place of all that was known before."""
        if not (self.near and self.weights):
            return
        caught = {kind: [*entry, "connection"] for kind, entry in self.weights.items()}
        for kind, entry in self.newest.items():
            if entry[:-1] == self.weights.get(kind):
                caught[kind] = entry  # a touch that nothing replaced
        self.newest = caught

    def _second(self, entry: list[float]) -> None:
        if not math.isfinite(entry[LOAD]):
            self.recent = []  # no word of the load: a touch must not take one of before
            return
        if entry[BOTTOM]:
            self.near = True
            self.runs = {kind: [] for kind in KINDS}
            self.recent, self.rested, self.moving = [], 0, ON_BOTTOM
            return
        if entry[DEPTH] > entry[HOLE] - NEAR_BOTTOM_M:
            self.near = True
        self.recent = [*self.recent, entry][-TOUCH_SECONDS:]
        kind = _kind_now(entry)
        self.rested = self.rested + 1 if abs(entry[SPEED]) < REST_M_S else 0
        if kind != self.moving:
            self.moving = kind
            self.runs[kind] = []
        ready = self.rested > LEAST_REST_S if kind == "rotating" else bool(entry[STEADY])
        wanted = entry[TURNING] == (YES if kind == "rotating" else 1.0 - YES)
        if not (ready and wanted):
            return
        run = self.runs[kind] = [*self.runs[kind], entry][-MOST_SECONDS:]
        if len(run) >= LEAST_SECONDS:
            self.weights[kind] = _weight(run)

    def _seconds(self, rows: Rows) -> tuple[list[int], list[list[float]]]:
        """Rows at which hanging seconds are known, and their figures."""
        blocks = rows.blocks
        if blocks is None or not len(blocks):
            return [], []
        # A moving weight is that of the string's own direction, which heave turns too; at rest
        # the load is the mean over whole waves.
        moves = np.abs(blocks.mean["block_speed_m_s"]) >= LEAST_SPEED_M_S
        load = np.where(moves, blocks.mean["taught_load_N"], blocks.mean["hook_load_N"])
        speed = np.where(moves, blocks.mean["pipe_speed_m_s"], blocks.mean["block_speed_m_s"])
        hangs = blocks.low["phase"] == 2
        unknown = ~np.isfinite(load)
        # Of seconds one after the other without a load the first says it all.
        unknown &= ~np.concatenate(([False], unknown[:-1]))
        wanted = hangs & np.isfinite(load)
        at = blocks.known_at
        bottom = rows.column["on_bottom"][at]
        # Of seconds on bottom one after the other the first says it all.
        wanted &= ~(bottom & np.concatenate(([False], bottom[:-1])))
        wanted |= unknown
        columns: Iterable[NDArray[Any]] = (
            load,
            blocks.mean["along_m"],
            blocks.last["bit_depth_m"],
            speed,
            rows.column["hole_depth_m"][at],
            bottom.astype(float),
            rows.column["turning"][at],
            _flow_word(blocks),
            _is_steady(blocks).astype(float),
        )
        found: list[list[float]] = np.column_stack([c[wanted] for c in columns]).tolist()
        return at[wanted].tolist(), found


def _flow_word(blocks: Blocks) -> NDArray[np.float64]:
    flow = blocks.mean["flow_in"]
    result: NDArray[np.float64] = np.where(
        np.isfinite(flow), np.where(flow > FLOWING_M3_S, 2.0, 1.0), 0.0
    )
    return result


def _is_steady(blocks: Blocks) -> NDArray[np.bool_]:
    result: NDArray[np.bool_] = (
        (np.abs(blocks.mean["block_speed_m_s"]) >= LEAST_SPEED_M_S)
        & sheaves_turned(blocks)
        & (np.abs(blocks.low["acceleration_m_s2"]) < STEADY_M_S2)
        & (np.abs(blocks.high["acceleration_m_s2"]) < STEADY_M_S2)
        & (blocks.low["pipe_run_m"] > LEAST_RUN_M)
        & (blocks.high["pipe_turns"] == 0.0)
    )
    return result


def _kind_now(entry: list[float]) -> str:
    if abs(entry[SPEED]) < LEAST_SPEED_M_S:
        return "rotating"
    return "hoisting" if entry[SPEED] > 0.0 else "lowering"


def _weight(seconds: list[list[float]]) -> list[float]:
    """Median load of some seconds, with the place, speed and flow of the last."""
    loads = sorted(entry[LOAD] for entry in seconds)
    last = seconds[-1]
    spread = loads[-1] - loads[0]
    where = [last[ALONG], last[DEPTH], abs(last[SPEED]), last[FLOW]]
    return [loads[len(loads) // 2], *where, spread]


def caught_at(rows: Rows, row: int) -> Caught | None:
    """Weights of the spell that ends at a row."""
    return next((c for c in rows.caught if c.is_set and c.row == row), None)


def caught_fields(caught: Caught) -> dict[str, Any]:
    """Weights as the trip sheet keeps them."""
    return {
        **{f"{kind}_weight_N": caught.load_N(kind) for kind in KINDS},
        "weights_flow": caught.flow,
    }


CAUGHT_FIELDS = (*(f"{kind}_weight_N" for kind in KINDS), "weights_flow")


def joined_fields(earlier: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Weights of a spell that made no row of its own, beside those of the spell after it."""
    joined = {**earlier, **{name: load for name, load in own.items() if load == load}}
    flows = {fields.get("weights_flow", "") for fields in (earlier, own)} - {""}
    joined["weights_flow"] = "both" if len(flows) > 1 else next(iter(flows), "")
    return joined
