"""Every rating of the rig turned into the hook load that reaches it.

A rating acts somewhere: at the hook, in a line, on the crown, in the pipe. Turned into
hook load in the worse friction direction they can be compared, and the weakest is seen.
"""

from __future__ import annotations

from dataclasses import dataclass

from monitor.mechanics.fast_line import derrick_load_N, fast_line_tension_N
from monitor.mechanics.pipe import tensile_capacity_N
from monitor.mechanics.reeving import DIRECTIONS, dead_line_tension_N
from monitor.mechanics.wire_rope import LEAST_DESIGN_FACTOR, allowed_fast_line_tension_N
from monitor.rig.rig import Rig


@dataclass(frozen=True, slots=True)
class PullLimit:
    """One rating as hook load, travelling equipment included."""

    name: str
    limit_N: float
    acts: str  # where the rating acts
    printed: str = ""  # the rating as it was written, or how it was got


def _greatest_per_load(rig: Rig, lines_strung: int, acts: str) -> float:
    """Tension or load at a place over the load on the lines, in the worst direction."""
    reeving = rig.reeving
    e, sheave, extra = (
        reeving.sheave_efficiency,
        reeving.dead_line_sheave,
        reeving.extra_fast_line_sheaves,
    )
    if acts == "fast line":
        return float(fast_line_tension_N(1.0, lines_strung, e, "hoisting", extra))
    if acts == "dead line":
        return float(dead_line_tension_N(1.0, lines_strung, e, sheave, "lowering"))
    return max(
        float(derrick_load_N(1.0, lines_strung, e, sheave, direction, extra))
        for direction in DIRECTIONS
    )


def hook_load_at_rating_N(rig: Rig, lines_strung: int, rating_N: float, acts: str) -> float:
    """Turn a rating into the hook load, travelling equipment included, that reaches it.

    Parameters
    ----------
    rig : Rig
        The rig: sheaves and travelling weight are taken from it. [-]
    lines_strung : int
        Lines strung now. [-]
    rating_N : float
        The rating. [N]
    acts : str
        Where it acts: ``"hook load"``, ``"below hook"``, ``"below block"``,
        ``"fast line"``, ``"dead line"``, ``"crown total"`` or ``"pipe body"``. [-]

    Returns
    -------
    float
        Hook load. [N]

    Raises
    ------
    ValueError
        For another place, or a string-up that cannot be.

    Notes
    -----
    Fast line: hoisting; dead line: lowering; crown: the worst of held, hoisting, lowering.
    Below the hook and in the pipe the travelling weight is not carried and is added; links
    and elevators are counted with it. Below the block nothing is added, for the block's
    share of the travelling weight is not known: the safe side.

    Examples
    --------
    >>> from monitor.rig.rig import Reeving
    >>> rig = Rig("example", 200e3, Reeving(10, 1 / 1.04))
    >>> hook_load_at_rating_N(rig, 10, 1000e3, "below hook")
    1200000.0
    >>> hook_load_at_rating_N(rig, 10, 123.3e3, "fast line")
    1000e3

    References
    ----------
    .. [1] Derived from `monitor.mechanics.reeving` and `monitor.mechanics.fast_line`.
    """
    if acts in ("hook load", "below block"):
        return rating_N
    if acts in ("below hook", "pipe body"):
        return rating_N + rig.travelling_weight_N
    if acts not in ("fast line", "dead line", "crown total"):
        raise ValueError(f"acts is {acts!r}; not a place where a rating can act")
    return rating_N / _greatest_per_load(rig, lines_strung, acts)


def pull_limits(rig: Rig, lines_strung: int) -> tuple[PullLimit, ...]:
    """Every limit of the hook load, the weakest first.

    Parameters
    ----------
    rig : Rig
        The rig with its ratings, drilling line and pipe. [-]
    lines_strung : int
        Lines strung now. [-]

    Returns
    -------
    tuple of PullLimit
        One for each rated piece of equipment, one for the drilling line where its strength
        is known, one for the pipe where grade and string are known; empty where none is. [N]

    Raises
    ------
    ValueError
        For a string-up that cannot be.

    Notes
    -----
    The drilling line is taken at the design factor of hoisting, 3; pulling on stuck pipe
    may be allowed down to 2, by a decision this tool does not take. The pipe is the
    uppermost section, of the class given, over its design factor; sections below it of
    weaker pipe are not known to the rig file and are not searched.

    Examples
    --------
    >>> from monitor.rig.rig import Equipment, Reeving
    >>> hook, block = Equipment("hook", 3e6, "below hook"), Equipment("block", 3.1e6, "hook load")
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), equipment=(hook, block))
    >>> [(limit.name, limit.limit_N) for limit in pull_limits(rig, 10)]
    [('block', 3100000.0), ('hook', 3200000.0)]

    References
    ----------
    .. [1] API RP 9B for the line's design factor, API RP 7G for the pipe; from memory.
    """
    limits = [
        PullLimit(
            piece.name,
            hook_load_at_rating_N(rig, lines_strung, piece.rating_N, piece.rated_for),
            piece.rated_for,
            piece.printed,
        )
        for piece in rig.equipment
    ]
    if rig.line is not None and rig.line.strength_N is not None:
        tension = allowed_fast_line_tension_N(rig.line.strength_N, "hoisting")
        limit = hook_load_at_rating_N(rig, lines_strung, tension, "fast line")
        printed = f"strength at design factor {LEAST_DESIGN_FACTOR['hoisting']:g}"
        limits.append(PullLimit("drilling line", limit, "fast line", printed))
    pipe = rig.pipe
    if pipe is not None and pipe.yield_Pa is not None and rig.string:
        top = rig.string[-1]
        capacity = tensile_capacity_N(
            top.outside_diameter_m, top.inside_diameter_m, pipe.yield_Pa, pipe.pipe_class
        )
        limit = hook_load_at_rating_N(
            rig, lines_strung, capacity / pipe.design_factor, "pipe body"
        )
        printed = f"{pipe.grade} {pipe.pipe_class} at design factor {pipe.design_factor:g}".strip()
        limits.append(PullLimit(top.name, limit, "pipe body", printed))
    return tuple(sorted(limits, key=lambda limit: (limit.limit_N, limit.name)))
