"""Every rating of the rig turned into the hook load that reaches it.

A rating acts somewhere: at the hook, in a line, on the crown, in the pipe. Turned into
hook load in the worse friction direction they can be compared, and the weakest is seen.
"""

from __future__ import annotations

from dataclasses import dataclass

from monitor.mechanics.fast_line import derrick_load_N, fast_line_tension_N
from monitor.mechanics.pipe_limits import PullLimit, pipe_limit
from monitor.mechanics.reeving import DIRECTIONS, dead_line_tension_N
from monitor.mechanics.wire_rope import LEAST_DESIGN_FACTOR, allowed_fast_line_tension_N
from monitor.rig.rig import Equipment, Rig

__all__ = [
    "InUse",
    "PullLimit",
    "equipment_in_use",
    "hangs_string",
    "hoist_limits",
    "hook_load_at_rating_N",
    "in_use_at_first",
    "pull_limits",
]


@dataclass(frozen=True, slots=True)
class InUse:
    """What the limits depend on beside the rig file, as it is now."""

    lines_strung: int
    travelling_weight_N: float
    gear: str = ""  # name of the gear in use; empty = no sets are given
    duty: str = "tripping"
    compensator: str = ""  # "open" or "locked"; empty = none is fitted


def in_use_at_first(rig: Rig, lines_strung: int | None = None) -> InUse:
    """What a record begins with, by the rig file.

    Parameters
    ----------
    rig : Rig
        The rig. [-]
    lines_strung : int or None
        Lines strung, where not those of the rig file. [-]

    Returns
    -------
    InUse
        Lines, travelling weight [N], gear, duty and the compensator's state.

    Examples
    --------
    >>> from monitor.rig.rig import Reeving
    >>> in_use_at_first(Rig("example", 200e3, Reeving(10, 0.985))).duty
    'tripping'

    References
    ----------
    .. [1] None: the rig file's words.
    """
    gear = rig.first_gear
    return InUse(
        lines_strung=rig.reeving.lines_strung if lines_strung is None else lines_strung,
        travelling_weight_N=rig.travelling_weight_N,
        gear="" if gear is None else gear.name,
        duty="tripping" if gear is None else gear.duty,
        compensator="" if rig.compensator is None else rig.compensator.state,
    )


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


def hook_load_at_rating_N(
    rig: Rig,
    lines_strung: int,
    rating_N: float,
    acts: str,
    travelling_weight_N: float | None = None,
) -> float:
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
    travelling_weight_N : float or None
        Travelling weight, where not that of the rig file. [N]

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
        return rating_N + (
            rig.travelling_weight_N if travelling_weight_N is None else travelling_weight_N
        )
    if acts not in ("fast line", "dead line", "crown total"):
        raise ValueError(f"acts is {acts!r}; not a place where a rating can act")
    return rating_N / _greatest_per_load(rig, lines_strung, acts)


def equipment_in_use(rig: Rig, gear: str) -> tuple[Equipment, ...]:
    """Pieces that bear load with a set of travelling gear.

    Parameters
    ----------
    rig : Rig
        The rig with its equipment and sets of gear. [-]
    gear : str
        Name of the set in use; empty for a rig without sets. [-]

    Returns
    -------
    tuple of Equipment
        The pieces of no set, and those of this one; their ratings in [N].

    Examples
    --------
    >>> from monitor.rig.hoisting import Gear
    >>> from monitor.rig.rig import Reeving
    >>> pieces = tuple(Equipment(name, 3e6, "below hook") for name in ("links", "spider"))
    >>> sets = (Gear("pipe", 200e3), Gear("casing", 250e3, ("spider",)))
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), equipment=pieces, gear=sets)
    >>> [piece.name for piece in equipment_in_use(rig, "pipe")]
    ['links']

    References
    ----------
    .. [1] None: the rig file's words.
    """
    of_a_set = {name for each in rig.gear for name in each.equipment}
    here = {name for each in rig.gear if each.name == gear for name in each.equipment}
    return tuple(
        piece for piece in rig.equipment if piece.name not in of_a_set or piece.name in here
    )


def hangs_string(rig: Rig, gear: str) -> bool:
    """Whether what hangs in a set of travelling gear is the rig file's string.

    Parameters
    ----------
    rig : Rig
        The rig with its sets of gear. [-]
    gear : str
        Name of the set in use; empty for a rig without sets. [-]

    Returns
    -------
    bool
        False for gear that runs casing or tubing: the strength of ``[pipe]`` is not theirs.

    Examples
    --------
    >>> from monitor.rig.hoisting import Gear
    >>> from monitor.rig.rig import Reeving
    >>> sets = (Gear("pipe", 200e3), Gear("casing tools", 250e3, tubular="casing"))
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), gear=sets)
    >>> [hangs_string(rig, name) for name in ("pipe", "casing tools")]
    [True, False]

    References
    ----------
    .. [1] None: the rig file's words.
    """
    return all(each.tubular not in ("casing", "tubing") for each in rig.gear if each.name == gear)


