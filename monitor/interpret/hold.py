"""Whether the string follows the block: pulls, set-downs and legs, second by second.

A string that is held stretches: load rises and falls with block travel at least as steeply
as the whole string held at its bit would make it. A string that is free carries the same
load along metres of travel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.interpret.stage import Carried
from monitor.mechanics.free_point import leg_compliance_m_N
from monitor.model import Floats

NAN = float("nan")

# Block travel back that ends a leg: above an encoder quantum of 1 cm and its noise.
REVERSAL_M = 0.05
# A second is kept in a leg once the block has moved this far: one quantum.
KEPT_EVERY_M = 0.01
# Load must rise at this share of the stiffness of the whole string held at its bit, the
# softest it can be; the rest is for load scale, steel area, line and mast.
STIFF_SHARE = 0.7
# Below this share the string moves with the block.
FREE_SHARE = 0.3
# Stretch below this is not told from block position error (20 quanta of 1 cm).
LEAST_STRETCH_M = 0.2
# Held against one pull this high that was given up, the block stopped: stuck. Higher than
# the second limit there is no tight hole to be pulled through (our choices; a tight spot of
# 200 kN is still pulled through at times).
ONE_PULL_N = 200e3
GREATEST_PULL_N = 400e3
# Held against two pulls this high at one place, with no free travel between them: stuck.
REPEATED_PULL_N = 100e3
# Pulled faster than this, what the speed sends down the string is in the load (33 kg/m times
# 5100 m/s: 34 kN at 0.2 m/s), and tight spots are passed in a rush: judged once slower.
SLOW_M_S = 0.2
# Travel at even load after which a pull was only tight hole; after which a stuck string is
# free (a working stroke of a held string is shorter, a single is three times as long).
PASSED_TRAVEL_M = 1.5
FREE_TRAVEL_M = 3.0
# Slower than this the load settles; faster, the second counts in a fit.
LEAST_SPEED_M_S = 0.02
# Sheave friction has turned all the way: its state is +1 or -1.
SETTLED = 0.99
# Friction in the hole has fully turned this much above the free hoisting weight.
ABOVE_FREE_N = 20e3
# A leg fitted spans at least this load and so many seconds, and keeps to its line within
# this share of its load range (root mean square).
LEAST_FIT_N = 100e3
LEAST_FIT_SECONDS = 5
GREATEST_MISFIT = 0.04
# A pull that did not free the string is looked back on for so long: crews rest a string and
# let jars cock for minutes, not longer.
REMEMBERED_US = 900_000_000
# Legs and seconds kept of one spell: bounded memory. The first legs are the ones kept.
MOST_LEGS = 60
MOST_SECONDS = 1000


@dataclass(frozen=True, slots=True)
class HangingSecond:
    """One second with the string hanging on the hook."""

    time_us: int
    block_m: float
    load_N: float
    speed_m_s: float
    friction: float


@dataclass(frozen=True, slots=True)
class Reference:
    """What a free string would do, as known when the pull began."""

    up_N: float  # free hoisting weight
    down_N: float  # free lowering weight; not-a-number where not known
    swing_N: float  # change of load while friction turns over
    compliance_m_N: float  # block travel per load of the whole string held at its bit
    pull_limit_N: float
    set_down_limit_N: float


class Hold(Carried):
    """Follows one pull and what comes after it, until the string is free or in slips."""

    STATE = ("active", "stuck", "reference", "leg", "direction", "legs", "zero", "pulls", "last")

    def __init__(self) -> None:
        self.reset()

    def reset(self) -> None:
        """Nothing holds the string."""
        self.active = False
        self.stuck = False
        self.reference: dict[str, float] = {}
        self.leg: list[list[float]] = []
        self.direction = 1.0
        self.legs: dict[str, list[float]] = {"pulling": [], "slacking": []}
        self.zero: list[float] = []  # block and load where the present pull began
        self.pulls: dict[str, Any] = {
            "small": 0,  # pulls over the limit ...
            "big": 0,  # ... and over the one that counts when repeated
            "first": False,  # the present pull is counted among the small,
            "second": False,  # the big
            "beyond": False,  # a pull that needs no second
        }
        self.last: dict[str, Any] = {}

    def begin(self, reference: Reference, start: HangingSecond) -> None:
        """A pull over the limit began at this second, the last at free weight."""
        self.reset()
        self.active = True
        self.reference = {
            name: float(getattr(reference, name)) for name in Reference.__dataclass_fields__
        }
        self.zero = [start.block_m, start.load_N]
        self.leg = [_entry(start)]
        self.last = {"start_us": start.time_us, "held_us": start.time_us, "peak_N": -math.inf}

    def cut(self) -> None:
        """The present leg and pull end here (a gap, other gear); the spell goes on."""
        self._fit()
        self.leg, self.zero = [], []

    def remember(self, second: HangingSecond) -> None:
        """Take a second from before the pull was seen: it belongs to the leg, no more."""
        self._extend(second)

    def follow(self, second: HangingSecond) -> str:
        """Take a second; say "" or what became known: "stuck", "free" or "forgotten"."""
        self._extend(second)
        if not self.stuck and second.time_us - self.last["held_us"] > REMEMBERED_US:
            return "forgotten"
        if self._is_free():
            self.cut()
            return "free"
        if not abs(second.friction) > SETTLED or abs(second.speed_m_s) > SLOW_M_S:
            return ""
        excess = second.load_N - self.reference["up_N"]
        down = self.reference["down_N"]
        if excess > self.last["peak_N"]:
            self.last.update(
                peak_N=excess, peak_us=second.time_us, load_N=second.load_N, moved=True
            )
        low = down if math.isfinite(down) else self.reference["up_N"] - self.reference["swing_N"]
        if excess > self.reference["pull_limit_N"] or (
            second.load_N < low - self.reference["set_down_limit_N"]
        ):
            self.last["held_us"] = second.time_us
        self._pull(second, excess)
        if not self.stuck and self._is_held(second.load_N):
            self.stuck = True
            return "stuck"
        return ""

    def _extend(self, second: HangingSecond) -> None:
        """Add the second to the present leg, or turn round at the leg's far end."""
        entry = _entry(second)
        if not self.leg:
            self.leg, self.direction = [entry], math.copysign(1.0, second.speed_m_s)
            return
        travelled = self.direction * (second.block_m - self.leg[-1][0])
        if travelled < -REVERSAL_M:
            self._fit()
            self.direction = -self.direction
            self.leg = [self.leg[-1], entry]
        elif travelled >= KEPT_EVERY_M:
            self.leg.append(entry)
            del self.leg[:-MOST_SECONDS]
        elif travelled >= 0.0 and abs(second.friction) > SETTLED:
            # The block stands: what the load settles to is where the next leg starts.
            self.leg[-1] = [self.leg[-1][0], second.load_N, 0.0, 0.0]

    def _pull(self, second: HangingSecond, excess: float) -> None:
        """Count pulls against which the string was held, each once."""
        if excess <= 0.0:
            self.zero = [second.block_m, second.load_N]
            self.pulls.update(first=False, second=False)
            return
        if not self.zero:
            return
        travel, rise = second.block_m - self.zero[0], second.load_N - self.zero[1]
        stretch = rise * self.reference["compliance_m_N"]
        if travel < LEAST_STRETCH_M or stretch < STIFF_SHARE * travel:
            return
        if excess > self.reference["pull_limit_N"] and not self.pulls["first"]:
            self.pulls.update(first=True, small=self.pulls["small"] + 1)
        if excess > REPEATED_PULL_N and not self.pulls["second"]:
            self.pulls.update(second=True, big=self.pulls["big"] + 1)
        given_up = abs(second.speed_m_s) < LEAST_SPEED_M_S
        if excess > GREATEST_PULL_N or (excess > ONE_PULL_N and given_up):
            self.pulls["beyond"] = True

    def _is_held(self, load_N: float) -> bool:
        if self.pulls["beyond"] or self.pulls["big"] >= 2:
            return True
        low = self.reference["down_N"] - self.reference["set_down_limit_N"]
        return self.pulls["small"] >= 1 and load_N < low

    def _is_free(self) -> bool:
        """Metres of travel one way, and the load no higher (up) or lower (down) for it."""
        needed = FREE_TRAVEL_M if self.stuck else PASSED_TRAVEL_M
        newest = self.leg[-1]
        if abs(newest[0] - self.leg[0][0]) < needed:
            return False
        limit = newest[0] - self.direction * needed
        older = next(
            entry for entry in reversed(self.leg) if self.direction * (entry[0] - limit) <= 0.0
        )
        change = self.direction * (newest[1] - older[1]) * self.reference["compliance_m_N"]
        return change < FREE_SHARE * self.direction * (newest[0] - older[0])

    def _fit(self) -> None:
        """Compliance of the leg that ends, where a clean pull made it."""
        if not self.leg:
            return
        side = "pulling" if self.direction > 0 else "slacking"
        legs = self.legs[side]
        if len(legs) >= MOST_LEGS:
            return
        compliance = fitted_leg_m_N(
            np.array(self.leg), self.direction, self.reference["up_N"], self.reference["swing_N"]
        )
        if math.isfinite(compliance):
            self.legs[side] = [*legs, compliance]


