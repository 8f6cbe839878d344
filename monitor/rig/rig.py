"""The rig as configured. SI inside; no live state, no file access.

A field that is ``None`` was not given: where it matters, the screen says "missing".
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from monitor.rig.alarming import Agreed, AlarmLimits, Jar
from monitor.rig.hoisting import Compensator, Drawworks, Drum, Gear, Hook, LineWork


@dataclass(frozen=True, slots=True)
class Reeving:
    """How the drilling line is strung."""

    lines_strung: int
    sheave_efficiency: float  # of one turning sheave, below 1; 1.0 = no friction correction
    dead_line_sheave: str = "fixed"  # "fixed" or "turning"
    extra_fast_line_sheaves: int = 0
    sheave_bearings: str = "rolling"  # or "plain"; for the standard's sizing factors
    efficiency_half_width: float | None = None  # 95 %, as measured; None = as it is written


@dataclass(frozen=True, slots=True)
class Section:
    """One section of the string, listed from the bit upwards. ``length_m`` None = the rest."""

    name: str
    length_m: float | None
    outside_diameter_m: float
    inside_diameter_m: float
    weight_in_air_N_m: float
    yield_Pa: float | None = None  # for the pull limit of sections below the uppermost
    pipe_class: str = "premium"


@dataclass(frozen=True, slots=True)
class EventLimits:
    """Least excess over the middle of the expected load that makes an event."""

    overpull_N: float = 40e3
    slack_off_N: float = 40e3


@dataclass(frozen=True, slots=True)
class Line:
    """The drilling line."""

    diameter_m: float
    weight_N_m: float
    strength_N: float | None = None
    length_m: float | None = None
    anchor_height_m: float = 0.0  # where tension is sensed, above the rig floor
    grade: str = ""  # "IPS", "EIPS", "EEIPS"
    construction: str = "6x19 Seale"  # for the advice on sheave diameters


@dataclass(frozen=True, slots=True)
class MudHose:
    """The hose that hangs on swivel or top drive, more of it the higher the block."""

    weight_N_m: float  # filled as it is
    at_block_height_m: float = 0.0  # where the travelling weight was read


@dataclass(frozen=True, slots=True)
class Sensor:
    """The dead-line sensor: two points make a straight line from raw signal to tension."""

    span_N: float | None = None  # tension at full scale
    signal_quantity: str = "current"  # "current", "voltage" or "pressure"
    signal_low: float = 0.004  # SI, at no tension
    signal_high: float = 0.020  # SI, at span
    calibration: str = ""
    arm_ratio: float | None = None  # of the anchor: force on the load cell over line tension
    effective_area_m2: float | None = None  # of a hydraulic load cell


@dataclass(frozen=True, slots=True)
class Equipment:
    """One rated piece. ``rated_for`` says where the rating acts."""

    name: str
    rating_N: float
    rated_for: (
        str  # hook load, below hook, below block, fast line, dead line, crown total, pipe body
    )
    printed: str = ""  # the rating as it was written
    sheaves: int | None = None  # of a block; None = not given
    sheave_diameter_m: float | None = None  # at the bottom of the groove
    by_lines: tuple[tuple[int, float], ...] = ()  # ratings by lines strung, of a derrick
    printed_by_lines: tuple[tuple[int, str], ...] = ()

    def rating_at(self, lines_strung: int) -> float:
        """Rating with so many lines; the least of all where that count is not listed."""
        by_lines = dict(self.by_lines)
        return by_lines.get(lines_strung, min([self.rating_N, *by_lines.values()]))

    def printed_at(self, lines_strung: int) -> str:
        """Rating as it was written, for so many lines; where not listed, whose is taken."""
        printed = dict(self.printed_by_lines)
        lines, least_N = min(self.by_lines, key=lambda each: each[1], default=(0, math.inf))
        if lines_strung in printed or (self.printed and self.rating_N <= least_N) or not lines:
            return printed.get(lines_strung, self.printed)
        return f"{printed.get(lines, '')}, that of {lines} lines".removeprefix(", ")


@dataclass(frozen=True, slots=True)
class Pipe:
    """The pipe at the top of the string, for its pull limit."""

    grade: str = ""
    pipe_class: str = "premium"
    yield_Pa: float | None = None
    design_factor: float = 1.1
    tool_joint_length_m: float | None = None
    tool_joint_outside_diameter_m: float | None = None
    torque_Nm: float = 0.0  # on the string while it is pulled


# How near a mark its slow-down speed holds unless the rig file says: a third of a stand,
# time to slow down in and to feel what the bit meets (our choice).
NEAR_MARK_M = 10.0


@dataclass(frozen=True, slots=True)
class DepthMark:
    """A depth worth knowing the distance to: casing shoe, liner top, ledge."""

    name: str
    depth_m: float
    slow_down_m_s: float | None = None  # pipe is not to move faster near it
    within_m: float = NEAR_MARK_M  # how near, on either side of it


@dataclass(frozen=True, slots=True)
class SurveyStation:
    """One survey station; angles in radians."""

    depth_m: float
    inclination_rad: float
    azimuth_rad: float


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """What a column of a foreign file is."""

    channel: str  # a channel name or "time"
    unit: str = ""
    zone: str = ""
    format: str = ""


@dataclass(frozen=True, slots=True)
class DrumTurns:
    """What turns of the drum are counted on, for a block position that comes as turns."""

    lines_strung: int
    diameter_m: float
    width_m: float
    line_diameter_m: float
    line_on_drum_m: float  # when the count is zero ...
    at_block_height_m: float  # ... with the block here


@dataclass(frozen=True, slots=True)
class InputMap:
    """How to read files that are not in the project's own form."""

    time_zone: str = ""
    columns: Mapping[str, ColumnMap] = field(default_factory=dict)
    null_values: tuple[str, ...] = ()
    decimal: str = "."
    separator: str = ""  # empty = found from the header line
    hook_load_is: str = ""  # free text: where the reported hook load is said to act
    drum_turns: DrumTurns | None = None  # None: the rig file does not say how line is spooled


