"""Channels beside load and block: rotary, pumps, trip tank. Set points with a lag each."""

from __future__ import annotations

import numpy as np

from monitor.model import Floats

TIME_CONSTANTS_S = {"rotary_speed": 2.0, "flow_in": 4.0, "standpipe_pressure": 5.0, "torque": 1.5}
PRESSURE_PA_S2_M6 = 1.05e10  # standpipe pressure over flow squared: 19 MPa at 2500 L/min
IDLE_TORQUE_N_M = 6.0e3
TORQUE_M = 0.055  # torque over weight on bit
TANK_REFILL_M3_S = 0.05
TANK_START_M3 = 5.0
TANK_LOW_M3, TANK_HIGH_M3, TANK_STROKE_M3 = 2.0, 7.0, 4.5


class Panel:
    """Values of the further channels; each leg of the story continues from the last."""

    def __init__(self, step_s: float) -> None:
        self.step_s = step_s
        self.values = dict.fromkeys(TIME_CONSTANTS_S, 0.0)
        self.targets = dict.fromkeys(TIME_CONSTANTS_S, 0.0)
        self.tank_base_m3: float | None = None
        self.tank_target_m3 = 0.0

    def pumps(self, flow_m3_s: float) -> None:
        """Start, change or stop (0) the pumps."""
        self.targets["flow_in"] = flow_m3_s
        self.targets["standpipe_pressure"] = PRESSURE_PA_S2_M6 * flow_m3_s**2

    def rotate(self, speed_rad_s: float) -> None:
        """Start, change or stop (0) rotation."""
        self.targets["rotary_speed"] = speed_rad_s
        self.targets["torque"] = IDLE_TORQUE_N_M if speed_rad_s else 0.0

    def leg(self, count: int, weight_on_bit_N: Floats) -> dict[str, Floats]:
        """Values of the lagged channels over the next ``count`` steps."""
        clock = (np.arange(count) + 1.0) * self.step_s
        columns: dict[str, Floats] = {}
        for name, constant in TIME_CONSTANTS_S.items():
            target = self.targets[name]
            columns[name] = target + (self.values[name] - target) * np.exp(-clock / constant)
            self.values[name] = float(columns[name][-1])
        # The bit adds its torque while the string turns.
        turning = columns["torque"] / IDLE_TORQUE_N_M
        columns["torque"] = columns["torque"] + turning * TORQUE_M * weight_on_bit_N
        return columns

    def tank_m3(self, steel_m3: Floats) -> Floats:
        """Trip tank on continuous fill: it holds what the steel in the hole displaces."""
        clock = (np.arange(len(steel_m3)) + 1.0) * self.step_s
        if self.tank_base_m3 is None:
            self.tank_base_m3 = self.tank_target_m3 = TANK_START_M3 - float(steel_m3[0])
        rest = self.tank_target_m3 - self.tank_base_m3
        base = self.tank_base_m3 + np.sign(rest) * np.minimum(abs(rest), TANK_REFILL_M3_S * clock)
        self.tank_base_m3 = float(base[-1])
        level = np.asarray(base + steel_m3)
        if rest == 0.0 and level[-1] < TANK_LOW_M3:
            self.tank_target_m3 += TANK_STROKE_M3
        elif rest == 0.0 and level[-1] > TANK_HIGH_M3:
            self.tank_target_m3 -= TANK_STROKE_M3
        return level
