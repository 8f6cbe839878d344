"""What is found in a record: events, alarms, stands, calibrations, weighed empty blocks.

Plain values, SI inside; ``monitor.model`` hands them on with the rest of the vocabulary.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Event:
    """Something to know about. ``kind``, ``start_us`` and ``raised_us`` never change."""

    seq: int  # seq of the row that raised it; with kind it is the identity
    kind: str
    start_us: int
    raised_us: int
    end_us: int | None
    peak_time_us: int
    bit_depth_m: float
    peak_hook_load_N: float
    expected_hook_load_N: float
    peak_excess_N: float  # magnitude
    confidence: float
    why: str = ""
    alarm: bool = False  # passed the alarm limit as well as the event limit
    acknowledged_by: str = ""
    acknowledged_us: int | None = None
    work_J: float = float("nan")  # against what held the string; up to the peak while open
    repeat: int = 0  # on how many earlier trips the string was held at this depth
    end_known_us: int | None = None  # data time at which the end was first known

    @property
    def id(self) -> str:
        """Identity that a rerun reproduces: seq of the raising row and the kind."""
        return f"{self.seq}-{self.kind}"

    @property
    def duration_s(self) -> float:
        """Seconds from start to end; NaN while it is open."""
        return float("nan") if self.end_us is None else (self.end_us - self.start_us) / 1e6


ALARM_PRIORITIES = ("low", "medium", "high")
# After ISA-18.2 / IEC 62682 (letters of the state diagram, from memory). Latched: the
# condition is over, the alarm stays until a person resets it.
ALARM_STATES = (
    "normal",  # A
    "unacknowledged",  # B: active, not seen
    "acknowledged",  # C: active, seen
    "returned",  # D: over, not seen
    "latched_unacknowledged",  # E
    "latched_acknowledged",  # F
    "shelved",  # G: put aside by a person, until a time
    "suppressed",  # H: by design, while a mode says so
    "out_of_service",  # I: by the rig file, with its reason
)


@dataclass(frozen=True, slots=True)
class Alarm:
    """One time that an alarm asked for an answer, with the state it is in or ended in."""

    seq: int  # seq of the row that raised it; with kind it is the identity
    kind: str
    priority: str
    state: str
    raised_us: int
    returned_us: int | None = None  # the condition was last over at
    acknowledged_us: int | None = None
    acknowledged_by: str = ""
    first_up: bool = False  # the first of those that were not yet seen
    times: int = 1  # how often it came while it had not been answered
    event_id: str = ""  # the event that raised it; empty where a fixed load did
    why: str = ""

    @property
    def id(self) -> str:
        """Identity that a rerun reproduces."""
        return f"{self.seq}-{self.kind}"


@dataclass(frozen=True, slots=True)
class AlarmChange:
    """One line of the alarm journal: from which state to which, when, and by what."""

    seq: int  # of the row or act
    kind: str  # an event kind, "sound" or "flood"
    time_us: int  # data time
    before: str
    after: str
    cause: str = ""
    who: str = ""

    @property
    def id(self) -> str:
        """Identity that a rerun reproduces: a kind enters a state once at one seq."""
        return f"{self.seq}-{self.kind}-{self.after}"


@dataclass(frozen=True, slots=True)
class TripRow:
    """One stand: an out-of-slips interval with net pipe movement of 3 m or more."""

    stand: int
    direction: str  # "out", "in" or "drilled"
    out_of_slips_us: int
    in_slips_us: int | None  # None while the spell is open
    bit_depth_m: float
    length_m: float
    moving_weight_N: float
    expected_weight_N: float
    max_overpull_N: float  # magnitude, 0 where there was none
    max_slack_off_N: float
    average_speed_m_s: float
    seconds_in_slips_before_s: float = float("nan")
    greatest_hook_load_N: float = float("nan")
    least_hook_load_N: float = float("nan")
    trip_tank_change_m3: float = float("nan")
    events: int = 0
    void: bool = False  # the spell came back within 3 m: this stand is not one after all
    hoisting_weight_N: float = float("nan")  # caught while drilling, sliding up
    lowering_weight_N: float = float("nan")  # sliding down
    rotating_weight_N: float = float("nan")  # turning off bottom, at rest
    tally_depth_m: float = float("nan")  # bit depth by the pipe tally, at in-slips
    weights_flow: str = ""  # with flow "on", "off" or "both"; empty where not known


@dataclass(frozen=True, slots=True)
class CalibrationAct:
    """One act on the calibrations as it was taken; rows after ``seq`` are by ``in_force``."""

    seq: int  # of the act: the identity
    time_us: int
    act: str  # one of CALIBRATION_ACTS
    version: int  # the one the act is about; 0 is the rig file's
    in_force: int  # the one in force after it
    who: str
    text: str  # of a proposal its points as JSON, else the reason


@dataclass(frozen=True, slots=True)
class EmptyCheck:
    """The empty block weighed in one in-slips period, going one way."""

    seq: int  # of the row at which the period was over; with direction the identity
    time_us: int
    direction: str  # "up" or "down"
    level_N: float  # hook load read, told at ``height_m``
    height_m: float  # block height of the chart
    tension_N: float  # at the sensor, at the block height of the period
    block_height_m: float
    seconds: int
    lines_strung: int
    declared_N: float  # travelling weight as declared
    temperature_K: float  # NaN where the record has none
    charted: bool  # False: too far from the last one, pipe may hang in the elevators
    average_N: float  # of the chart, after this check
    reference_N: float  # where the chart began
    limit_N: float  # how far the average may go from there; NaN while it is learnt

    @property
    def id(self) -> str:
        """Identity that a rerun reproduces."""
        return f"{self.seq}-{self.direction}"
