"""The means that a peak is told by: noise and inertia make no pull greater than it was."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from monitor.interpret.stage import Carried, Rows
from monitor.interpret.windows import Tail, oldest_since, running_sum
from monitor.model import Floats, Ints

NAMES = ("up", "down", "load")
# A peak is the greatest mean over so long: noise of single rows makes none, and a string that
# stops on a ledge swings no faster (our choice; slower rows are their own mean).
PEAK_S = 0.5


class Peaks(Carried):
    """Means of the last half second of some series, a value a row."""

    STATE = ("recent", "sums", "counts")

    def __init__(self) -> None:
        columns = [f"{name}_{what}" for name in NAMES for what in ("sum", "count")]
        self.recent = Tail(("time_s", *columns), PEAK_S + 0.1, 1)
        self.sums = dict.fromkeys(NAMES, 0.0)
        self.counts = dict.fromkeys(NAMES, 0.0)

    def gap(self) -> None:
        """No mean reaches across a gap."""
        self.recent.clear()

    def follow(self, rows: Rows, series: Mapping[str, Floats]) -> dict[str, Floats]:
        """Mean over the last ``PEAK_S`` of each of ``NAMES``; not-a-number is left out."""
        columns = {"time_s": rows.time_s}
        for name in NAMES:
            values = series[name]
            total = running_sum(self.sums[name], values)
            count = self.counts[name] + np.cumsum(np.isfinite(values))
            self.sums[name], self.counts[name] = float(total[-1]), float(count[-1])
            columns[f"{name}_sum"], columns[f"{name}_count"] = total, count
        joined, kept = self.recent.join(columns)
        times = joined["time_s"]
        # The row before the first of the window; rows on its edge are outside.
        before = oldest_since(times, times[kept:] - (PEAK_S - 5e-4), kept) - 1
        result = {}
        for name in NAMES:
            number = _since(joined[f"{name}_count"], before, kept)
            with np.errstate(invalid="ignore", divide="ignore"):
                mean = _since(joined[f"{name}_sum"], before, kept) / number
            own = (before < 0) | (number <= 0.0)
            result[name] = np.where(own, series[name], mean)
        return result


def _since(total: Floats, before: Ints, kept: int) -> Floats:
    since: Floats = total[kept:] - total[np.maximum(before, 0)]
    return since
