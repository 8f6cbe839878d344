"""Jar blows of a held string, by the rule the live stage uses, their loads at full rate."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from monitor.interpret.hold import HangingSecond
from monitor.interpret.jarring import Blow, Jarring
from monitor.review.pulls import Held
from monitor.review.span import Span

# Judged by the second: slower records cannot show a blow.
SLOWEST_INTERVAL_S = 1.0
# The blow lies within so long from the second it is seen from; it is over in half a second.
WITHIN_US = 3_000_000
BLOW_US = 500_000


def can_show_blows(span: Span) -> bool:
    """Whether the record is fast enough for a blow to be seen in it."""
    return span.interval_s() <= SLOWEST_INTERVAL_S


def find_blows(span: Span, held: Held) -> list[Blow]:
    """Blows in order of time; the span is one spell of a held string."""
    if not can_show_blows(span):
        return []
    seconds, jarring = span.seconds(), Jarring()
    names = ("block_position", "hook_load_N", "block_speed_m_s", "friction_state")
    columns = [seconds[name].tolist() for name in names]
    found = []
    for row in zip(seconds.time_us.tolist(), *columns, strict=True):
        blow = jarring.follow(HangingSecond(*row), (held.up_N, held.low_N), held.compliance_m_N)
        if blow is not None:
            found.append(_at_full_rate(span, blow))
    return sorted(found, key=lambda blow: blow.time_us)


def _at_full_rate(span: Span, blow: Blow) -> Blow:
    """Time of the steepest step, the load it began from and the least it left."""
    part = span.between(blow.time_us, blow.time_us + WITHIN_US)
    load, time_us = part["hook_load_N"], part.time_us
    after = np.minimum(np.searchsorted(time_us, time_us + BLOW_US), len(load) - 1)
    given = np.nan_to_num(blow.way * (load - load[after]), nan=-np.inf)
    at = int(np.argmax(given))
    if not len(load) or not np.isfinite(load[at]):
        return blow
    left = part.between(int(time_us[at]), int(time_us[at]) + 2 * BLOW_US)["hook_load_N"]
    after_N = blow.way * float(np.nanmin(blow.way * left))
    return replace(blow, time_us=int(time_us[at]), cocked_N=float(load[at]), after_N=after_N)
