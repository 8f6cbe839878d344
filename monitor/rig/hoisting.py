"""The hoist as configured: compensator, drum, drawworks, travelling gear, line work. SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

COMPENSATOR_KINDS = ("in-line", "crown")
COMPENSATOR_STATES = ("open", "locked")
HOOK_KINDS = ("combined", "separate")  # with the travelling block in one piece, or below it
ROTATION_LOCK_STATES = ("locked", "free")
POSITIONER_STATES = ("engaged", "off")
DRIVES = ("kelly", "top drive", "none")
LEAST_WRAPS = 6.0  # common practice

# What each kind of elevator is made to hold; common practice. A spider lands the pipe on
# slips as a slip type does.
ELEVATOR_FITS: Mapping[str, tuple[str, ...]] = {
    "bottleneck": ("drill pipe",),
    "collar": ("drill collars",),
    "slip": ("tubing",),
    "heavy casing": ("casing",),
    "spider": ("casing",),
}
TUBULARS = ("drill pipe", "drill collars", "tubing", "casing")
# Kinds of work for which the drilling line has a least design factor of its own.
DUTIES = ("drilling", "tripping", "setting casing", "pulling on stuck pipe")


@dataclass(frozen=True, slots=True)
class Compensator:
    """Motion compensator of a floating rig; ``state`` is the one a record begins in."""

    kind: str  # "in-line", between block and hook, or "crown"
    stroke_limit_m: float
    load_limit_N: float  # of the stroking compensator, below it
    stiffness_N_m: float | None = None  # of its gas spring; None = not known
    state: str = "open"  # "open" strokes, "locked" is rigid


@dataclass(frozen=True, slots=True)
class Drum:
    """The drawworks drum and what is on it."""

    diameter_m: float  # of the barrel
    width_m: float  # between the flanges
    layers: int | None = None  # most it holds; None = not known
    line_on_drum_m: float | None = None  # with the block at ``at_block_height_m``
    at_block_height_m: float = 0.0
    fleet_distance_m: float | None = None  # drum to the fast-line sheave
    least_wraps: float = LEAST_WRAPS
    shown_m: tuple[float, ...] = ()  # block heights by the encoder ...
    surveyed_m: tuple[float, ...] = ()  # ... and as measured there


@dataclass(frozen=True, slots=True)
class Drawworks:
    """Power at the drum and what the brake does to the block."""

    power_W: float | None = None
    brake_deceleration_m_s2: float | None = None  # of the moving block under full brake
    reaction_time_s: float = 1.0  # until the brake holds


@dataclass(frozen=True, slots=True)
class Hook:
    """The hook and its preparation for tripping; states as a record begins."""

    kind: str = "combined"
    rotation_lock: str = ""  # "locked" or "free"; empty = not said
    positioner: str = ""  # "engaged" or "off"; empty = not said
    rotation_lock_for_trips: str = "free"
    positioner_for_trips: str = "engaged"


@dataclass(frozen=True, slots=True)
class Gear:
    """One set of travelling gear: what hangs on the lines for one kind of job."""

    name: str
    weight_N: float
    equipment: tuple[str, ...] = ()  # pieces that hang only with this gear
    drive: str = "none"
    elevator: str = ""  # a key of ELEVATOR_FITS; empty = not said
    tubular: str = ""  # one of TUBULARS; empty = not said
    duty: str = "tripping"  # one of DUTIES

    @property
    def mismatch(self) -> str:
        """Why the elevator is wrong for the tubular; empty where it is right or not said."""
        fits = ELEVATOR_FITS.get(self.elevator, ())
        if not self.elevator or not self.tubular or self.tubular in fits:
            return ""
        right = " or ".join(kind for kind, held in ELEVATOR_FITS.items() if self.tubular in held)
        return (
            f"{self.name}: a {self.elevator} elevator is made for {', '.join(fits)}; "
            f"{self.tubular} takes {right}"
        )


@dataclass(frozen=True, slots=True)
class LoggedCut:
    """One cut of the rig file's log: ``work_J`` is what was done since the cut before."""

    when: str
    length_m: float
    work_J: float | None = None


@dataclass(frozen=True, slots=True)
class LineWork:
    """The slip-and-cut programme."""

    goal_J: float | None = None  # between cuts; None = from the table of goals, where it can be
    cut_length_m: float | None = None
    lap_length_m: float | None = None  # of one wrap on the drum
    since_cut_J: float = 0.0  # done since the last cut when the record begins
    time_limit_s: float = 3 * 3600.0  # of slip-and-cut mode
    cuts: tuple[LoggedCut, ...] = ()