def fitted_leg_m_N(entries: Floats, direction: float, up_N: float, swing_N: float) -> float:
    """Compliance of one leg, not-a-number where no clean pull made it.

    ``entries`` has a row a second: block [m], load [N], speed [m/s], friction state.
    ``direction`` is +1 pulling, -1 slacking off.
    """
    if len(entries) < LEAST_FIT_SECONDS:
        return NAN
    load = entries[:, 1]
    start = float(load[0])
    usable = (direction * entries[:, 2] > LEAST_SPEED_M_S) & (direction * entries[:, 3] > SETTLED)
    if direction > 0:
        top = float(load[-1])
        usable &= (load > up_N + ABOVE_FREE_N) & (load > start + swing_N)
    else:
        top = start
        usable &= (load < start - swing_N) & (load > up_N - swing_N)
    if top - up_N < ONE_PULL_N or usable.sum() < LEAST_FIT_SECONDS:
        return NAN
    block, load = entries[usable, 0], load[usable]
    if np.ptp(load) < LEAST_FIT_N or np.ptp(block) < LEAST_STRETCH_M:
        return NAN
    compliance = leg_compliance_m_N(block, load)
    rest = block - compliance * load
    misfit = float(np.sqrt(np.mean((rest - np.median(rest)) ** 2))) / float(np.ptp(block))
    return compliance if misfit < GREATEST_MISFIT else NAN


def _entry(second: HangingSecond) -> list[float]:
    return [second.block_m, second.load_N, second.speed_m_s, second.friction]
