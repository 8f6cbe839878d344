"""How well hook load and weight on bit are known, term by term, by the law of propagation.

Every term is a standard uncertainty at the hook. They are taken as independent and added in
squares; 1.96 times the sum covers 95 % as far as it is near normal. What is not in it: drag
in the hole, wind on the derrick, a mistake in the rig file.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from monitor.metrology.sheave_friction import load_factors

COVERAGE_FACTOR = 1.96
# A stated bound without a preference inside it: its standard deviation is the half width
# over the square root of three (rectangle).
RECTANGLE = math.sqrt(3.0)
# Standard deviation of the middle one of three normal values: what a median of three rows
# leaves of their noise (order statistics, checked by simulation).
MEDIAN_OF_3 = 0.6698

# Our choices where nothing was measured, stated in the budget:
# a sheave efficiency as it stands in a rig file, half width; bearings in order run from
# 0.98 to 0.99 (common practice).
EFFICIENCY_HALF_WIDTH = 0.005
# a sensor without a certificate: 0.5 % of the reading at 95 %.
UNCALIBRATED_SHARE = 0.005
# the zero before the empty block was first weighed: share of the span, half width.
ZERO_SHARE = 0.005
# the drilling line where the rig file does not tell it: weight per metre (1 3/8 in), one
# stand of block travel: what hangs between the blocks is kept from the sensor, all one way.
LINE_UNTOLD_N_m, TRAVEL_UNTOLD_m = 51.0, 28.0
# the tare: a second is taken into it while the last five lie within 10 kN.
TARE_RANGE_N = 10e3

Terms = Mapping[str, Any]  # name -> standard uncertainty at the hook, float or array [N]


@dataclass(frozen=True, slots=True)
class Reeved:
    """What turns tension into load: lines, sheaves, and how well their efficiency is known."""

    n_lines: int
    sheave_efficiency: float
    dead_line_sheave: str = "fixed"
    efficiency_uncertainty: float = EFFICIENCY_HALF_WIDTH / RECTANGLE  # standard

    def shares(self, sheave_efficiency: float) -> tuple[float, float]:
        """Tension over load, hoisting and lowering."""
        up, down = load_factors(sheave_efficiency, self.n_lines, self.dead_line_sheave)
        return 1.0 / up, 1.0 / down

    def slopes(self) -> tuple[float, float]:
        """Change of those shares with the sheave efficiency, by a small difference."""
        step = 1e-5
        above = self.shares(self.sheave_efficiency + step)
        below = self.shares(self.sheave_efficiency - step)
        return (above[0] - below[0]) / (2.0 * step), (above[1] - below[1]) / (2.0 * step)


def efficiency_share(reeved: Reeved, friction_state: Any, share: Any = None) -> Any:
    """Standard uncertainty of the hook load from the sheaves' efficiency, over that load.

    Parameters
    ----------
    reeved : Reeved
        Lines and sheaves.
    friction_state : float or ndarray
        +1 after hoisting, -1 after lowering, between while it turns over. [-]
    share : float or ndarray, optional
        Tension over load in that state, where it is known already. [-]

    Returns
    -------
    float or ndarray
        Relative standard uncertainty. [-]

    Notes
    -----
    W = F / s with s = ((1 + f) / f_up + (1 - f) / f_down) / 2 of the friction state f, so
    dW / W = -ds / s.

    Examples
    --------
    >>> round(efficiency_share(Reeved(10, 0.985, efficiency_uncertainty=0.003), 1.0), 4)
    0.0141

    References
    ----------
    .. [1] Derived from the belt-friction model of API RP 9B.
    """
    up, down = reeved.shares(reeved.sheave_efficiency)
    slope_up, slope_down = reeved.slopes()
    if share is None:
        share = 0.5 * (up + down) + 0.5 * (up - down) * friction_state
    doubt = 0.5 * reeved.efficiency_uncertainty
    middle, swing = doubt * (slope_up + slope_down), doubt * (slope_up - slope_down)
    return abs(middle + swing * friction_state) / share


def turning_N(reeved: Reeved, friction_state: Any, tension_N: Any) -> Any:
    """Half width of what the friction may do while it turns over from one way to the other.

    Parameters
    ----------
    reeved : Reeved
        Lines and sheaves.
    friction_state : float or ndarray
        As `efficiency_share`. [-]
    tension_N : float or ndarray
        Tension of the dead line. [N]

    Returns
    -------
    float or ndarray
        Half width at the hook, 0 where the block has moved far enough one way. [N]

    Examples
    --------
    >>> round(turning_N(Reeved(10, 0.98), 0.0, 100e3))
    91191

    References
    ----------
    .. [1] Derived: the load lies between the two factors.
    """
    up, down = reeved.shares(reeved.sheave_efficiency)
    return 0.5 * (1.0 / up - 1.0 / down) * (1.0 - abs(friction_state)) * abs(tension_N)


@dataclass(frozen=True, slots=True)
class Doubts:
    """Standard uncertainties at the sensor [N], but the line's and the tare's at the hook."""

    tension_N: Any  # by the calibration, at the tension that is read
    zero_N: Any = 0.0
    noise_N: Any = 0.0  # of a single reading
    step_N: Any = 0.0  # of a quantised reading, 0 where none shows
    line_N: Any = 0.0
    tare_N: float = TARE_RANGE_N / math.sqrt(12.0)


def hook_load_terms(
    reeved: Reeved, friction_state: Any, tension_N: Any, doubts: Doubts
) -> dict[str, Any]:
    """Standard uncertainty of the hook load by cause.

    Parameters
    ----------
    reeved : Reeved
        Lines and sheaves.
    friction_state : float or ndarray
        As `efficiency_share`. [-]
    tension_N : float or ndarray
        Tension of the dead line. [N]
    doubts : Doubts
        What the sensor's figures are worth.

    Returns
    -------
    dict
        Name of the cause and its standard uncertainty at the hook. [N]

    Examples
    --------
    >>> terms = hook_load_terms(Reeved(10, 0.985), 1.0, 100e3, Doubts(tension_N=250.0))
    >>> round(terms["calibration"]), round(half_width_N(terms))
    (2678, 28941)

    References
    ----------
    .. [1] JCGM 100:2008, "Guide to the expression of uncertainty in measurement", 5.1; from
       memory.
    """
    up, down = reeved.shares(reeved.sheave_efficiency)
    factor = 1.0 / (0.5 * ((1.0 + friction_state) * up + (1.0 - friction_state) * down))
    return {
        "calibration": factor * doubts.tension_N,
        "sheave efficiency": factor * abs(tension_N) * efficiency_share(reeved, friction_state),
        "friction turning over": turning_N(reeved, friction_state, tension_N) / RECTANGLE,
        "zero": factor * doubts.zero_N,
        "noise": factor * doubts.noise_N * MEDIAN_OF_3,
        "resolution": factor * doubts.step_N / math.sqrt(12.0),
        "weight of the drilling line": doubts.line_N,
    }


def weight_on_bit_terms(
    reeved: Reeved, friction_state: Any, tension_N: Any, weight_N: Any, doubts: Doubts
) -> dict[str, Any]:
    """Standard uncertainty of weight on bit by cause.

    Parameters
    ----------
    reeved, friction_state, tension_N, doubts
        As `hook_load_terms`, now; ``doubts.line_N`` for the travel since the tare.
    weight_N : float or ndarray
        Weight on bit. [N]

    Returns
    -------
    dict
        Name of the cause and its standard uncertainty. [N]

    Notes
    -----
    It is a difference of two hook loads by one sensor and one string-up: the zero cancels,
    gain and efficiency act on the difference only. The tare brings its own scatter. Drag in
    the hole that changed since the tare is in no term.

    Examples
    --------
    >>> few = Doubts(tension_N=250.0)
    >>> terms = weight_on_bit_terms(Reeved(10, 0.985), -1.0, 100e3, 80e3, few)
    >>> "zero" in terms, round(half_width_N(terms))
    (False, 6017)

    References
    ----------
    .. [1] As `hook_load_terms`.
    """
    of_load = hook_load_terms(reeved, friction_state, tension_N, doubts)
    with np.errstate(invalid="ignore", divide="ignore"):
        gain = doubts.tension_N / abs(tension_N)
    return {
        "calibration": gain * abs(weight_N),
        "sheave efficiency": efficiency_share(reeved, friction_state) * abs(weight_N),
        "friction turning over": of_load["friction turning over"],
        "noise": of_load["noise"],
        "resolution": of_load["resolution"],
        "weight of the drilling line": doubts.line_N,
        "tare": doubts.tare_N,
    }


def half_width_N(terms: Terms) -> Any:
    """Half width of the 95 % interval of all terms together.

    Parameters
    ----------
    terms : mapping
        Standard uncertainties, each a float or an array. [N]

    Returns
    -------
    float or ndarray
        1.96 times the root of their squares' sum. [N]

    Examples
    --------
    >>> half_width_N({"one": 3.0, "other": 4.0})
    9.8

    References
    ----------
    .. [1] As `hook_load_terms`.
    """
    total: Any = 0.0
    for term in terms.values():
        total = total + term * term
    return (
        COVERAGE_FACTOR * np.sqrt(total)
        if isinstance(total, np.ndarray)
        else (COVERAGE_FACTOR * math.sqrt(total))
    )


# What makes each term smaller, in the words of those who can.
LESS = {
    "calibration": "calibrate the sensor against a reference with a certificate",
    "sheave efficiency": "measure it: run the empty block and a string up and down",
    "friction turning over": "passes once the block has moved a few centimetres on",
    "zero": "weigh the empty block at a connection, without pipe in the elevators",
    "noise": "look at the anchor and its damping; average over some seconds",
    "resolution": "a finer converter, or a span nearer the loads",
    "weight of the drilling line": "give [line] diameter in the rig file",
    "tare": "take the tare again: off bottom, moving down, rotating and circulating as usual",
}


def budget(terms: Terms) -> list[dict[str, Any]]:
    """List the terms at one moment, greatest first, with what would make them smaller.

    Parameters
    ----------
    terms : mapping
        Standard uncertainties as floats. [N]

    Returns
    -------
    list of dict
        ``name``, ``standard_N``, ``half_width_N`` (95 %), ``share`` of the whole variance and
        ``less``: what would make it smaller. [N]

    Examples
    --------
    >>> [(row["name"], row["share"]) for row in budget({"noise": 3.0, "zero": 4.0})]
    [('zero', 0.64), ('noise', 0.36)]

    References
    ----------
    .. [1] As `hook_load_terms`; the table of a budget is common practice.
    """
    known = {name: float(value) for name, value in terms.items() if math.isfinite(value)}
    whole = sum(value**2 for value in known.values())
    return [
        {
            "name": name,
            "standard_N": value,
            "half_width_N": COVERAGE_FACTOR * value,
            "share": value**2 / whole if whole else 0.0,
            "less": LESS.get(name, ""),
        }
        for name, value in sorted(known.items(), key=lambda item: -item[1])
    ]
