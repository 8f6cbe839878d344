"""Dead-line tension into hook load, with the friction state and an honest half width."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from monitor.interpret.calibrations import Calibrations
from monitor.interpret.motion import GLITCH_SPAN_S
from monitor.interpret.stage import Rows, Stage
from monitor.interpret.windows import (
    Tail,
    everywhere,
    forward_fill,
    median_of_3,
    root_sum,
    running_sum,
    window_start,
)
from monitor.mechanics.dead_line import mud_hose_change_N
from monitor.mechanics.reeving import load_factor_hoisting, load_factor_lowering
from monitor.metrology.calibration import Calibration, load_of
from monitor.metrology.load_interval import half_width_at
from monitor.metrology.uncertainty import (
    COVERAGE_FACTOR,
    EFFICIENCY_HALF_WIDTH,
    RECTANGLE,
    UNCALIBRATED_SHARE,
    Reeved,
    efficiency_share,
)
from monitor.model import Command, Flags, Floats, Quality
from monitor.rig.rig import Rig
from monitor.units import STANDARD_GRAVITY_m_s2

NAN = float("nan")

# Short mean for decisions on slips: long enough for noise, short against a slips set.
SMOOTH_S = 0.5
# A source that gives loads less often than rows: each holds until the next is nearly due, so
# long at most (a row in 10 s is slow for a rig's record).
DUE_SHARE = 0.9
LONGEST_HELD_S = 10.0
# Rows too far apart for a median: a load that much lighter than the gear, or so many times
# the greatest that two rows running have shown, is believed once the next row has it, too.
LEAST_GEAR_SHARE = 0.6
GREATEST_TIMES = 1.5
LONGEST_LEAP_S = 2.5  # slower rows may show a pull only once
# NAMUR NE 43: a current at or below 3.6 mA or at or above 21 mA reports a fault.
FAULT_LOW_A, FAULT_HIGH_A = 0.0036, 0.021

# The last reading, when it came and how long after the one before.
NOTHING_READ = {"value": NAN, "at_s": NAN, "apart_s": NAN, "last": NAN, "doubted": 0.0}


class Load(Stage):
    """Hook load as it hangs, friction-corrected; a reported hook load is left as it is."""

    STATE = (
        "calibrations",
        "lines_strung",
        "travelling_weight_N",
        "raw",
        "smooth",
        "sum_N",
        "count",
        "work_J",
        "as_reported",
        "greatest_N",
        "valid_s",
        "read",
        "twice",
    )

    def __init__(self, rig: Rig) -> None:
        self.reeving = rig.reeving
        self.line = rig.line
        self.hose = rig.mud_hose
        self.sensor = rig.sensor
        self.calibrations = Calibrations(rig.sensor)
        self.lines_strung = rig.reeving.lines_strung
        self.travelling_weight_N = rig.travelling_weight_N
        self.raw = Tail(("time_s", "tension"), 0.0, 2)
        self.smooth = Tail(("time_s", "sum", "count"), SMOOTH_S + 0.1, 1)
        self.sum_N = 0.0
        self.count = 0.0
        self.work_J = 0.0
        self.as_reported = False
        self.greatest_N = NAN
        self.valid_s = NAN
        self.read = dict(NOTHING_READ)
        self.twice = -math.inf  # greatest reading that two rows running have shown

    def gap(self) -> None:
        """Windows end at a gap."""
        self.raw.clear()
        self.read = dict(NOTHING_READ)
        self.smooth.clear()

    def command(self, command: Command) -> None:
        """Lines strung and travelling weight are changed by people."""
        if command.act == "lines_strung" and math.isfinite(command.number):
            self.lines_strung = int(command.number)
        if command.act == "travelling_weight" and math.isfinite(command.number):
            self.travelling_weight_N = command.number
        if command.act in ("calibration_approved", "calibration_rolled_back"):
            self.gap()  # no median over readings of two calibrations
        if command.act in ("lines_strung", "calibration_approved", "calibration_rolled_back"):
            self.twice = -math.inf

    def factors(self) -> tuple[float, float]:
        """Hook load over dead-line tension, hoisting and lowering."""
        arguments = (
            self.lines_strung,
            self.reeving.sheave_efficiency,
            self.reeving.dead_line_sheave,
        )
        return load_factor_hoisting(*arguments), load_factor_lowering(*arguments)

    def reeved(self) -> Reeved:
        """Lines and sheaves, with how well their efficiency is known."""
        measured = self.reeving.efficiency_half_width
        untold = EFFICIENCY_HALF_WIDTH / RECTANGLE
        return Reeved(
            self.lines_strung,
            self.reeving.sheave_efficiency,
            self.reeving.dead_line_sheave,
            untold if measured is None else measured / COVERAGE_FACTOR,
        )

    def tension_uncertainty_N(self, tension_N: Floats) -> Floats:
        """Standard uncertainty of tension by the calibration in force."""
        calibrations = self.calibrations
        fit = calibrations.applied(calibrations.reading_of)
        if fit is None:
            return (UNCALIBRATED_SHARE / COVERAGE_FACTOR) * np.abs(tension_N)
        reference_N = calibrations.reference_uncertainty_N()
        half = half_width_at(fit, tension_N, reference_uncertainty=reference_N)
        return np.asarray(half / COVERAGE_FACTOR)

    def step(self, rows: Rows) -> None:
        """Derive hook load, plain hook load, half width, string weight, line work."""
        rows.column["outside_calibration"] = np.zeros(len(rows), dtype=bool)
        tension, quality = self._tension(rows)
        reported = rows.channel("hook_load")
        self.as_reported = tension is None and reported is not None
        if self.as_reported and reported is not None:
            self._as_reported(rows, reported)
        else:
            if tension is None:
                tension = np.full(len(rows), NAN)
                quality = np.full(len(rows), Quality.MISSING, dtype=np.uint16)
            self._from_tension(rows, tension, quality)
        self._derived(rows)

    def _tension(self, rows: Rows) -> tuple[Floats | None, Flags]:
        signal = rows.channel("deadline_signal")
        tension = rows.channel("deadline_tension")
        nothing = np.zeros(len(rows), dtype=np.uint16)
        if tension is not None:
            self.calibrations.reading_of = "deadline_tension"
            quality = rows.quality.get("deadline_tension", nothing)
            fit = self.calibrations.applied("deadline_tension")
            return (tension, quality) if fit is None else self._by(fit, rows, tension, quality)
        fit = self.calibrations.applied("deadline_signal")
        if signal is None or (self.sensor.span_N is None and fit is None):
            return None, nothing
        self.calibrations.reading_of = "deadline_signal"
        quality = rows.quality.get("deadline_signal", nothing).copy()
        if self.sensor.signal_quantity == "current":
            fault = (signal <= FAULT_LOW_A) | (signal >= FAULT_HIGH_A)
            quality[fault] |= np.uint16(Quality.FAULT)
            signal = np.where(fault, NAN, signal)
        if fit is not None:
            return self._by(fit, rows, signal, quality)
        share = (signal - self.sensor.signal_low) / (
            self.sensor.signal_high - self.sensor.signal_low
        )
        return share * (self.sensor.span_N or NAN), quality

    def _by(
        self, fit: Calibration, rows: Rows, readings: Floats, quality: Flags
    ) -> tuple[Floats, Flags]:
        """Tension by the calibration that people have put in force, flagged beyond its points."""
        tension, outside = load_of(fit, readings)
        known = np.isfinite(readings)
        rows.column["outside_calibration"] = outside & known
        # Beyond where the curve turns over no load gives the reading.
        quality = quality | np.where(known & np.isnan(tension), Quality.ABSURD, 0).astype(
            np.uint16
        )
        return tension, quality

    def _clean(self, rows: Rows, values: Floats, gear: float) -> Floats:
        """Readings without one-row glitches; each holds in rows that come before the next.

        Rows of a second kind, or of channels sent more often, are no missing load. Such rows
        have ``load_is_old``: what they hold is no second reading.
        """
        finite = np.isfinite(values)
        known = everywhere(finite)
        at_s = rows.time_s[known]
        joined, kept = self.raw.join({"time_s": at_s, "tension": values[known]})
        times = joined["time_s"]
        clean = np.full(len(rows), NAN)
        clean[known] = median_of_3(times, joined["tension"], kept, GLITCH_SPAN_S)
        apart_s = np.full(len(rows), NAN)
        apart_s[known] = np.diff(np.concatenate(([self.read["at_s"]], at_s)))
        doubted = np.zeros(len(rows), dtype=bool)
        doubted[known] = self._doubted(clean[known], apart_s[known], gear)
        rows.column["load_doubted"] = doubted
        clean[doubted] = NAN
        last = {"value": clean, "at_s": rows.time_s, "apart_s": apart_s}
        for name, column in last.items():
            last[name] = forward_fill(self.read[name], column, finite)
            self.read[name] = float(last[name][-1])
        due_s = DUE_SHARE * np.minimum(last["apart_s"], LONGEST_HELD_S)
        held = ~finite & (rows.time_s - last["at_s"] < due_s)
        rows.column["load_is_old"] = held
        return np.where(held, last["value"], clean)

    @staticmethod
    def _flagged(rows: Rows, quality: Flags) -> Flags:
        doubted = rows.column["load_doubted"]
        return quality | np.where(doubted, Quality.ABSURD, 0).astype(np.uint16)

    def _doubted(self, values: Floats, apart_s: Floats, gear: float) -> NDArray[np.bool_]:
        """Readings that no rig gives from one row to the next, where the next must tell."""
        before = np.concatenate(([self.read["last"]], values))
        both = np.fmin(before[1:], np.nan_to_num(before[:-1], nan=-np.inf))
        twice = np.maximum.accumulate(np.concatenate(([self.twice], both)))
        with np.errstate(invalid="ignore"):
            low = (values < LEAST_GEAR_SHARE * gear) & (gear > 0.0)
            high = (values > GREATEST_TIMES * twice[:-1]) & (twice[:-1] > 0.0)
            high &= apart_s <= LONGEST_LEAP_S
            far = (low | high) & ~(apart_s <= 0.5 * GLITCH_SPAN_S + 5e-4)
        was = np.concatenate(([self.read["doubted"] > 0.0], far[:-1]))
        if len(values):
            self.read["last"], self.read["doubted"] = float(values[-1]), float(far[-1])
            self.twice = float(twice[-1])
        return far & ~was

    def _as_reported(self, rows: Rows, reported: Floats) -> None:
        load = self._clean(rows, reported, self.travelling_weight_N)
        quality = rows.quality.get("hook_load", np.zeros(len(rows), dtype=np.uint16))
        rows.column["load_quality"] = self._flagged(rows, quality) | np.uint16(Quality.AS_REPORTED)
        rows.column["hook_load_plain_N"] = load
        rows.column["hook_load_N"] = load
        half = UNCALIBRATED_SHARE * np.abs(load)
        rows.column["hook_load_half_width_N"] = rows.column["turning_half_width_N"] = half
        # As if it were lines strung times tension: the sensor's doubts are told at the sensor.
        rows.column["read_tension_N"] = reported / self.lines_strung
        rows.column["tension_N"] = load / self.lines_strung
        rows.column["tension_doubt_N"] = self.tension_uncertainty_N(rows.column["tension_N"])
        rows.column["load_share"] = np.full(len(rows), 1.0 / self.lines_strung)

    def _from_tension(self, rows: Rows, tension: Floats, quality: Flags) -> None:
        clean = self._clean(rows, tension, self.travelling_weight_N / self.lines_strung)
        rows.column["read_tension_N"] = tension
        rows.column["tension_doubt_N"] = doubt = self.tension_uncertainty_N(clean)
        rows.column["load_quality"] = self._flagged(rows, quality)
        rows.column["hook_load_plain_N"] = self.lines_strung * clean
        if self.line is not None and self.lines_strung % 2 == 0:
            # The line between the blocks hangs on the load, not on the anchor. An odd count
            # ends at the block and is sensed there.
            height = rows.column["block_m"] - self.line.anchor_height_m
            clean = clean + self.line.weight_N_m * np.where(np.isfinite(height), height, 0.0)
        up, down = self.factors()
        friction = rows.column["friction_state"]
        share = 0.5 * ((1.0 + friction) / up + (1.0 - friction) / down)
        rows.column["tension_N"] = clean  # of the line's weight, too: what makes the load
        load = by_tension = clean / share
        inertia = np.nan_to_num(rows.column["acceleration_m_s2"]) * (
            self.travelling_weight_N / STANDARD_GRAVITY_m_s2
        )
        load = load - inertia
        if self.hose is not None:
            more = mud_hose_change_N(
                rows.column["block_m"], self.hose.at_block_height_m, self.hose.weight_N_m
            )
            load = load - np.nan_to_num(more)
        # While the friction turns over, the load lies anywhere between the two factors.
        turning = 0.5 * (up - down) * (1.0 - np.abs(friction)) * np.abs(clean)
        rows.column["hook_load_N"] = load
        rows.column["load_share"] = share
        # What moves the load beside what is expected of it, learnt by the same sensor.
        rows.column["turning_half_width_N"] = root_sum(UNCALIBRATED_SHARE * np.abs(load), turning)
        by_sheaves = by_tension * efficiency_share(self.reeved(), friction, share)
        turning, by_sensor = turning / RECTANGLE, doubt / share
        rows.column["hook_load_half_width_N"] = COVERAGE_FACTOR * np.sqrt(
            by_sensor * by_sensor + by_sheaves * by_sheaves + turning * turning
        )

    def _derived(self, rows: Rows) -> None:
        load = rows.column["hook_load_N"]
        fresh = np.where(rows.column["load_is_old"], NAN, load)
        total = running_sum(self.sum_N, fresh)
        count = self.count + np.cumsum(np.isfinite(fresh))
        joined, kept = self.smooth.join({"time_s": rows.time_s, "sum": total, "count": count})
        start = window_start(joined["time_s"], kept, SMOOTH_S)
        number = joined["count"][kept:] - joined["count"][start]
        with np.errstate(invalid="ignore", divide="ignore"):
            smooth = (joined["sum"][kept:] - joined["sum"][start]) / number
        # The first row after a start or a gap is its own mean; so is slow data's, whose
        # window would reach back a whole row.
        own = (joined["time_s"][kept:] - joined["time_s"][start] > 2 * SMOOTH_S) | (number <= 0)
        rows.column["smooth_load_N"] = np.where(own, load, smooth)
        # What it would be had the friction turned over already.
        up, down = self.factors()
        rows.column["turned_load_N"] = rows.column["smooth_load_N"] * (down / up)
        rows.column["load_sum_N"], rows.column["load_count"] = total, count
        work = running_sum(self.work_J, np.abs(load * np.nan_to_num(rows.column["block_step_m"])))
        rows.column["line_work_J"] = work
        valid_s = forward_fill(self.valid_s, rows.time_s, np.isfinite(load))
        rows.column["load_age_s"] = rows.time_s - valid_s
        self.valid_s = float(valid_s[-1])
        rows.column["string_weight_N"] = load - self.travelling_weight_N
        self.sum_N, self.count = float(total[-1]), float(count[-1])
        self.work_J = float(work[-1])
        if np.isfinite(load).any():
            greatest = float(np.nanmax(load))
            known = math.isfinite(self.greatest_N)
            self.greatest_N = max(self.greatest_N, greatest) if known else greatest
