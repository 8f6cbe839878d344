"""The shared vocabulary: channels, quality flags, chunks of samples, events, trip rows.

Everything here is SI inside and carries no behaviour beyond slicing. Definitions of
signs and spans are in DEVELOPERS.md, "Definitions".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum, IntFlag

import numpy as np
from numpy.typing import NDArray

from monitor.findings import (
    ALARM_PRIORITIES as ALARM_PRIORITIES,
)
from monitor.findings import (
    ALARM_STATES as ALARM_STATES,
)
from monitor.findings import (
    Alarm as Alarm,
)
from monitor.findings import (
    AlarmChange as AlarmChange,
)
from monitor.findings import (
    CalibrationAct as CalibrationAct,
)
from monitor.findings import (
    EmptyCheck as EmptyCheck,
)
from monitor.findings import (
    Event as Event,
)
from monitor.findings import (
    TripRow as TripRow,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint16]


@dataclass(frozen=True, slots=True)
class Channel:
    """One input channel: its name in files, its quantity, its SI suffix, its plausible range.

    A value outside ``low`` .. ``high`` (SI) is absurd for any rig: it is kept as missing
    and flagged, never shown as a number.
    """

    name: str
    quantity: str
    suffix: str
    low: float
    high: float

    @property
    def column(self) -> str:
        """Name of the SI column in samples, the record and parquet files."""
        return f"{self.name}_{self.suffix}" if self.suffix else self.name


# Adding a channel is one line here. Ranges: wider than any rig built (common practice),
# narrower than a broken transmitter.
_CHANNEL_ROWS = (
    Channel("deadline_signal", "signal", "", -1e9, 1e9),
    Channel("deadline_tension", "force", "N", -1.0e5, 3.0e6),
    Channel("block_position", "length", "m", -200.0, 200.0),
    Channel("hook_load", "force", "N", -5.0e5, 2.0e7),
    Channel("reference_load", "force", "N", -5.0e5, 2.0e7),
    Channel("bit_depth", "length", "m", -500.0, 16000.0),
    Channel("hole_depth", "length", "m", -500.0, 16000.0),
    Channel("rotary_speed", "angular_speed", "rad_s", -60.0, 60.0),
    Channel("torque", "torque", "Nm", -2.0e5, 2.0e5),
    Channel("flow_in", "flow", "m3_s", -0.05, 0.3),
    Channel("standpipe_pressure", "pressure", "Pa", -5.0e6, 1.5e8),
    Channel("trip_tank_volume", "volume", "m3", -50.0, 1000.0),
    Channel("heave", "length", "m", -20.0, 20.0),
    Channel("compensator_stroke", "length", "m", -15.0, 15.0),
    Channel("temperature", "temperature", "K", 200.0, 400.0),
)
CHANNELS: Mapping[str, Channel] = {channel.name: channel for channel in _CHANNEL_ROWS}


class Quality(IntFlag):
    """Why a value is not an ordinary good one. Zero is good."""

    GOOD = 0
    MISSING = 1  # the cell was empty or held a declared null
    UNREADABLE = 2  # the cell was not a number
    ABSURD = 4  # outside the channel's plausible range
    FROZEN = 8  # the signal has not changed although it must have
    FAULT = 16  # the transmitter reports a fault (current outside its limits)
    GAP = 32  # marker row: nothing came for longer than the gap rule allows
    LATE = 64  # time not newer than the row before: kept, counted, not interpreted
    EPOCH = 128  # first row after a clock step
    AS_REPORTED = 256  # hook load taken from a reported channel, never corrected
    JUMP = 512  # block position jumped faster than a block can move


@dataclass(frozen=True, slots=True)
class Samples:
    """A chunk of rows. Columns have equal length; values are SI, NaN = unusable.

    ``values`` and ``quality`` are keyed by channel name (not column name); a channel the
    source does not have is absent from both. ``row`` holds flags of the whole row
    (``GAP``, ``LATE``, ``EPOCH``).
    """

    seq: Ints
    time_us: Ints
    row: Flags
    values: Mapping[str, Floats]
    quality: Mapping[str, Flags]

    def __len__(self) -> int:
        return len(self.seq)

    def piece(self, start: int, stop: int) -> Samples:
        """Rows ``start`` to ``stop`` (views, nothing is copied)."""
        return Samples(
            self.seq[start:stop],
            self.time_us[start:stop],
            self.row[start:stop],
            {name: column[start:stop] for name, column in self.values.items()},
            {name: column[start:stop] for name, column in self.quality.items()},
        )


ACTS = (
    "lines_strung",
    "travelling_weight",
    "tare",
    "bit_depth",
    "mud_density",
    "run",
    "slip_and_cut",
    "acknowledge",
    "gear",
    "duty",
    "compensator",
    "preparation",
    "catch_weight",
    "calibration_proposed",
    "calibration_approved",
    "calibration_rolled_back",
    "note",
    "agreed_limit",
    "shelve",
    "unshelve",
    "mute",
    "reset_alarm",
    "stuck_mode",
    "tally",
)
CALIBRATION_ACTS = ("calibration_proposed", "calibration_approved", "calibration_rolled_back")


@dataclass(frozen=True, slots=True)
class Command:
    """A person's act, numbered by the same counter as the rows.

    ``number`` is SI (NaN where the act has none), ``text`` what was written (for
    ``acknowledge`` the id of an event or alarm, for ``run`` its name).
    """

    seq: int
    time_us: int
    act: str
    number: float
    text: str
    who: str


@dataclass(frozen=True, slots=True)
class SpanNote:
    """What a person wrote on a moment or a span of data time; it alters nothing."""

    seq: int  # of the act that left it; 0 while it waits in the inbox
    from_us: int
    to_us: int | None  # None: a moment
    text: str
    who: str
    wall_us: int | None = None  # when it was written; None where the record is a file


class Activity(IntEnum):
    """What the rig is doing with the string."""

    UNKNOWN = 0
    IN_SLIPS = 1
    HOISTING = 2
    LOWERING = 3
    STATIONARY = 4
    ON_BOTTOM = 5


ACTIVITY_CODES = ("unknown", "in_slips", "hoisting", "lowering", "stationary", "on_bottom")


class State(IntFlag):
    """Row flags of the interpretation, stored in the result column ``state``."""

    NONE = 0
    LEARNING = 1  # the expected load for this direction is not known yet
    DEPTH_UNCERTAIN = 2  # a gap or a jump of the block counter since depth was last sure
    SLIPS_HOLDING_PIPE = 4  # in slips, with a stand or collars in the elevators
    FRICTION_UNKNOWN = 8  # direction of the last motion not known: hook load is a band
    TARE_MISSING = 16  # no tare yet, weight on bit unknown
    LOAD_NOT_TAKEN = 32  # out of slips, the load is still coming on
    REVERSED = 64  # less than 0.1 m moved since the direction turned
    ALARMS_HELD = 128  # slip-and-cut mode: alarms are held
    OUTSIDE_CALIBRATION = 256  # the reading lies where no calibration point vouches for it
    WORKING_STUCK = 512  # mode of working stuck pipe: the sound is held


# Derived columns, one value a row, by the same seq as the samples. float64 unless listed
# in INTEGER_RESULTS. NaN = not known; the reason is in ``quality`` and ``state``.
RESULT_COLUMNS = (
    "hook_load_N",  # at the hook, friction-corrected, travelling equipment included
    "hook_load_plain_N",  # lines strung times tension, uncorrected
    "hook_load_half_width_N",  # half width of the 95 % interval of hook_load_N
    "string_weight_N",  # hook load less travelling weight
    "friction_state",  # +1 hoisting, -1 lowering, in between while it turns over
    "block_speed_m_s",  # up positive
    "activity",  # Activity code
    "bit_depth_m",
    "hole_depth_m",
    "weight_on_bit_N",  # NaN unknown, 0 off bottom
    "drill_off_N_s",  # how fast weight on bit falls while the block is held; NaN otherwise
    "weight_on_bit_half_width_N",  # half width of its 95 % interval; hole drag is not in it
    "tare_N",
    "tare_age_s",
    "tare_depth_m",
    "expected_up_N",  # middle of the expected load if hoisting here
    "expected_down_N",
    "expected_N",  # the one in force for the last direction
    "band_N",  # half width of the 95 % band around expected_N
    "excess_N",  # hook load less expected_N; NaN in slips
    "room_left_N",  # least limit less hook load less its half width; NaN in slips
    "stand",  # number of the present stand, counted from 1 in this record
    "last_pull_N",  # working stuck pipe: greatest load of the present or last pull
    "last_set_down_N",  # and least load of the present or last set-down
    "pulls",  # pulls since the mode of working stuck pipe began, 0 outside it
    "still_s",  # how long the pipe has stood still out of slips, 0 while moving
    "string_still_s",  # how long the string has not moved, on the hook or in slips
    "line_work_J",  # integral of hook load times |block travel| so far
    "quality",  # Quality flags of the load and the block used
    "state",  # State flags
)
INTEGER_RESULTS = ("activity", "stand", "pulls", "quality", "state")

EVENT_KINDS = (
    "overpull",
    "slack_off",
    "stuck",
    "weight_loss",
    "over_rating",
    "near_crown",
    "near_floor",
    "line_count_suspect",
    "string_suspect",
    "zero_drift",
    "sensor_fault",
    "data_gap",
    "light",
    "jar_blow",
    "heave_over_limit",
    "stationary_too_long",
    "fast_at_mark",
)


@dataclass(frozen=True, slots=True)
class Output:
    """What one ``feed`` gives: result columns for its rows, and what changed.

    ``events``, ``alarms`` and ``trip_rows`` hold the newest version of each that changed in
    this chunk; merging them by their ``id`` / ``stand`` gives the present state.
    ``alarm_changes`` are lines of a journal, each once. ``calibrations`` are the acts on them
    that were taken in it, ``checks`` the empty blocks that were weighed.
    """

    seq: Ints
    time_us: Ints
    columns: Mapping[str, NDArray[np.generic]]
    events: list[Event] = field(default_factory=list)
    trip_rows: list[TripRow] = field(default_factory=list)
    calibrations: list[CalibrationAct] = field(default_factory=list)
    checks: list[EmptyCheck] = field(default_factory=list)
    alarms: list[Alarm] = field(default_factory=list)
    alarm_changes: list[AlarmChange] = field(default_factory=list)
