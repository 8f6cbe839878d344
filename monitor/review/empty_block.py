"""What the empty block read in slips: a check of zero and line count over the whole span."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from monitor.interpret.hold import SETTLED
from monitor.model import Activity, State
from monitor.review.span import Span

NAN = float("nan")
# Read from so long after slips are set, as the live check does, and at least so long.
SETTLE_S = 5.0
LEAST_S = 3.0
# Nothing but the travelling equipment hangs there: the least of several connections is empty,
# a stand or collars make it more. Readings within this share of the least count as empty.
EMPTY_SHARE = 0.03


@dataclass(frozen=True, slots=True)
class EmptyReadings:
    """Empty block by connection: how many, their median and how they spread."""

    connections: int
    load_N: float  # median; NaN: never seen empty
    spread_N: float  # half of what 90 % of the readings span


NONE_SEEN = EmptyReadings(0, NAN, NAN)


def empty_readings(span: Span) -> EmptyReadings:
    """Settled loads of the empty block, one a connection."""
    seconds = span.seconds()
    if not len(seconds):
        return NONE_SEEN
    state = seconds["state"].astype(np.int64)
    load, friction = seconds["hook_load_N"], seconds["friction_state"]
    in_slips = seconds["activity"] == Activity.IN_SLIPS
    empty = in_slips & ((state & int(State.SLIPS_HOLDING_PIPE)) == 0)
    settled = ~(np.abs(friction) <= SETTLED)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], in_slips.astype(np.int8), [0]))))
    loads = []
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        since_s = (seconds.time_us[start:stop] - seconds.time_us[start]) / 1e6
        chosen = empty[start:stop] & settled[start:stop] & (since_s >= SETTLE_S)
        chosen &= np.isfinite(load[start:stop])
        if chosen.sum() >= LEAST_S:
            loads.append(float(np.median(load[start:stop][chosen])))
    if not loads:
        return NONE_SEEN
    values = np.array(loads)
    values = values[values <= values.min() * (1.0 + EMPTY_SHARE)]
    low, high = np.quantile(values, (0.05, 0.95))
    return EmptyReadings(len(values), float(np.median(values)), float(high - low) / 2.0)
