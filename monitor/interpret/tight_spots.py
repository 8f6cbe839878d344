"""Memory of tight spots: at which depths the string was held, and on how many trips.

A trip ends where the pipe turns round and comes back by more than pipe is worked. Depths are
what the string was held over, so an overpull on the way out and a slack-off on the way in at
the same place are the same spot.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from monitor.interpret.stage import Carried
from monitor.interpret.windows import forward_fill, play
from monitor.model import Floats

NAN = float("nan")

# Pipe worked up and down, or a stand reamed, is no other trip; two stands are.
LEAST_TURN_M = 60.0
# Bit depth by block and stretch is known this well, whichever is the greater: 0.1 % of the
# pipe moved there and back, and three metres of stretch under a pull.
SAME_DEPTH_M = 3.0
SAME_DEPTH_SHARE = 0.001
# More than any hole has; the oldest are forgotten first.
MOST_SPOTS = 400


class Trips(Carried):
    """Counts trips: pipe travel that turns round by more than two stands."""

    STATE = ("centre_m", "way", "count", "seen")

    def __init__(self) -> None:
        self.centre_m = 0.0
        self.way = 0.0
        self.count = 0.0
        self.seen = False

    def number(self, along_m: Floats) -> Floats:
        """Return the number of the trip at every place of pipe travel, in order of time."""
        if not self.seen:
            self.centre_m, self.seen = float(along_m[0]), True
        centre = play(self.centre_m, along_m, 0.5 * LEAST_TURN_M)
        step = np.sign(np.diff(np.concatenate(([self.centre_m], centre))))
        way = forward_fill(self.way, step, step != 0.0)
        turned = np.diff(np.concatenate(([self.way], way)))
        # From rest to the first way is the beginning of the first trip, not a turn.
        count = np.cumsum(np.concatenate(([self.count], (np.abs(turned) > 1.0).astype(float))))
        self.centre_m, self.way, self.count = float(centre[-1]), float(way[-1]), float(count[-1])
        result: Floats = count[1:]
        return result


class Spots(Carried):
    """Every depth range in which something held the string, with its trip."""

    STATE = ("kept",)

    def __init__(self) -> None:
        self.kept: list[dict[str, Any]] = []

    def earlier(self, depth_m: float, trip: float) -> int:
        """On how many other trips the string was held at this depth; above the floor on none."""
        if not depth_m > 0.0:
            return 0
        near = [s["trip"] for s in self.kept if s["trip"] != trip and _meets(s, depth_m)]
        return len(set(near))

    def put(self, event_id: str, kind: str, depth_m: float, trip: float, excess_N: float) -> None:
        """Note an event, or what more is known of it."""
        if not depth_m > 0.0:
            return  # not known, or above the rig floor: no place in a hole
        known = next((s for s in reversed(self.kept) if s["event"] == event_id), None)
        if known is None:
            known = {"event": event_id, "kind": kind, "trip": trip, "begun_m": depth_m}
            self.kept = [*self.kept, known][-MOST_SPOTS:]
        # From where it was raised to where it was held hardest, as known by now.
        known["top_m"] = min(known["begun_m"], depth_m)
        known["bottom_m"] = max(known["begun_m"], depth_m)
        known["excess_N"] = excess_N if math.isfinite(excess_N) else 0.0

    def places(self) -> list[dict[str, Any]]:
        """Spots that meet as one place each, shallowest first."""
        places: list[dict[str, Any]] = []
        for spot in sorted(self.kept, key=lambda s: (s["top_m"], s["bottom_m"], s["event"])):
            last = places[-1] if places else None
            if last is not None and spot["top_m"] - last["bottom_m"] <= reach_m(spot["top_m"]):
                last["bottom_m"] = max(last["bottom_m"], spot["bottom_m"])
                last["excess_N"] = max(last["excess_N"], spot["excess_N"])
                last["trips"].add(spot["trip"])
                last["times"] += 1
            else:
                place = {key: spot[key] for key in ("top_m", "bottom_m", "excess_N")}
                places.append({**place, "trips": {spot["trip"]}, "times": 1})
        return [{**place, "trips": len(place["trips"])} for place in places]


def _meets(spot: dict[str, Any], depth_m: float) -> bool:
    reach = reach_m(depth_m)
    return bool(spot["top_m"] - reach <= depth_m <= spot["bottom_m"] + reach)


def reach_m(depth_m: float) -> float:
    """How far apart two depths may be that are the same place."""
    return max(SAME_DEPTH_M, SAME_DEPTH_SHARE * abs(depth_m))
