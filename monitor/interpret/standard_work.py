"""Line work by the standard's formulas, stand by stand, beside what was really lifted."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from monitor.interpret.stage import Carried
from monitor.mechanics.line_work import (
    casing_work_J,
    drilling_work_J,
    round_trip_work_J,
    short_trip_work_J,
)
from monitor.mechanics.pipe import buoyancy_factor
from monitor.model import TripRow
from monitor.rig.hoisting import Gear
from monitor.rig.rig import Rig

NAN = float("nan")
# Newer versions of a stand come while it is pulled, and for one more that joins it.
STANDS_OPEN = 3
# Each length drilled is reamed once, as the standard's own example has it.
REAMS = 1


class StandardWork(Carried):
    """Sum of the formulas' line work over the stands of the record."""

    STATE = ("closed_J", "open_J", "from_J")

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self.closed_J = 0.0
        self.open_J: list[list[float]] = []  # stand and its work, the newest last
        self.from_J = 0.0  # line work lifted before the first stand that is booked

    @property
    def sum_J(self) -> float:
        """Work of the stands booked; not-a-number where none could be."""
        if not self.open_J:
            return NAN
        return self.closed_J + math.fsum(work for _, work in self.open_J)

    def take(
        self,
        rows: Sequence[TripRow],
        travelling_weight_N: float,
        gear: Gear | None,
        lifted_J: Callable[[int], float],
    ) -> None:
        """Book stands as they come and change; a void one is taken out again.

        After a stand whose depth or weight is not known both sums begin anew, so that they
        are of the same stands; ``lifted_J`` gives the line work at a time.
        """
        for row in rows:
            work_J = 0.0 if row.void else self._work_J(row, travelling_weight_N, gear)
            if not math.isfinite(work_J):
                if row.in_slips_us is not None:
                    self.closed_J, self.open_J = 0.0, []
                    self.from_J = lifted_J(row.in_slips_us)
                continue
            kept = [each for each in self.open_J if each[0] != row.stand]
            kept = sorted([*kept, [float(row.stand), work_J]])
            self.closed_J += math.fsum(work for _, work in kept[:-STANDS_OPEN])
            self.open_J = kept[-STANDS_OPEN:]

    def _work_J(self, row: TripRow, travelling_weight_N: float, gear: Gear | None) -> float:
        depth_m, length_m = row.bit_depth_m, abs(row.length_m)
        if not (math.isfinite(depth_m) and length_m > 0.0):
            return NAN
        before_m = depth_m + length_m if row.direction == "out" else depth_m - length_m
        low_m, high_m = sorted((max(before_m, 0.0), max(depth_m, 0.0)))
        if gear is not None and gear.tubular == "casing":
            # Its weight is not in the rig file: what hangs tells it.
            per_m = max(row.moving_weight_N - travelling_weight_N, 0.0) / max(high_m, 1.0)
            parts = [
                casing_work_J(d, length_m, per_m, travelling_weight_N) for d in (low_m, high_m)
            ]
            return parts[1] - parts[0]
        low_J, high_J = (
            round_trip_J(self.rig, depth, length_m, travelling_weight_N)
            for depth in (low_m, high_m)
        )
        if not low_J <= high_J:
            return NAN
        if row.direction == "drilled":
            drive = "top drive" if gear is not None and gear.drive == "top drive" else "kelly"
            return drilling_work_J(low_J, high_J, n_reams=REAMS, connection=drive)
        # One way of a short trip between the two depths.
        return 0.5 * short_trip_work_J(low_J, high_J)


def round_trip_J(
    rig: Rig, depth_m: float, stand_length_m: float, travelling_weight_N: float
) -> float:
    """Work of a round trip with the rig file's string; not-a-number where it gives none."""
    if not rig.string:
        return NAN
    pipe = rig.string[-1]
    buoyed = 1.0 if rig.mud_density_kg_m3 is None else buoyancy_factor(rig.mud_density_kg_m3)
    excess_N, left_m = 0.0, depth_m
    for section in rig.string[:-1]:
        length_m = min(left_m, section.length_m or 0.0)
        left_m -= length_m
        excess_N += length_m * (section.weight_in_air_N_m - pipe.weight_in_air_N_m)
    return round_trip_work_J(
        depth_m,
        stand_length_m,
        buoyed * pipe.weight_in_air_N_m,
        travelling_weight_N,
        buoyed * excess_N,
    )
