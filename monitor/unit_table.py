"""The units the project knows: one table of spellings and exact factors.

Factors are exact from their definitions: 1 lb = 0.45359237 kg, standard gravity
9.80665 m/s2, 1 in = 25.4 mm, 1 US gallon = 231 in3. Used through ``monitor.units`` only.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

STANDARD_GRAVITY_m_s2 = 9.80665  # exact by convention
_POUND_kg = 0.45359237
_LBF_N = _POUND_kg * STANDARD_GRAVITY_m_s2
_FOOT_m = 0.3048
_INCH_m = 0.0254
_GALLON_m3 = 231 * _INCH_m**3
_BARREL_m3 = 42 * _GALLON_m3
_PSI_Pa = _LBF_N / _INCH_m**2
_g = STANDARD_GRAVITY_m_s2

# quantity -> (SI symbol, an example, {spellings separated by "|": scale or (scale, offset)}).
# The first spelling of a line is the one shown in messages.
_Factor = float | tuple[float, float]
UNIT_TABLE: Mapping[str, tuple[str, str, Mapping[str, _Factor]]] = {
    "force": (
        "N",
        "245 kN",
        {
            "N": 1.0,
            "daN": 10.0,
            "kN": 1e3,
            "kdaN|kdN": 1e4,  # kdN: the kilodecanewton of the WITS standard, printed KDN
            "MN": 1e6,
            "mN": 1e-3,  # listed so that it is never mistaken for MN
            "lbf|lb|lbs|pounds": _LBF_N,
            "klbf|klb|klbs|kip|kips|kpounds|1000 lbf|1000 lb|1000 lbs": 1e3 * _LBF_N,
            "kgf|kg|kp": _g,
            "kkgf|1000 kgf|1000 kg": 1e3 * _g,
            "tf|t|tonne|tonnes|metric ton|metric tons": 1e3 * _g,
            "tonf|tonfUS|short ton|short tons|sh tn": 2e3 * _LBF_N,
        },
    ),
    "length": (
        "m",
        "30 m",
        {
            "m|meter|meters|metre|metres": 1.0,
            "mm": 1e-3,
            "cm": 1e-2,
            "km": 1e3,
            "ft|feet|foot": _FOOT_m,
            "in|inch|inches": _INCH_m,
        },
    ),
    "area": (
        "m2",
        "20 in2",
        {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "in2|sq in": _INCH_m**2},
    ),
    "angular_speed": (
        "rad/s",
        "120 rpm",
        {
            "rpm|rev/min|r/min|1/min": 2 * math.pi / 60,
            "rad/s": 1.0,
            "rps|rev/s|1/s|Hz": 2 * math.pi,
            "deg/s": math.pi / 180,
        },
    ),
    "torque": (
        "N.m",
        "12 kN.m",
        {
            "N.m": 1.0,
            "daN.m": 10.0,
            "kN.m": 1e3,
            "kgf.m|kg.m": _g,
            "ft.lbf|ft.lb|ft.lbs|lbf.ft|lb.ft|lbs.ft": _FOOT_m * _LBF_N,
            "kft.lbf|kft.lb|kft.lbs|klbf.ft|klb.ft|kf.lb": 1e3 * _FOOT_m * _LBF_N,
            "in.lbf|in.lb|lbf.in": _INCH_m * _LBF_N,
        },
    ),
    "flow": (
        "m3/s",
        "2000 L/min",
        {
            "m3/s": 1.0,
            "m3/min": 1 / 60,
            "m3/h|m3/hr": 1 / 3600,
            "L/s": 1e-3,
            "L/min|lpm": 1e-3 / 60,
            "gal/min|gpm|USgpm|galUS/min": _GALLON_m3 / 60,
            "bbl/min|bpm": _BARREL_m3 / 60,
            "bbl/h|bbl/hr|bph": _BARREL_m3 / 3600,
        },
    ),
    "pressure": (
        "Pa",
        "200 bar",
        {
            "Pa": 1.0,
            "mPa": 1e-3,  # listed so that it is never mistaken for MPa
            "kPa": 1e3,
            "MPa|MPA|N/mm2": 1e6,
            "GPa": 1e9,
            "bar": 1e5,
            "mbar": 1e2,
            "atm": 101325.0,
            "psi|psig|lbf/in2": _PSI_Pa,
            "ksi|kpsi": 1e3 * _PSI_Pa,
            "kgf/cm2|kg/cm2|at": _g * 1e4,
        },
    ),
    "volume": (
        "m3",
        "8 m3",
        {
            "m3|cubic metres|cubic meters": 1.0,
            "L|litre|litres|liter|liters": 1e-3,
            "bbl|bbls|barrel|barrels": _BARREL_m3,
            "gal|gals|USgal|galUS|gallon|gallons": _GALLON_m3,
            "ft3|cu ft": _FOOT_m**3,
        },
    ),
    "temperature": (
        "K",
        "20 degC",
        {
            "degC|C|Celsius": (1.0, 273.15),
            "degF|F|Fahrenheit": (5 / 9, 459.67 * 5 / 9),
            "K|Kelvin": 1.0,
        },
    ),
    "current": ("A", "4 mA", {"mA": 1e-3, "A": 1.0}),
    "voltage": ("V", "10 V", {"V": 1.0, "mV": 1e-3}),
    "density": (
        "kg/m3",
        "1200 kg/m3",
        {
            "kg/m3": 1.0,
            "g/cm3|g/cc|g/mL|kg/L|kg/dm3|sg|t/m3": 1e3,
            "ppg|lb/gal|lbm/gal|lb/galUS|lbm/galUS": _POUND_kg / _GALLON_m3,
            "lb/ft3|lbm/ft3|pcf": _POUND_kg / _FOOT_m**3,
        },
    ),
    "weight_per_length": (
        "N/m",
        "285 N/m",
        {
            "N/m": 1.0,
            "daN/m": 10.0,
            "kN/m": 1e3,
            "kg/m|kgf/m": _g,
            "lb/ft|lbf/ft|lbm/ft|ppf": _LBF_N / _FOOT_m,
        },
    ),
    "mass": (
        "kg",
        "5 t",
        {"kg": 1.0, "t|tonne|tonnes|metric ton|metric tons": 1e3, "lb|lbm|lbs": _POUND_kg},
    ),
    "angle": ("rad", "30 deg", {"deg|degree|degrees|dega": math.pi / 180, "rad": 1.0}),
    "time": (
        "s",
        "10 s",
        {
            "s|sec|second|seconds": 1.0,
            "ms": 1e-3,
            "us": 1e-6,
            "min|minute|minutes": 60.0,
            "h|hr|hour|hours": 3600.0,
            "d|day|days": 86400.0,
        },
    ),
    "speed": (
        "m/s",
        "0.5 m/s",
        {
            "m/s": 1.0,
            "m/min": 1 / 60,
            "m/h|m/hr": 1 / 3600,
            "ft/s": _FOOT_m,
            "ft/min": _FOOT_m / 60,
            "ft/h|ft/hr": _FOOT_m / 3600,
        },
    ),
    "work": (
        "J",
        "500 MJ",
        {
            "J": 1.0,
            "kJ": 1e3,
            "MJ": 1e6,
            "GJ": 1e9,
            "ton-mile|ton-miles": 10_560_000 * _FOOT_m * _LBF_N,  # 2000 lbf x 5280 ft
            "t.km|tf.km|tonne-km": 1e6 * _g,
        },
    ),
    "compliance": (
        "m/N",
        "0.05 mm/kN",
        {"m/N": 1.0, "mm/kN": 1e-6, "m/MN": 1e-6, "in/klbf": _INCH_m / (1e3 * _LBF_N)},
    ),
    "stiffness": (
        "N/m",
        "12 kN/m",
        {"N/m": 1.0, "kN/m": 1e3, "lbf/ft": _LBF_N / _FOOT_m, "klbf/ft": 1e3 * _LBF_N / _FOOT_m},
    ),
    "power": (
        "W",
        "1500 kW",
        {"W": 1.0, "kW": 1e3, "MW": 1e6, "hp|HP|horsepower": 550 * _FOOT_m * _LBF_N},
    ),
    "acceleration": ("m/s2", "1.5 m/s2", {"m/s2": 1.0, "ft/s2": _FOOT_m}),
}
