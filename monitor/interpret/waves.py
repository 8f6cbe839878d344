"""Waves of a floating rig's record, and what their inertia adds to the load.

Where the record has no heave, the rig file says whether the rig floats (it has a compensator
or a limit for heave): then the empty block tells the waves. Else this stage changes nothing.
"""

from __future__ import annotations

import math

import numpy as np

from monitor.interpret.load_waves import empty_block_pull, waves_of_load
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.windows import Tail, forward_fill
from monitor.mechanics.heave import HeaveWaves, heave_waves
from monitor.model import Command, Floats
from monitor.rig.rig import Rig
from monitor.units import STANDARD_GRAVITY_m_s2

NAN = float("nan")

# Waves are looked at every so often, over the last two minutes (8 to 17 waves).
LOOK_EVERY_US = 10_000_000
LOOK_BACK_S = 120.0
# Lower waves are noise of the sensor, or a vessel in calm water: the load shows nothing.
LEAST_HEIGHT_M = 0.2
LEAST_AMPLITUDE_M = 0.1
# Rows further apart do not show a wave of 7 s.
LONGEST_STEP_S = 2.0
# Waves seen this long ago still say what heave does to the load.
REMEMBERED_S = 1800.0
# Stroke from which a compensator is taken as working: drawn in, it is locked.
OPEN_STROKE_M = 0.1
# Steel in mud weighs this share of what it does in air (derived, 1.2 g/cm3).
BUOYED_SHARE = 0.85

FIGURES = ("amplitude_m", "period_s", "middle_m", "greatest_height_m")


class Waves(Stage):
    """Amplitude and period of heave as known at each row; loads without inertia of waves."""

    STATE = (
        "recent",
        "bucket",
        "heave_m",
        "stroke_m",
        "figures",
        "seen_s",
        "travelling_weight_N",
        "said",
    )

    def __init__(self, rig: Rig) -> None:
        self.travelling_weight_N = rig.travelling_weight_N
        # What people say of the compensator; only used where its stroke is not measured.
        self.said = "" if rig.compensator is None else rig.compensator.state
        self.floats = rig.compensator is not None or rig.limits.heave_m is not None
        self.recent = Tail(("time_s", "heave", "pull"), LOOK_BACK_S + 0.1, 1)
        self.bucket = 0
        self.heave_m = NAN
        self.stroke_m = 0.0
        self.figures = dict.fromkeys(FIGURES, NAN)
        self.seen_s = NAN

    def gap(self) -> None:
        """A wave does not reach across a gap."""
        self.recent.clear()

    def command(self, command: Command) -> None:
        """Other gear has another mass; the compensator is opened or locked."""
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number
        elif command.act == "compensator":
            self.said = command.text.strip()

    def step(self, rows: Rows) -> None:
        """Derive what is known of the waves; take inertia off the loads slips are told by."""
        heave, stroke = rows.channel("heave"), rows.channel("compensator_stroke")
        if heave is None and stroke is None and not self.floats:
            return
        column = rows.column
        nothing = np.full(len(rows), NAN)
        is_measured = stroke is not None
        stroke = nothing if stroke is None else stroke
        held = forward_fill(self.stroke_m, stroke, np.isfinite(stroke))
        self.stroke_m = float(held[-1])
        is_open = held > OPEN_STROKE_M
        if not is_measured:
            is_open = np.full(len(rows), self.said == "open")
        # Where only the stroke is measured: over a string that stands on bottom, a working
        # compensator extends as the vessel rises.
        waves = np.where(is_open, stroke, NAN) if heave is None else heave
        risen = nothing if heave is None else heave
        filled = forward_fill(self.heave_m, risen, np.isfinite(risen))
        self.heave_m = float(filled[-1])
        pull = nothing
        if heave is None and self.floats:
            pull = empty_block_pull(rows, self.travelling_weight_N)
        looked = self._looked(rows, waves, pull)
        is_heaving = looked["amplitude_m"] >= LEAST_AMPLITUDE_M
        rate = np.where(is_heaving, (2.0 * np.pi / looked["period_s"]) ** 2, 0.0)
        column["waves_m"], column["heave_m"], column["stroke_m"] = waves, filled, held
        column["is_open"], column["is_heaving"] = is_open, is_heaving
        column["wave_amplitude_m"] = looked["amplitude_m"]
        column["wave_period_s"] = looked["period_s"]
        column["wave_height_m"] = looked["greatest_height_m"]
        # Inertia of what heaves with the vessel: -w2 times heave is its acceleration as far
        # as heave at this moment tells it (the regression of one on the other).
        string = np.maximum(column["hook_load_N"] - self.travelling_weight_N, 0.0)
        mass = (self.travelling_weight_N + string / BUOYED_SHARE) / STANDARD_GRAVITY_m_s2
        pull = np.where(is_open, 0.0, mass * rate)
        inertia = -pull * np.nan_to_num(waves - looked["middle_m"])
        column["wave_inertia_N"] = inertia
        column["greatest_inertia_N"] = 0.5 * pull * np.nan_to_num(looked["greatest_height_m"])
        for name in ("smooth_load_N", "turned_load_N"):
            column[name] = column[name] - inertia

    def _looked(self, rows: Rows, waves: Floats, pull: Floats) -> dict[str, Floats]:
        """Figures of the waves as each row knows them, looked at every ten seconds."""
        joined, kept = self.recent.join({"time_s": rows.time_s, "heave": waves, "pull": pull})
        bucket = rows.time_us // LOOK_EVERY_US
        looks = np.flatnonzero(np.diff(np.concatenate(([self.bucket], bucket))))
        self.bucket = int(bucket[-1])
        table = np.empty((len(FIGURES), len(rows)))
        row = 0
        for look in looks.tolist():
            table[:, row:look] = np.array(list(self.figures.values()))[:, np.newaxis]
            row = look
            self._look(joined, kept + look)
        table[:, row:] = np.array(list(self.figures.values()))[:, np.newaxis]
        rows.column["wave_looks"] = looks
        return dict(zip(FIGURES, table, strict=True))

    def _look(self, joined: dict[str, Floats], last: int) -> None:
        now = float(joined["time_s"][last])
        first = int(np.searchsorted(joined["time_s"], now - LOOK_BACK_S))
        part = slice(first, last + 1)
        times, heave, pull = (joined[n][part].copy() for n in ("time_s", "heave", "pull"))
        waves = waves_of(times, heave)
        if waves is None:
            return
        if not math.isfinite(waves.period_s):
            waves = waves_of_load(times, pull) or waves
        if math.isfinite(waves.period_s):
            self.seen_s = now
            self.figures = {
                "amplitude_m": waves.amplitude_m,
                "period_s": waves.period_s,
                "middle_m": waves.mean_m,
                "greatest_height_m": waves.greatest_height_m,
            }
        elif math.isfinite(waves.mean_m) and now - times[0] > 0.5 * LOOK_BACK_S:
            # Calm: the record is whole and shows no wave.
            self.figures = {**dict.fromkeys(FIGURES, NAN), "amplitude_m": 0.0}
        elif now - self.seen_s > REMEMBERED_S:
            self.figures = dict.fromkeys(FIGURES, NAN)


def waves_of(time_s: Floats, heave_m: Floats) -> HeaveWaves | None:
    """Waves of a span; None where its times cannot show any."""
    if len(time_s) < 3 or not np.all(np.diff(time_s) > 0.0):
        return None
    return heave_waves(
        time_s, heave_m, least_height_m=LEAST_HEIGHT_M, longest_gap_s=LONGEST_STEP_S
    )