def hoist_limits(rig: Rig, in_use: InUse) -> tuple[PullLimit, ...]:
    """Limits of all that is above the pipe, the weakest first.

    Parameters
    ----------
    rig : Rig
        The rig with its ratings, drilling line and compensator. [-]
    in_use : InUse
        Lines, gear, duty and state of the compensator now. [-]

    Returns
    -------
    tuple of PullLimit
        One for each rated piece in use, one for the drilling line where its strength is
        known, one for a compensator that strokes; empty where none is. [N]

    Raises
    ------
    ValueError
        For a string-up that cannot be, or another duty.

    Notes
    -----
    The drilling line is taken at the least design factor of the duty: 3 drilling and
    tripping, 2 setting casing and pulling on stuck pipe. That pipe is stuck and may be
    pulled at 2, people say; this tool does not. An open compensator has its own limit: in
    line it acts below the block, at the crown on all that the crown carries. Locked, only
    its rating as a piece of equipment holds.

    Examples
    --------
    >>> from monitor.rig.rig import Line, Reeving
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), line=Line(0.035, 51.0, 900e3))
    >>> tripping, casing = InUse(10, 200e3), InUse(10, 200e3, duty="setting casing")
    >>> [limit.limit_N > 3e6 for limit in hoist_limits(rig, tripping)]
    [False]
    >>> [limit.limit_N > 3e6 for limit in hoist_limits(rig, casing)]
    [True]

    References
    ----------
    .. [1] API RP 9B, 14th ed., Addendum 1 (2020), 2.3.3, for the line; looked up.
    """
    n, weight_N = in_use.lines_strung, in_use.travelling_weight_N
    limits = [
        PullLimit(
            piece.name,
            hook_load_at_rating_N(rig, n, piece.rating_at(n), piece.rated_for, weight_N),
            piece.rated_for,
            piece.printed_at(n),
        )
        for piece in equipment_in_use(rig, in_use.gear)
    ]
    if rig.line is not None and rig.line.strength_N is not None:
        tension = allowed_fast_line_tension_N(rig.line.strength_N, in_use.duty)
        limit = hook_load_at_rating_N(rig, n, tension, "fast line")
        printed = f"strength at design factor {LEAST_DESIGN_FACTOR[in_use.duty]:g}, {in_use.duty}"
        limits.append(PullLimit("drilling line", limit, "fast line", printed))
    if rig.compensator is not None and in_use.compensator == "open":
        acts = "below block" if rig.compensator.kind == "in-line" else "crown total"
        limit = hook_load_at_rating_N(rig, n, rig.compensator.load_limit_N, acts)
        limits.append(PullLimit("compensator, open", limit, acts, "load limit while it strokes"))
    return tuple(sorted(limits, key=lambda each: (each.limit_N, each.name)))


def pull_limits(
    rig: Rig,
    lines_strung: int,
    in_use: InUse | None = None,
    bit_depth_m: float = float("nan"),
) -> tuple[PullLimit, ...]:
    """Every limit of the hook load, the weakest first.

    Parameters
    ----------
    rig : Rig
        The rig with its ratings, drilling line and pipe. [-]
    lines_strung : int
        Lines strung now. [-]
    in_use : InUse or None
        Gear, duty and compensator now; None: as the rig file begins. [-]
    bit_depth_m : float
        Bit depth, for the search down the string; not-a-number: unknown. [m]

    Returns
    -------
    tuple of PullLimit
        As `hoist_limits`, and one for the pipe where a yield strength is known. [N]

    Raises
    ------
    ValueError
        For a string-up that cannot be.

    Notes
    -----
    See `hoist_limits` and `pipe_limit`. Casing and tubing have no limit here unless one is
    given, as a piece of the gear's equipment rated for the pipe body.

    Examples
    --------
    >>> from monitor.rig.rig import Reeving
    >>> hook, block = Equipment("hook", 3e6, "below hook"), Equipment("block", 3.1e6, "hook load")
    >>> rig = Rig("example", 200e3, Reeving(10, 0.985), equipment=(hook, block))
    >>> [(limit.name, limit.limit_N) for limit in pull_limits(rig, 10)]
    [('block', 3100000.0), ('hook', 3200000.0)]

    References
    ----------
    .. [1] API RP 9B for the line's design factor, API RP 7G for the pipe; from memory.
    """
    in_use = in_use or in_use_at_first(rig, lines_strung)
    limits = list(hoist_limits(rig, in_use))
    pipe = pipe_limit(rig, in_use.travelling_weight_N, bit_depth_m)
    if pipe is not None and hangs_string(rig, in_use.gear):
        limits.append(pipe)
    return tuple(sorted(limits, key=lambda limit: (limit.limit_N, limit.name)))