@dataclass(frozen=True, slots=True)
class Limits:
    """Heights the block must not pass, None = not given; how long a string may stand."""

    floor_m: float | None = None
    crown_m: float | None = None
    heave_m: float | None = None  # greatest wave, trough to crest, work goes on in
    # A connection takes three to five minutes; twice that without movement is no routine
    # (our choice: what a hole allows is the crew's to say).
    stationary_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Rig:
    """Everything the rig file says."""

    name: str
    travelling_weight_N: float
    reeving: Reeving
    events: EventLimits = EventLimits()
    alarms: AlarmLimits = AlarmLimits()
    agreed: Agreed = Agreed()
    jar: Jar = Jar()
    string: tuple[Section, ...] = ()
    mud_density_kg_m3: float | None = None
    line: Line | None = None
    mud_hose: MudHose | None = None
    sensor: Sensor = Sensor()
    pipe: Pipe | None = None
    equipment: tuple[Equipment, ...] = ()
    depth_marks: tuple[DepthMark, ...] = ()
    tally_m: tuple[float, ...] = ()  # lengths of the joints, the bit's end first
    survey: tuple[SurveyStation, ...] = ()
    limits: Limits = Limits()
    input: InputMap = InputMap()
    hoist_compliance_m_N: float = 0.0
    compensator: Compensator | None = None
    drum: Drum | None = None
    drawworks: Drawworks | None = None
    hook: Hook | None = None
    gear: tuple[Gear, ...] = ()
    gear_in_use: str = ""  # name of the set a record begins with; empty = the first
    line_work: LineWork = LineWork()
    time_zone: str = ""
    run: str = ""
    text_hash: str = ""  # SHA-256 of the rig file's text, so a record knows its settings

    @property
    def first_gear(self) -> Gear | None:
        """Gear a record begins with; None where no sets are given, or none of that name."""
        if not self.gear_in_use:
            return self.gear[0] if self.gear else None
        return next((gear for gear in self.gear if gear.name == self.gear_in_use), None)
