"""How many lines the data say are strung: odds over line counts from known weights.

A known weight, the empty travelling equipment above all, shows a dead-line tension that
belongs to one line count. Counts differ by 14 to 50 %, so a weight known within a few per
cent tells them apart; that something else hangs there has odds of its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from monitor.metrology.sheave_friction import load_factors

FEWEST_LINES, MOST_LINES = 4, 16
# Before any data: what the rig file says is right this often, else any even count; and this
# often something else hangs there than is said. Our choices.
TOLD_RIGHT, SOMETHING_ELSE = 0.95, 0.02
# Where something else hangs, its weight over the one said lies between these, evenly by
# ratio.
LEAST_RATIO, GREATEST_RATIO = 0.25, 4.0


@dataclass(frozen=True, slots=True)
class KnownWeight:
    """One weight that is known, and the tension it shows. Uncertainties are standard ones."""

    tension_N: float
    tension_uncertainty_N: float  # by scatter: of the mean over all periods
    weight_N: float
    weight_uncertainty_N: float
    friction_state: float = 0.0  # +1 hoisting, -1 lowering; 0: mean of both
    name: str = "empty block"


@dataclass(frozen=True, slots=True)
class LineCountOdds:
    """Probability of each line count; they add up to one with ``something_else``."""

    by_lines: dict[int, float]
    something_else: float  # the weight is another than was said

    @property
    def most_likely(self) -> int:
        """Line count with the greatest probability."""
        return max(self.by_lines, key=lambda n: self.by_lines[n])

    @property
    def odds(self) -> float:
        """Odds for the most likely count against all else."""
        best = self.by_lines[self.most_likely]
        return best / (1.0 - best) if best < 1.0 else math.inf


def line_count_odds(
    weights: Sequence[KnownWeight],
    told_lines: int,
    sheave_efficiency: float,
    dead_line_sheave: str = "fixed",
    *,
    gain_uncertainty: float = 0.0025,
    efficiency_uncertainty: float = 0.003,
) -> LineCountOdds:
    """Probability of each even line count, and of the one that was told.

    Parameters
    ----------
    weights : sequence of KnownWeight
        Weights of which at least one is the empty block; others such as a known string in a
        vertical hole sharpen it.
    told_lines : int
        What the rig file or a person says. [-]
    sheave_efficiency : float
        Efficiency of one turning sheave. [-]
    dead_line_sheave : str
        ``"fixed"`` or ``"turning"``. [-]
    gain_uncertainty : float
        Relative standard uncertainty of the sensor's gain. [-]
    efficiency_uncertainty : float
        Standard uncertainty of the sheave efficiency. [-]

    Returns
    -------
    LineCountOdds
        Probability by line count. [-]

    Raises
    ------
    ValueError
        Without any weight, and for tensions or weights not above zero.

    Notes
    -----
    Bayes: prior times the density of ln(tension seen / tension that n lines show), normal
    with the relative uncertainties of weight, gain, friction and scatter added in squares.
    What all weights share (gain, friction) is counted in each, so several weights sharpen
    less than if they were independent. "Something else" has a flat density of that ratio.

    Examples
    --------
    >>> seen = KnownWeight(24.5e3, 100.0, 245e3, 3e3)
    >>> found = line_count_odds([seen], 12, 0.99)
    >>> found.most_likely, found.odds > 20
    (10, True)

    References
    ----------
    .. [1] Bayes' rule; priors are our choice.
    """
    if not weights:
        raise ValueError("weights is empty; at least one known weight is needed")
    for weight in weights:
        if not (weight.tension_N > 0.0 and weight.weight_N > 0.0):
            raise ValueError(
                f"{weight.name}: tension {weight.tension_N:g} N and weight {weight.weight_N:g} N "
                "must be above 0"
            )
    counts = sorted({*range(FEWEST_LINES, MOST_LINES + 1, 2), told_lines})
    others = len(counts) - 1
    logs: dict[int, float] = {}
    for n in counts:
        prior = TOLD_RIGHT if n == told_lines else (1.0 - TOLD_RIGHT) / others
        logs[n] = math.log(prior * (1.0 - SOMETHING_ELSE))
        for weight in weights:
            factor, by_friction = _factor(
                n, sheave_efficiency, dead_line_sheave, weight.friction_state
            )
            spread = math.hypot(
                weight.tension_uncertainty_N / weight.tension_N,
                weight.weight_uncertainty_N / weight.weight_N,
                gain_uncertainty,
                by_friction * efficiency_uncertainty,
            )
            away = math.log(weight.tension_N * factor / weight.weight_N) / spread
            logs[n] += -0.5 * away * away - math.log(spread * math.sqrt(2.0 * math.pi))
    flat = -math.log(math.log(GREATEST_RATIO / LEAST_RATIO))
    other = math.log(SOMETHING_ELSE) + flat * len(weights)
    top = max(other, *logs.values())
    masses = {n: math.exp(value - top) for n, value in logs.items()}
    whole = sum(masses.values()) + math.exp(other - top)
    by_lines = {n: mass / whole for n, mass in masses.items()}
    return LineCountOdds(by_lines, math.exp(other - top) / whole)


def _factor(
    n_lines: int, sheave_efficiency: float, dead_line_sheave: str, friction_state: float
) -> tuple[float, float]:
    """Load over tension, and its relative change with the sheave efficiency."""

    def at(e: float) -> float:
        up, down = load_factors(e, n_lines, dead_line_sheave)
        return 1.0 / (0.5 * ((1.0 + friction_state) / up + (1.0 - friction_state) / down))

    step = 1e-5
    slope = (at(sheave_efficiency + step) - at(sheave_efficiency - step)) / (2.0 * step)
    return at(sheave_efficiency), abs(slope) / at(sheave_efficiency)
